"""The page of `try` in a real browser by day and night, on a phone, by keyboard, read aloud.

Needs Chromium and its driver (Debian: apt install chromium chromium-driver) and selenium; without
them these tests are skipped.
"""

import chromium
import driven
import pytest

pytestmark = driven.NEEDED
TAB, SHIFT, SPACE, ENTER, UP, DOWN, RIGHT, ESCAPE = (
    *("\ue004", "\ue008", "\ue00d", "\ue007", "\ue013", "\ue015", "\ue014", "\ue00c"),
)  # as WebDriver names them (W3C, "Keyboard actions")
#: What the keyboard is on: id, place, or words.
FOCUSED = (
    "(at => at.id.match(/^(field|row)-/) || !at.id"
    " ? at.dataset.place || at.textContent.trim() : at.id)(document.activeElement)"
)
PHONE = {"width": 360, "height": 740, "deviceScaleFactor": 1, "mobile": True}


@pytest.fixture
def opened(page, served):
    """Its page, with nothing changed; without faults when the test has ended."""
    page.afresh(served.address)
    yield page
    for method in ("Emulation.clearDeviceMetricsOverride", "Emulation.setEmulatedMedia"):
        page.driver.execute_cdp_cmd(method, {})
    assert page.faults() == []


def dressed(page, scheme, width):
    """By day or by night, as wide as a phone or a desk."""
    features = [{"name": "prefers-color-scheme", "value": scheme}]
    page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})
    if width == PHONE["width"]:
        page.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", PHONE)


@pytest.mark.skipif(not chromium.AXE.is_file(), reason="axe-core has not been installed from npm")
@pytest.mark.parametrize(("scheme", "width"), [("light", 1280), ("dark", 1280), ("dark", 360)])
def test_axe_finds_nothing(opened, scheme, width):
    """As the files have her; with changes and a mistake, all unfolded; with the question put."""
    dressed(opened, scheme, width)
    assert violations(opened) == []
    opened.answered(lambda: opened.tick("loads.laptop"))
    opened.type("battery.capacity", "220 W")
    opened.until("return document.getElementById('verdict').hasAttribute('data-stale')")
    opened.driver.execute_script(
        "for (const each of document.querySelectorAll('details')) each.open = true;"
    )
    assert violations(opened) == []
    opened.press("Put into the files")
    assert violations(opened) == []


def violations(page):
    """What axe has to say, by its rules and where."""
    page.driver.execute_script(chromium.AXE.read_text("utf-8"))
    return page.driver.execute_async_script(
        "const done = arguments[0];"
        "axe.run({resultTypes: ['violations']}).then(found => done(found.violations.map("
        " each => `${each.id}: ${each.nodes.map(node => node.target).join('; ')}`)));"
    )


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_is_wider_than_a_phone(opened, scheme):
    dressed(opened, scheme, PHONE["width"])
    opened.answered(lambda: opened.tick("loads.laptop"))
    assert opened.value("document.documentElement.scrollWidth") <= PHONE["width"]
    assert opened.value("getComputedStyle(document.querySelector('.broad-look')).display") == "none"
    # The verdict stays in view while the boat is moved.
    opened.field("battery.capacity")
    top, bottom = opened.value(
        "(box => [box.top, box.bottom])(document.getElementById('verdict').getBoundingClientRect())"
    )
    assert 0 <= top < bottom <= PHONE["height"]


def test_paper_and_ink_change_places_by_night(opened):
    def brightness(name):
        dots = opened.value(f"getComputedStyle(document.body).{name}.match(/[0-9.]+/g).map(Number)")
        return sum(dots[:3]) / 3.0

    for scheme, darker, lighter in (
        ("light", "color", "backgroundColor"),
        ("dark", "backgroundColor", "color"),
    ):
        dressed(opened, scheme, 1280)
        opened.driver.execute_script("document.body.style.background = 'var(--paper)'")
        assert brightness(darker) < 100
        assert brightness(lighter) > 150


def test_by_keyboard_alone(opened):
    """From the top of the page to a change, its answer, and back, without a pointer."""
    from selenium.webdriver.common.action_chains import ActionChains

    def press(*keys):
        ActionChains(opened.driver).send_keys(*keys).perform()

    def tab_to(wanted, most=60):
        for _ in range(most):
            press(TAB)
            if (at := opened.value(FOCUSED)) == wanted:
                return
        raise AssertionError(f"{most} times Tab from {at} did not come to {wanted}")

    first = opened.verdict
    tab_to("answer")
    tab_to("moment")
    told = opened.text("#told")
    press(RIGHT)
    assert opened.text("#told") != told
    assert opened.value("document.activeElement.ariaValueText") == opened.value(
        "document.getElementById('told').textContent"
    )
    tab_to("card-open")
    tab_to("loads.laptop")
    opened.answered(lambda: press(SPACE))
    assert opened.value(FOCUSED) == "loads.laptop"  # the keyboard stays where it was
    opened.until("return document.getElementById('said').textContent !== ''")
    assert opened.text("#said").startswith(opened.text("#word"))
    tab_to("battery.capacity", most=120)
    opened.answered(lambda: press(UP, UP))
    assert opened.value("document.activeElement.value") != "90 Ah"
    opened.answered(lambda: press(ESCAPE))
    assert opened.value("document.activeElement.value") == "90 Ah"
    opened.driver.execute_script("document.getElementById('changes').focus()")
    tab_to("Undo: laptop left off")
    opened.answered(lambda: press(ENTER))
    assert opened.verdict == first
    assert not opened.there("#changed-list")


def test_a_newer_change_passes_the_older(opened):
    """Arrow keys held down: of what is passed over nothing is shown, and the last is answered."""
    field = opened.field("battery.capacity")
    opened.answered(lambda: field.send_keys(*[UP] * 6, *[DOWN] * 2))
    typed = field.get_attribute("value")
    told = opened.text("#changed-list li")
    assert typed in told
    by_steps = opened.measure("lowest")
    opened.answered(lambda: opened.press("Undo all"))
    opened.answered(lambda: opened.type("battery.capacity", typed))
    assert opened.measure("lowest") == by_steps
