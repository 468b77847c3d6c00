"""The charge in many members: numbers worked by hand, and that the picture shows them."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
from builders import in_average
from hand_worked import passage_of, waypoints_of, with_panels
from made_ensemble import ensemble_of
from matplotlib.dates import date2num
from matplotlib.text import Text

import powersim
from powersim.report.charge_look import NARROW, WIDE
from powersim.report.figure_charge import charge_figure
from powersim.report.figure_fan import fan_figure, plot_fan, stay_above
from powersim.report.inline_svg import inline_svg

MEMBERS, NEVER = 20, np.inf
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def result():
    """Twenty members, 5 to 100 % in fives, all through; but the fourth falls to 2 % in the 8th hour
    and is below the floor from 7.5 h on, and the third is dark after 30 h. The engine charges in
    a quarter of them from the 6th to the 8th hour, and is in gear in all in the last.
    """
    alone = in_average(passage_of(), step_h=1.0)
    hours = len(alone.hourly)
    hour_soc = np.tile(np.arange(1, MEMBERS + 1) / 20.0, (hours, 1))
    lowest_soc, lowest_h = hour_soc[0].copy(), np.full(MEMBERS, 1.0)
    hour_soc[7, 3], lowest_soc[3], lowest_h[3] = 0.02, 0.02, 7.75
    floor_h, flat_h = np.full(MEMBERS, NEVER), np.full(MEMBERS, NEVER)
    floor_h[3], flat_h[2] = 7.5, 30.0
    charging, motoring = np.zeros(hours), np.zeros(hours)
    charging[5:8], motoring[-1] = 0.25, 1.0
    ensemble = ensemble_of(
        hours=hours, members=MEMBERS, hour_soc=hour_soc, lowest_soc=lowest_soc, lowest_h=lowest_h,
        floor_h=floor_h, flat_h=flat_h, hour_charging_frac=charging, hour_motoring_frac=motoring,
    )  # fmt: skip
    return replace(alone, ensemble=ensemble, risk_frac=0.05)


def test_the_band_is_of_quantiles_by_the_hour(result):
    """Of 5, 10 ... 100 as numpy has them, linear between neighbours: places 1.9, 9.5 and 17.1."""
    numbers, hours = fan_figure(result), len(result.hourly)
    assert numbers.low_percent[1:7] == pytest.approx([14.5] * 6)
    assert numbers.median_percent[1:] == pytest.approx([52.5] * hours)
    assert numbers.high_percent[1:] == pytest.approx([90.5] * hours)
    assert numbers.charge.title == "two days: A to B, 20 simulated passages"


def test_the_edge_leaves_out_as_many_as_may_fail(result):
    """One of twenty: the fourth, which falls lowest. Of the others the first is lowest, at 5 %."""
    numbers = fan_figure(result)
    assert (numbers.left_out, numbers.stay_above) == (1, "19 in 20")
    assert numbers.edge_percent[1:] == pytest.approx([5.0] * len(result.hourly))
    strict = fan_figure(replace(result, risk_frac=0.01))
    assert (strict.left_out, strict.stay_above) == (0, "all 20")
    assert strict.edge_percent[7:10] == pytest.approx([5.0, 2.0, 5.0])


def test_the_chance_by_then_counts_any_cause(result):
    """One by the end of the 8th hour, two from the 30th on: what the verdict counts."""
    numbers = fan_figure(result)
    fracs = numbers.fails_frac
    assert (fracs[7], fracs[8], fracs[29], fracs[30], fracs[-1]) == (0.0, 0.05, 0.05, 0.1, 0.1)
    assert numbers.failed == 2
    told = result.summary
    assert fracs[-1] == told["verdict"]["fails"]["frac"]
    assert fracs[-1] == told["ensemble"]["by_day"][-1]["fails_frac"]


def test_the_engine_runs_as_long_as_on_average(result):
    """A quarter of three hours on the first day; a whole hour at the end of the last."""
    first, second, last = fan_figure(result).charge.days
    assert (first.charging_h, first.motoring_h) == pytest.approx((0.75, 0.0))
    assert (second.charging_h, second.motoring_h) == (0.0, 0.0)
    assert (last.charging_h, last.motoring_h) == pytest.approx((0.0, 1.0))


def test_every_line_begins_with_the_charge_at_departure(result):
    numbers = fan_figure(result)
    lines = (numbers.low_percent, numbers.median_percent, numbers.high_percent)
    assert {line[0] for line in (*lines, numbers.edge_percent)} == {100.0}
    times = numbers.charge.times_utc
    assert times == charge_figure(result).times_utc
    assert {len(line) for line in (*lines, numbers.fails_frac)} == {len(times)}


@pytest.mark.parametrize("look", [WIDE, NARROW])
def test_what_is_drawn_on_the_page_is_these_numbers(result, look):
    """Read back from the outlines of the SVG, with nothing but the place of the axes in it."""
    numbers, ax = fan_figure(result), plot_fan(result, look=look)
    root = drawn(ax)
    for name, percents in (("median", numbers.median_percent), ("edge", numbers.edge_percent)):
        _, shown = outline(root, name, ax)
        # Neighbours in line are one stroke, so there are fewer points.
        assert shown[0] == pytest.approx(100.0, abs=0.1)
        assert shown[-1] == pytest.approx(percents[-1], abs=0.1)
        assert min(shown) == pytest.approx(min(percents), abs=0.1)
    risk = ax.figure.axes[1]
    hours, shown = outline(root, "chance", risk)
    assert shown[-1] == pytest.approx(100.0 * result.summary["verdict"]["fails"]["frac"], abs=0.1)
    # It steps up where members fail, and nowhere else.
    steps = [hour for hour, one, other in zip(hours, shown, shown[1:], strict=False) if other > one]
    assert steps == pytest.approx([8.0, 30.0], abs=0.2)
    (limit,) = set(np.round(outline(root, "limit", risk)[1], 1))
    assert limit == pytest.approx(5.0, abs=0.1)


@pytest.mark.parametrize("look", [WIDE, NARROW])
def test_every_point_of_the_lines_on_the_page_is_the_ensembles(look):
    """Six days in twenty members as they are simulated; quantiles by numpy, the edge member by
    member."""
    passage = passage_of(boat=with_panels(), waypoints=waypoints_of(days=6))
    result = powersim.simulate(passage, step_h=1.0, members=20)
    soc = 100.0 * result.ensemble.hour_soc
    kept = result.ensemble.lowest_soc.argsort()[1:]
    ax = plot_fan(result, look=look)
    for name, expected in {
        "median": np.quantile(soc, 0.5, axis=1),
        "edge": soc[:, kept].min(axis=1),
    }.items():
        hours, shown = outline(drawn(ax), name, ax)
        assert len(hours) > 40
        at = np.interp(hours, np.arange(len(soc) + 1), [100.0, *expected])
        assert np.abs(np.array(shown) - at).max() < 0.25
    (band,) = (each for each in ax.collections if each.get_gid() == "band")
    corners = {(x, round(y, 6)) for x, y in band.get_paths()[0].vertices}
    times = date2num(fan_figure(result).charge.times_utc)
    for share in (0.1, 0.9):
        ends = [100.0, *np.quantile(soc, share, axis=1)]
        assert {(x, round(y, 6)) for x, y in zip(times, ends, strict=True)} <= corners


@pytest.mark.parametrize("look", [WIDE, NARROW])
def test_its_words_say_the_verdicts_figures(result, look):
    ax = plot_fan(result, look=look)
    said = [" ".join(text.get_text().split()) for each in ax.figure.axes for text in each.texts]
    assert {"median", "8 in 10 between", "19 in 20 stay above", "floor 20 %"} <= set(said)
    assert {"2 of 20: 10 %", "limit 5 %", "charging 1 h", "motoring 1 h"} <= set(said)
    assert "20 simulated passages" in ax.get_title(loc="left")


@pytest.mark.parametrize("look", [WIDE, NARROW])
def test_every_word_is_within_the_picture(result, look, tmp_path):
    figure = plot_fan(result, look=look).figure
    figure.savefig(tmp_path / "fan.png")
    for text in (text for each in figure.axes for text in each.texts):
        box = Text.get_window_extent(text)  # without the line that leads to it
        assert 0.0 <= box.x0 < box.x1 <= figure.bbox.x1, text.get_text()


@pytest.mark.parametrize("lowest", [0.19, 0.20, 0.21])
def test_the_edge_crosses_the_floor_where_the_floor_fails_the_passage(result, lowest):
    """Members fall below a floor of 20 % one after the other, an hour each, so that a quantile hour
    by hour stays at 90 %; as many of 20 as may, or one more than that."""
    hours = len(result.hourly)
    for falling in (1, 2):
        hour_soc = np.full((hours, MEMBERS), 0.9)
        hour_soc[np.arange(falling) + 5, np.arange(falling)] = lowest
        lowest_h = np.where(np.arange(MEMBERS) < falling, np.arange(MEMBERS) + 6.0, 1.0)
        ensemble = ensemble_of(
            hours=hours, members=MEMBERS, hour_soc=hour_soc, lowest_soc=hour_soc.min(axis=0),
            lowest_h=lowest_h,
            floor_h=np.where(hour_soc.min(axis=0) < 0.2, lowest_h, NEVER),
        )  # fmt: skip
        made = replace(result, ensemble=ensemble)
        crosses = min(fan_figure(made).edge_percent) < fan_figure(made).charge.floor_percent
        assert crosses == (not made.summary["holds"]) == (falling == 2 and lowest < 0.2)


def test_how_many_stay_above():
    assert stay_above(10, members=200) == "19 in 20"
    assert stay_above(6, members=200) == "194 of 200"
    assert stay_above(0, members=10) == "all 10"
    assert stay_above(200, members=200) == "0 of 200"


def drawn(ax):
    """The picture as it stands on the page, as XML."""
    text = str(inline_svg(ax, name="soc", title="a title", description="words"))
    space = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    return ET.fromstring(text.replace("<svg ", f"<svg {space} ", 1))


def outline(root, name, ax):
    """Hours after departure, and values, of the points of a line."""
    (group,) = (each for each in root.iter(f"{SVG}g") if each.get("id") == f"soc-{name}")
    path = group.find(f"{SVG}path").get("d")
    points = np.array(re.findall(r"[ML] ([\d.-]+) ([\d.-]+)", path), dtype=float)
    _, _, width, high = map(float, root.get("viewBox").split())
    box, (left, right), (bottom, top) = ax.get_position(), ax.get_xlim(), ax.get_ylim()
    across = (points[:, 0] / width - box.x0) / box.width
    up = (1.0 - points[:, 1] / high - box.y0) / box.height
    return (24.0 * (right - left) * across).tolist(), (bottom + (top - bottom) * up).tolist()


def test_the_floor_is_drawn_from_when_it_counts(result):
    """A bank that leaves below its floor has a day to come up: no dip is filled in it."""
    hours = len(result.hourly)
    hour_soc = np.full((hours, MEMBERS), 0.9)
    hour_soc[:20] = 0.1
    ensemble = ensemble_of(
        hours=hours, members=MEMBERS, hour_soc=hour_soc, lowest_soc=0.9, lowest_h=40.0,
        counted_from_h=24.0,
    )  # fmt: skip
    made = replace(result, ensemble=ensemble)
    numbers, ax = fan_figure(made), plot_fan(made)
    assert (min(numbers.edge_percent[:21]), min(numbers.edge_percent[24:])) == (10.0, 90.0)
    (floor,) = (line for line in ax.lines if line.get_gid() == "floor")
    times = numbers.charge.times_utc
    assert list(floor.get_xdata()) == [times[24], times[-1]]


def test_no_risk_at_all_is_drawn_too(result):
    quiet = replace(result, ensemble=ensemble_of(hours=len(result.hourly), members=3))
    ax = plot_fan(replace(quiet, risk_frac=0.0))
    said = {" ".join(text.get_text().split()) for text in ax.figure.axes[1].texts}
    assert {"0 of 3: 0 %", "limit 0 %"} <= said
