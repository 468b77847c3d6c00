"""The words and numbers of the endurance tables, from records made by hand."""

import math
from dataclasses import replace

import hand_worked
import numpy as np
import pytest
from builders import boat_of, passage_of
from hand_worked import waypoints_of, with_panels, without_engine

from powersim.planning.dropping import Dropping, LoadGain
from powersim.planning.endurance import endurance
from powersim.planning.endurance_table import Endurance, EnduranceTable
from powersim.planning.fuel_lasts import FuelCourse
from powersim.planning.worst_moment import WorstMoment
from powersim.records import Load
from powersim.report.endurance_dict import endurance_dict
from powersim.report.endurance_view import endurance_from_departure, endurance_view
from powersim.report.longer_text import longer_notes
from powersim.report.screen_text import screen_text
from powersim.simulation.result import simulate

NEVER = math.inf
LINES = (
    Endurance(loss="engine lost", loads="all loads", days_to_floor=2.61, days_to_flat=NEVER),
    Endurance(
        loss="lithium protection opens",
        loads="all loads",
        days_to_floor=0.0,
        days_to_flat=0.0,
        at_once=True,
    ),
    Endurance(loss="engine lost", loads="essential only", days_to_floor=0.0, days_to_flat=11.4),
)
DROPPING = Dropping(
    beside="engine lost",
    gains=(
        LoadGain(
            load="vhf",
            group="protected",
            charge_Ah_per_day=5.4,
            days_to_floor=0.3,
            days_to_flat=0.5,
            beside_days_to_floor=1.0,
            beside_days_to_flat=2.0,
        ),
        LoadGain(
            load="laptop",
            group="comfort",
            charge_Ah_per_day=12.0,
            days_to_floor=0.2,
            days_to_flat=0.41,
            beside_days_to_floor=1.25,
            beside_days_to_flat=NEVER,
        ),
        LoadGain(
            load="clock",
            group="useful",
            charge_Ah_per_day=0.1,
            days_to_floor=0.0,
            days_to_flat=0.01,
            beside_days_to_floor=0.0,
            beside_days_to_flat=0.02,
        ),
    ),
)
COURSE = FuelCourse(
    factor=1.0,
    days_to_landfall=20.0,
    usable_L=80.0,
    motoring_L=20.0,
    heater_L=0.0,
    reserve_L=15.0,
    for_charging_L=45.0,
    charging_L=10.0,
    left_L=50.0,
    mean_L_per_day=0.5,
    hungriest_L_per_day=1.5,
    no_sun_L_per_day=0.0,
)
TABLE = EnduranceTable(
    from_h=0.0,
    soc=0.9,
    days_to_landfall=20.9,
    lines=LINES,
    notes=("engine lost: no motoring either",),
    dropping=DROPPING,
    fuel=(COURSE, replace(COURSE, factor=1.5, days_to_landfall=30.0, left_L=9.0)),
)


@pytest.fixture(scope="module")
def result():
    return simulate(passage_of(boat=boat_of(), days=1.0), step_h=1.0)


def in_ensemble(record):
    """The same with three members: as bad, the same, and half as good again."""
    names = [name for name in record.__slots__ if isinstance(getattr(record, name), float)]
    kept = {"from_h", "days_to_landfall", "held_days", "reserve_L", "factor", "charge_Ah_per_day"}
    return replace(
        record,
        **{
            name: getattr(record, name) * np.array([1.0, 1.0, 1.5])
            for name in names
            if name not in kept
        },
    )


EXPECTED = """\
a passage for tests, counted from Sat 5 Sep 07:00 (09:00 UTC), in average
weather: the bank is at 90 %, its floor at 50 %; landfall comes after 21 days.

                              all loads         essential only
what happens              to floor   to flat  to floor  to flat
------------------------  --------  --------  --------  -------
engine lost               2.6 days  landfall   already  11 days
lithium protection opens   at once   at once

- Engine lost: no motoring either.

Landfall: the bank lasts until she arrives. Essential only: navigation lights,
lookout (AIS, radar), VHF and bilge pump, and what loads.csv calls essential;
the rest is off from the first hour. Everything works until the moment counted
from. A forecast is no promise.

Which load costs the most days
------------------------------

The load that costs the most: vhf. Without it, and with all charging lost, the
bank lasts 12 h longer to flat. It is there for safety, and not to be left off.
What leaving each one off gains, from the first hour on:

                         all charging lost     engine lost
load    priority  a day  to floor  to flat  to floor   to flat
------  --------  -----  --------  -------  --------  --------
laptop  comfort   12 Ah       5 h     10 h      30 h  landfall

Never to be left off, whatever they cost to flat with all charging lost: vhf
(12 h). Lights show you to others, AIS or radar shows others to you, VHF calls
them, and the bilge pump keeps you afloat.

Less than an hour each: clock.

How long the diesel lasts
-------------------------

what                             as planned  half as long again
-------------------------------  ----------  ------------------
days to landfall                    20 days             30 days
can be burnt                         80.0 L              80.0 L
motoring to landfall                 20.0 L              20.0 L
heaters                               0.0 L               0.0 L
left for charging, reserve kept      45.0 L              45.0 L
which charges for
- at the passage's average          90 days             90 days
- as in the costliest week          30 days             30 days
- with sun and the rest lost     not needed          not needed
charging, by the boat's rule         10.0 L              10.0 L
left at landfall                     50.0 L               9.0 L

As planned, the reserve of 15.0 L is untouched. With every leg half as long
again, 6.0 L of the reserve of 15.0 L are used.

Half as long again: every leg takes half as long again from here, stops do not.
Litres are what she needs, as if there were always enough."""


def endurance_text(found, result):
    return screen_text(endurance_view(found, result).sections)


def test_in_the_mean_sky(result):
    assert endurance_text(TABLE, result) == EXPECTED


def test_a_load_that_is_never_to_be_dropped_may_cost_the_most(result):
    text = " ".join(endurance_text(TABLE, result).split())
    assert (
        "The load that costs the most: vhf. Without it, and with all charging lost, the bank lasts "
        "12 h longer to flat. It is there for safety, and not to be left off."
    ) in text
    assert "with all charging lost: vhf (12 h)." in text
    table = text.split("hour on:")[1].split("Never")[0]
    assert "laptop comfort 12 Ah 5 h 10 h 30 h landfall" in table
    assert "vhf" not in table
    assert "Less than an hour each: clock." in text


def test_nothing_to_gain(result):
    none = replace(TABLE, dropping=Dropping(beside="engine lost", gains=()))
    assert "None costs as much as an hour" in endurance_text(none, result)


@pytest.mark.parametrize(
    ("left_L", "said"),
    [
        (50.0, "As planned, the reserve of 15.0 L is untouched."),
        (9.0, "As planned, 6.0 L of the reserve of 15.0 L are used."),
        (-3.0, "As planned, the diesel is 3.0 L short."),
    ],
)
def test_what_becomes_of_the_reserve(result, left_L, said):
    table = replace(TABLE, fuel=(replace(COURSE, left_L=left_L), COURSE))
    assert said in " ".join(endurance_text(table, result).split())


@pytest.mark.parametrize("judged_by", ["flat", "floor", "charge"])
def test_how_the_worst_moment_was_found(result, judged_by):
    worst = WorstMoment(step=0, from_h=0.0, judged_by=judged_by, apart_h=3.0)
    words = {
        "flat": "where everything would go dark soonest",
        "floor": "where the bank would be at its floor soonest",
        "charge": "where the bank stands lowest",
    }
    text = " ".join(endurance_text(replace(TABLE, worst=worst), result).split())
    assert f"Of all moments of the passage this is the one {words[judged_by]}" in text


def lines_of(**days):
    return tuple(
        Endurance(loss=loss, loads="all loads", days_to_floor=floor, days_to_flat=NEVER)
        for loss, floor in days.items()
    )


def test_a_loss_that_lengthens_is_explained(result):
    """Half an hour is no difference."""
    days = {"everything working": 4.8, "pilot draw doubled": 5.9, "solar lost": 3.8}
    text = endurance_text(replace(TABLE, lines=lines_of(**days)), result)
    assert "Longer than with everything working: pilot draw doubled. No gain:" in " ".join(
        text.split()
    )
    days["pilot draw doubled"] = 4.82
    assert "Longer than" not in endurance_text(replace(TABLE, lines=lines_of(**days)), result)


def test_a_loss_that_lengthens_in_some_members_is_explained(result):
    """The worst tenth is longer, half and nine tenths are as they were."""
    working, doubled = np.arange(1.0, 12.0), np.maximum(np.arange(1.0, 12.0), 3.0)
    days = {"everything working": working, "pilot draw doubled": doubled}
    (note,) = longer_notes(replace(TABLE, lines=lines_of(**days), seed=1), result.passage.boat)
    assert note.startswith("Longer than with everything working: pilot draw doubled. No gain:")


def test_diesel_is_not_said_to_last_where_the_bank_goes_dark(result):
    found = replace(TABLE, fuel=(replace(COURSE, no_sun_dark_frac=1.0),) * 2)
    told = " ".join(endurance_text(found, result).split())
    assert "- with sun and the rest lost goes dark goes dark" in told
    assert "Goes dark: by the boat's rule the engine does not keep the bank up" in told
    assert "oes dark" not in endurance_text(TABLE, result)
    (one, _) = endurance_dict(found, result)["fuel"]
    assert (one["no_sun_days"], one["no_sun_dark_frac"], one["dark_frac"]) == (None, 1.0, 0.0)


def test_held_beyond_landfall(result):
    text = " ".join(endurance_text(replace(TABLE, held_days=60.0), result).split())
    assert "After landfall she is held at B for 60 days" in text
    assert "engine lost 2.6 days the end already 11 days" in text
    assert "The end: the bank lasts all of the 80 days that are looked at." in text
    assert "laptop comfort 12 Ah 5 h 10 h 30 h the end" in text
    assert "landfall" not in text.split("does not motor.")[1].split("How long the diesel")[0]


def test_in_members(result):
    table = replace(
        in_ensemble(TABLE),
        lines=tuple(map(in_ensemble, LINES)),
        dropping=replace(DROPPING, gains=tuple(map(in_ensemble, DROPPING.gains))),
        fuel=tuple(map(in_ensemble, TABLE.fuel)),
        seed=7,
    )
    text = endurance_text(table, result)
    assert max(map(len, text.splitlines())) <= 80
    words = " ".join(text.split())
    assert "in 3 simulated passages: the bank is at 90 % (8 in 10 lie between" in words
    assert "engine lost 2.6 days 2.6 days 3.7 days landfall landfall landfall" in words
    assert "lithium protection at once at once at once at once at once at once opens" in words
    assert "engine lost already already already 11 days 11 days 16 days" in words
    assert "by the median of the first 3 simulated passages" in words
    assert (
        "As planned, of 3 simulated passages, none eat into the reserve of 15.0 L. With every leg "
        "half as long again, of 3 simulated passages, all eat into the reserve of 15.0 L."
    ) in words
    answer = endurance_dict(table, result)
    assert answer["ensemble"] == {"members": 3, "seed": 7}
    assert answer["lines"][0]["days_to_floor"]["p50"] == pytest.approx(2.61)
    assert answer["lines"][0]["days_to_flat"] == {"p10": None, "p50": None, "p90": None}
    assert answer["fuel"][0]["reserve_L"] == 15.0
    assert answer["fuel"][0]["no_sun_days"]["p50"] is None


def test_for_a_program(result):
    answer = endurance_dict(TABLE, result)
    assert answer["lines"][1] == {
        "loss": "lithium protection opens",
        "loads": "all loads",
        "days_to_floor": 0.0,
        "days_to_flat": 0.0,
        "at_once": True,
    }
    assert answer["dropping"]["beside"] == "engine lost"
    assert answer["dropping"]["gains"][1]["beside_days_to_flat"] is None
    assert answer["fuel"][0]["mean_days"] == 90.0
    assert answer["fuel"][0]["no_sun_days"] is None
    assert "worst_moment" not in answer


@pytest.fixture(scope="module")
def nine_days():
    loads = (
        Load(name="vhf", draw_A=0.5, role="vhf"),
        Load(name="music", draw_A=1.0, priority="comfort"),
        Load(name="pilot", draw_A=4.0, priority="essential", role="pilot"),
    )
    passage = hand_worked.passage_of(
        boat=with_panels(), loads=loads, waypoints=waypoints_of(days=9)
    )
    return simulate(passage, step_h=1.0)


def test_every_line_that_was_found_is_told(nine_days):
    found, view = endurance(nine_days, members=1), endurance_from_departure(nine_days)
    (table,) = view.lasts
    sets = list(dict.fromkeys(column.over for column in table.columns[1:]))
    assert sets == ["all loads", "without comfort", "essential only"]
    told = {
        (row[0], loads): row[1 + 2 * place : 3 + 2 * place]
        for row in table.rows
        for place, loads in enumerate(sets)
    }
    assert len(told) == len(found.lines)
    for line in found.lines:
        to_floor, to_flat = told[line.loss, line.loads]
        for days, cell in ((line.days_to_floor, to_floor), (line.days_to_flat, to_flat)):
            assert cell.value == days
            shown = (
                f"{24 * days:.0f} h" if days < 2.0 else f"{days:.{1 if days < 9.95 else 0}f} days"
            )
            none = "at once" if line.at_once else "already"
            assert str(cell) == ("landfall" if days == NEVER else none if days == 0 else shown)
    assert set(view.order) == {"pilot", "music", "vhf"}


def test_no_fuel_without_an_engine(nine_days):
    assert endurance_from_departure(nine_days).fuel
    alone = simulate(hand_worked.passage_of(boat=without_engine()), step_h=1.0)
    assert endurance_from_departure(alone).fuel == ()
