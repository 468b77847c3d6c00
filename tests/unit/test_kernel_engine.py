"""When the engine can be started at all, and what becomes of the fuel."""

import pytest
from builders import boat_of, passage_of

from powersim.kernel import step
from powersim.kernel.state import Switches
from powersim.records import Load
from powersim.simulation.result import simulate

MAY = {"may_run": True}
RULE = {"charging": {"start_soc": 0.55, "stop_soc": 0.8}}
FLAT = {"soc": 0.15, "state": {"dark": True}}


@pytest.mark.parametrize(("soc", "starts"), [(0.39, 0.0), (0.40, 1.0), (0.41, 1.0)])
@pytest.mark.parametrize("signals", [{}, {"motoring": 1.0}])
def test_a_shared_bank_starts_the_engine_from_40_per_cent_up(one_step, soc, starts, signals):
    """To charge and to motor alike; the level is common practice, no source."""
    boat = one_step(soc=soc, engine={"start_battery": "shared"}, **RULE)
    flows = boat.take(**MAY, **signals)
    assert flows.charging + flows.motoring == starts
    assert (flows.alternator_A > 0.0) == bool(starts)


@pytest.mark.parametrize("how", ["separate", "hand"])
def test_other_ways_to_start_ask_nothing_of_the_bank(one_step, how):
    boat = one_step(soc=0.25, engine={"start_battery": how}, **RULE)
    assert boat.take(**MAY).charging == 1.0


@pytest.mark.parametrize("signals", [{}, {"motoring": 1.0}])
def test_an_engine_that_turns_goes_on_below_the_starting_level(one_step, signals):
    """Once started, heavy loads may pull the bank below 40 % while it runs."""
    boat = one_step(soc=0.402, engine={"start_battery": "shared"}, **RULE)
    heavy = {"load_A": (0.0, 0.0, 55.0, 0.0)} | MAY | signals
    ran = [boat.take(**heavy) for _ in range(3)]
    assert ran[1].soc < 0.40
    assert [flows.charging + flows.motoring for flows in ran] == [1.0, 1.0, 1.0]


def test_leaving_gear_the_engine_may_go_on_charging(one_step):
    """It turns already, so a shared bank below 40 % is no hindrance."""
    boat = one_step(soc=0.402, engine={"start_battery": "shared"}, **RULE)
    boat.take(load_A=(0.0, 0.0, 55.0, 0.0), motoring=1.0, **MAY)
    assert boat.take(load_A=(0.0, 0.0, 55.0, 0.0), motoring=1.0, **MAY).soc < 0.40
    assert boat.take(**MAY).charging == 1.0


@pytest.mark.parametrize(
    ("trusted", "motoring", "burns", "gives"),
    [
        (False, 0.0, False, False),
        (True, 0.0, True, True),
        (False, 1.0, True, False),  # she goes, but nothing is charged
        (True, 1.0, True, True),
    ],
)
def test_a_dark_bank_excites_an_alternator_only_if_the_sailor_says_so(
    one_step, trusted, motoring, burns, gives
):
    boat = one_step(engine={"charges_flat_bank": trusted}, **FLAT, **RULE)
    flows = boat.take(motoring=motoring, **MAY)
    assert (flows.charging_L + flows.motoring_L > 0.0) == burns
    assert (flows.alternator_A > 0.0) == gives


@pytest.mark.parametrize(
    ("soc", "within", "meetings"),
    [
        (0.50, False, 1),  # charges all the step
        (0.70, False, 1),  # not at all
        (0.56, True, 2),  # begins within the step
    ],
)
def test_the_bus_is_met_again_only_where_a_run_begins_or_ends_within_the_step(
    one_step, monkeypatch, soc, within, meetings
):
    """It takes longer than all else in a step."""
    met = []
    one = step.meet
    monkeypatch.setattr(
        step, "meet", lambda *args, **given: met.append(args) or one(*args, **given)
    )
    flows = one_step(soc=soc, **RULE).take(load_A=(0.0, 0.0, 20.0, 0.0), **MAY)
    assert (0.0 < flows.charging < 1.0) == within
    assert len(met) == meetings


def test_no_engine_without_fuel(one_step):
    """95.99 of 96 L are burnt: one more step, and what it lacks is told; then no more."""
    boat = one_step(soc=0.5, state={"burnt_L": 95.99}, **RULE)
    last, none = boat.take(**MAY), boat.take(**MAY)
    assert last.charging == 1.0
    assert last.fuel_short_L == pytest.approx(last.charging_L - 0.01)
    assert (none.charging, none.charging_L, none.alternator_A) == (0.0, 0.0, 0.0)
    assert boat.state.burnt_L == 96.0
    assert boat.take(motoring=1.0, **MAY).motoring == 0.0


def test_an_engine_that_is_lost_burns_nothing(one_step):
    boat = one_step(soc=0.5, **RULE)
    flows = boat.take(motoring=1.0, switches=Switches(engine=False), **MAY)
    assert (flows.motoring, flows.motoring_L, flows.alternator_A) == (0.0, 0.0, 0.0)


def ledgers_of(result):
    fuel = result.summary["average"]["fuel"]
    return sum(
        fuel[name] for name in ("charging_L", "motoring_L", "alternator_motoring_L", "heater_L")
    )


@pytest.fixture(scope="module")
def with_heater():
    """Motoring, charging and a heater in a cold cabin."""
    heater = Load(
        name="heater", draw_A=1.0, on_frac=0.5, temperature_rule="heater", fuel_L_per_h=0.2
    )
    return simulate(
        passage_of(
            boat=boat_of(charging={"start_soc": 0.85, "stop_soc": 0.95}),
            loads=(heater, Load(name="pilot", draw_A=3.0)),
            leg={"cabin_C": 8.0, "motoring_start_h": 6.0},
            days=2.0,
        )
    )


def test_fuel_left_is_what_could_be_used_less_the_ledgers(with_heater):
    fuel = with_heater.summary["average"]["fuel"]
    assert min(fuel[name] for name in ("charging_L", "motoring_L", "heater_L")) > 0.0
    # 100 L aboard, 5 % of the 80 L tank out of reach.
    assert fuel["left_L"] == pytest.approx(96.0 - ledgers_of(with_heater))
    assert fuel["wanted_and_not_there_L"] == 0.0
    assert with_heater.prepared.plant.usable_L - with_heater.flow.burnt_L[-1, 0] == (
        pytest.approx(fuel["left_L"])
    )


def test_motoring_and_heating_by_hand(with_heater):
    """6 h at 2 L/h; 48 h half the time at 0.2 L/h."""
    assert with_heater.summary["average"]["fuel"]["motoring_L"] == pytest.approx(12.0)
    assert with_heater.summary["average"]["fuel"]["heater_L"] == pytest.approx(4.8, rel=0.03)


def test_fuel_that_runs_out_stops_motoring_and_charging_and_breaks_the_reserve():
    """10 L, of which 4 cannot be reached, last 3 h of the 9 h in gear at 2 L/h and some."""
    result = simulate(
        passage_of(
            boat=boat_of(
                battery={"soc_at_departure": 0.6}, fuel={"aboard_L": 10.0, "reserve_L": 0.0}
            ),
            leg={"motoring_start_h": 9.0},
            days=2.0,
        )
    )
    summary = result.summary
    assert summary["average"]["engine"]["motoring_h"] == 3.0
    assert summary["average"]["engine"]["charging_h"] == 0.0
    assert summary["average"]["fuel"]["left_L"] == pytest.approx(0.0, abs=1e-9)
    assert summary["average"]["fuel"]["wanted_and_not_there_L"] > 0.0
    assert summary["average"]["fuel"]["reserve_broken"]
    assert not summary["holds"]


@pytest.mark.parametrize(("reserve_L", "broken"), [(20.0, False), (91.0, True)])
def test_a_plan_that_eats_the_reserve_says_so(reserve_L, broken):
    """96 L can be reached and some 10 L are burnt."""
    result = simulate(
        passage_of(boat=boat_of(fuel={"reserve_L": reserve_L}), leg={"motoring_start_h": 5.0})
    )
    fuel = result.summary["average"]["fuel"]
    assert fuel["reserve_broken"] == broken
    assert fuel["left_above_reserve_L"] == pytest.approx(fuel["left_L"] - reserve_L)
