"""What a message costs, and how many the bank buys: against sums by hand, steps written out."""

from dataclasses import replace

import pytest
from hand_worked import bank_of, boat_of, passage_of, waypoints_of

import powersim
from powersim.planning.budget import budget_of
from powersim.planning.endurance import endurance
from powersim.planning.sessions_left import SessionTable, with_sessions_only
from powersim.records import Alternator, Device, Load, Session
from powersim.report.budget_text import budget_dict, budget_text
from powersim.report.comms_view import sessions_told
from powersim.report.endurance_dict import endurance_dict
from powersim.report.endurance_view import endurance_view
from powersim.report.screen_text import screen_text
from powersim.simulation.prepare import prepare

#: 12 min a try, 4 of 5 get through: 15 min for one, six of them in a day.
DOWNLOADS = Session(
    word="download",
    words="downloads",
    per_day=6.0,
    each_h=0.2,
    failed_frac=0.2,
    beside=("laptop",),
)
REPORTS = Session(word="report", words="reports", per_day=24.0, each_h=1.0 / 60.0)
LOADS = (
    Load(name="lookout", draw_A=1.0, role="lookout"),
    Load(name="weather", draw_A=2.0, on_frac=None, session=DOWNLOADS, priority="comfort"),
    Load(name="tracker", draw_A=0.5, on_frac=None, session=REPORTS, role="comms"),
    Load(name="laptop", draw_A=4.0, on_frac=None, on_h_per_day=5.0),
    Load(name="music", draw_A=3.0, priority="comfort"),
)


def passage(loads=LOADS, **changes):
    """Eight days, in a bank of 200 Ah without losses, full, with its floor at 50 %."""
    return passage_of(
        boat=boat_of(
            battery=bank_of(floor_soc=0.5),
            alternator=Alternator(charging_A=20.0, motoring_A=30.0),
        ),
        loads=loads,
        waypoints=waypoints_of(days=8),
        **changes,
    )


@pytest.fixture(scope="module")
def budget():
    asked = passage()
    return budget_of(asked, prepare(asked, step_h=1.0))


def test_what_one_costs_by_hand(budget):
    """A download has the phone on for 15 min at 2 A and the laptop beside it at 4 A: 0.5 Ah and
    1 Ah. At rest the alternator gives 20 A for 0.8 L an hour: 1.5 Ah are 4.5 min, 0.06 L. A report
    is a minute at 0.5 A, 1/120 Ah.
    """
    weather, tracker = budget.sessions.costs
    assert (weather.load, weather.group, tracker.group) == ("weather", "comfort", "useful")
    assert weather.on_h == pytest.approx(0.25)
    assert weather.charge_Ah == pytest.approx(1.5)
    assert weather.energy_Wh == pytest.approx(1.5 * 12.0)
    assert weather.fuel_L == pytest.approx(0.8 * 1.5 / 20.0)
    assert tracker.charge_Ah == pytest.approx(1.0 / 120.0)


def test_how_many_the_bank_buys_by_hand(budget):
    """The lookout takes 24 Ah a day, six downloads 9 Ah: 33 Ah. From 200 Ah to the floor are 100
    Ah, 3.03 days: 18.2 downloads. A day of reports takes 24 / 120 = 0.2 Ah: 24.2 Ah with the
    lookout, 4.132 days, 99.2 of them. All together 33.2 Ah a day, 3.012 days: 30 a day, 90.4.
    The laptop's own hours and the music are off.
    """
    sessions = budget.sessions
    weather, tracker = sessions.buys
    assert weather.days_to_floor == pytest.approx(100.0 / 33.0, abs=0.01)
    assert weather.to_floor == 18.0
    assert tracker.days_to_floor == pytest.approx(100.0 / 24.2, abs=0.01)
    assert tracker.to_floor == 99.0
    assert sessions.together.days_to_floor == pytest.approx(100.0 / 33.2, abs=0.01)
    assert sessions.together.to_floor == 90.0
    assert sessions.stays_on == ("lookout",)
    assert sessions.stays_on_Ah_per_day == pytest.approx(24.0)
    # What there is below the floor is the bank's, as the passage has it.
    assert weather.days_to_flat > weather.days_to_floor


def test_no_more_are_counted_than_until_landfall():
    """With a bank of 2000 Ah she is there first, after 192 h: 8 days of 6 downloads."""
    big = passage(loads=LOADS[:2])
    big = replace(big, boat=boat_of(battery=bank_of(capacity_Ah=2000.0)))
    prepared = prepare(big, step_h=1.0)
    (buys,) = budget_of(big, prepared).sessions.buys
    assert buys.days_to_floor == float("inf")
    assert buys.to_floor == buys.to_flat == int(6.0 * prepared.track.arrival_h / 24.0 + 1e-9)
    told = flat(screen_text(sessions_told(budget_of(big, prepared).sessions, when="as it is")))
    assert f"buys {buys.to_floor:.0f} downloads (to landfall) down to its floor" in told


def test_only_what_stays_on_and_the_sessions_are_left():
    weather = with_sessions_only(passage(), (1,))
    assert [load.name for load in weather.loads if load.count] == ["lookout", "weather", "laptop"]
    assert not weather.loads[3].states  # for the sessions alone
    assert [row.name for row in weather.drawn][5:] == ["laptop, for weather"]


def test_the_budget_says_what_it_is_worth(budget):
    text = budget_text(budget, name="eight days")
    assert "buys 18 downloads (3.0 days) or 99 reports (4.1 days) down to its floor" in flat(text)
    assert "That takes 24 Ah a day: in 1 h 30 min as much as one download" in flat(text)
    assert "Nothing charges any more, and all is off but what must stay on" in flat(text)
    assert "Leaving off reports saves hardly anything: keep them up." in flat(text)
    assert "diesel" in text
    assert budget_dict(budget, name="eight days")["sessions"]["kinds"][0]["buys"]["to_floor"] == 18


def test_a_battery_of_its_own_holds_some_more():
    """A download has the phone on for 15 min at 2 A of 12 V: 6 Wh. A battery of 20 Wh holds 3."""
    named = replace(DOWNLOADS, beside=("laptop", "Phone battery"))
    asked = passage(loads=(LOADS[0], replace(LOADS[1], session=named), *LOADS[2:]))
    own = Device(name="phone battery", battery_Wh=20.0, use_Wh_per_day=1.0)
    asked = replace(asked, boat=replace(asked.boat, devices=(own,)))
    found = budget_of(asked, prepare(asked, step_h=1.0)).sessions
    assert [cost.own_battery for cost in found.costs] == [3, 0]
    told = flat(screen_text(sessions_told(found, when="as it is")))
    assert "Beside these, a battery of its own holds 3 downloads when full." in told


def test_without_sessions_nothing_is_said():
    plain = passage(loads=LOADS[3:])
    found = budget_of(plain, prepare(plain, step_h=1.0))
    assert found.sessions == SessionTable() or not found.sessions.costs
    assert "message" not in budget_text(found, name="eight days")
    assert sessions_told(found.sessions, when="as it is") == []


def test_a_boat_without_an_engine_is_told_no_litres():
    bare = replace(passage(), boat=boat_of(alternator=None, engine=None, fuel=None))
    found = budget_of(bare, prepare(bare, step_h=1.0))
    assert [cost.fuel_L for cost in found.sessions.costs] == [None, None]
    text = screen_text(sessions_told(found.sessions, when="as it is"))
    assert "diesel" not in text


def test_endurance_counts_from_its_moment_and_in_many_passages_the_cautious_figure():
    """24 h on, in average weather: the bank has run with all loads on since departure."""
    asked = replace(passage(), boat=boat_of(battery=bank_of(floor_soc=0.2)))
    result = powersim.simulate(asked, step_h=1.0)
    table = endurance(result, from_h=24.0, members=1)
    (weather, _) = table.sessions.buys
    left_Ah = 200.0 * (table.soc - 0.2)
    assert weather.days_to_floor == pytest.approx(left_Ah / 33.0, abs=1.0 / 24.0)
    told = screen_text(endurance_view(table, result).sessions)
    assert f"The bank at that moment, at {100 * table.soc:.0f} %, buys" in flat(told)
    assert endurance_dict(table, result)["sessions"]["kinds"][1]["word"] == "report"
    many = endurance(powersim.simulate(asked, step_h=1.0, members=6), from_h=24.0, members=6)
    assert many.sessions.passages == 6
    text = screen_text(sessions_told(many.sessions, when="at that moment"))
    assert "1 in 10 of 6 simulated passages has less." in flat(text)


def flat(text):
    return " ".join(text.split())
