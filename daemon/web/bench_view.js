// Places what the service says about one bench.  All words and drawings are the service's; only
// what the service cannot know is made here: that there is no contact with it.

import { TAKEN } from "/web/command.js";
import { show } from "/web/scene.js";

const ANSWER_MS = 15000;
const BUSY = ["running", "storing", "no-contact"];
const OPEN_FOR_A_SCAN = ["free", "refused", "pass", "fail", "undecided", "void"];

const NO_CONTACT_SIGN = ["svg", { viewBox: "0 0 96 96", class: "sign", role: "img",
                                  "aria-label": "No contact" },
  ["path", { d: "M4 60H34M34 44V76M62 36H92M62 20V52", class: "stroke9" }]];

function element(tag, words, className) {
  const made = document.createElement(tag);
  made.textContent = words;
  if (className) made.className = className;
  return made;
}

// Rebuilds a list only when what it says has changed.
function list(place, items, make) {
  const text = JSON.stringify(items);
  if (place.said === text) return;
  place.said = text;
  place.replaceChildren(...items.map(make));
}

function limitRow(limit) {
  const row = element("div", "", "limit");
  const value = element("span", "", "value");
  value.append(element("b", limit.value), " ", element("span", limit.limit, "bound"));
  const ruler = document.createElement("span");
  show(ruler, limit.ruler);
  row.append(element("span", limit.name, "name"), value, ruler.firstChild);
  return row;
}

// A broken step says so in words where there is room for them.
function railMark(mark) {
  const place = element("li", mark.name, mark.state);
  if (mark.state === "broken") place.append(element("span", " stopped"));
  return place;
}

function liveCell(cell) {
  const place = document.createElement("div");
  const value = element("dd", cell.value);
  value.append(" ", element("small", cell.note || cell.unit));
  place.append(element("dt", cell.name), value);
  return place;
}

export class BenchView {
  constructor(bench, actions) {
    const template = document.getElementById("bench");
    this.bench = bench;
    this.root = template.content.firstElementChild.cloneNode(true);
    this.actions = actions;
    this.view = null;
    this.drawn = null;
    this.reason = "";
    this.answered = TAKEN;
    this.find(".stop").addEventListener("click", () => actions.stop(bench));
    this.find(".start").addEventListener("click", () => actions.start(bench));
    this.find(".clear").addEventListener("click", () => actions.clear(bench));
    // Choosing moves a bench into the full view; a Stop must stay under the finger that presses it.
    this.root.addEventListener("pointerdown", (event) => {
      if (!event.target.closest(".stop")) actions.choose(bench);
    });
  }

  find(selector) {
    return this.root.querySelector(selector);
  }

  say(selector, words) {
    const place = this.find(selector);
    if (place.textContent !== words) place.textContent = words;
  }

  take(view) {
    const fresh = !this.view || this.view.look !== view.look || this.view.serial !== view.serial;
    if (fresh) this.reason = "";
    // What was refused may be put right by now: then something else is to be done.
    const other = view.act && this.view && this.view.next !== view.next;
    if (fresh || other) this.answered = TAKEN;
    this.view = view;
    this.showAnswer();
    this.look(view.look, view.act);
    this.head(view);
    this.why(view);
    list(this.find(".rail"), view.rail, railMark);
    list(this.find(".live"), view.live, liveCell);
    this.find(".start").hidden = !view.may_start || (view.choices.length > 0 && !this.reason);
    this.find(".clear").hidden = !view.may_clear;
    this.root.classList.toggle("roomy", view.may_clear || view.choices.length > 0);
    this.root.classList.toggle("trial", view.trial);
    return fresh;
  }

  look(name, act) {
    for (const old of [...this.root.classList])
      if (old.startsWith("look-")) this.root.classList.remove(old);
    this.root.classList.add(`look-${name}`);
    this.root.classList.toggle("acting", act);
  }

  head(view) {
    show(this.find(".sign-place"), view.sign);
    this.say(".word", view.word);
    this.say(".about", view.about);
    this.say(".standing", [view.purpose, view.standing].filter(Boolean).join(" · "));
    this.say(".next-caption", view.next_caption);
    this.say(".next-words", view.next);
    this.say(".note", view.note);
  }

  why(view) {
    this.say(".why-caption", view.why_caption);
    this.say(".sentence", view.sentence);
    list(this.find(".limits"), view.limits, limitRow);
    list(this.find(".paragraphs"), view.paragraphs, (words) => element("p", words));
    const choices = view.choices.map((one) => ({ ...one, chosen: one.name === this.reason }));
    list(this.find(".choices"), choices, (one) => this.choice(one));
  }

  choice(choice) {
    const button = element("button", `${choice.key} ${choice.name}`, "choice");
    button.type = "button";
    button.setAttribute("aria-pressed", String(choice.chosen));
    button.addEventListener("click", () => this.choose(choice.name));
    return button;
  }

  choose(reason) {
    this.reason = reason;
    this.take(this.view);
  }

  picture(drawn) {
    this.drawn = drawn;
  }

  // Side by side the same curve is drawn for a smaller place, with words of the same size.
  draw(narrow) {
    if (this.drawn) show(this.find(".curve-place"), narrow ? this.drawn.narrow : this.drawn.wide);
  }

  busy() {
    return BUSY.includes(this.view?.look);
  }

  takesScans() {
    return OPEN_FOR_A_SCAN.includes(this.view?.look);
  }

  // Nothing to stop and nothing to cancel.
  idle() {
    return !this.busy() && !this.view?.may_start;
  }

  // Does not stay for ever: what it says may be put right without the service hearing of it.
  answer(refused) {
    this.answered = refused;
    this.showAnswer();
    clearTimeout(this.forgetting);
    if (refused.words) this.forgetting = setTimeout(() => this.answer(TAKEN), ANSWER_MS);
  }

  // A refused scan is a state of the bench too, in the same words: they are said once.
  showAnswer() {
    const { words, code } = this.answered;
    const said = words === "" || words === this.view?.sentence ? "" : `${words} ${code}`.trim();
    this.say(".answer", said);
    this.find(".next").classList.toggle("answering", said !== "");
  }

  noContact(seconds) {
    this.look("no-contact", false);
    show(this.find(".sign-place"), NO_CONTACT_SIGN);
    this.say(".word", "NO CONTACT");
    this.say(".standing", "");
    this.say(".next-caption", "Next");
    this.say(".next-words", "Wait. If it stays for 1 minute, call maintenance.");
    this.say(".note", "To stop now use the stop button on the bench.");
    this.say(".sentence", `All values are ${seconds} s old.`);
    this.find(".start").hidden = true;
  }
}
