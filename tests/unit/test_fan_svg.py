"""The plain picture of the charge draws FanFigure's numbers and says the other picture's words."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from builders import in_average
from hand_worked import passage_of, waypoints_of, without_engine
from made_ensemble import ensemble_of
from matplotlib.dates import date2num
from matplotlib.text import Text

from powersim.report.axes import new_axes, ship_dates_along
from powersim.report.charge_words import charge_words
from powersim.report.date_marks import date_heading, date_marks
from powersim.report.fan_outlines import FINE
from powersim.report.fan_svg import QUIET, fan_svg
from powersim.report.figure_charge import charge_figure
from powersim.report.figure_fan import fan_figure, plot_fan
from powersim.report.palette import SHADES, style_sheet
from powersim.report.svg_frame import LOOKS, shade_rules

MEMBERS = 20
SVG = "{http://www.w3.org/2000/svg}"


def many(alone, *, lowered=0.0, risk_frac=0.05):
    """Twenty members evenly about the average; those that fall below the floor break it there.

    Fractions are odd, so that none lies between two of the outline's steps.
    """
    hours = len(alone.hourly)
    apart = np.linspace(-0.111, 0.103, MEMBERS) - lowered
    hour_soc = np.clip(alone.hourly["soc"].to_numpy()[:, None] + apart, 0.0, 1.0)
    below = hour_soc < alone.passage.boat.battery.floor_soc
    first_h = np.where(below.any(axis=0), below.argmax(axis=0) + 1.0, np.inf)
    ensemble = ensemble_of(
        hours=hours, members=MEMBERS, hour_soc=hour_soc, floor_h=first_h,
        lowest_soc=hour_soc.min(axis=0), lowest_h=hour_soc.argmin(axis=0) + 1.0,
        hour_charging_frac=np.full(hours, 0.05), hour_motoring_frac=np.full(hours, 0.01),
    )  # fmt: skip
    return replace(alone, ensemble=ensemble, risk_frac=risk_frac)


@pytest.fixture(scope="module")
def alone():
    return in_average(passage_of(waypoints=waypoints_of(days=9), ship_offset_h=-3.0), step_h=1.0)


@pytest.fixture(scope="module")
def result(alone):
    return many(alone, lowered=0.3)


def pictures(markup):
    """Both looks as trees, and the list of moments."""
    broad, narrow, moments = str(markup).split("\n")
    return ET.fromstring(broad), ET.fromstring(narrow), moments


def drawn(svg, kind):
    """The one shape of a kind."""
    (found,) = (each for each in svg.iter() if kind in each.get("class", "").split())
    return found


def points(d):
    """Where an outline goes: hours, and values in units of the axis."""
    x = y = 0.0
    found = []
    for command, rest in re.findall(r"([A-Za-z])([^A-Za-z]*)", d):
        numbers = [float(each) for each in re.findall(r"-?\d+(?:\.\d+)?", rest)]
        if command == "H":
            numbers = [numbers[0], y]
        elif command == "V":
            numbers = [x, numbers[0]]
        for one, other in zip(numbers[::2], numbers[1::2], strict=True):
            x, y = (x + one, y + other) if command == "l" else (one, other)
            found.append((x, y / FINE))
    return found


def values(svg, kind):
    return [y for _, y in points(drawn(svg, kind).get("d"))]


def words_of(svg):
    return [each.text for each in svg.iter(f"{SVG}text")]


def test_the_lines_are_the_numbers_of_the_other_picture(result):
    """As near as the outline's steps: a twentieth of a per cent, or half of it either way."""
    numbers = fan_figure(result)
    for svg in pictures(fan_svg(numbers))[:2]:
        for kind, wanted in (("median", numbers.median_percent), ("edge", numbers.edge_percent)):
            assert values(svg, kind) == pytest.approx(list(wanted), abs=0.5 / FINE + 1e-9)
        hours = len(wanted)
        band = values(svg, "band")
        assert band[:hours] == pytest.approx(list(numbers.high_percent), abs=0.5 / FINE + 1e-9)
        low = list(numbers.low_percent)[::-1]
        assert band[hours:] == pytest.approx(low, abs=0.5 / FINE + 1e-9)


def test_the_strip_keeps_the_chance_of_every_hour(result):
    numbers = fan_figure(result)
    steps = points(drawn(pictures(fan_svg(numbers))[0], "chance").get("d"))
    for hour, frac in enumerate(numbers.fails_frac):
        at = [y for x, y in steps if x <= hour][-1]
        assert at == pytest.approx(100.0 * frac)
    assert steps[-1] == (len(numbers.fails_frac) - 1, pytest.approx(100.0 * numbers.fails_frac[-1]))


def test_it_says_what_the_other_picture_says(result):
    """Every word beside the axes, in strips' headings and along them; but each look breaks lines as
    it has room, and dates are fewer where it has less."""
    figure = plot_fan(result).figure
    figure.draw_without_rendering()
    wanted = {
        " ".join(each.get_text().split())
        for each in figure.findobj(Text)
        if each.get_visible() and re.search(r"[A-Za-z]{2}", each.get_text())
    }
    wanted -= {"latitude", "state of charge [%]", fan_figure(result).charge.title}
    broad, narrow, _ = pictures(fan_svg(fan_figure(result)))
    for svg in (broad, narrow):
        said = " ".join(" ".join(words_of(svg)).split())
        for words in wanted:
            if svg is broad or not re.fullmatch(r"\d+ [A-Z][a-z]{2}", words):
                assert words in said, (svg.get("class"), words)


def test_below_the_floor_is_seen_where_the_edge_crosses_it(alone, result):
    floor = 100.0 * alone.passage.boat.battery.floor_soc
    for made, broken in ((many(alone), False), (result, True)):
        numbers = fan_figure(made)
        assert (min(numbers.edge_percent) < floor) == broken
        svg = pictures(fan_svg(numbers))[0]
        kinds = [each.get("class", "").split()[:1] for each in svg.iter(f"{SVG}path")]
        assert (["below"] in kinds) == broken
    area = [y for _, y in points(drawn(svg, "below").get("d"))]
    assert max(area) == floor
    assert min(area) == pytest.approx(min(numbers.edge_percent), abs=0.5 / FINE + 1e-9)


def test_each_moment_is_told_as_on_the_page(result):
    moments = pictures(fan_svg(fan_figure(result)))[2]
    told = charge_words(result)
    found = re.findall(r'<li data-hour="([\d.]+)"( data-worst)?>([^<]*)</li>', moments)
    begin = told.moments[0].when_utc
    whens = [begin + timedelta(hours=float(hour)) for hour, _, _ in found]
    assert whens == [each.when_utc for each in told.moments]
    assert [words for _, _, words in found] == [each.words for each in told.moments]
    assert [bool(worst) for _, worst, _ in found].index(True) == told.worst


def test_the_files_own_answer_is_a_quiet_line_behind(alone, result):
    files, numbers = fan_figure(many(alone)), fan_figure(result)
    svg = pictures(fan_svg(numbers, files=files))[0]
    for kind, wanted in (
        ("quiet-median", files.median_percent),
        ("quiet-edge", files.edge_percent),
    ):
        assert values(svg, kind) == pytest.approx(list(wanted), abs=0.5 / FINE + 1e-9)
    assert QUIET in words_of(svg)
    kinds = [each.get("class", "").split()[:1] for each in svg.iter(f"{SVG}path")]
    assert kinds.index(["quiet-edge"]) < kinds.index(["edge"])
    assert f"of its 20 passages {files.failed or 'none'}" in svg.find(f"{SVG}desc").text.replace(
        "\u00a0", " "
    )
    by_itself = pictures(fan_svg(files))[0]
    assert QUIET not in words_of(by_itself)
    assert not any("quiet" in each.get("class", "") for each in by_itself.iter())


def test_of_files_that_sail_longer_no_more_is_drawn_than_there_is_room_for(result):
    longer = in_average(passage_of(waypoints=waypoints_of(days=12)), step_h=1.0)
    numbers = fan_figure(result)
    svg = pictures(fan_svg(numbers, files=fan_figure(many(longer))))[0]
    hours = len(numbers.edge_percent) - 1
    for kind in ("quiet-median", "quiet-edge", "quiet-chance"):
        assert points(drawn(svg, kind).get("d"))[-1][0] == hours


def test_a_strip_is_scaled_to_its_limit_whatever_the_files_come_to(alone, result):
    """All of the files' passages fail; one of twenty of the answer's, or none. The limit is 5 %, so
    the strip would reach to 8 %, and for the files' own to 16 %: there their line leaves it."""
    files, numbers = fan_figure(many(alone, lowered=0.5)), fan_figure(many(alone))
    assert files.fails_frac[-1] == 1.0
    svg = pictures(fan_svg(numbers, files=files))[0]
    steps = points(drawn(svg, "quiet-chance").get("d"))
    first = next(hour for hour, frac in enumerate(files.fails_frac) if 100.0 * frac > 16.0)
    assert steps[-1] == (first, 16.0)
    assert "the files: 100 %" in words_of(svg)
    # Where there is room for it, it goes on to the end.
    svg = pictures(fan_svg(files, files=numbers))[0]
    end = points(drawn(svg, "quiet-chance").get("d"))[-1]
    assert end == (len(numbers.fails_frac) - 1, 100.0 * numbers.fails_frac[-1])


def test_it_has_no_style_and_no_name_twice(result):
    markup = str(fan_svg(fan_figure(result), files=fan_figure(result)))
    assert not re.search(r"\bstyle\b|<script|\bon\w+=|href", markup)
    ids = re.findall(r'\bid="([^"]*)"', markup)
    assert len(set(ids)) == len(ids) == 6
    for svg in pictures(markup)[:2]:
        named = svg.get("aria-labelledby").split()
        assert [svg.find(f"{SVG}title").get("id"), svg.find(f"{SVG}desc").get("id")] == named
        assert svg.get("role") == "img"
    words = charge_words(result)
    assert pictures(markup)[0].find(f"{SVG}title").text == words.title
    assert (
        pictures(markup)[0]
        .find(f"{SVG}desc")
        .text.replace("\u00a0", " ")
        .startswith(words.description)
    )


def test_every_colour_has_the_class_that_turns_it_dark(result):
    light = {shade.light: shade.name for shade in SHADES}
    rules = shade_rules()
    seen = 0
    for svg in pictures(fan_svg(fan_figure(result), files=fan_figure(result)))[:2]:
        for each in svg.iter():
            for attribute, letter in (("fill", "f"), ("stroke", "k")):
                colour = each.get(attribute, "none")
                if colour.startswith("#"):
                    named = f"{letter}-{light[colour]}"
                    assert named in each.get("class").split()
                    assert f".{named} {{ {attribute}: var(--{light[colour]}); }}" in rules
                    assert f"--{light[colour]}: {colour};" in style_sheet()
                    seen += 1
    assert seen > 100


@pytest.mark.parametrize("look", LOOKS, ids=lambda look: look.name)
def test_words_lie_within_the_picture_and_none_over_another(result, look):
    """A letter is taken to be 0.56 times as wide as it is high, as usual fonts are on average."""
    svg = pictures(fan_svg(fan_figure(result), files=fan_figure(result)))[LOOKS.index(look)]
    wide = 0.56 * look.font
    boxes = []
    for each in svg.iter(f"{SVG}text"):
        width, x, y = wide * len(each.text), float(each.get("x")), float(each.get("y"))
        # Figures and the sign of per cent, left of the axes, are wider.
        width *= 1.2 if each.get("text-anchor") == "end" else 1.0
        x -= {None: 0.0, "middle": width / 2.0, "end": width}[each.get("text-anchor")]
        boxes.append((x, x + width, y - 0.7 * look.font, y, each.text))
    for left, right, over, under, words in boxes:
        assert left >= 0.0, words
        assert right <= look.width, words
        assert 0.0 <= over < under <= float(svg.get("viewBox").split()[3]), words
    for place, (left, right, over, under, words) in enumerate(boxes):
        for other in boxes[place + 1 :]:
            apart = right <= other[0] or other[1] <= left or under <= other[2] or other[3] <= over
            assert apart, (words, other[4])


@pytest.mark.parametrize(("days", "offset_h"), [(9, -3.0), (2, 5.5), (2, 0.0), (40, 11.0)])
def test_dates_are_where_the_other_pictures_have_them(days, offset_h):
    passage = passage_of(waypoints=waypoints_of(days=days), ship_offset_h=offset_h)
    result, charge = (made := in_average(passage, step_h=1.0)), charge_figure(made)
    ax = new_axes()
    ax.set_xlim(charge.times_utc[0], charge.times_utc[-1])
    ship_dates_along(ax, result, most=9)
    places, form = ax.xaxis.get_major_locator().tick_values(0, 0), ax.xaxis.get_major_formatter()
    begin = date2num(charge.times_utc[0])
    wanted = [(24.0 * (place - begin), form(place)) for place in places]
    found = date_marks(charge, most=9)
    assert [words for _, words in found] == [words for _, words in wanted]
    assert [hour for hour, _ in found] == pytest.approx([hour for hour, _ in wanted], abs=1e-3)
    assert date_heading(charge) == ax.get_xlabel()


def test_without_an_engine_there_is_no_strip_for_one():
    passage = passage_of(boat=without_engine())
    svg = pictures(fan_svg(fan_figure(many(in_average(passage, step_h=1.0)))))[0]
    assert not any("engine" in words for words in words_of(svg))
    assert "floor broken, or dark, by then" in words_of(svg)
