"""The page of `try` in a real browser and the sailor's files: saved, changed meanwhile, mistaken.

Needs Chromium and its driver (Debian: apt install chromium chromium-driver) and selenium; without
them these tests are skipped.
"""

import base64
import re

import driven
import pytest
import tried

from powersim.cli.main import run

pytestmark = driven.NEEDED


@pytest.fixture(autouse=True)
def without_faults(page):
    """Nothing on the console and nothing forbidden, in any of these tests."""
    yield
    assert page.faults() == []
    page.driver.get("about:blank")


@pytest.fixture
def folder(tmp_path):
    """A short passage of this test's own."""
    return tried.folder_in(tmp_path / "four days")


@pytest.fixture
def opened(page, folder):
    """Its page, with the first answer; no longer served when the test has ended."""
    with driven.served(tried.session_of(folder)) as server:
        page.afresh(server.address)
        yield page
        page.driver.get("about:blank")


def says(command, folder, capsys, *options):
    """Exit code and all that a command says, in one line."""
    code = run([command, str(folder), *options])
    told = capsys.readouterr()
    return code, " ".join((told.out + told.err).split())


def simulates(folder, capsys):
    few = ("--members", str(tried.MEMBERS), "--step", "60 min", "--no-figures")
    return says("simulate", folder, capsys, *few)


def test_saved_as_a_new_folder_and_then_into_the_files(opened, folder, capsys):
    before = (folder / "boat.toml").read_bytes()
    opened.answered(lambda: opened.type("panel.arch.power", "150 W"))
    changed = opened.measure("left")
    opened.press("Save as a new folder")
    opened.until("return document.querySelector('[data-notice=done]') !== null")
    (new,) = [each for each in folder.parent.iterdir() if each != folder]
    assert new.name in opened.text("[data-notice=done]")
    assert (folder / "boat.toml").read_bytes() == before
    text = (new / "boat.toml").read_text("utf-8")
    assert re.search(r'^power = "150 W" +# the label \(was 50 W\)$', text, re.MULTILINE)
    # The page goes on with the files that it was opened on, and what was changed is still changed.
    assert opened.text("#changed-list li").startswith("panel.arch.power 150 W")
    opened.press("Good")
    opened.press("Put into the files")
    assert "50 W" in opened.text("#question-text")
    opened.press("Yes, put them into the files")
    opened.until("return document.querySelector('#changed').textContent.startsWith('Nothing.')")
    opened.until("return document.querySelector('[data-notice=done]') !== null")
    assert (folder / "boat.toml").read_text("utf-8") == text
    (kept,) = [each for each in folder.iterdir() if each.read_bytes() == before]
    assert kept.name in opened.text("[data-notice=done]")
    # Loaded again it is the files' own answer, the one that was tried.
    opened.driver.refresh()
    opened.settled()
    assert opened.measure("left") == (changed[0], "")
    assert opened.field("panel.arch.power").get_attribute("value") == "150 W"
    of_new, of_files = (simulates(each, capsys) for each in (new, folder))
    assert of_new[0] == of_files[0]
    assert opened.text("#short").removesuffix(".") in of_new[1]


def test_what_was_changed_is_still_changed_when_the_page_is_loaded_again(opened):
    opened.answered(lambda: opened.tick("loads.laptop"))
    left = opened.measure("left")
    opened.driver.refresh()
    opened.settled()
    assert opened.measure("left") == left
    assert opened.text("#changed-list li").startswith("laptop left off")
    assert not opened.box("loads.laptop").is_selected()


def test_the_card_is_printed_from_here(opened):
    opened.answered(lambda: opened.type("panel.arch.power", "150 W"))
    opened.press("The card, to print")
    opened.until("return document.querySelectorAll('#card-pages canvas').length >= 3")
    words = opened.value(
        "[...document.querySelectorAll('#card-pages canvas')].map(each => each.ariaLabel)"
    )
    assert "Four days south" in words[0]
    assert opened.text("#word") in words[0]
    assert "panel.arch.power 150 W (was 50 W)" in " ".join(" ".join(words).split())
    # Each is drawn: some of it is black, most of it white, and nothing clear.
    for inked, clear in opened.value(
        "[...document.querySelectorAll('#card-pages canvas')].map(c => {"
        " const dots = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;"
        " let dark = 0, clear = 0;"
        " for (let at = 0; at < dots.length; at += 4) {"
        "  dark += dots[at] < 128; clear += dots[at + 3] < 255; }"
        " return [4 * dark / dots.length, clear]; })"
    ):
        assert 0.005 < inked < 0.3
        assert clear == 0
    # Two pages of A5 to a sheet of A4, and nothing of the page beside them.
    pdf = base64.b64decode(
        opened.driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})["data"]
    )
    sheets = len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))
    assert sheets == -(-len(words) // 2)
    opened.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        assert opened.value("document.getElementById('boat').getClientRects().length") == 0
        assert opened.value("document.querySelector('#card canvas').getClientRects().length") == 1
    finally:
        opened.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    opened.press("Back to the answer")
    assert opened.value("document.activeElement.id") == "card-open"


def test_a_second_tab_on_the_bare_address_is_told_what_to_do(opened):
    bare = opened.value("location.href")
    assert "#" not in bare  # the key is taken out of the address at once
    first = opened.driver.current_window_handle
    opened.driver.switch_to.new_window("tab")
    try:
        opened.driver.get(bare)
        opened.until("return document.querySelector('[data-notice=key]') !== null")
        told = opened.text("[data-notice=key]")
        assert "powersim try" in told
        assert "terminal" in told
        assert opened.value("document.getElementById('groups').children.length") == 0
        assert "Four days" not in opened.text("body")
        assert opened.faults() == []
    finally:
        opened.driver.close()
        opened.driver.switch_to.window(first)
    opened.answered(lambda: opened.tick("loads.laptop"))  # the first goes on


def test_a_file_changed_on_disk_is_asked_about_and_nothing_is_written_over(opened, folder):
    opened.answered(lambda: opened.type("panel.arch.power", "150 W"))
    path = folder / "boat.toml"
    mine = path.read_text("utf-8").replace('capacity = "90 Ah" ', 'capacity = "140 Ah"')
    path.write_text(mine, encoding="utf-8")
    answer = opened.measure("lowest")
    opened.driver.execute_script("window.dispatchEvent(new Event('focus'))")  # back from an editor
    opened.until("return document.querySelector('[data-notice=disk]') !== null")
    assert opened.text("[data-notice=disk]").startswith("boat.toml changed on disk")
    assert opened.measure("lowest") == answer
    opened.press("Put into the files")
    opened.press("Yes, put them into the files")
    opened.until("return document.querySelector('[data-notice=done]') !== null")
    assert "Nothing was written" in opened.text("[data-notice=done]")
    assert path.read_text("utf-8") == mine
    assert sorted(each.name for each in folder.iterdir()) == ["boat.toml", "loads.csv", "route.csv"]
    opened.answered(lambda: opened.press("Read them again, and keep my changes"))
    assert not opened.there("[data-notice=disk]")
    assert opened.field("battery.capacity").get_attribute("value") == "140 Ah"
    assert opened.text("#changed-list li").startswith("panel.arch.power 150 W (was 50 W)")
    assert opened.measure("lowest") != answer


def test_a_mistake_stands_beside_its_field_in_the_words_of_check(opened, folder, tmp_path, capsys):
    good, picture = opened.verdict, opened.value("document.querySelector('.median').outerHTML")
    opened.type("battery.capacity", "220 W")
    opened.until("return document.getElementById('verdict').hasAttribute('data-stale')")
    field = opened.field("battery.capacity")
    assert field.get_attribute("aria-invalid") == "true"
    told = opened.value("arguments[0].closest('.field').querySelector('.mistake').innerText", field)
    # The same typed into a copy, for `check`: text and what is expected.
    copy = tried.folder_in(tmp_path / "copy")
    text = (copy / "boat.toml").read_text("utf-8").replace('"90 Ah"', '"220 W"')
    (copy / "boat.toml").write_text(text, encoding="utf-8")
    code, said = says("check", copy, capsys)
    assert code == 2
    text, expected = told.split("; expected ")
    assert text in said
    assert f"expected {expected}" in said
    # The last good answer stays behind, and looks it.
    assert opened.verdict == good
    assert opened.value("document.querySelector('.median').outerHTML") == picture
    for name in ("verdict", "figures"):
        assert opened.value(f"getComputedStyle({name}).filter") == "grayscale(1)"
    assert opened.text("#working") != ""
    opened.answered(lambda: opened.type("battery.capacity", "90 Ah"))
    assert opened.verdict == good
    assert not opened.there("[aria-invalid]")
    assert opened.value("getComputedStyle(verdict).filter") == "none"


def test_a_folder_with_mistakes_opens_and_shows_them(page, folder, capsys):
    path = folder / "boat.toml"
    text = path.read_text("utf-8")
    path.write_text(
        text.replace('"90 Ah"', '"90 W"').replace('power = "40 W"', 'pwer = "40 W"'), "utf-8"
    )
    code, said = says("check", folder, capsys)
    assert code == 2
    with driven.served(tried.session_of(folder)) as server:
        page.driver.get(server.address)
        page.until("return document.querySelector('[data-notice=files]') !== null")
        page.until("return document.getElementById('verdict').dataset.state === 'nothing'")
        items = page.value(
            "[...document.querySelectorAll('[data-notice=files] li')].map(each => each.innerText)"
        )
        assert len(items) >= 2
        for item in items:
            where, text = re.match(r"(\S+:\d+) ([^\n]+)", item).groups()
            assert where in said
            assert text in said
        assert page.field("battery.capacity").get_attribute("aria-invalid") == "true"
        # Mended in the files, and read again, there is an answer.
        tried.folder_in(folder)
        page.answered(lambda: page.press("Read the files again"))
        assert not page.there("[data-notice=files]")
        assert page.text("#word") in ("HOLDS", "FAILS")
