"""A headless Chromium, spoken to over two pipes by the Chrome DevTools Protocol.

The protocol is open (chromedevtools.github.io/devtools-protocol); messages are JSON, each ended by
a zero byte. The browser has a profile of its own, which is thrown away.
"""

from __future__ import annotations

import fcntl
import json
import os
import select
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

NAMES = ("chromium", "chromium-browser", "google-chrome")
FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
    *("--hide-scrollbars", "--remote-debugging-pipe"),
)
PATIENCE_s = 60.0
# The browser reads from file descriptor 3 and writes to 4.
_LAUNCH = (
    "import os, sys\n"
    "os.dup2(int(sys.argv[1]), 3); os.dup2(int(sys.argv[2]), 4)\n"
    "os.execvp(sys.argv[3], sys.argv[3:])"
)


def found():
    """Where a browser is, or None."""
    return next((path for name in NAMES if (path := shutil.which(name))), None)


class Chromium:
    """One browser with one page."""

    def __init__(self, path):
        self._profile = tempfile.mkdtemp(prefix="chromium-")
        its_read, self._write = map(_out_of_the_way, os.pipe())
        self._read, its_write = map(_out_of_the_way, os.pipe())
        flags = [*FLAGS, f"--user-data-dir={self._profile}", "about:blank"]
        self._process = subprocess.Popen(
            [sys.executable, "-c", _LAUNCH, str(its_read), str(its_write), path, *flags],
            pass_fds=(its_read, its_write),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(its_read)
        os.close(its_write)
        self._session, self._number, self._rest, self.events = None, 0, b"", []
        targets = self.ask("Target.getTargets")["targetInfos"]
        page = next(target for target in targets if target["type"] == "page")
        self._session = self.ask("Target.attachToTarget", targetId=page["targetId"], flatten=True)[
            "sessionId"
        ]
        for domain in ("Page", "Network", "Log", "Runtime"):
            self.ask(f"{domain}.enable")

    def close(self):
        try:
            self._session = None
            self.ask("Browser.close")
            self._process.wait(timeout=10)
        except (OSError, TimeoutError, subprocess.TimeoutExpired):
            self._process.kill()
            self._process.wait()
        os.close(self._read)
        os.close(self._write)
        shutil.rmtree(self._profile, ignore_errors=True)

    def ask(self, method, **params):
        """Send a command and wait for its answer; events on the way are kept."""
        self._number += 1
        message = {"id": self._number, "method": method, "params": params}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._write, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._next()
            if answer.get("id") == self._number:
                assert "error" not in answer, answer
                return answer["result"]
            self.events.append(answer)

    def open(self, path: Path):
        """Open a file and wait until it is loaded."""
        self.events.clear()
        self.ask("Page.navigate", url=path.as_uri())
        while not self.told("Page.loadEventFired"):
            self.events.append(self._next())

    def told(self, method):
        """What events of a kind have told so far."""
        return [event["params"] for event in self.events if event.get("method") == method]

    def value(self, expression):
        """What a JavaScript expression comes to in the page."""
        answer = self.ask(
            "Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True
        )
        assert "exceptionDetails" not in answer, answer["exceptionDetails"]
        return answer["result"].get("value")

    def until(self, expression):
        """Wait until an expression holds in the page."""
        until_s = time.monotonic() + PATIENCE_s
        while not self.value(f"Boolean({expression})"):
            if time.monotonic() > until_s:
                raise TimeoutError(f"never so in the page: {expression}")
            time.sleep(0.05)

    def wide(self, width, *, height=800):
        """Make the window that wide, as a phone's for small ones."""
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=width < 600,
        )

    def _next(self):
        until_s = time.monotonic() + PATIENCE_s
        while b"\0" not in self._rest:
            left_s = until_s - time.monotonic()
            ready, _, _ = select.select([self._read], [], [], max(left_s, 0.0))
            if not ready:
                raise TimeoutError("the browser does not answer")
            part = os.read(self._read, 1 << 20)
            if not part:
                raise OSError("the browser is gone")
            self._rest += part
        message, _, self._rest = self._rest.partition(b"\0")
        return json.loads(message)


def _out_of_the_way(number):
    """The same end of a pipe under a number well above 3 and 4."""
    moved = fcntl.fcntl(number, fcntl.F_DUPFD_CLOEXEC, 10)
    os.close(number)
    return moved
