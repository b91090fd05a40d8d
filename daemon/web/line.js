// The line page: listens to the benches, takes scans and keys, sends commands.

import { BenchView } from "/web/bench_view.js";
import { send } from "/web/command.js";
import { ScanReader } from "/web/scan.js";
import * as sound from "/web/sound.js";

const CONTACT_MS = 3000;
const only = location.pathname.startsWith("/line/")
  ? decodeURIComponent(location.pathname.slice("/line/".length)) : "";

const benches = new Map();  // name -> BenchView, in the order of the service
const place = document.getElementById("benches");
const field = document.getElementById("scan");
let chosen = "";
let heard = performance.now();

// --- what the service says -------------------------------------------------------------------

function benchView(name) {
  if (!benches.has(name)) {
    const made = new BenchView(name, { stop, start, clear, choose });
    benches.set(name, made);
    place.append(made.root);
    place.classList.toggle("many", benches.size > 1);
    place.classList.toggle("more", benches.size > 2);
    placeTiles();
    nameStops();
    choose(chosen || name);
  }
  return benches.get(name);
}

const TILES_A_COLUMN = 8;

// Where each bench has its tile when more than two share the page, whichever is chosen.
function placeTiles() {
  const columns = Math.ceil(benches.size / TILES_A_COLUMN);
  const rows = Math.max(4, Math.ceil(benches.size / columns));
  place.style.setProperty("--tile-columns", columns);
  place.style.setProperty("--tile-rows", rows);
  [...benches.values()].forEach((view, index) => {
    view.root.style.setProperty("--tile-column", 2 + Math.floor(index / rows));
    view.root.style.setProperty("--tile-row", 1 + (index % rows));
  });
}

function nameStops() {
  let number = 0;
  for (const [name, view] of benches) {
    number += 1;
    const many = benches.size > 1;
    view.say(".stop b", many ? `Stop bench ${name}` : "Stop test");
    const keys = number <= 9 ? `Alt+${number} then Esc` : "Esc once chosen";
    view.say(".stop small", many ? `${keys} · not an emergency stop`
                                 : "Esc · not an emergency stop");
  }
}

function hear() {
  heard = performance.now();
  if (!document.body.classList.contains("lost")) return;
  document.body.classList.remove("lost");
  for (const view of benches.values()) if (view.view) view.take(view.view);
  strip();
}

function onLine(event) {
  hear();
  const said = JSON.parse(event.data);
  const view = benchView(said.bench);
  const fresh = view.take(said);
  if (fresh) sound.play(said.sound);
  if (fresh && (said.bench === chosen || benches.size === 1))
    document.getElementById("said").textContent = said.status;
  strip();
}

function onPicture(event) {
  hear();
  const said = JSON.parse(event.data);
  benchView(said.bench).picture(said);
  for (const view of benches.values()) view.draw(benches.size > 1);
}

// A browser opens few connections to one service.  A hidden page gives its own back, so that Stop
// on the page in sight always finds one.
let source = null;

function listen() {
  source?.close();
  source = null;
  if (document.hidden) return;
  heard = performance.now();
  source = new EventSource("/api/v1/live" + (only ? `?bench=${encodeURIComponent(only)}` : ""));
  source.addEventListener("line", onLine);
  source.addEventListener("picture", onPicture);
  source.addEventListener("beat", hear);
}

function strip() {
  const views = [...benches.values()].map((bench) => bench.view).filter(Boolean);
  const current = benches.get(chosen)?.view;
  const names = views.map((view) => view.bench_name).join(", ");
  document.getElementById("bench-names").textContent =
    views.length > 2 ? `${views.length} benches, chosen: ${current?.bench_name ?? ""}`
    : views.length > 1 ? `Benches ${names}` : `Bench ${names}`;
  const batch = current?.batch || localStorage.getItem("batch") || "";
  document.getElementById("batch-said").textContent = batch ? `Batch ${batch}` : "";
  document.getElementById("simulated").textContent =
    views.some((view) => view.simulated) ? "simulated bench" : "";
  const operator = localStorage.getItem("operator") || "";
  document.getElementById("operator-said").textContent = operator ? `Operator ${operator}` : "";
  document.title = views.map((view) => view.title).join(" | ") || "Line";
  document.body.classList.toggle("press-stop-anywhere",
                                 views.some((view) => view.look === "press-stop"));
}

// --- no contact: the page's own timer --------------------------------------------------------

function watchContact() {
  document.getElementById("clock").textContent =
    new Date().toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  if (document.hidden) return;
  const age = performance.now() - heard;
  if (age < CONTACT_MS) return;
  const seconds = Math.floor(age / 1000);
  document.body.classList.add("lost");
  document.getElementById("bench-names").textContent =
    `No contact with the service for ${seconds} s. All values are ${seconds} s old.`;
  document.title = "NO CONTACT";
  document.getElementById("said").textContent = "No contact with the service.";
  for (const view of benches.values()) view.noContact(seconds);
}

// --- commands --------------------------------------------------------------------------------

async function tell(bench, command, body) {
  const refused = await send(bench, command, body);
  benches.get(bench)?.answer(refused);
  return refused;
}

// Words of the page's own, at a bench.
function hint(bench, words) {
  benches.get(bench)?.answer({ words, code: "" });
}

function stop(bench) {
  return tell(bench, "stop", { operator: localStorage.getItem("operator") || "" });
}

function clear(bench) {
  return tell(bench, "clear", { operator: localStorage.getItem("operator") || "" });
}

function start(bench) {
  const view = benches.get(bench);
  if (!view?.view?.may_start) return;
  if (view.view.choices.length > 0 && !view.reason) return hint(bench, "Choose a reason first.");
  tell(bench, "start", view.reason ? { reason: view.reason } : {});
}

function choose(bench) {
  chosen = bench;
  for (const [name, view] of benches) view.root.classList.toggle("chosen", name === bench);
  field.placeholder = benches.size > 1 ? `Scan for bench ${bench}` : "Scan or type a serial";
  strip();
}

// "bench south: Alt+2"
function keysOf(name) {
  const number = [...benches.keys()].indexOf(name) + 1;
  return number <= 9 ? `bench ${name}: Alt+${number}` : `bench ${name}: choose it`;
}

function othersWhere(holds) {
  return [...benches].filter(([name, view]) => name !== chosen && holds(view)).map(([name]) => name);
}

// A busy bench takes no scan.  Where another one is free, that one is offered instead of sending the
// scan to be ignored; the same scan once more is taken there.
function offeredElsewhere(serial) {
  const free = benches.get(chosen)?.busy() ? othersWhere((view) => view.takesScans()) : [];
  if (free.length === 0) return false;
  const busy = `Bench ${chosen} is busy, ${serial} was not taken.`;
  if (free.length > 1) {
    hint(chosen, `${busy} Choose a free bench, then scan again: ${free.map(keysOf).join(", ")}.`);
    return true;
  }
  choose(free[0]);
  hint(chosen, `${busy} Scan it again to test it here.`);
  return true;
}

// Esc acts on the chosen bench.  Where nothing is to be stopped there, it says how to stop the other.
async function escapeKey(everywhere) {
  if (everywhere) return [...benches.keys()].forEach(stop);
  const here = chosen;
  const running = benches.get(here)?.idle() ? othersWhere((view) => view.busy()) : [];
  const refused = await stop(here);
  if (refused.words || running.length === 0) return;
  hint(here, `Bench ${here} runs no test. To stop ${running.map(keysOf).join(", ")} then Esc.`);
}

function chooseReason(number) {
  const choice = benches.get(chosen)?.view?.choices[number - 1];
  if (choice) benches.get(chosen).choose(choice.name);
  return Boolean(choice);
}

// A code of the printed test card, or a serial.
function taken(text) {
  const scan = /^eg-/i.test(text.trim()) ? text.trim().toUpperCase() : text.trim();
  field.value = "";
  if (scan === "EG-START") return start(chosen);
  if (scan === "EG-STOP") return stop(chosen);
  if (scan === "EG-SOUND") return toggleSound();
  if (/^EG-R[1-6]$/.test(scan)) return chooseReason(Number(scan.at(-1)));
  if (scan.startsWith("EG-BENCH-")) {
    const name = [...benches.keys()].find((bench) => bench.toUpperCase() === scan.slice(9));
    return name ? choose(name) : hint(chosen, `There is no bench ${scan.slice(9)} here.`);
  }
  if (!scan.startsWith("EG-") && offeredElsewhere(scan)) return;
  tell(chosen, "scan", {
    serial: scan,
    batch: localStorage.getItem("batch") || "",
    operator: localStorage.getItem("operator") || "",
  });
}

// --- keys ------------------------------------------------------------------------------------

const scanner = new ScanReader(taken, field);

function isField(target) {
  return target instanceof HTMLInputElement;
}

function onEnter(event) {
  if (event.target instanceof HTMLButtonElement || event.target instanceof HTMLAnchorElement) return;
  if (isField(event.target) && event.target !== field) return;
  event.preventDefault();
  if (field.value.trim()) taken(field.value);
  else start(chosen);
}

const KEYS = {
  Escape: (event) => escapeKey(event.shiftKey),
  F2: () => field.focus(),
  F8: () => toggleSound(),
  F9: () => toggleMenu(),
};

function onKey(event) {
  if (scanner.key(event)) {
    event.preventDefault();
    event.stopPropagation();
    return;
  }
  if (KEYS[event.key]) {
    event.preventDefault();
    KEYS[event.key](event);
  } else if (event.altKey && /^[1-9]$/.test(event.key)) {
    event.preventDefault();
    const name = [...benches.keys()][Number(event.key) - 1];
    if (name) choose(name);
  } else if (event.key === "Enter" || (event.key === "Tab" && !event.shiftKey && event.target === field && field.value)) {
    onEnter(event);
  } else if (event.key.length === 1 && !event.ctrlKey && !event.metaKey) {
    if (event.target === field) reasonByKey(event);
    else if (!isField(event.target)) typed(event);
  }
}

// Typing anywhere goes to the scan field; a lone digit chooses a reason when one is asked for.
function typed(event) {
  if (event.key === " " && event.target instanceof HTMLButtonElement) return;
  reasonByKey(event);
  field.focus();
}

// A scanner's next character comes before the time is over: then the digit was not alone.
function reasonByKey(event) {
  const asked = benches.get(chosen)?.view?.choices.length > 0 && !field.value;
  if (asked && /^[1-6]$/.test(event.key)) setTimeout(() => lonely(event.key), 60);
}

function lonely(key) {
  if (field.value === key && chooseReason(Number(key))) field.value = "";
}

function toggleSound() {
  sound.setOn(!sound.isOn());
  document.getElementById("sound").textContent = sound.isOn() ? "Sound on" : "Sound off";
}

function toggleMenu() {
  const row = document.getElementById("menu-row");
  row.hidden = !row.hidden;
  document.getElementById("menu").setAttribute("aria-expanded", String(!row.hidden));
  (row.hidden ? field : row.querySelector("a")).focus();
}

function remember(id) {
  const input = document.getElementById(id);
  input.value = localStorage.getItem(id) || "";
  input.addEventListener("change", () => {
    localStorage.setItem(id, input.value.trim());
    strip();
  });
}

document.addEventListener("keydown", onKey, true);
document.getElementById("scan-form").addEventListener("submit", (event) => event.preventDefault());
document.getElementById("sound").addEventListener("click", toggleSound);
document.getElementById("sound").textContent = sound.isOn() ? "Sound on" : "Sound off";
document.getElementById("menu").addEventListener("click", toggleMenu);
document.getElementById("menu-close").addEventListener("click", toggleMenu);
document.addEventListener("visibilitychange", listen);
remember("batch");
remember("operator");
listen();
watchContact();
setInterval(watchContact, 250);
