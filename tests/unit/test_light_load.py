"""Charging runs that load the engine lightly for long, by hand and in words."""

import pandas as pd
import pytest
from builders import boat_of, engine_of, passage_of

from powersim.records.belt import propeller_W
from powersim.report.light_load_text import light_load_told
from powersim.report.warnings import warnings_of
from powersim.simulation.light_load import LightLoad, light_load
from powersim.simulation.result import simulate

ENGINE = engine_of(rated_kW=10.0, motoring_L_per_h=1.5)


def table(*runs):
    return pd.DataFrame(runs, columns=["kind", "run_h", "shaft_kWh"])


def test_hours_add_up_until_a_spell_of_harder_work():
    """A fifth of 10 kW is 2 kW (common practice, no source): 1 kW is light and 3 kW is not."""
    light, hard = ("charging", 4.0, 4.0), ("charging", 1.0, 3.0)
    found = light_load(ENGINE, table(light, light, hard, light, light, light, hard))
    assert found == LightLoad(pytest.approx((5 * 4.0 + 2 * 3.0) / 22.0 / 10.0), 12.0, 5)
    # A spell of twenty minutes does not burn it off, and is not light itself.
    short = ("charging", 1.0 / 3.0, 1.0)
    assert light_load(ENGINE, table(light, short, light)).longest_h == 8.0
    # A run of just a fifth is not light.
    assert light_load(ENGINE, table(("charging", 4.0, 8.0)))[1:] == (0.0, None)


def test_half_an_hour_in_gear_burns_it_off():
    """0.15 L/h for each kW is 0.719 of the rated revs; the propeller takes 0.3717 of the power."""
    assert propeller_W(ENGINE) == pytest.approx(3717.0, abs=1.0)
    light = ("charging", 4.0, 4.0)
    motored = light_load(ENGINE, table(light, ("motoring", 0.5, 0.0), light))
    assert motored.longest_h == 4.0
    assert motored.load_frac == pytest.approx(0.1)
    # At 0.5 L/h it turns at a third of its revs, which is no work.
    slow = engine_of(rated_kW=10.0, motoring_L_per_h=0.5)
    assert light_load(slow, table(light, ("motoring", 0.5, 0.0), light)).longest_h == 8.0


def test_a_boat_that_never_charges_has_no_load_to_tell():
    assert light_load(None, table()) == LightLoad(None, 0.0, None)


@pytest.fixture(scope="module")
def long_at_it():
    """Six days without sun: two to three hours of engine a day on a diesel of 14 kW."""
    boat = boat_of(battery={"soc_at_departure": 0.7}, panel_W=())
    return simulate(passage_of(boat=boat, days=8.0), step_h=1.0)


def test_a_passage_says_so_where_it_goes_on_for_long(long_at_it):
    told = long_at_it.summary["average"]["engine"]
    runs = long_at_it.engine
    # By hand: what the alternator gives over its efficiency of a half, over 14 kW and the hours.
    shaft_kWh = long_at_it.books.alternator_Wh.sum() / 0.5 / 1000.0
    assert runs["shaft_kWh"].sum() == pytest.approx(shaft_kWh)
    assert told["charging_load_frac"] == pytest.approx(shaft_kWh / runs["run_h"].sum() / 14.0)
    assert told["longest_light_h"] == pytest.approx(runs["run_h"].sum())
    (found,) = [one for one in warnings_of(long_at_it) if "glazes" in one.text]
    assert found.text.startswith(f"{told['longest_light_h']:.1f} h of charging by ")
    assert "in gear for half an hour" in found.advice
    (note,) = (one.sentence for one in light_load_told(long_at_it))
    assert " of the engine's power, no harder work between" in note
    assert note.endswith(".")


def test_a_few_short_runs_are_not_worth_a_word():
    boat = boat_of(battery={"soc_at_departure": 0.6}, panel_W=())
    few = simulate(passage_of(boat=boat, days=2.0), step_h=1.0)
    assert 0.0 < few.summary["average"]["engine"]["longest_light_h"] < 10.0
    assert list(light_load_told(few)) == []
