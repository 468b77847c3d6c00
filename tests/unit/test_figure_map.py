"""The map: its numbers, and that the picture shows them where they are."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from builders import in_average
from hand_worked import WAYPOINTS, passage_of
from made_ensemble import ensemble_of

from powersim.records import Load, Waypoint
from powersim.report.figures import map_figure, plot_map
from powersim.report.map_frame import frame_of

POINTS = {
    "pacific": (("Suva", -18.2, 178.4), ("Apia", -13.8, -171.8)),
    "atlantic": (("A", 30.0, -40.0), ("B", 34.1, -40.0)),
    "arctic": (("Longyearbyen", 78.2, 15.0), ("the pole's edge", 84.0, 170.0)),
    "antarctic": (("a $place$", -78.2, 170.0), ("b", -81.5, -170.0)),
}


def simulated(name):
    start, _ = WAYPOINTS
    (from_name, *from_place), (to_name, *to_place) = POINTS[name]
    waypoints = (
        replace(start, name=from_name, lat_deg=from_place[0], lon_deg=from_place[1]),
        Waypoint(name=to_name, lat_deg=to_place[0], lon_deg=to_place[1]),
    )
    return in_average(passage_of(waypoints=waypoints), step_h=1.0)


@pytest.fixture(scope="module", params=POINTS)
def drawn(request):
    result = simulated(request.param)
    ax = plot_map(result)
    ax.figure.draw_without_rendering()
    return result, map_figure(result), ax


def test_the_numbers_of_the_map():
    """Sums in tests/reference/test_hand_worked_passage.py: from 18:00 ship's time of the day before
    to 06:00 lights take their share; a day's lowest charge stands for all its hours."""
    result = simulated("atlantic")
    numbers = map_figure(result)
    assert (numbers.lat_deg[0], numbers.lon_deg[0]) == pytest.approx((30.0, -40.0))
    assert numbers.levels_percent == (75.0, 45.0, 20.0)
    assert [mark.words for mark in numbers.waypoints] == ["A", "B"]
    # She leaves at midnight UTC, 21:00 or so of ship's time on 30 April: 21, 45 and more hours on.
    hours = result.daily["hours"].tolist()
    lowest = [100.0 * soc for soc in result.daily["lowest_soc"]]
    assert list(numbers.soc_percent[1:]) == pytest.approx(np.repeat(lowest, hours))
    assert numbers.soc_percent[0] == numbers.soc_percent[1]
    assert [mark.words.split(",")[0] for mark in numbers.days] == ["2 May"]
    assert numbers.days[0].words == f"2 May, {numbers.soc_percent[25]:.0f} %"
    assert numbers.lowest.words == f"lowest: {min(lowest):.0f} %"
    assert numbers.scale.endswith("in average weather")


def test_in_many_members_the_map_keeps_to_the_careful_side():
    """Of 101 members the k-th least is the quantile k / 100: at a risk of 5 % the fifth has 55.5 %,
    and 15 points less in one hour of the second day, by hand."""
    result = simulated("atlantic")
    hours, one_day = len(result.hourly), result.daily["hours"].cumsum().astype(int).tolist()[:2]
    soc = np.full((hours, 101), 0.55) + np.arange(101) / 1000.0
    soc[one_day[0] + 3, :] -= 0.15
    numbers = map_figure(
        replace(result, ensemble=ensemble_of(hours=hours, members=101, hour_soc=soc))
    )
    percent = np.array(numbers.soc_percent[1:])
    assert percent[one_day[0] : one_day[1]] == pytest.approx(40.5)
    assert percent[: one_day[0]] == pytest.approx(55.5)
    assert percent[one_day[1] :] == pytest.approx(55.5)
    assert numbers.lowest.words == "lowest: 40 %"
    at = one_day[0] + 3
    assert (numbers.lowest.lat_deg, numbers.lowest.lon_deg) == (
        numbers.lat_deg[at],
        numbers.lon_deg[at],
    )
    assert numbers.scale == "the day's lowest charge;\n5 % of passages are lower"


def test_a_charge_just_below_the_floor_is_not_told_as_the_floor():
    """Red on the track, and "20 %" beside it with a floor of 20 %, would not agree."""
    result = simulated("atlantic")
    soc = np.full((len(result.hourly), 10), 0.8)
    soc[30, :] = 0.198
    numbers = map_figure(replace(result, ensemble=ensemble_of(hours=len(soc), hour_soc=soc)))
    assert numbers.lowest.words == "lowest: 19.8 %"


def test_over_the_date_line_the_track_is_one_line():
    numbers = map_figure(simulated("pacific"))
    assert np.abs(np.diff(numbers.lon_deg)).max() < 0.2
    assert numbers.lon_deg[-1] == pytest.approx(188.2, abs=0.1)
    assert numbers.waypoints[-1].lon_deg == pytest.approx(188.2)


def test_the_track_is_drawn_where_it_is_with_a_look_for_its_charge(drawn):
    _, numbers, ax = drawn
    frame = frame_of(np.array(numbers.lat_deg), np.array(numbers.lon_deg))
    x, y = frame.projection.place(np.array(numbers.lat_deg), np.array(numbers.lon_deg))
    looks = [line for line in ax.lines if line.get_label().endswith("%")]
    assert [line.get_label() for line in looks] == [
        "75 to 100 %",
        "45 to 75 %",
        "20 to 45 %",
        "below the floor, 20 %",
    ]
    means = np.array(numbers.soc_percent)[1:]
    above = np.array([75.0, 45.0, 20.0, 0.0])
    for index, line in enumerate(looks):
        here = (means >= above[index]) & (means < [np.inf, *above][index])
        drawn_x = np.asarray(line.get_xdata()).reshape(-1, 3)
        assert drawn_x[:, 0] == pytest.approx(x[:-1][here])
        assert drawn_x[:, 1] == pytest.approx(x[1:][here])
    # Told apart without colour: no two are as wide, and below the floor a dotted core is added.
    assert len({line.get_linewidth() for line in looks}) == 4
    assert len({line.get_color() for line in looks}) == 4
    assert ax.get_xlim()[0] < x.min() < x.max() < ax.get_xlim()[1]
    assert ax.get_ylim()[0] < y.min() < y.max() < ax.get_ylim()[1]


def test_every_word_is_there_on_the_page_and_over_no_other(drawn):
    _, numbers, ax = drawn
    page, frame = ax.figure.bbox, ax.get_window_extent()
    marks = (*numbers.waypoints, *numbers.days, numbers.lowest)
    labels = {text.get_text(): text for text in ax.texts}
    boxes = [labels[mark.words].get_window_extent() for mark in marks]
    for box in boxes:
        assert frame.x0 <= box.x0 < box.x1 <= frame.x1
        assert frame.y0 <= box.y0 < box.y1 <= frame.y1
    assert not any(one.overlaps(other) for one, other in combinations(boxes, 2))
    for part in (ax.get_legend(), *ax.get_xticklabels(), *ax.get_yticklabels()):
        box = part.get_window_extent()
        assert page.x0 <= box.x0 <= box.x1 <= page.x1
        assert page.y0 <= box.y0 <= box.y1 <= page.y1
    assert not ax.get_legend().get_window_extent().overlaps(frame)


def test_waypoints_of_a_harbour_are_marked_and_named_once():
    start, end = WAYPOINTS
    close = [
        Waypoint(name=f"buoy {n}", lat_deg=30.0 + 0.01 * n, lon_deg=-40.0, speed_kn=5.0)
        for n in (1, 2)
    ]
    far = Waypoint(name="halfway", lat_deg=32.0, lon_deg=-40.0, speed_kn=5.0)
    ax = plot_map(in_average(passage_of(waypoints=(start, *close, far, end)), step_h=1.0))
    words = {text.get_text() for text in ax.texts}
    assert {"A", "B", "halfway"} <= words
    assert not words & {"buoy 1", "buoy 2"}
    marks = next(line for line in ax.lines if line.get_marker() == "s")
    assert len(marks.get_xdata()) == 5


def test_land_is_drawn_and_named_lines_cross_it():
    ax = plot_map(simulated("pacific"))
    land = ax.patches[0].get_path().vertices
    inside = (np.abs(land[:, 0]) < ax.get_xlim()[1]) & (land[:, 1] > ax.get_ylim()[0])
    assert inside.sum() > 10
    names = [label.get_text() for label in ax.get_xticklabels()]
    assert "180°" in names
    assert all(name[-1] in "EW°" for name in names)


def test_looks_of_a_bank_that_runs_flat():
    heavy = (Load(name="heavy", draw_A=20.0),)
    result = in_average(passage_of(loads=heavy), step_h=1.0)
    below = [line for line in plot_map(result).lines if line.get_label().startswith("below")]
    assert len(below[0].get_xdata()) > 0
