"""The pictures: first their numbers, then that what is drawn is these numbers."""

import re
import sys
from datetime import UTC, datetime, timedelta
from itertools import combinations, pairwise

import pytest
from builders import in_average
from hand_worked import LOADS, passage_of, waypoints_of, with_panels
from matplotlib.text import Text

from powersim.records import Load, ShorePower, Waypoint, WindGenerator, Window
from powersim.report import palette
from powersim.report.charge_look import NARROW, WIDE
from powersim.report.figures import charge_figure, energy_figure, plot_energy, plot_soc

START = datetime(2026, 5, 1, tzinfo=UTC)


@pytest.fixture(scope="module")
def hand_worked():
    return in_average(passage_of())


@pytest.fixture(scope="module")
def sunny():
    """Five days with panels, so that there is surplus too."""
    boat = with_panels(power_W=400.0)
    loads = (*LOADS, Load(name="lamp", draw_A=0.1, window=Window(kind="night")))
    passage = passage_of(name="5 $ a day$", boat=boat, waypoints=waypoints_of(days=5), loads=loads)
    return in_average(passage)


def words(legend):
    return [text.get_text() for text in legend.get_texts()]


def test_the_numbers_of_the_charge_picture(hand_worked):
    """Sums in tests/reference/test_hand_worked_passage.py: at 06:00 15 Ah of 200 are gone, at 18:00
    39; one run from 11:15 on the second day for 1.25 h, and three hours under engine at the start.
    """
    numbers = charge_figure(hand_worked)
    at = dict(zip(numbers.times_utc, numbers.soc_percent, strict=True))
    assert at[START] == 100.0
    assert at[START + timedelta(hours=6)] == pytest.approx(92.5)
    assert at[START + timedelta(hours=18)] == pytest.approx(80.5)
    midnight = START + timedelta(hours=24)
    assert [(day.start_utc, day.end_utc) for day in numbers.days[:2]] == [
        (START, midnight),
        (midnight, START + timedelta(hours=48)),
    ]
    assert [day.motoring_h for day in numbers.days] == pytest.approx([3.0, 0.0, 0.0])
    assert [day.charging_h for day in numbers.days] == pytest.approx([0.0, 1.25, 0.0])
    assert (numbers.floor_percent, numbers.flat_percent) == (20.0, 10.0)
    assert numbers.title == "two days: A to B, average weather alone"
    assert set(numbers.ship_offset_h) == {0.0}
    assert [round(numbers.lat_deg[place]) for place in (0, -1)] == [30, 34]


@pytest.mark.parametrize("lons_deg", [(179.0, -179.0), (-179.0, 179.0), (-20.0, -34.0)])
def test_the_days_of_the_charge_picture_are_those_of_the_daily_table(lons_deg):
    """Over the date line both ways, and where the clock is put back at midnight."""
    ends = [
        Waypoint(name=name, lat_deg=10.0, lon_deg=lon_deg, speed_kn=speed_kn)
        for name, lon_deg, speed_kn in zip("AB", lons_deg, (6.0, None), strict=True)
    ]
    result = in_average(passage_of(waypoints=ends))
    days, daily = charge_figure(result).days, result.daily
    assert [day.start_utc for day in days] == list(daily["start_utc"])
    starts = [day.start_utc for day in days[1:]]
    landfall = result.hourly.index[-1] + timedelta(hours=1)
    assert [day.end_utc for day in days] == [*starts, landfall]
    assert sum(day.motoring_h for day in days) == pytest.approx(daily["motoring_h"].sum())


def test_nights_of_the_charge_picture(hand_worked):
    """FAO Irrigation and Drainage Paper 56 (1998), Table 2.7, has 13.2 h of daylight at 30 N in
    mid-May. At 40 W noon is at 14:40 UTC less 3 minutes of the equation of time, so sunrise on
    1 May is near 08:00. The paper's days are some 0.15 h short, and the boat moves.
    """
    first, second, *_ = charge_figure(hand_worked).nights
    assert first.start_utc == START
    assert abs(first.end_utc - (START + timedelta(hours=8.0))) < timedelta(minutes=15)
    dark = second.end_utc - second.start_utc
    assert dark.total_seconds() / 3600.0 == pytest.approx(24.0 - 13.2, abs=0.4)


def test_the_charge_picture_shows_its_numbers(hand_worked):
    numbers, ax = charge_figure(hand_worked), plot_soc(hand_worked)
    drawn = {line.get_gid(): line for line in ax.lines}
    assert list(drawn["charge"].get_ydata()) == list(numbers.soc_percent)
    assert drawn["floor"].get_ydata()[0] == 20.0
    _, strip = ax.figure.axes
    charging, motoring = ([bar.get_height() for bar in bars] for bars in strip.containers)
    assert charging == pytest.approx([day.charging_h for day in numbers.days])
    assert motoring == pytest.approx([day.motoring_h for day in numbers.days])
    # Told apart in grey print too.
    looks = [bars[0].get_hatch() or "" for bars in strip.containers]
    assert looks[0] == "" != looks[1]
    assert (ax.get_ylabel(), strip.get_xlabel()) == ("state of charge [%]", "ship's time")
    assert ax.get_legend() is None
    told = [text.get_text() for text in ax.texts]
    assert {"floor 20 %", "flat 10 %"} <= set(told)


def test_the_numbers_of_the_energy_picture_balance(sunny):
    """What is taken in less what goes out is what the bank gains, day by day; the surplus, hollow,
    is in neither."""
    numbers = energy_figure(sunny)
    taken = [stack.amounts_Ah for stack in numbers.into if not stack.name.startswith("surplus")]
    out = [stack.amounts_Ah for stack in numbers.out]
    for day, change_Ah in enumerate(numbers.change_Ah):
        gain_Ah = sum(stack[day] for stack in taken) - sum(stack[day] for stack in out)
        assert gain_Ah == pytest.approx(change_Ah, abs=1e-6)
    assert all(amount >= -1e-9 for stack in (*taken, *out) for amount in stack)
    assert sum(numbers.hours) == len(sunny.hourly)


def test_loads_in_the_energy_picture_are_those_of_the_load_list(sunny):
    """By hand: 24 Ah a day of instruments, 24 of the pilot, 6 of lights from 18:00 to 06:00; the
    lamp draws 0.1 A by night."""
    by_name = {stack.name: stack.amounts_Ah for stack in energy_figure(sunny).out}
    assert list(by_name) == ["instruments", "pilot", "lights", "all other loads", "losses"]
    lamp_Ah = 0.1 * sunny.daily["night_h"].iloc[2]
    assert [amounts[2] for amounts in by_name.values()][:4] == pytest.approx(
        [24.0, 24.0, 6.0, lamp_Ah], abs=0.02
    )


def test_other_chargers_are_one_layer():
    """A single one in its own colour, several in one that is theirs together."""
    wind = WindGenerator(speeds_m_s=(3.0, 6.0, 12.0), powers_W=(0.0, 30.0, 240.0))
    for chargers, name, thing in (
        ((wind,), "wind generator", palette.WIND),
        ((wind, ShorePower(rated_A=8.0)), "other chargers", palette.OTHERS),
    ):
        result = in_average(passage_of(boat=with_panels(chargers=chargers)), step_h=1.0)
        names = [stack.name for stack in energy_figure(result).into]
        assert names == ["sun", "engine", name, "surplus, not taken"]
        (layer,) = (stack for stack in energy_figure(result).into if stack.name == name)
        assert layer.thing is thing
        given = sum(result.daily[f"{one.source}_Ah"].sum() for one in chargers)
        assert sum(layer.amounts_Ah) == pytest.approx(given)


def test_the_energy_picture_shows_its_numbers(sunny):
    numbers, ax = energy_figure(sunny), plot_energy(sunny)
    bars = {container.get_label(): list(container) for container in ax.containers}
    for stacks, sign in ((numbers.into, 1.0), (numbers.out, -1.0)):
        for stack in stacks:
            heights = [bar.get_height() for bar in bars[stack.name]]
            assert heights == pytest.approx([sign * amount for amount in stack.amounts_Ah])
    tops = [bar.get_y() + bar.get_height() for bar in bars["surplus, not taken"]]
    assert max(tops) < ax.get_ylim()[1]
    assert "[Ah]" in ax.get_ylabel()
    (gains,) = (line for line in ax.lines if line.get_marker() == "D")
    assert list(gains.get_ydata()) == list(numbers.change_Ah)
    # No more than can be read, and each layer apart from its neighbours without colour.
    assert len(numbers.into) <= 4
    assert len(numbers.out) <= 5
    for stacks in (numbers.into, numbers.out):
        assert len({stack.hatch or stack.name for stack in stacks}) == len(stacks)


def test_the_energy_picture_names_its_layers_beside_them(sunny):
    """The mean of a day, read back, and in the order in which they are stacked."""
    numbers, ax = energy_figure(sunny), plot_energy(sunny)
    days = sum(numbers.hours) / 24.0
    stacked = (*reversed(numbers.out), *numbers.into)
    told = [text.get_text() for text in ax.texts if "◆" not in text.get_text()]
    assert len(told) == len(stacked)
    for text, stack in zip(told, stacked, strict=True):
        name, figure = re.fullmatch(r"(.*) ([\d.]+) Ah", text).groups()
        assert name == stack.name
        mean_Ah = sum(stack.amounts_Ah) / days
        assert float(figure) == pytest.approx(mean_Ah, abs=0.5 if mean_Ah >= 10 else 0.05)
    ax.figure.draw_without_rendering()
    boxes = [text.get_window_extent() for text in ax.texts]
    assert not any(one.overlaps(other) for one, other in combinations(boxes, 2))


@pytest.mark.parametrize("plot", [plot_soc, plot_energy])
def test_drawing_into_axes_of_ones_own(sunny, plot):
    from matplotlib.figure import Figure

    ax = Figure().subplots()
    assert plot(sunny, ax=ax) is ax
    assert "matplotlib.pyplot" not in sys.modules


@pytest.mark.parametrize("plot", [plot_energy])
def test_the_whole_picture_is_on_the_page_and_its_name_is_no_formula(sunny, plot, tmp_path):
    figure = plot(sunny).figure
    figure.savefig(tmp_path / "picture.png")
    (ax,) = figure.axes
    assert ax.get_title(loc="left").startswith("5 $ a day$: ")
    page = figure.bbox
    legends = [ax.get_legend()] if ax.get_legend() else []
    for part in (*legends, ax.xaxis.label, ax.yaxis.label, *ax.texts):
        box = part.get_window_extent()
        assert page.x0 <= box.x0 < box.x1 <= page.x1
        assert page.y0 <= box.y0 < box.y1 <= page.y1
    # Neither the legend nor the dates lie over the data or over each other.
    assert not any(box.get_window_extent().overlaps(ax.get_window_extent()) for box in legends)
    dates = [label.get_window_extent() for label in ax.get_xticklabels()]
    assert 3 <= len(dates) <= 10
    assert all(left.x1 < right.x0 for left, right in pairwise(dates))


@pytest.mark.parametrize("look", [WIDE, NARROW])
@pytest.mark.parametrize("named", ["sunny", "hand_worked"])
def test_the_whole_charge_picture_is_on_the_page_and_no_word_lies_over_another(
    named, look, request, tmp_path
):
    result = request.getfixturevalue(named)
    figure = plot_soc(result, look=look).figure
    figure.savefig(tmp_path / "picture.png")
    ax, strip = figure.axes
    if look is WIDE and named == "sunny":
        assert ax.get_title(loc="left").startswith("5 $ a day$: ")
    assert "average weather alone" in ax.get_title(loc="left").lower()
    page = figure.bbox
    dates = [label for label in strip.get_xticklabels() if label.get_text()]
    assert 2 <= len(dates) <= look.most_dates
    words = [*ax.texts, *strip.texts, ax.yaxis.label, strip.xaxis.label, *dates]
    # The words alone: a line that leads to them may cross another.
    boxes = [Text.get_window_extent(one) for one in words]
    for box in boxes:
        assert page.x0 <= box.x0 < box.x1 <= page.x1
        assert page.y0 <= box.y0 < box.y1 <= page.y1
    for one, other in combinations(boxes, 2):
        assert not one.padded(-1.0).overlaps(other.padded(-1.0))


def test_dates_are_the_ships():
    """Three hours behind UTC ship's midnight is at 03:00 UTC; the day of the departure began
    before it."""
    from matplotlib.dates import num2date

    passage = passage_of(waypoints=waypoints_of(days=4.9, motoring_start_h=3.0), ship_offset_h=-3.0)
    result = in_average(passage, step_h=1.0)
    axis = plot_soc(result).figure.axes[-1].xaxis
    marks = {num2date(at): axis.get_major_formatter()(at) for at in axis.get_major_locator().locs}
    assert marks == {START + timedelta(days=day, hours=3): f"{1 + day} May" for day in range(5)}
    assert axis.get_label_text() == "ship's date"
    first, second, *_ = charge_figure(result).days
    assert (first.start_utc, first.end_utc) == (START, START + timedelta(hours=3))
    assert first.motoring_h + second.motoring_h == pytest.approx(3.0)
