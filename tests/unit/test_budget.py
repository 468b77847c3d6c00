"""The day's demand, on loads whose sums can be done in the head."""

import json
import re
from datetime import UTC, datetime

import pytest
from hand_worked import LOADS, bank_of, boat_of, passage_of, waypoints_of, with_panels

from powersim.planning.budget import OWN_DRAW, budget_of, by_group
from powersim.records import BOAT_STATES, Load, Supply, Window
from powersim.report.budget_text import budget_dict, budget_text
from powersim.simulation.prepare import prepare

UNDER_ENGINE = frozenset({"motoring"})


def budget(dates=(), **changes):
    passage = passage_of(**changes)
    moments = [moment.timestamp() for moment in dates]
    return budget_of(passage, prepare(passage), dates_utc_s=moments)


def charge_Ah(day):
    return {row.load: row.charge_Ah for row in day.rows}


def test_the_day_of_the_hand_worked_passage():
    """By hand: 1 A all day, 4 A a quarter of it, 0.5 A for twelve hours; 54 Ah at 12 V, 648 Wh."""
    found = budget()
    for day in (*found.days, *found.states):
        assert charge_Ah(day) == pytest.approx({"instruments": 24.0, "pilot": 24.0, "lights": 6.0})
        assert (day.total_Ah(), day.total_Wh()) == pytest.approx((54.0, 648.0))


def test_a_power_load_takes_half_the_current_at_twice_the_voltage():
    """By hand: 24 W at 12 V are 2 A, 48 Ah a day; at 24 V 24 Ah; 576 Wh in both."""
    loads = (Load(name="heater fan", draw_W=24.0),)
    for nominal_V, amount_Ah in ((12.0, 48.0), (24.0, 24.0)):
        found = budget(boat=boat_of(battery=bank_of(nominal_V=nominal_V)), loads=loads)
        assert found.days[0].total_Ah() == pytest.approx(amount_Ah)
        assert found.days[0].total_Wh() == pytest.approx(576.0)


def test_losses_of_a_supply_are_counted():
    """By hand: 48 W through 80 % are 60 W, 1440 Wh a day; 2 W of idling all day are 48 Wh."""
    supply = Supply(name="inverter", efficiency_frac=0.8, idle_W=2.0)
    loads = (Load(name="printer", draw_W=48.0, supply="inverter"),)
    day = budget(boat=boat_of(supplies=(supply,)), loads=loads).days[0]
    assert [row.energy_Wh for row in day.rows] == pytest.approx([1440.0, 48.0])


def test_lights_follow_the_night_of_each_column():
    """1 A from sunset to sunrise takes as many Ah as the night has hours, and at 50 N in May
    nights are shorter than further south (any almanac).
    """
    lights = (Load(name="tricolour", draw_A=1.0, window=Window(kind="night")),)
    days = budget(loads=lights, waypoints=waypoints_of(days=15)).days
    for day in days:
        # The night's length is that of a date, the burning time that of a moving boat.
        assert day.total_Ah() == pytest.approx(day.night_h, abs=0.1)
    nights_h = [day.night_h for day in days]
    assert nights_h == sorted(nights_h)
    assert 8.0 < nights_h[0] < 10.0


def test_each_state_has_its_own_loads():
    """By hand: under engine 10 A more."""
    loads = (*LOADS, Load(name="autopilot", draw_A=10.0, states=UNDER_ENGINE))
    totals = {day.title: day.total_Ah() for day in budget(loads=loads).states}
    assert totals == pytest.approx(dict.fromkeys(BOAT_STATES, 54.0) | {"motoring": 294.0})


def test_motoring_planned_that_day_is_in_it():
    """By hand: three hours under engine on the first day at 10 A, none on the last."""
    loads = (Load(name="autopilot", draw_A=10.0, states=UNDER_ENGINE),)
    assert [day.total_Ah() for day in budget(loads=loads).days] == pytest.approx([30.0, 0.0])


def test_groups_add_up_to_the_whole():
    loads = (
        *LOADS,
        Load(name="vhf", draw_A=0.5, role="vhf", priority="comfort"),
        Load(name="music", draw_A=0.25, priority="comfort"),
    )
    day = budget(loads=loads).days[0]
    assert by_group(day) == pytest.approx(
        {"protected": 12.0, "essential": 0.0, "useful": 54.0, "comfort": 6.0}
    )
    assert sum(by_group(day).values()) == pytest.approx(day.total_Ah())


def test_what_controllers_take_is_a_row_of_its_own():
    """A controller takes 15 mA (default): 0.36 Ah a day."""
    day = budget(boat=with_panels()).days[0]
    assert charge_Ah(day)[OWN_DRAW] == pytest.approx(0.36)


@pytest.mark.parametrize(("days", "columns"), [(0.5, 1), (2, 2), (10, 3), (60, 5)])
def test_columns_along_the_route(days, columns):
    found = budget(waypoints=waypoints_of(days=days))
    starts = [day.start_utc_s for day in found.days]
    assert len(starts) == columns
    assert starts[0] == datetime(2026, 5, 1, tzinfo=UTC).timestamp()
    assert starts == sorted(starts)


def test_a_passage_shorter_than_a_day_is_counted_up_to_one():
    assert budget(waypoints=waypoints_of(days=0.5), loads=LOADS[:1]).days[0].total_Ah() == 24.0


def test_the_ship_s_day_of_a_date():
    """At UTC-3 the day of 3 May 01:00 UTC is 2 May, from 03:00 UTC on."""
    moment = datetime(2026, 5, 3, 1, tzinfo=UTC)
    (day,) = budget([moment], ship_offset_h=-3.0, waypoints=waypoints_of(days=5)).days
    assert datetime.fromtimestamp(day.start_utc_s, UTC) == datetime(2026, 5, 2, 3, tzinfo=UTC)


def test_a_date_outside_the_passage_is_refused():
    with pytest.raises(ValueError, match="outside"):
        budget([datetime(2026, 6, 1, tzinfo=UTC)])


def test_the_text_fits_the_page_and_leaves_out_what_is_not_used():
    loads = (*LOADS, Load(name="shore lamp", draw_A=1.0, states=frozenset({"berthed"})))
    text = budget_text(budget(loads=loads, waypoints=waypoints_of(days=30)), name="south")
    assert max(map(len, text.split("\n"))) <= 80
    assert "\nNot used on these days: shore lamp.\n" in text
    assert re.search(r"\ninstruments( +24\.0){5} +288\n", text)
    assert re.search(r"\nberthed +0\.0 +0\.0 +78\.0 +0\.0 +78 Ah +936 Wh\n", text)
    assert "in Ah at 12 V" in text


def test_the_same_for_a_program():
    answer = json.loads(json.dumps(budget_dict(budget(), name="south"), allow_nan=False))
    assert answer["days"][0]["start_utc"] == "2026-05-01T00:00:00+00:00"
    assert answer["days"][0]["total_Ah"] == pytest.approx(54.0)
    assert [state["state"] for state in answer["states"]] == [
        "sailing",
        "motoring",
        "hove-to",
        "drifting",
        "anchored",
        "berthed",
    ]
