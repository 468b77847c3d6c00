"""The card: what stands on it is the answer's, and all of it is on its pages, in black."""

import re
import zlib
from dataclasses import replace
from datetime import date
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from hand_worked import (
    LOADS,
    bank_of,
    boat_of,
    passage_of,
    waypoints_of,
    with_panels,
    without_engine,
)
from made_ensemble import ensemble_of
from matplotlib.backends.backend_agg import FigureCanvasAgg

import powersim
from powersim.inputs.log import log_columns
from powersim.physics.tank import sounding
from powersim.planning.endurance import endurance
from powersim.planning.failures import FAILURES
from powersim.records import ChargingRule, DailyRun, Fuel, Load, Shedding, Tank, TankPart
from powersim.report.axes import any_script
from powersim.report.card import card_file, card_of
from powersim.report.card_pages import WIDE_MM, draw_card
from powersim.report.card_verdict import AVERAGE_ALONE, card_verdict
from powersim.report.paper import A5_MM, Paper
from powersim.report.verdict_view import verdict_view
from powersim.report.view import Column

MADE = date(2026, 4, 18)
VOLTS = replace(bank_of("flooded"), reading="volts")
RULE = ChargingRule(start_soc=0.65, stop_soc=0.80, read_at_h=(), full_every_days=7.0)
KEEL = TankPart(shape="wedge", length_m=0.9, width_m=0.55, bottom_m=0.15, height_m=0.27)
FUEL = Fuel(tank_L=85.0, aboard_L=85.0, reserve_L=20.0, shape=Tank(parts=(KEEL,)))
NAMES = (
    "<b>bold</b>",
    "$\\frac{1}{2}$",
    "a load with a name that goes on " * 6,
    "x" * 200,
    "日本 🧭",
)


def crowded():
    """As much of everything as a card can be asked to hold."""
    daily = tuple(DailyRun(at_h=8.0 + n, run_h=0.5, north_deg=10.0 * n + 5) for n in range(7))
    loads = tuple(
        Load(name=f"{name} {n}", draw_A=0.01, priority=priority)
        for n in range(5)
        for name in NAMES
        for priority in ("comfort", "useful", "essential")
    )
    boat = with_panels(
        battery=VOLTS, charging=replace(RULE, daily=daily), name=" ".join(NAMES), fuel=FUEL
    )
    waypoints = waypoints_of(days=30)
    passage = passage_of(boat=boat, loads=loads, waypoints=waypoints, name="w" * 150)
    result = powersim.simulate(passage, step_h=1.0, members=1)
    return replace(result, ensemble=ensemble_of(hours=len(result.hourly)))


def simulated(members=1, **changes):
    return powersim.simulate(passage_of(**changes), step_h=1.0, members=members)


def long_and_failing():
    """Some weeks in some members: the loads take more than the rule may give."""
    boat = with_panels(battery=VOLTS, charging=replace(RULE, start_soc=0.55), fuel=FUEL)
    return simulated(members=6, boat=boat, waypoints=waypoints_of(days=23))


CASES = {
    "plain": simulated,
    "by volts": lambda: simulated(boat=boat_of(battery=VOLTS, charging=RULE)),
    "nothing": lambda: simulated(boat=without_engine(), loads=()),
    "fails": long_and_failing,
    "crowded": crowded,
}


@cache
def result_of(case):
    """As it is, for all that look at it."""
    return CASES[case]()


@cache
def card_made(case):
    """Of that, for all that look at it or change it."""
    result = result_of(case)
    return card_of(result, endurance=endurance(result, members=1), made=MADE)


@pytest.fixture(
    scope="module",
    params=[
        *(case for case in CASES if case != "crowded"),
        *(pytest.param(case, marks=pytest.mark.slow) for case in ("crowded", "at most")),
    ],
)
def card(request):
    made = card_made("crowded" if request.param == "at most" else request.param)
    if request.param != "at most":
        return made
    # Every failure there is ends before landfall, and so many weeks that they need two pages.
    rows = tuple((one.name, "123 days", "200 days", "123 days", "200 days") for one in FAILURES)
    heads = [Column(head, over=over) for over in ("from departure", "at") for head in ("a", "b")]
    lasts = tuple(
        (replace(table, columns=(table.columns[0], *heads), rows=rows), stood)
        for table, stood in made.endurance.lasts
    )
    weeks = replace(made.weeks, rows=(made.weeks.rows * 60)[:60])
    return replace(made, endurance=replace(made.endurance, lasts=lasts), weeks=weeks)


@pytest.fixture(scope="module")
def pages(card):
    """Drawn once for all that look at them."""
    return draw_card(card)


def texts_of(page):
    return [text for text in page.texts if text.get_text()]


def words_of(pages):
    return " ".join(text.get_text() for page in pages for text in texts_of(page))


def test_what_stands_on_it_is_what_the_passage_says():
    shedding = Shedding(comfort_below_soc=0.6)
    loads = (
        *LOADS,
        Load(name="music", draw_A=0.5, priority="comfort"),
        Load(name="vhf", role="vhf"),
    )
    result = simulated(boat=boat_of(battery=VOLTS, charging=RULE, shedding=shedding), loads=loads)
    card = card_of(result, endurance=endurance(result, members=1), made=MADE)
    assert card.title == "two days: hand-worked"
    assert card.passage == "A to B, 2.0 days, from Fri 1 May 2026. Made Sat 18 Apr 2026."
    off = card.endurance.off
    assert [str(row[1]) for row in off.rows] == ["music", "instruments", "pilot", "lights"]
    assert [str(row[2]) for row in off.rows] == ["comfort, at 60 %", "useful", "useful", "useful"]
    assert str(card.endurance.never) == "Never: the lookout, vhf."


def test_the_rule_is_in_the_largest_letters_only_where_it_holds():
    holds = card_made("by volts").verdict
    assert holds.holds
    assert str(holds.largest[0]).startswith("At 12.")
    # In average weather alone nothing is known of a grey week, and the card says so.
    assert AVERAGE_ALONE in holds.chance


def test_a_rule_that_fails_is_never_the_rule():
    result, card = result_of("fails"), card_made("fails")
    verdict, view = card.verdict, verdict_view(result.summary)
    assert not view.holds
    assert not verdict.holds
    share = result.verdict.fails.frac
    assert 0 < share <= 1
    assert str(verdict.largest[0]) == f"THIS RULE FAILS in {round(6 * share)} of 6 passages."
    assert str(verdict.largest[1]) == "Do not sail by it."
    # What it is that fails comes last and in small letters, after what to do.
    *instead, tried = map(str, verdict.lines)
    assert tried.startswith("What was tried: At ")
    assert any("powersim plan" in line for line in instead)
    assert any("switch off early" in line for line in instead)
    largest = max(text.get_fontsize() for page in draw_card(card) for text in page.texts)
    biggest = words_of_size(draw_card(card), largest)
    assert "FAILS" in biggest
    assert "Start at" not in biggest
    assert str(view.why) in str(verdict.chance[0])


@pytest.mark.parametrize(
    ("folder", "typed"),
    [(None, "FOLDER"), ("boats/my-boat", "my-boat"), (".", "."), ("my boat", "'my boat'")],
)
def test_the_next_command_names_the_folder_as_it_is_typed(folder, typed):
    result = result_of("fails")
    passage = replace(result.passage, folder=None if folder is None else Path(folder))
    verdict = card_verdict(replace(result, passage=passage))
    assert any(f"powersim plan {typed}'" in str(line) for line in verdict.lines)


def words_of_size(pages, size_pt):
    return " ".join(
        text.get_text()
        for page in pages
        for text in texts_of(page)
        if text.get_fontsize() == size_pt
    )


def test_without_an_engine_the_boat_fails_and_nothing_is_said_of_charging():
    boat = without_engine(battery=bank_of(capacity_Ah=50.0))
    result = simulated(boat=boat)
    card = card_of(result, endurance=endurance(result, members=1), made=MADE)
    words = words_of(draw_card(card))
    assert str(card.verdict.largest[0]) == "THIS BOAT FAILS in average weather."
    for other in ("engine", "diesel", "runs", "reserve", "plan"):
        assert other not in words.replace("'powersim underway'", "").lower()


def test_the_strip_is_that_of_the_tank():
    result = simulated(boat=boat_of(fuel=FUEL))
    strip = card_of(result, endurance=endurance(result, members=1)).strip
    marks_cm = [int(column.head) for column in strip.columns[1:]]
    assert marks_cm == list(range(0, 27, 2))
    tank, above = ([int(cell) for cell in row[1:]] for row in strip.rows)
    for mark_cm, litres, usable in zip(marks_cm, tank, above, strict=True):
        read_L = sounding(FUEL.shape, mark_cm / 100.0).litres
        assert litres == round(read_L)
        assert usable == round(max(read_L - 0.05 * 85.0, 0.0))  # a twentieth is below the pick-up
    assert result_of("plain").passage.boat.fuel.shape is None


def test_all_words_are_on_the_page_and_none_over_another(pages):
    for figure in pages:
        figure.set_dpi(144)  # fine, so that dots do not widen the words
        page = figure.bbox.padded(-4.0 / 25.4 * 144)
        renderer = FigureCanvasAgg(figure).get_renderer()
        texts = texts_of(figure)
        with any_script():
            boxes = [text.get_window_extent(renderer) for text in texts]
        for text, box in zip(texts, boxes, strict=True):
            assert page.x0 <= box.x0 <= box.x1 <= page.x1, text.get_text()
            assert page.y0 <= box.y0 <= box.y1 <= page.y1, text.get_text()
        for (one, box), (other, second) in combinations(zip(texts, boxes, strict=True), 2):
            wide = min(box.x1, second.x1) - max(box.x0, second.x0)
            high = min(box.y1, second.y1) - max(box.y0, second.y0)
            over = wide > 0.0 and high > 0.25 * min(box.height, second.height)
            assert not over, (one.get_text(), other.get_text())


def test_black_on_white_for_red_light(card, pages):
    assert len(pages) >= 3
    assert {figure.get_facecolor() for figure in pages} == {(1.0, 1.0, 1.0, 1.0)}
    assert {text.get_color() for figure in pages for text in figure.texts} == {"#000000"}
    assert {line.get_color() for figure in pages for line in figure.artists} == {"#000000"}
    # Two of these pages stand on a sheet of A4 at full size.
    sizes = [text.get_fontsize() for figure in pages for text in figure.texts]
    assert min(sizes) >= 9.0
    assert max(sizes) >= 16.0
    for text in texts_of(pages[0]):
        if text.get_fontsize() == max(sizes):
            assert text.get_text() in " ".join(map(str, card.verdict.largest))


def test_no_word_is_cut_and_no_row_parted(card, pages):
    """On each page every row of a table has all of its cells, and the table its heads."""
    words = words_of(pages)
    for column in card.weeks.columns:
        for line in column.head.split("\n"):
            assert line in words
    rows = [[str(cell) for cell in row] for row in card.weeks.rows]
    levels = [{round(text.get_position()[1], 4) for text in texts_of(page)} for page in pages]
    found = 0
    for page, at in zip(pages, levels, strict=True):
        for level in at:
            line = [t.get_text() for t in texts_of(page) if round(t.get_position()[1], 4) == level]
            found += line in rows
    assert found >= len(rows)
    if "x" * 200 not in card.title:
        assert "…" not in words


def test_a_row_for_every_day_in_the_words_of_the_log(card, pages):
    names = [each.column.name for each in log_columns()]
    assert set(card.log.heads) <= set(names)
    assert list(card.log.heads) == sorted(card.log.heads, key=names.index)
    assert card.log.heads[:2] == ("ship_time", "position")
    assert ("voltage" in card.log.heads) != ("soc" in card.log.heads)
    assert sum(card.log.shares) == pytest.approx(1.0)
    paper = Paper(size_mm=A5_MM, margin_mm=9.0)
    for head, share in zip(card.log.heads, card.log.shares, strict=True):
        assert paper.width_mm(head, 9.0, bold=True) + 1.2 <= share * WIDE_MM, head
    words = [[text.get_text() for text in texts_of(page)] for page in pages]
    written = [page for page in words if "ship_time" in page]
    for day in card.log.days:
        assert sum(page.count(day) for page in written) == 1
    for page in written:
        assert set(card.log.heads) <= set(page)


def test_the_days_are_those_of_the_ships_calendar():
    """Ship's time is 12 h ahead on leaving: noon UTC on 1 May is midnight, so 2 May, aboard."""
    result = result_of("plain")
    assert card_made("plain").log.days == ("1 May", "2 May", "3 May")
    later = replace(result.passage, ship_offset_h=12.0)
    later = replace(later, depart_utc=later.depart_utc.replace(hour=12))
    moved = powersim.simulate(later, step_h=1.0, members=1)
    card = card_of(moved, endurance=endurance(moved, members=1), made=MADE)
    assert card.log.days == ("2 May", "3 May", "4 May")
    assert "from Sat 2 May 2026" in card.passage


def test_lines_are_high_enough_to_write_in(pages):
    last = pages[-1]
    across = [line for line in last.artists if len(set(line.get_ydata())) == 1]
    levels = sorted({round(A5_MM[1] * (1.0 - line.get_ydata()[0]), 2) for line in across})
    rows = [high - low for low, high in pairwise(levels)]
    assert sum(abs(high - 8.5) < 0.02 for high in rows) >= 15


def test_pages_of_a5_the_same_every_time(tmp_path):
    result = result_of("plain")
    days, found = endurance(result, members=1), []
    for turn in range(2):
        path = tmp_path / f"{turn}.pdf"
        card_file(result, endurance=days, made=MADE)(path)
        found.append(path.read_bytes())
    pdf = found[0]
    assert pdf == found[1]
    assert pdf.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf)) == 3
    # ISO 216: 148 mm by 210 mm, in points of 1/72 inch.
    for box in re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", pdf):
        assert [float(side) for side in box] == pytest.approx([419.53, 595.28], abs=0.5)
    # ISO 32000-1, 9.3: "Tf" sets font and size; no page scales what it draws ("cm" by 1 or not).
    streams = [
        zlib.decompress(one)
        for one in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL)
        if one[:1] == b"x"
    ]
    sizes = {float(size) for one in streams for size in re.findall(rb"/\S+ ([\d.]+) Tf", one)}
    assert min(sizes) == 9.0
    assert max(sizes) >= 16.0


def test_words_are_wrapped_by_their_printed_width():
    paper = Paper(size_mm=A5_MM, margin_mm=10.0)
    lines = paper.wrapped("stop after about 2 h 15 min at 80 % or so", 18.0, 60.0)
    assert " ".join(lines) == "stop after about 2 h 15 min at 80 % or so"
    assert all(paper.width_mm(line, 18.0) <= 60.0 for line in lines)
    assert any("80 %" in line for line in lines)
    # Twice the size is twice as wide.
    assert paper.width_mm("diesel", 20.0) == pytest.approx(
        2 * paper.width_mm("diesel", 10.0), rel=0.02
    )
    assert paper.wrapped("x" * 100, 10.0, 20.0)[0].endswith("…")
