"""The card: what stands on it, and that all of it is on the page, in black."""

import re
from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise

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
from powersim.physics.tank import sounding
from powersim.planning.failures import FAILURES, WORKING
from powersim.records import ChargingRule, DailyRun, Fuel, Load, Shedding, Tank, TankPart
from powersim.report.axes import any_script
from powersim.report.card import card_file, card_of, draw_card
from powersim.report.endurance_view import endurance_from_departure
from powersim.report.paper import A4_MM, Paper
from powersim.report.view import Column

VOLTS = replace(bank_of("flooded"), reading="volts")
RULE = ChargingRule(start_soc=0.65, stop_soc=0.80, full_every_days=7.0)
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
    result = powersim.simulate(passage, step_h=1.0)
    return replace(result, ensemble=ensemble_of(hours=len(result.hourly)))


def heads_of(table):
    return [column.head for column in table.columns]


CASES = {
    "plain": lambda: powersim.simulate(passage_of(), step_h=1.0),
    "by volts": lambda: powersim.simulate(
        passage_of(boat=boat_of(battery=VOLTS, charging=RULE)), step_h=1.0
    ),
    "nothing": lambda: powersim.simulate(passage_of(boat=without_engine(), loads=()), step_h=1.0),
    "crowded": crowded,
}


@cache
def card_made(case):
    """As it is, for all that look at it or change it."""
    result = CASES[case]()
    return card_of(result, endurance=endurance_from_departure(result))


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
    # Every failure there is ends before landfall, and as many weeks as a card has lines for.
    lasts = tuple((one.name, "123 days", "200 days", "123 days", "200 days") for one in FAILURES)
    weeks = replace(made.weeks, rows=(made.weeks.rows * 8)[:8])
    return replace(made, endurance=replace(made.endurance, rows=lasts), weeks=weeks)


@pytest.fixture(scope="module")
def figure(card):
    """Drawn once for all that look at it."""
    return draw_card(card)


def test_what_stands_on_it_is_what_the_passage_says():
    shedding = Shedding(comfort_below_soc=0.6)
    loads = (
        *LOADS,
        Load(name="music", draw_A=0.5, priority="comfort"),
        Load(name="vhf", role="vhf"),
    )
    boat = boat_of(battery=VOLTS, charging=RULE, shedding=shedding)
    result = powersim.simulate(passage_of(boat=boat, loads=loads), step_h=1.0)
    endurance = endurance_from_departure(result)
    card = card_of(result, endurance=endurance)
    assert str(card.headline[0]).startswith("Start at 12.")
    assert card.title == "two days: hand-worked"
    assert card.shedding == (
        ("comfort, at 60 %", "music"),
        ("useful, when you must", "instruments, pilot, lights"),
        ("never", "vhf"),
    )
    (week,) = card.weeks.rows
    part = result.summary["parts"][0]
    assert str(week[0]) == "1 May"
    assert f"{100 * part['lowest_soc']:.0f} %" == str(week[heads_of(card.weeks).index("lowest")])
    assert str(week[-1]) == f"{part['charging_min_per_day']:.0f} min"
    assert card.weeks.columns[-1] == Column("engine", over="a day")
    (lasts,) = endurance.lasts
    told = [row for row in lasts.rows if row[0] != WORKING]
    short = [row for row in told if set(map(str, row[1:3])) != {"landfall"}]
    # All loads, and essential ones alone; what lasts to landfall is in a sentence.
    assert card.endurance.rows == tuple((*row[:3], *row[-2:]) for row in short)
    assert card.stands == "" or card.stands.startswith("To landfall with all loads on: ")
    named = {*card.stands.partition(": ")[2].rstrip(".").split(", ")} - {""}
    assert named | {row[0] for row in short} == {row[0] for row in told}


def test_the_strip_is_that_of_the_tank():
    result = powersim.simulate(passage_of(boat=boat_of(fuel=FUEL)), step_h=1.0)
    strip = card_of(result, endurance=endurance_from_departure(result)).strip
    marks_cm = [int(mark) for mark in heads_of(strip)[1:]]
    assert marks_cm == list(range(0, 27, 2))
    tank, above = ([int(cell) for cell in row[1:]] for row in strip.rows)
    for mark_cm, litres, usable in zip(marks_cm, tank, above, strict=True):
        read_L = sounding(FUEL.shape, mark_cm / 100.0).litres
        assert litres == round(read_L)
        assert usable == round(max(read_L - 0.05 * 85.0, 0.0))  # a twentieth is below the pick-up
    assert CASES["plain"]().passage.boat.fuel.shape is None


def test_all_words_are_on_the_page_and_none_over_another(card, figure):
    figure.set_dpi(144)  # fine, so that dots do not widen the words
    page = figure.bbox.padded(-10.0 / 25.4 * 144)
    renderer = FigureCanvasAgg(figure).get_renderer()
    texts = [text for text in figure.texts if text.get_text()]
    assert len(texts) > 20
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


def test_black_on_white_for_red_light(card, figure):
    assert figure.get_facecolor() == (1.0, 1.0, 1.0, 1.0)
    assert {text.get_color() for text in figure.texts} == {"#000000"}
    assert {line.get_color() for line in figure.artists} == {"#000000"}
    assert min(text.get_fontsize() for text in figure.texts) >= 9.0
    # The rule is the largest thing on the page.
    largest = max(figure.texts, key=lambda text: text.get_fontsize())
    assert largest.get_text() in " ".join(map(str, card.headline))
    assert largest.get_fontsize() >= 18.0


def test_lines_for_the_pencil(card, figure):
    across = [line for line in figure.artists if len(set(line.get_ydata())) == 1]
    levels = sorted({round(A4_MM[1] * (1.0 - line.get_ydata()[0]), 2) for line in across})
    rows = sum(abs(high - low - 7.5) < 0.02 for low, high in pairwise(levels))
    # Cautions go before lines to write in on a card with more on it than any boat brings.
    assert rows >= (5 if len(card.endurance.rows) < len(FAILURES) else 1)
    heads = [text.get_text() for text in figure.texts]
    assert card.written_heads[:2] == ("date", "position")
    assert card.written_heads[2].endswith(" before dawn")
    assert card.written_heads[3:] in (
        ("engine hours", "dip", "litres"),
        ("what was switched off",),
    )
    for head in card.written_heads:
        assert head in heads


def test_one_page_of_a4_the_same_every_time(tmp_path):
    result = CASES["plain"]()
    rows, found = endurance_from_departure(result), []
    for turn in range(2):
        path = tmp_path / f"{turn}.pdf"
        card_file(result, endurance=rows)(path)
        found.append(path.read_bytes())
    assert found[0] == found[1]
    assert found[0].startswith(b"%PDF-")
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", found[0])) == 1
    # ISO 216: 210 mm by 297 mm, in points of 1/72 inch.
    box = re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", found[0])
    assert [float(side) for side in box.groups()] == pytest.approx([595.28, 841.89], abs=0.5)


def test_words_are_wrapped_by_their_printed_width():
    paper = Paper(margin_mm=10.0)
    lines = paper.wrapped("stop after about 2 h 15 min at 80 % or so", 18.0, 60.0)
    assert " ".join(lines) == "stop after about 2 h 15 min at 80 % or so"
    assert all(paper.width_mm(line, 18.0) <= 60.0 for line in lines)
    assert any("80 %" in line for line in lines)
    # Twice the size is twice as wide.
    assert paper.width_mm("diesel", 20.0) == pytest.approx(
        2 * paper.width_mm("diesel", 10.0), rel=0.02
    )
    assert paper.wrapped("x" * 100, 10.0, 20.0)[0].endswith("…")
