#!/usr/bin/env python3
"""The pages in a real browser: every state shows its word, nothing moves, nothing is cut off,
nothing complains, a scanner works without a mouse, and a lost service is noticed.

    pages_test.py PAGE_SERVER
"""

import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True  # leaves nothing behind in the source tree

from devtools import Browser, find_browser

WORDS = {"free": "FREE", "ready": "READY", "again": "AGAIN?", "refused": "REFUSED",
         "running": "RUNNING", "ignored": "RUNNING", "lost": "NO CONTACT",
         "storing": "STORING", "pass": "PASS", "fail": "FAIL", "undecided": "UNDECIDED", "void": "VOID", "stopped": "VOID",
         "out-of-use": "OUT OF USE", "storage": "OUT OF USE", "press-stop": "PRESS STOP"}
AREAS = [".head", ".next", ".curve-place", ".why", ".rail", ".foot", ".live", ".stop"]
SIZES = [(1366, 768), (1280, 800), (1920, 1080)]

problems = []


def check(true, what):
    if not true:
        problems.append(what)
        print("wrong:", what, flush=True)


class Served:
    """The page server with some looks as its benches."""

    def __init__(self, program, *looks):
        self.folder = tempfile.TemporaryDirectory(prefix="endgate-pages-")
        self.process = subprocess.Popen([program, self.folder.name, *looks], text=True,
                                        stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        self.address = "http://127.0.0.1:" + self.process.stdout.readline().strip()

    def stop(self):
        self.process.stdin.close()
        self.process.wait()
        self.folder.cleanup()


def rectangles(page):
    return page.run("""Object.fromEntries(%s.map((name) => {
      const box = document.querySelector(name).getBoundingClientRect();
      return [name, [box.x, box.y, box.width, box.height]];
    }))""" % AREAS)


def cut_off(page):
    """Texts that are wider than the place they have; scrolling places apart."""
    return page.run("""[...document.querySelectorAll(
      ".word, .about, .standing, .next-words, .note, .sentence, .live dd, .live dt, .stop b, "
      + ".bench:only-child .rail li")]
      .filter((place) => place.scrollWidth > place.clientWidth + 1 && place.offsetParent)
      .map((place) => place.className + ": " + place.textContent)""")


def higher_than_their_place(page):
    """Of two benches: nothing lies below the edge of its place, and no value on the next one."""
    return page.run("""[...document.querySelectorAll(".field, .next, .why")]
      .filter((place) => place.scrollHeight > place.clientHeight + 1)
      .map((place) => place.className + ": " + place.textContent)""")


def word_height_share(page):
    """Capitals are 0.75 of the font size in B612."""
    return page.run("""0.75 * parseFloat(getComputedStyle(document.querySelector(".word")).fontSize)
                       / innerHeight""")


def test_every_state(browser, served):
    for width, height in SIZES:
        first = None
        for look, word in WORDS.items():
            page = browser.page(width, height, dark=look in ("pass", "fail"))
            page.open(f"{served.address}/line/{look}")
            name = f"{look} at {width}x{height}"
            check(page.wait_for(f"document.querySelector('.word')?.textContent === '{word}'"),
                  f"{name}: word {word}")
            check(word in page.run("document.title"), f"{name}: title carries {word}")
            check(page.run("document.querySelector('.next-words').textContent"), f"{name}: next")
            check(page.run("document.querySelector('.sign-place svg') !== null"), f"{name}: sign")
            if look != "pass":
                check(not page.run("document.documentElement.outerHTML.includes('sign-pass')"),
                      f"{name}: no pass in the page")
            check(cut_off(page) == [], f"{name}: cut off {cut_off(page)}")
            hidden = higher_than_their_place(page)
            check(hidden == [], f"{name}: below the edge {hidden}")
            check(page.run("document.documentElement.scrollWidth <= innerWidth"),
                  f"{name}: no sideways scrolling")
            check(word_height_share(page) >= 0.08, f"{name}: the word is large enough")
            here = rectangles(page)
            first = first or here
            moved = [area for area in AREAS
                     if any(abs(a - b) > 1 for a, b in zip(first[area], here[area]))]
            check(not moved, f"{name}: moved {moved}")
            check(here[".stop"][3] >= 64, f"{name}: stop is at least 64 px high")
            check("not an emergency stop" in page.run("document.querySelector('.stop').textContent"),
                  f"{name}: stop says what it is not")
            check(page.complaints() == [], f"{name}: console {page.complaints()}")
            page.close()


def test_two_benches(program, browser):
    for looks in (("fail", "running"), ("undecided", "out-of-use"), ("press-stop", "again"),
                  ("void", "refused"), ("ready", "pass")):
        served = Served(program, *looks)
        for width, height in [*SIZES, (1280, 720)]:
            page = browser.page(width, height)
            page.open(served.address + "/")
            name = f"{looks} at {width}x{height}"
            check(page.wait_for("document.querySelectorAll('.word').length === 2"), f"{name}: two")
            words = page.run("[...document.querySelectorAll('.word')].map((e) => e.textContent)")
            check(words == [WORDS[look] for look in looks], f"{name}: {words}")
            check(word_height_share(page) >= 0.08, f"{name}: the words are large enough")
            check(cut_off(page) == [], f"{name}: cut off {cut_off(page)}")
            check(page.run("document.documentElement.scrollHeight <= innerHeight + 1"),
                  f"{name}: fits on the screen")
            high = higher_than_their_place(page)
            check(high == [], f"{name}: too high {high}")
            check(page.run("[...document.querySelectorAll('.here')].filter((e) => e.offsetParent)"
                           ".length") == 1, f"{name}: one bench is marked as the chosen one")
            check(page.complaints() == [], f"{name}: console {page.complaints()}")
            page.close()
        served.stop()


def listening(browser, served, look, path=None):
    page = browser.page(1366, 768)
    page.open(served.address + (path or f"/line/{look}"))
    page.wait_for("document.querySelector('.word')?.textContent")
    page.run("""window.sent = []; window.fetch = (address, rest) => {
      if (rest?.body) window.sent.push(address.split("/").pop() + " " + rest.body);
      return Promise.resolve(new Response("{}"));
    }; 0""")
    return page


def test_the_other_bench(program, browser):
    """Two benches: a scan is never sent to a busy one, and Esc says what it did not stop."""
    served = Served(program, "running", "free")
    page = listening(browser, served, None, "/")
    check(page.wait_for("document.querySelectorAll('.word:not(:empty)').length === 2"), "two benches")
    chosen = "document.querySelector('.bench.chosen').textContent"
    page.type([*"QH2648-0118-C", "Enter"])
    check(sent(page) == [], f"a busy bench is sent no scan: {sent(page)}")
    check("Stop bench free" in page.run(chosen), "the free bench is offered")
    check("Scan it again to test it here" in page.run(chosen), "and says so")
    page.press("Escape")
    check(page.wait_for(chosen + ".includes('To stop bench running: Alt+1 then Esc.')"),
          "Esc where nothing runs says how to stop the other bench")
    page.type([*"QH2648-0118-C", "Enter"])
    check('"serial":"QH2648-0118-C"' in sent(page)[-1], f"the second scan is sent: {sent(page)}")
    page.press("F9")
    below = page.run("document.querySelector('.menu-row').getBoundingClientRect().bottom - "
                     "document.querySelector('.strip').getBoundingClientRect().bottom")
    check(below < 1, f"the menu covers the strip and no word below it: {below}")
    page.close()
    served.stop()


def test_a_refusal_is_said_once(program, browser):
    served = Served(program, "refused")
    page = listening(browser, served, "refused")
    page.run("""window.fetch = () => Promise.resolve(new Response(JSON.stringify(
      {error: document.querySelector('.sentence').textContent, code: "U-102"}), {status: 409})); 0""")
    page.type([*"QH2648-0117-X", "Enter"])
    page.run("new Promise((done) => setTimeout(done, 200))")
    check(page.run("document.querySelector('.answer').textContent") == "", "the state says it already")
    page.close()
    served.stop()


def sent(page):
    return page.run("window.sent")


def test_many_benches(browser, served):
    """One in full and a tile for each other: nothing scrolls, and no tile moves with the choice."""
    tiles = """[...document.querySelectorAll(".bench:not(.chosen) .stop")].map((stop) => {
      const box = stop.getBoundingClientRect();
      return [stop.textContent, box.x, box.y, box.height];
    })"""
    for width, height in SIZES:
        page = browser.page(width, height)
        page.open(served.address + "/")
        name = f"{len(WORDS)} benches at {width}x{height}"
        check(page.wait_for(f"document.querySelectorAll('.bench .word:not(:empty)').length === {len(WORDS)}"),
              f"{name}: a place for each")
        check(page.run("document.documentElement.scrollHeight <= innerHeight && "
                       "document.documentElement.scrollWidth <= innerWidth"), f"{name}: scrolls")
        before = {words: place for words, *place in page.run(tiles)}
        check(len(before) == len(WORDS) - 1, f"{name}: {len(before)} tiles")
        check(all(place[2] >= 64 for place in before.values()), f"{name}: a Stop below 64 px")
        page.run("document.querySelectorAll('.bench')[3].dispatchEvent(new Event('pointerdown'))")
        after = {words: place for words, *place in page.run(tiles)}
        check(len(set(before) & set(after)) == len(WORDS) - 2, f"{name}: another one is chosen")
        check(all(before[words] == after[words] for words in set(before) & set(after)),
              f"{name}: a tile moved")
        page.close()


def test_scanner(browser, served):
    page = listening(browser, served, "free")
    page.type([*"QH2648-0118-C", "Enter"])
    check(len(sent(page)) == 1 and '"serial":"QH2648-0118-C"' in sent(page)[0],
          f"a scan with the focus nowhere: {sent(page)}")
    check(page.run("document.getElementById('scan').value") == "", "a scan leaves no characters")
    page.press("F9")
    page.run("document.getElementById('batch').focus(); 0")
    page.type([*"QH2648-0119-E", "Enter"])
    check(len(sent(page)) == 2 and '"serial":"QH2648-0119-E"' in sent(page)[-1],
          f"a scan into another field: {sent(page)}")
    check(page.run("document.getElementById('batch').value") == "", "the field is as it was")
    page.press("Escape")
    check(sent(page)[-1].startswith("stop "), f"Escape stops with the menu open: {sent(page)}")
    page.close()


def test_ready_and_again(browser, served):
    page = listening(browser, served, "ready")
    page.type([*"EG-START", "Enter"])
    check(sent(page) == ["start {}"], f"the start code starts: {sent(page)}")
    page.close()
    page = listening(browser, served, "again")
    page.type([*"EG-START", "Enter"])
    check(sent(page) == [], "no start without a reason")
    page.type([*"EG-R2", "Enter"])
    page.type([*"EG-START", "Enter"])
    check(sent(page) == ['start {"reason":"After repair"}'], f"a reason by its code: {sent(page)}")
    page.close()
    page = listening(browser, served, "again")
    page.type("1")
    check(page.wait_for("document.querySelector('[aria-pressed=true]')"), "a reason by its key")
    page.type(["Enter"])
    check(sent(page) == ['start {"reason":"Customer return"}'], f"then Enter: {sent(page)}")
    page.close()


def test_stored_pages(browser, served):
    for path, heading in (("/units", "Units"), ("/import", "Import"),
                          ("/units/QH2648-0117-K", "QH2648-0117-K"),
                          ("/units/QH2648-0117-K/1", "QH2648-0117-K"),
                          ("/trends?model=P1-60-12&metric=fad_400", "Free-air delivery, 400 kPa"),
                          ("/trends?model=P1-60-12&metric=fad_400&by=unit", "Free-air delivery"),
                          ("/population?model=P1-60-12", "All units of model P1-60-12"),
                          ("/gauge?model=P1-60-12&metric=fad_400&units=QH2648-2010-L,QH2648-2011-L,"
                           "QH2648-2012-L", "How much of it is the measurement?"),
                          ("/rating?model=P1-60-12", "What may a data sheet of P1-60-12 promise?"),
                          ("/compare?units=QH2648-2010-L,QH2648-2015-L", "Units side by side"),
                          ("/endurance?unit=QH2648-2100-E&metric=fad_400",
                           "How QH2648-2100-E moves as it runs"),
                          ("/population?model=P1-60-12&metric=fad_400&lower=45",
                           "All units of model P1-60-12")):
        for width, height in SIZES:
            page = browser.page(width, height, dark=width == 1280)
            page.open(served.address + path)
            check(page.wait_for(f"document.querySelector('h1')?.textContent.startsWith('{heading}')"),
                  f"{path}: heading")
            # Waits for the style sheets: a heading can be there before them.
            check(page.wait_for("document.documentElement.scrollWidth <= innerWidth"),
                  f"{path} at {width}: no sideways scrolling")
            check(page.complaints() == [], f"{path}: console {page.complaints()}")
            page.close()


def test_question_forms(browser, served):
    """A question is a plain form: what its fields say is the address of the answer."""
    asked = """(() => { const form = document.querySelector("%s");
                        form.elements["%s"].value = "%s";
                        return form.action.split("#")[0] + "?" +
                               new URLSearchParams(new FormData(form)); })()"""
    page = browser.page(1366, 768)
    page.open(served.address + "/trends?model=P1-60-12&metric=fad_400")
    page.wait_for("document.querySelector('form.entry button')")
    page.open(page.run(asked % ("form.entry", "by", "unit")))
    check(page.wait_for("document.querySelectorAll('a.spot').length > 50"), "each unit has its mark")
    page.open(served.address + "/population?model=P1-60-12&metric=fad_400")
    page.wait_for("document.querySelector('#draft form button')")
    page.open(page.run(asked % ("#draft form", "lower", "45")))
    check(page.wait_for("document.querySelector('#draft .say')?.textContent"
                        ".includes('units would change')"), "a draft limit is answered")
    check(page.run("document.querySelector('#draft [name=lower]').value") == "45",
          "the draft stays in its field")
    check(page.complaints() == [], f"forms: console {page.complaints()}")
    page.close()


def test_import_form(browser, served):
    """A bad file is told line by line; bytes that are no UTF-8 are never sent."""
    choose = """(() => { const form = document.querySelector("form.command");
                         const chosen = new DataTransfer();
                         chosen.items.add(new File([%s], "old.csv"));
                         form.elements.file.files = chosen.files;
                         for (const name of ["source", "by", "why"]) form.elements[name].value = "x";
                         form.requestSubmit(); return 0; })()"""
    page = browser.page(1366, 768)
    page.open(served.address + "/import")
    page.wait_for("document.readyState === 'complete' && document.querySelector('form.command')")
    page.run(choose % '"serial,model,start,verdict\\nS,M,2019-06-08,good\\nS,M,soon,pass\\n"')
    check(page.wait_for("document.querySelectorAll('.faults li').length === 2"), "two faults listed")
    faults = page.run("[...document.querySelectorAll('.faults li')].map((e) => e.textContent)")
    check([fault.split(":")[0] for fault in faults] == ["line 2", "line 3"], f"by line: {faults}")
    said = "document.querySelector('form.command .answer').textContent"
    check("2 faults in the file" in page.run(said), f"how many: {page.run(said)}")
    page.run(choose % "new Uint8Array([0x61, 0xff])")
    check(page.wait_for(said + ".includes('UTF-8')"), "bytes that are no text are refused")
    check(page.run("document.querySelectorAll('.faults li').length") == 0, "old faults are gone")
    page.run(choose % '"serial,model,start,verdict\\nOLD-1,M,2019-06-08,pass\\n"')
    check(page.wait_for(said + ".includes('1 imported result')"), f"kept: {page.run(said)}")
    page.close()


def test_lost_service(program, browser):
    served = Served(program, "running")
    page = browser.page(1366, 768)
    page.open(served.address + "/line/running")
    page.wait_for("document.querySelector('.word')?.textContent === 'RUNNING'")
    served.stop()
    check(page.wait_for("document.querySelector('.word').textContent === 'NO CONTACT'", 10),
          "a lost service is noticed by the page itself")
    check("No contact with the service for" in page.run("document.querySelector('.strip').textContent"),
          "the strip says for how long")
    page.close()


def main():
    if find_browser() is None:
        print("not run: no chromium here; `bash tests/run.sh --group browser` installs it")
        return 77
    served = Served(sys.argv[1])
    browser = Browser()
    try:
        test_every_state(browser, served)
        test_many_benches(browser, served)
        test_scanner(browser, served)
        test_ready_and_again(browser, served)
        test_stored_pages(browser, served)
        test_question_forms(browser, served)
        test_import_form(browser, served)
        test_two_benches(sys.argv[1], browser)
        test_the_other_bench(sys.argv[1], browser)
        test_a_refusal_is_said_once(sys.argv[1], browser)
        test_lost_service(sys.argv[1], browser)
    finally:
        browser.close()
        served.stop()
    print("problems:", len(problems))
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
