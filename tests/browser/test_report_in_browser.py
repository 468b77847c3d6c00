"""The report in a real browser: whole, inert, without a network, on a phone, on paper, read aloud.

Needs Chromium and its driver (Debian: apt install chromium chromium-driver) and selenium; without
them these tests are skipped.
"""

import base64
import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
from chromium import AXE, Chromium, found, missing
from hand_worked import LOADS, boat_of, passage_of, waypoints_of, with_panels

import powersim
from powersim.inputs.cautions import cautions_of
from powersim.inputs.standing_cautions import standing_cautions
from powersim.records import Load
from powersim.report.charge_words import charge_words
from powersim.report.endurance_view import endurance_from_departure
from powersim.report.figure_charge import charge_figure
from powersim.report.page import report_html
from powersim.report.text import glued

HERE = Path(__file__).parent
HOSTILE = (
    "<script>alert(1)</script>",
    '=cmd|" /C calc"!A0',
    "--><img src=//example.invalid/x.png onerror=alert(2)>",
    "</title></svg><iframe src=https://example.invalid></iframe>",
)
#: Names that want much room, or are written from the right, or stack up.
AWKWARD = ("x" * 200, "שלום עולם", "日本語の名前", "e\u0301\u0301\u0301", "a\tb\x07c", "🧭 compass")

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(missing() is not None, reason=str(missing())),
]


@pytest.fixture(scope="module")
def browser():
    with Chromium(found()) as browser:
        yield browser


@pytest.fixture(scope="module")
def result():
    """Nine days with sun, engine and loads that mean harm, in ten members."""
    hostile = tuple(
        Load(name=name, draw_A=0.1 + 0.01 * n) for n, name in enumerate(HOSTILE + AWKWARD)
    )
    boat = with_panels(battery=boat_of().battery, name=HOSTILE[0], charging=boat_of().charging)
    start, end = waypoints_of(days=9, motoring_start_h=2.0)
    passage = passage_of(
        name=HOSTILE[0],
        boat=boat,
        loads=(*LOADS, *hostile),
        waypoints=(replace(start, name=AWKWARD[0]), replace(end, name="🧭 " * 60)),
    )
    return powersim.simulate(passage, step_h=1.0, members=10)


@pytest.fixture(scope="module")
def page(browser, result, tmp_path_factory):
    """The report, opened."""
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_text(
        report_html(
            result,
            endurance=endurance_from_departure(result),
            cautions=cautions_of(result.passage),
            standing=standing_cautions(result.passage),
            version="0",
        ),
        encoding="utf-8",
    )
    browser.open(path)
    return browser


def test_every_picture_and_table_is_there(page, result):
    pictures = page.value(
        "[...document.querySelectorAll('svg')].filter(s => s.getClientRects().length)"
        ".map(s => ({name: s.querySelector('title').id,"
        " wide: s.getBoundingClientRect().width, high: s.getBoundingClientRect().height,"
        " drawn: s.querySelectorAll('path').length, words: s.querySelectorAll('text').length}))"
    )
    names = [picture["name"] for picture in pictures]
    assert names == ["soc-title", "fuel-title", "budget-title", "energy-title", "map-title"]
    for picture in pictures:
        assert picture["wide"] > 500, picture
        assert picture["high"] > 200, picture
        assert picture["drawn"] > 10, picture
        assert picture["words"] > 10, picture
    tables = page.value(
        "Object.fromEntries([...document.querySelectorAll('table')]"
        ".map(t => [t.caption.textContent, t.tBodies[0].rows.length]))"
    )
    assert tables["Every load, a day"] == len(result.loads)
    assert tables["What to expect, week by week"] == len(result.summary["parts"])
    assert tables["Waypoints"] == 2
    hours = sum(rows for name, rows in tables.items() if name.startswith("Hours of week"))
    assert hours == len(result.hourly)
    charging = (result.engine["kind"] == "charging").sum()
    assert tables.get("Charging runs", 0) == charging > 0


def test_hours_unfold(page):
    assert page.value("document.querySelector('details.hours').open") is False
    page.value("document.querySelector('details.hours summary').click()")
    assert page.value("document.querySelector('details.hours').open") is True
    assert page.value("document.querySelector('details.hours td').getClientRects().length") == 1
    page.value("document.querySelector('details.hours summary').click()")


#: The words that are to be read below the picture, and those of the button that has the keyboard.
SHOWN = (
    "[...document.querySelectorAll('.told span')].filter(s => getComputedStyle(s).opacity === '1')"
    ".sort((a, b) => getComputedStyle(b).zIndex - getComputedStyle(a).zIndex)[0].textContent"
)
FOCUSED = "document.activeElement.nextElementSibling.textContent"


@pytest.mark.parametrize("width", [360, 1280])
def test_the_keyboard_reads_the_picture_moment_by_moment(page, result, width):
    page.wide(width)
    words = [glued(moment.words) for moment in charge_words(result).moments]
    worst = charge_words(result).worst
    page.value(f"document.querySelectorAll('.told input')[{worst}].click()")
    assert page.value(SHOWN) == words[worst]
    # Reached by Tab, from the last link of the menu on: one stop for all of the moments.
    page.value("[...document.querySelectorAll('nav a')].pop().focus()")
    press(page, "Tab")
    assert page.value(FOCUSED) == words[worst]
    for key, place in (("ArrowRight", 1), ("ArrowRight", 2), ("ArrowLeft", 1), ("ArrowUp", 0)):
        press(page, key)
        assert page.value(FOCUSED) == page.value(SHOWN) == words[worst + place]
    press(page, "Tab")
    assert page.value("document.activeElement.closest('.told')") is None


def test_a_screen_reader_hears_the_words_and_where_among_them_it_is(page, result):
    page.ask("Accessibility.enable")
    tree = page.ask("Accessibility.getFullAXTree")["nodes"]
    page.ask("Accessibility.disable")
    named = [
        (node.get("role", {}).get("value"), node.get("name", {}).get("value")) for node in tree
    ]
    moments = charge_words(result).moments
    assert [name for role, name in named if role == "radio"] == [
        glued(each.words) for each in moments
    ]
    assert ("group", "The picture moment by moment") in named


@pytest.mark.parametrize("width", [360, 1280])
def test_the_pointer_reads_the_moment_that_it_is_over(page, result, width):
    """Where it is comes from the moment's time between departure and landfall, and no more."""
    page.wide(width)
    page.value("document.querySelector('.plot').scrollIntoView()")
    left, right, middle = page.value(
        "(() => { const all = [...document.querySelectorAll('.told input')]"
        ".map(i => i.getBoundingClientRect());"
        " return [all[0].left, all[all.length - 1].right, all[0].top + all[0].height / 2]; })()"
    )
    moments, charge = charge_words(result).moments, charge_figure(result)
    begin, end = charge.times_utc[0], charge.times_utc[-1]
    words = [glued(moment.words) for moment in moments]
    # On a phone a moment is two dots wide, and the pointer is on one or the next.
    wide = (right - left) / len(moments)
    for moment in moments[1:-1:10]:
        x = left + (right - left) * ((moment.when_utc - begin) / (end - begin))
        page.ask("Input.dispatchMouseEvent", type="mouseMoved", x=x, y=middle)
        off = abs(words.index(page.value(SHOWN)) - moments.index(moment))
        assert off <= (0 if wide > 4.0 else 1)
    page.ask("Input.dispatchMouseEvent", type="mouseMoved", x=1, y=1)


def test_the_words_lie_below_the_picture_and_over_nothing(page):
    for width in (320, 360, 768, 1280):
        page.wide(width)
        over = page.value(
            "[...document.querySelectorAll('.told span')].map(s => s.getBoundingClientRect())"
            ".filter(s => s.bottom > document.querySelector('.plot').closest('figure')"
            ".querySelector('figcaption').getBoundingClientRect().top + 1).length"
        )
        assert over == 0, width


def press(page, key):
    """A key as it comes from a keyboard."""
    codes = {"Tab": 9, "ArrowLeft": 37, "ArrowUp": 38, "ArrowRight": 39, "ArrowDown": 40}
    for kind in ("rawKeyDown", "keyUp"):
        page.ask(
            "Input.dispatchKeyEvent", type=kind, key=key, code=key,
            windowsVirtualKeyCode=codes[key],
        )  # fmt: skip


def test_what_the_files_say_is_inert_text(page):
    for tag in ("script", "iframe", "img", "object", "embed", "form", "link"):
        assert page.value(f"document.querySelectorAll('{tag}').length") == 0, tag
    assert page.value("document.title") == f"{HOSTILE[0]}: power and diesel"
    assert page.value("document.querySelector('h1').textContent") == HOSTILE[0]
    names = page.value("[...document.querySelectorAll('th[scope=row]')].map(th => th.textContent)")
    for name in HOSTILE:
        assert name in names
    labels = page.value("[...document.querySelectorAll('svg text')].map(t => t.textContent)")
    assert HOSTILE[0] in labels


def test_nothing_is_asked_of_the_network(page):
    page.driver.refresh()
    asked = [event["request"]["url"] for event in page.told("Network.requestWillBeSent")]
    assert set(asked) == {page.driver.current_url}
    assert asked[0].startswith("file:")
    assert page.logged() == []
    # Were there a script or an image after all, the page's own policy would stop it.
    page.value(
        "document.body.insertAdjacentHTML('beforeend', '<img id=x src=http://example.invalid/y>')"
    )
    page.value("new Promise(done => setTimeout(done, 300))")
    page.value("document.querySelector('#x').remove()")
    assert any("Content Security Policy" in entry for entry in page.logged())


@pytest.mark.parametrize("width", [320, 360, 768, 1280])
def test_it_fits_the_width_of_a_phone_and_of_a_desk(page, width):
    page.wide(width)
    assert page.value("document.documentElement.scrollWidth") <= width
    # What is wider scrolls within its own frame, which the keyboard can reach.
    unreachable = page.value(
        "[...document.querySelectorAll('*')].filter(e => e.scrollWidth > e.clientWidth + 1"
        " && getComputedStyle(e).overflowX === 'auto' && e.tabIndex !== 0).length"
    )
    assert unreachable == 0
    out = page.value(
        "[...document.querySelectorAll('p, li, dd, h1, h2, summary, caption')]"
        ".filter(e => !e.closest('.wide') && e.getBoundingClientRect().right"
        f" > {width} + 1).map(e => e.textContent.slice(0, 40))"
    )
    assert out == []


def test_it_prints_to_paper_with_nothing_cut_off(page):
    page.ask("Emulation.setEmulatedMedia", media="print")
    # The paper less its margins, 182 mm, at 96 dots an inch.
    page.wide(688)
    cut = page.value(
        "[...document.querySelectorAll('.wide > *')].filter(e => e.getClientRects().length"
        " && e.getBoundingClientRect().right > 689).map(e => e.textContent.slice(0, 60))"
    )
    page.ask("Emulation.setEmulatedMedia", media="")
    assert cut == []
    printed = page.ask("Page.printToPDF", preferCSSPageSize=True, printBackground=False)
    pdf = base64.b64decode(printed["data"])
    assert pdf.startswith(b"%PDF-")
    pages = len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))
    assert 4 <= pages <= 16


@pytest.fixture(params=["light", "dark"])
def scheme(request, page):
    """The page as a computer that is set so shows it."""
    page.ask(
        "Emulation.setEmulatedMedia",
        media="",
        features=[{"name": "prefers-color-scheme", "value": request.param}],
    )
    yield request.param
    page.ask("Emulation.setEmulatedMedia", media="", features=[])


def test_headings_words_for_pictures_and_contrast(page, scheme):
    page.wide(1000)
    look = (HERE / "look.js").read_text(encoding="utf-8")
    looked = page.value(look)
    assert looked["faults"] == []
    assert looked["looked"] > 300


def test_all_of_it_turns_dark(page, scheme):
    ground, words = page.value(
        "[getComputedStyle(document.documentElement).backgroundColor,"
        " getComputedStyle(document.querySelector('svg text')).fill]"
    )
    channels = [int(part) for part in re.findall(r"\d+", ground)]
    assert (max(channels) < 64) == (scheme == "dark")
    assert ground != words


def test_a_sheet_of_paper_is_light(page):
    """Whatever the screen is set to: ink is dear, and black paper is not read by a lamp."""
    page.ask(
        "Emulation.setEmulatedMedia",
        media="print",
        features=[{"name": "prefers-color-scheme", "value": "dark"}],
    )
    ground = page.value("getComputedStyle(document.documentElement).backgroundColor")
    page.ask("Emulation.setEmulatedMedia", media="", features=[])
    assert ground == "rgb(255, 255, 255)"


def test_a_wordy_table_is_a_block_for_each_row_on_a_phone(page):
    """Nothing of it has to be scrolled to, and each cell says what it is."""
    page.wide(360)
    hidden = page.value(
        "[...document.querySelectorAll('.stack')].filter(t => t.getClientRects().length"
        " && t.scrollWidth > t.closest('.wide').clientWidth).map(t => t.caption.textContent)"
    )
    assert hidden == []
    head = page.value(
        "getComputedStyle(document.querySelector('.stack td:not(:empty)'), '::before').content"
    )
    assert head.strip('"').endswith(": ")
    assert page.value("document.querySelectorAll('.stack').length") >= 4
    page.wide(1280)
    head = page.value("getComputedStyle(document.querySelector('.stack td'), '::before').content")
    assert head == "none"


def test_pictures_but_the_map_fit_a_phone(page):
    page.wide(360)
    scrolled = page.value(
        "[...document.querySelectorAll('figure .wide')].filter(f => f.getClientRects().length"
        " && f.scrollWidth > f.clientWidth + 1).map(f => f.parentElement.className)"
    )
    page.wide(1280)
    assert scrolled == ["map"]


def test_no_word_is_broken_and_no_row_split_on_paper(page):
    """Words of up to sixteen letters stand whole, as wide as they are alone."""
    page.ask("Emulation.setEmulatedMedia", media="print")
    page.wide(688)
    broken = page.value(
        """[...document.querySelectorAll("th, td")].filter(c => c.getClientRects().length)
        .flatMap(cell => {
          const walker = document.createTreeWalker(cell, NodeFilter.SHOW_TEXT), found = [];
          for (let node = walker.nextNode(); node; node = walker.nextNode())
            for (const word of node.data.matchAll(/[^\\s./,_-]{2,16}/g)) {
              const range = document.createRange();
              range.setStart(node, word.index);
              range.setEnd(node, word.index + word[0].length);
              const tops = new Set([...range.getClientRects()].map(r => Math.round(r.top)));
              if (tops.size > 1 && cell.textContent.split(/\\s/).every(w => w.length < 17))
                found.push(word[0]);
            }
          return found;
        })"""
    )
    rows = page.value(
        "[...document.querySelectorAll('tr')]"
        ".filter(r => getComputedStyle(r).breakInside !== 'avoid').length"
    )
    page.ask("Emulation.setEmulatedMedia", media="")
    assert broken == []
    assert rows == 0


@pytest.mark.parametrize(
    ("harm", "fault"),
    [
        ("document.querySelector('h2').outerHTML = '<h4>x</h4>'", "h4 after h1"),
        ("document.querySelector('main p').style.color = '#999'", "contrast 2.85"),
        ("document.querySelector('svg').removeAttribute('aria-labelledby')", "a picture without"),
        ("document.querySelector('caption').remove()", "a table without caption"),
        ("document.querySelector('svg text').style.fill = '#d55e00'", "contrast 3.8"),
    ],
)
def test_the_look_sees_each_kind_of_fault(page, harm, fault):
    body = page.value("document.body.innerHTML")
    page.value(harm)
    found = page.value((HERE / "look.js").read_text(encoding="utf-8"))["faults"]
    page.value(f"document.body.innerHTML = {json.dumps(body)}")
    assert any(one.startswith(fault) for one in found), found


@pytest.mark.parametrize("width", [360, 768, 1280])
def test_axe_finds_nothing(page, scheme, width):
    """Rules of WCAG 2.2 A and AA, and axe's own best practices."""
    if not AXE.is_file():
        pytest.skip("axe-core is not installed: npm install --no-save axe-core")
    page.wide(width)
    page.value(AXE.read_text(encoding="utf-8") + "; true")
    violations = page.value(
        "axe.run(document, {resultTypes: ['violations']}).then(r => r.violations"
        ".map(v => `${v.id}: ${v.help}: ${v.nodes.length} times, ${v.nodes[0].html}`))"
    )
    assert violations == []
