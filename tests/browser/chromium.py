"""A headless Chromium, driven through Selenium, for whoever looks at our pages.

Needs Debian's `chromium` and `chromium-driver` and the package selenium. Both programs are named to
it, so that it looks for none and fetches none. What Selenium has no word for is asked by the Chrome
DevTools Protocol.
"""

from __future__ import annotations

import importlib.util
import json
import shutil
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
NAMES, DRIVER = ("chromium", "chromium-browser", "google-chrome"), "chromedriver"
FLAGS = (
    *("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
    *("--hide-scrollbars", "--window-size=1280,1000"),
)
PATIENCE_s, LOOK_EVERY_s = 60.0, 0.02
#: axe-core, the checker of Deque Systems (MPL 2.0), from npm; used where it has been installed.
AXE = ROOT / "node_modules" / "axe-core" / "axe.min.js"


def found() -> str | None:
    """Where a browser is, or None."""
    return next((path for name in NAMES if (path := shutil.which(name))), None)


def missing() -> str | None:
    """Why none can be driven, or None."""
    if found() is None:
        return f"no browser: none of {', '.join(NAMES)} is installed"
    if shutil.which(DRIVER) is None:
        return f"nothing drives the browser: {DRIVER} (chromium-driver) is not installed"
    if importlib.util.find_spec("selenium") is None:
        return "nothing speaks to the browser's driver: selenium is not installed"
    return None


class Chromium:
    """One browser with one page, and a profile of its own that is thrown away."""

    def __init__(self, path):
        from selenium import webdriver

        options = webdriver.ChromeOptions()
        options.binary_location = path
        for flag in FLAGS:
            options.add_argument(flag)
        options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
        service = webdriver.ChromeService(executable_path=shutil.which(DRIVER))
        self.driver = webdriver.Chrome(options=options, service=service)
        self.ask("Page.enable")

    def close(self):
        """End it."""
        self.driver.quit()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()

    def open(self, path: Path):
        """Open a file and wait until it is loaded."""
        self.driver.get(path.as_uri())

    def ask(self, method, **params):
        """A command of the Chrome DevTools Protocol, and its answer."""
        return self.driver.execute_cdp_cmd(method, params)

    def value(self, expression):
        """What JavaScript comes to in the page, waited for if it is a promise."""
        answer = self.ask(
            "Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True
        )
        assert "exceptionDetails" not in answer, answer["exceptionDetails"]
        return answer["result"].get("value")

    def until(self, expression):
        """Wait until an expression holds in the page."""
        end_s = time.monotonic() + PATIENCE_s
        while not self.value(f"Boolean({expression})"):
            assert time.monotonic() < end_s, f"never so in the page: {expression}"
            time.sleep(LOOK_EVERY_s)

    def logged(self):
        """What the browser's console has to say since it was last asked."""
        return [each["message"] for each in self.driver.get_log("browser")]

    def told(self, method):
        """What events of a kind of that protocol have told, since any was last asked for."""
        events = [json.loads(each["message"]) for each in self.driver.get_log("performance")]
        messages = [event["message"] for event in events]
        return [one["params"] for one in messages if one["method"] == method]

    def wide(self, width, *, height=800):
        """Make the window that wide, as a phone's for small ones."""
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=width < 600,
        )
