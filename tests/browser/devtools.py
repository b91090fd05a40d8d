"""A browser without a window, driven through its DevTools pipe.  Standard library only."""

import json
import os
import shutil
import subprocess
import tempfile
import time

FLAGS = ["--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync",
         "--mute-audio", "--remote-debugging-pipe"]


def find_browser():
    for name in ("chromium", "chromium-browser"):
        if path := shutil.which(name):
            return path
    return None


class Browser:
    """One browser process.  It takes commands on its descriptor 3 and answers on 4."""

    def __init__(self):
        self.profile = tempfile.mkdtemp(prefix="endgate-browser-")
        to_browser, self.commands = os.pipe()
        self.answers, from_browser = os.pipe()
        shell = f'exec "$0" "$@" 3<&{to_browser} 4>&{from_browser}'
        command = ["sh", "-c", shell, find_browser(), *FLAGS, "--user-data-dir=" + self.profile]
        self.process = subprocess.Popen(command, pass_fds=(to_browser, from_browser),
                                        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        os.close(to_browser)
        os.close(from_browser)
        self.number = 0
        self.rest = b""
        self.events = []

    def close(self):
        self.process.terminate()
        self.process.wait()
        shutil.rmtree(self.profile, ignore_errors=True)

    def next_message(self):
        while b"\0" not in self.rest:
            piece = os.read(self.answers, 1 << 16)
            if not piece:
                raise RuntimeError("the browser ended")
            self.rest += piece
        message, self.rest = self.rest.split(b"\0", 1)
        return json.loads(message)

    def call(self, method, session=None, **parameters):
        self.number += 1
        message = {"id": self.number, "method": method, "params": parameters}
        if session:
            message["sessionId"] = session
        os.write(self.commands, json.dumps(message).encode() + b"\0")
        while True:
            answer = self.next_message()
            if answer.get("id") == self.number:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']}")
                return answer["result"]
            self.events.append(answer)

    def page(self, width, height, dark=False):
        return Page(self, width, height, dark)


class Page:
    def __init__(self, browser, width, height, dark):
        self.browser = browser
        target = browser.call("Target.createTarget", url="about:blank")["targetId"]
        self.target = target
        attached = browser.call("Target.attachToTarget", targetId=target, flatten=True)
        self.session = attached["sessionId"]
        for domain in ("Page", "Runtime", "Log"):
            self.call(domain + ".enable")
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height,
                  deviceScaleFactor=1, mobile=False)
        self.call("Emulation.setEmulatedMedia", features=[
            {"name": "prefers-color-scheme", "value": "dark" if dark else "light"},
            {"name": "prefers-reduced-motion", "value": "reduce"}])

    def call(self, method, **parameters):
        return self.browser.call(method, self.session, **parameters)

    def close(self):
        self.browser.call("Target.closeTarget", targetId=self.target)

    def open(self, address):
        self.call("Page.navigate", url=address)

    def run(self, script):
        """The value of an expression in the page; promises are waited for."""
        result = self.call("Runtime.evaluate", expression=script, awaitPromise=True,
                           returnByValue=True)
        if "exceptionDetails" in result:
            raise RuntimeError(f"{script}: {result['exceptionDetails']}")
        return result["result"].get("value")

    def wait_for(self, condition, seconds=15):
        """Waits until the expression is true; False when it never was."""
        until = time.monotonic() + seconds
        while True:
            try:
                return self.run_until(condition, max(0, until - time.monotonic()))
            except RuntimeError as error:
                # A page that was just opened takes the place of the one that was asked.
                if "navigated" not in str(error) or time.monotonic() > until:
                    raise

    def run_until(self, condition, seconds):
        return self.run(f"""new Promise((done) => {{
          const until = performance.now() + {seconds * 1000};
          const look = () => {{
            let seen = false;
            try {{ seen = Boolean({condition}); }} catch {{ seen = false; }}
            if (seen || performance.now() > until) done(seen); else setTimeout(look, 50);
          }};
          look();
        }})""")

    def type(self, keys, gap_s=0.005):
        """Key by key, as a scanner does.  The stamps are the scanner's: a busy machine that hands
        the keys on late does not turn a scan into typing."""
        stamp = time.time()
        for key in keys:
            code = {"Enter": 13}.get(key, 0)
            text = {"Enter": "\r"}.get(key, key)
            stamp += gap_s
            for kind in ("keyDown", "keyUp"):
                self.call("Input.dispatchKeyEvent", type=kind, key=key, timestamp=stamp,
                          text=text if kind == "keyDown" else "", windowsVirtualKeyCode=code)

    def press(self, key):
        code = {"Escape": 27, "F9": 120, "Enter": 13}[key]
        for kind in ("rawKeyDown", "keyUp"):
            self.call("Input.dispatchKeyEvent", type=kind, key=key, windowsVirtualKeyCode=code)

    def complaints(self):
        """What the console said, the policy's refusals among it."""
        self.run("0")
        said = []
        for event in self.browser.events:
            if event.get("sessionId") != self.session:
                continue
            if event["method"] == "Log.entryAdded":
                said.append(event["params"]["entry"]["text"])
            if event["method"] in ("Runtime.exceptionThrown", "Runtime.consoleAPICalled"):
                said.append(json.dumps(event["params"])[:300])
        return said
