"""The page of `powersim try` in a real browser, as who sits before it sees it."""

from __future__ import annotations

import time
from contextlib import contextmanager

import chromium
import pytest

from powersim.tryout.assets_table import read_assets
from powersim.tryout.server import Server

#: Runs before anything of the page does: counts answers, and keeps what its policy has forbidden.
_WATCH = """
window.seen = {asked: 0, answered: 0, forbidden: []};
document.addEventListener("securitypolicyviolation", (event) =>
  seen.forbidden.push(`${event.violatedDirective}: ${event.blockedURI} ${event.sample}`));
{
  const plain = window.fetch;
  window.fetch = async (...given) => {
    if (given[0] !== "/ask/answer") return plain(...given);
    seen.asked += 1;
    try { return await plain(...given); } finally { seen.answered += 1; }
  };
}
"""
_SETTLED = """
return seen.asked === seen.answered && seen.asked > arguments[0]
  && document.getElementById("verdict").dataset.state !== "waiting"
  && !document.getElementById("answer").hasAttribute("aria-busy");
"""
#: What the browser says by itself of an answer that refuses: told on the page, and no fault of it.
_REFUSED = tuple(f"the server responded with a status of {status}" for status in (409, 422))


#: For `pytestmark` of files that open it.
NEEDED = [
    pytest.mark.slow,
    pytest.mark.skipif(chromium.missing() is not None, reason=str(chromium.missing())),
]


@contextmanager
def served(session):
    """The page of a session, served to this computer."""
    server = Server(session.questions, assets=read_assets(), to_finish=("save",))
    with server:
        yield server


class Page:
    """What can be seen and done there, in a browser of its own."""

    def __init__(self):
        self.browser = chromium.Chromium(chromium.found())
        self.driver, self.logged = self.browser.driver, self.browser.logged
        self.browser.ask("Page.addScriptToEvaluateOnNewDocument", source=_WATCH)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.browser.close()

    def open(self, address):
        """Open an address, and wait until the page has its first answer."""
        self.driver.get(address)
        self.settled()

    def afresh(self, address):
        """Open an address with nothing changed on its page."""
        self.driver.get(address)
        self.driver.execute_script("sessionStorage.clear()")
        self.driver.get("about:blank")
        self.open(address)

    def value(self, script, *given):
        """What a JavaScript expression comes to, of some elements and values."""
        return self.driver.execute_script(f"return {script}", *given)

    def until(self, script, *given):
        """Wait until a script returns something that is true; that is returned."""
        end_s = time.monotonic() + chromium.PATIENCE_s
        while not (found := self.driver.execute_script(script, *given)):
            assert time.monotonic() < end_s, f"{script}: {self.verdict} {self.text('#working')}"
            time.sleep(chromium.LOOK_EVERY_s)
        return found

    def settled(self):
        """Wait for the first answer of a page that has just been loaded."""
        self.until(_SETTLED, 0)

    def answered(self, act):
        """Do something that changes the boat, and wait for the answer."""
        before = self.value("seen.asked")
        act()
        self.until(_SETTLED, before)

    def one(self, css):
        """The one element of these that can be seen."""
        found = [each for each in self.driver.find_elements("css selector", css) if seen(each)]
        assert len(found) == 1, f"{len(found)} of {css}"
        return found[0]

    def text(self, css):
        """All words of an element, those only heard too, in one line."""
        return " ".join(self.value("document.querySelector(arguments[0]).textContent", css).split())

    def there(self, css):
        """Whether there is such an element."""
        return self.value("document.querySelector(arguments[0]) !== null", css)

    def press(self, words):
        """Press the button of these words."""
        buttons = self.driver.find_elements("tag name", "button")
        (button,) = [each for each in buttons if seen(each) and each.text == words]
        self._click(button)

    def field(self, place):
        """The field of a value, where it can be seen."""
        element = self.driver.find_element("css selector", f'.field [data-place="{quoted(place)}"]')
        self.driver.execute_script(
            "for (let at = arguments[0]; at; at = at.parentElement) if (at.localName === 'details')"
            " at.open = true; arguments[0].scrollIntoView({block: 'center'})",
            element,
        )
        return element

    def type(self, place, text):
        """Put a text in the place of what stands in a field, as from a keyboard."""
        from selenium.webdriver.common.keys import Keys

        self.field(place).send_keys(Keys.CONTROL, "a", Keys.NULL, text)

    def tick(self, place):
        """Tick a load off, or on again."""
        self._click(self.box(place))

    def box(self, place):
        """Where a load is ticked."""
        css = f'input[type="checkbox"][data-place="{quoted(place)}"]'
        return self.driver.find_element("css selector", css)

    def _click(self, element):
        self.driver.execute_script("arguments[0].scrollIntoView({block: 'center'})", element)
        element.click()

    @property
    def verdict(self):
        """What it says, in one sentence, as it was put together."""
        return f"{self.text('#word')} {self.text('#short')} {self.text('#why')}".strip()

    def measure(self, name):
        """What a measure comes to, and its difference from the files' own ("" without changes)."""
        cells = self.value(
            "[...document.querySelectorAll('tr[data-measure=' + arguments[0] + '] td')]"
            ".map(each => each.textContent)",
            name,
        )
        return (*(" ".join(cell.split()) for cell in cells), "")[:2]

    def faults(self):
        """What the browser's console and the page's policy have to say since it was last asked."""
        logged = self.logged()
        forbidden = self.value("window.seen ? seen.forbidden.splice(0) : []")
        return [one for one in logged if not any(each in one for each in _REFUSED)] + forbidden


def seen(element):
    return element.is_displayed()


def quoted(place):
    """A place within quotes in a selector."""
    return place.replace("\\", "\\\\").replace('"', '\\"')
