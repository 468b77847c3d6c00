"""The report's page: its numbers are the summary's, and what is in the files stays text."""

import html
import json
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from builders import in_average
from hand_worked import (
    LOADS,
    WAYPOINTS,
    boat_of,
    passage_of,
    waypoints_of,
    with_panels,
    without_engine,
)
from made_ensemble import ensemble_of
from markupsafe import Markup

from powersim.inputs.cautions import cautions_of
from powersim.inputs.standing_cautions import standing_cautions
from powersim.records import Fuel, Load, Tank, TankPart
from powersim.report import kinds
from powersim.report import page as page_module
from powersim.report.charge_words import charge_words
from powersim.report.endurance_view import endurance_from_departure
from powersim.report.figures import names_for
from powersim.report.files import result_files
from powersim.report.page import report_html
from powersim.report.page_tables import hour_blocks
from powersim.report.quoted import looked_up
from powersim.report.text import glued

HOSTILE = (
    "<script>alert(1)</script>",
    '=cmd("calc")',
    "--><img src=x onerror=alert(2)>",
    "{{ 7 * 7 }} {% raw %}",
    "]]></style></svg><b>bold</b>",
    "$\\frac{1}{2}$ &amp; 'quoted' \"twice\"",
)


class Page(HTMLParser):
    """What a page is made of, in order: elements, and the text of the whole."""

    def __init__(self, text):
        super().__init__()
        self.elements, self.open, self.words, self.quoted = [], [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag == "data":
            self.quoted.append([dict(attrs), ""])
        self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        while self.open and self.open.pop() != tag:
            pass

    def handle_data(self, data):
        if "style" in self.open:
            return
        self.words.append(data)
        if "data" in self.open:
            self.quoted[-1][1] += data

    def all(self, tag):
        return [attrs for name, attrs in self.elements if name == tag]


def kinds_of(key):
    """The kinds that belong to the unit of a key's name: in a sentence, or under a head."""
    *_, above, name = ("", *key.split("."))
    name = above if name in ("p10", "p50", "p90", "mean", "at_risk") else name
    name = name.removesuffix("_per_day").removesuffix("_per_day_now")
    if name == "longest_run_h":
        return (kinds.BY_WATCH,)
    ends = {
        "Ah": (kinds.AH, kinds.AH_A_DAY),
        "Wh": (kinds.WH,),
        "_V": (kinds.VOLTS,),
        "_L": (kinds.LITRES, kinds.TENTHS),
        "_h": (kinds.HOURS,),
        "_nm": (kinds.MILES,),
        "_min": (kinds.MINUTES,),
        "days": (kinds.DAYS,),
        "runs": (kinds.COUNT,),
        "soc": (kinds.SHARE, kinds.charge_beside(0.2)),
        "soc_at_landfall": (kinds.SHARE,),
        "soc_at_departure": (kinds.charge_beside(0.2),),
        "frac": (kinds.CHANCE, kinds.count_of(10), kinds.TENTHS_OF_PERCENT),
    }
    return next(found for end, found in ends.items() if name.endswith(end))


@pytest.fixture
def unpictured(monkeypatch):
    """No picture is drawn, where a test reads words alone."""

    def none(result, summary):
        return dict.fromkeys(names_for(result), Markup())

    monkeypatch.setattr(page_module, "figures_of", none)


def page_of(result):
    return report_html(
        result,
        endurance=endurance_from_departure(result),
        cautions=cautions_of(result.passage),
        standing=standing_cautions(result.passage),
        version="0",
    )


@pytest.fixture(scope="module")
def alone():
    """In the mean sky, with loads that mean harm."""
    hostile = tuple(Load(name=name, draw_A=0.1 + 0.01 * n) for n, name in enumerate(HOSTILE))
    passage = passage_of(boat=with_panels(name=HOSTILE[0]), loads=(*LOADS, *hostile))
    return in_average(passage, step_h=1.0)


@pytest.fixture(scope="module")
def tried(alone):
    hours = len(alone.hourly)
    return replace(alone, ensemble=ensemble_of(hours=hours, floor_h=[20.0] + 9 * [float("inf")]))


@pytest.fixture(scope="module", params=["alone", "tried"])
def made(request):
    result = request.getfixturevalue(request.param)
    text = page_of(result)
    return result, text, Page(text)


def test_every_number_quoted_is_that_of_summary_json(made):
    """Looked up in the file that simulate writes, and rounded once more."""
    result, _, page = made
    summary = json.loads(result_files(result, figures=False)["summary.json"])
    assert len(page.quoted) > 40
    for attributes, shown in page.quoted:
        value = looked_up(summary, attributes["data-key"])
        assert json.loads(attributes["value"]) == value, attributes
        forms = {kind.text(value) for kind in kinds_of(attributes["data-key"])}
        assert shown.replace("\u00a0", " ") in forms, attributes
    keys = {attributes["data-key"] for attributes, _ in page.quoted}
    for block in ("average.charge", "average.engine", "average.fuel", "loads", "totals", "passage"):
        assert any(key.startswith(block) for key in keys), block


def test_questions_come_in_the_order_of_the_sailor(made):
    _, text, _ = made
    heads = re.findall(r"<h2 id=\"(\w+)\">", text)
    assert heads == [
        *("holds", "engine", "fails", "fuel", "numbers", "budget", "route"),
        *("weather", "hours", "assumed", "care"),
    ]


def test_what_the_files_say_stays_text(made):
    _, text, page = made
    tags = {tag for tag, _ in page.elements}
    assert not tags & {"script", "img", "iframe", "object", "embed", "link", "form", "base", "b"}
    for _, attrs in page.elements:
        assert not [name for name in attrs if name.startswith("on")], attrs
    said = "".join(page.words)
    for name in HOSTILE:
        assert name in said
    assert "<script" not in text
    assert "49" not in re.findall(r"<th scope=\"row\">([^<]*)", text)


def test_nothing_comes_from_outside(made):
    _, text, page = made
    for _, attrs in page.elements:
        for name in ("src", "href", "xlink:href", "action", "srcset"):
            assert attrs.get(name, "#").startswith("#"), attrs
    assert re.findall(r"(?:url\(|@import\s)(?!#)", text) == []
    addresses = set(re.findall(r"https?://[^\"'\s<]+", text))
    assert addresses == set()


def test_every_name_is_there_once_and_every_meaning_has_one(made):
    _, text, page = made
    names = [attrs["id"] for _, attrs in page.elements if "id" in attrs]
    assert len(names) == len(set(names)) > 50
    meant = set(re.findall(r'(?:url\(#|href="#)([^")]+)', text))
    meant |= {
        name for _, attrs in page.elements for name in attrs.get("aria-labelledby", "").split()
    }
    assert meant <= set(names)


def test_pictures_and_what_they_tell(made):
    result, text, page = made
    pictures = page.all("svg")
    # All but the map are there in two widths, of which the style sheet shows one.
    assert len(pictures) == 9
    assert all(attrs["role"] == "img" for attrs in pictures)
    told = html.unescape(text.split('class="told"')[1])
    assert glued(charge_words(result).moments[-1].words) in told


@pytest.mark.slow
def test_the_same_passage_gives_the_same_page(alone):
    assert page_of(alone) == page_of(alone)


@pytest.mark.usefixtures("unpictured")
def test_a_boat_without_engine_panels_and_loads():
    sailed = tuple(replace(one, motoring_start_h=0.0) for one in WAYPOINTS)
    bare = passage_of(boat=without_engine(), loads=(), waypoints=sailed)
    page = Page(page_of(in_average(bare, step_h=1.0)))
    said = " ".join("".join(page.words).split())
    assert "Switch loads off early, the least needed first" in said
    for nothing in ("engine", "diesel", "alternator", "carbon monoxide"):
        assert nothing not in said.casefold()
    assert (
        "HOLDS in average weather alone (no grey week, no calm): charge above its floor of 20 %."
        in said
    )
    assert "fuel" not in {attrs.get("id") for attrs in page.all("h2")}


@pytest.mark.usefixtures("unpictured")
def test_a_bank_that_runs_flat_says_so():
    heavy = (Load(name="heavy", draw_A=20.0),)
    result = in_average(passage_of(boat=boat_of(), loads=heavy), step_h=1.0)
    said = " ".join("".join(Page(page_of(result)).words).split())
    assert (
        "FAILS in average weather alone (no grey week, no calm): charge is below its floor" in said
    )
    assert "loads went without" in said


@pytest.mark.usefixtures("unpictured")
def test_the_dip_stick_of_a_tank_whose_shape_is_known():
    part = TankPart(shape="box", length_m=1.0, width_m=0.5, height_m=0.2)
    fuel = Fuel(tank_L=100.0, aboard_L=90.0, reserve_L=20.0, shape=Tank(parts=(part,)))
    result = in_average(passage_of(boat=boat_of(fuel=fuel)), step_h=1.0)
    page = Page(page_of(result))
    said = " ".join("".join(page.words).split())
    # A box of half a square metre: 5 L a centimetre, 5 of its 100 L below the pick-up; half of the
    # 1 cm that may be wet is taken off.
    assert "21 cm100 L95.0 L20 cm97.5 L92.5 L" in "".join(page.words).replace("\n", "")
    assert "half of that is taken off each mark, as for a reading" in said
    assert "Sound her upright" in said
    assert "dip stick" not in "".join(Page(page_of(in_average(passage_of()))).words)


def test_a_long_passage_has_several_hours_in_a_row():
    """A hundred days: 2,400 hours, more than the page's 2,200 rows."""
    result = in_average(passage_of(waypoints=waypoints_of(days=40, speed_kn=2.0)), step_h=1.0)
    blocks = hour_blocks(result)
    assert {block.every_h for block in blocks} == {2}
    assert len(blocks) == len(result.summary["parts"])
    rows = [row for block in blocks for row in block.table.rows]
    assert len(rows) == -(-len(result.hourly) // 2)
    assert all(len(block.table.rows) == 84 for block in blocks[:-1])
    hourly, row = result.hourly, rows[5]
    assert str(row[0]) == "Fri 1 May 10:00"
    assert str(row[6]) == f"{hourly['loads_Ah'].iloc[10:12].sum():.1f}"
    assert str(row[7]) == f"{100 * hourly['soc'].iloc[11]:.0f} %"


@pytest.mark.slow
def test_the_ledger_is_summed_up_in_its_own_line(alone):
    text = page_of(alone)
    (row,) = re.findall(r'<tr class="sum">(.*?)</tr>', text)
    left = alone.summary["average"]["fuel"]["left_L"]
    assert re.sub("<[^>]+>", " ", row).split() == ["left", f"{left:.1f}"]


@pytest.mark.slow
def test_what_is_usual_is_said_once(alone):
    """No cell of how long the bank lasts says "landfall": a sentence below its table does."""
    text = page_of(alone)
    lasts = text[text.index('<section aria-labelledby="fails">') : text.index("What is meant by")]
    tables = lasts.count("<table")
    assert tables > 0
    assert "landfall" not in "".join(re.findall(r"<td.*?</td>", lasts))
    assert lasts.count("<p>The bank lasts to landfall: everything working, ") == tables
