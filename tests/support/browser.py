"""A headless browser asked over its debugging pipe (Chrome DevTools Protocol): no port, no other program."""

from __future__ import annotations

import base64
import json
import os
import select
import shutil
import subprocess
import sys
import time
from contextlib import contextmanager

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
QUIET = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--remote-debugging-pipe",
)
PATIENCE_S = 90
_CODES = {" ": "Space"}
_NUMBERS = {
    "Tab": 9,
    "Enter": 13,
    "Escape": 27,
    " ": 32,
    "PageUp": 33,
    "PageDown": 34,
    "ArrowLeft": 37,
    "ArrowUp": 38,
    "ArrowRight": 39,
    "ArrowDown": 40,
}
# The browser reads file 3 and writes file 4: put the pipes there, then become the browser.
LAUNCH = """
import fcntl, os, sys
ends = [fcntl.fcntl(int(end), fcntl.F_DUPFD, 10) for end in sys.argv[1:3]]
os.dup2(ends[0], 3), os.dup2(ends[1], 4)
os.execv(sys.argv[3], sys.argv[3:])
"""


def binary():
    """Path of a browser on this machine, or None."""
    return next((found for name in NAMES if (found := shutil.which(name))), None)


@contextmanager
def opened(profile):
    """A page in a fresh browser whose profile lies in an empty folder; the browser ends with it."""
    to_browser, from_us = os.pipe()
    to_us, from_browser = os.pipe()

    launcher = [sys.executable, "-c", LAUNCH, str(to_browser), str(from_browser), binary()]
    quiet = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    command = [*launcher, *QUIET, f"--user-data-dir={profile}", "about:blank"]
    process = subprocess.Popen(command, pass_fds=(to_browser, from_browser), **quiet)
    os.close(to_browser), os.close(from_browser)
    try:
        yield Tab(from_us, to_us)
    finally:
        process.terminate()
        process.wait(timeout=30)
        os.close(from_us), os.close(to_us)


class Tab:
    """One page: loads files, measures, takes pictures, and keeps what happened meanwhile."""

    def __init__(self, out, back):
        self._out, self._back, self._rest, self._number = out, back, b"", 0
        self._session, self.events = None, []
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Network", "Log"):
            self.ask(f"{domain}.enable")

    def ask(self, method, **parameters):
        """Send a command and wait for its answer; events that come before are kept."""
        self._number += 1
        message = {"id": self._number, "method": method, "params": parameters}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._out, json.dumps(message).encode() + b"\0")
        return self._wait_for(lambda told: told.get("id") == self._number)["result"]

    def _wait_for(self, wanted):
        end = time.monotonic() + PATIENCE_S
        while True:
            while b"\0" not in self._rest:
                if not select.select([self._back], [], [], max(0.0, end - time.monotonic()))[0]:
                    raise TimeoutError("the browser does not answer")
                self._rest += os.read(self._back, 1 << 20)
            text, self._rest = self._rest.split(b"\0", 1)
            told = json.loads(text)
            if "error" in told:
                raise RuntimeError(told["error"])
            if "method" in told:
                self.events.append(told)
            if wanted(told):
                return told

    def show(self, place, *, width, height=900, dark=False, still=False, forced=False):
        """Load a file or an address at a width, as the reader wants it: dark, without motion, own colours."""
        wanted = {
            "prefers-color-scheme": "dark" if dark else "light",
            "prefers-reduced-motion": "reduce" if still else "no-preference",
            "forced-colors": "active" if forced else "none",
        }
        features = [{"name": name, "value": value} for name, value in wanted.items()]
        self.ask("Emulation.setEmulatedMedia", features=features)
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=width < 600,
        )
        self._load("about:blank")  # else the same address with another fragment would load nothing
        self.events.clear()
        self._load(place if isinstance(place, str) else place.as_uri())

    def _load(self, address):
        self.ask("Page.navigate", url=address)
        self._wait_for(lambda told: told.get("method") == "Page.loadEventFired")

    def value(self, expression):
        """Value of an expression in the page; a promise is waited for."""
        found = self.ask("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in found:
            raise RuntimeError(found["exceptionDetails"])
        return found["result"].get("value")

    def until(self, expression, *, patience_s=PATIENCE_S):
        """Wait until an expression is true in the page, and give its value."""
        end = time.monotonic() + patience_s
        while not (value := self.value(expression)):
            if time.monotonic() > end:
                raise TimeoutError(f"never true in the page: {expression}")
            time.sleep(0.05)
        return value

    def press(self, *keys, shift=False):
        """Press keys one after another, as a keyboard does: "Tab", "Enter", "ArrowUp", " ", "a"."""
        for key in keys:
            text = {"Enter": "\r"}.get(key, key if len(key) == 1 else "")
            said = {
                "key": key,
                "code": _CODES.get(key, key),
                "windowsVirtualKeyCode": _NUMBERS.get(key, ord(key.upper()) if len(key) == 1 else 0),
                "modifiers": 8 if shift else 0,
            }
            self.ask("Input.dispatchKeyEvent", type="keyDown" if text else "rawKeyDown", text=text, **said)
            self.ask("Input.dispatchKeyEvent", type="keyUp", **said)

    def picture(self, *, of="document.documentElement", beyond=True):
        """PNG of an element, also of what lies beyond the screen."""
        box = self.value(f"(({of}).scrollIntoView(), (({of}).getBoundingClientRect().toJSON()))")
        left, top = self.value("[scrollX, scrollY]")
        clip = {"x": box["x"] + left, "y": box["y"] + top, "width": box["width"], "height": box["height"]}
        shot = self.ask("Page.captureScreenshot", clip={**clip, "scale": 1}, captureBeyondViewport=beyond)
        return base64.b64decode(shot["data"])

    def printed(self):
        """The page as it is printed, a PDF."""
        pdf = self.ask("Page.printToPDF", preferCSSPageSize=True, printBackground=True)
        return base64.b64decode(pdf["data"])

    def requests(self):
        """Addresses asked for since the page was loaded."""
        return [
            e["params"]["request"]["url"] for e in self.events if e["method"] == "Network.requestWillBeSent"
        ]

    def complaints(self):
        """Errors and warnings of the console."""
        kinds = ("Runtime.exceptionThrown", "Log.entryAdded", "Runtime.consoleAPICalled")
        return [event["params"] for event in self.events if event["method"] in kinds]
