"""Single steps of the kernel, worked out by hand on a 100 Ah bank.

The bank: 12.45 V at rest at 75 % (half-way between 12.20 and 12.70 V), which moves by 1 V for a
whole charge. Resistance at 75 % and 25 degrees, with 0.75^1.5 = 0.6495191 and 0.33^1.5 = 0.1895706:

    on discharge  (2.4 + 0.1 / 0.75^1.5) / 100  = 0.0255396 ohm
    on charge     (2.0 + 3.1 / 0.33^1.5) / 100  = 0.1835275 ohm

Half a step of a quarter hour moves 1 V x 0.125 h / 100 Ah = 0.00125 V for each ampere, so that the
step sees 0.0267896 and 0.1847775 ohm.
"""

import math

import pytest
from builders import boat_of, passage_of
from one_step import mppt

from powersim.kernel.state import Switches
from powersim.records import Controller, Load, Shedding
from powersim.simulation.result import simulate

OUT_ohm, IN_ohm = 0.0267896, 0.1847775


def useful(value):
    """A demand of one useful load."""
    return (0.0, 0.0, value, 0.0)


def test_a_current_load(one_step):
    """12.45 V - 10 A x 0.0267896 ohm; 2.5 Ah go."""
    boat = one_step(soc=0.75)
    flows = boat.take(load_A=useful(10.0))
    assert flows.bank_V == pytest.approx(12.45 - 10.0 * OUT_ohm, abs=1e-6)
    assert (flows.load_A, flows.out_A, flows.in_A) == pytest.approx((10.0, 10.0, 0.0))
    assert flows.soc == pytest.approx(0.725, abs=1e-12)
    # Half of what the voltage moves in the step rides on the resistance.
    assert flows.ohm == pytest.approx(OUT_ohm, abs=1e-7)


def test_a_power_load(one_step):
    """V^2 - 12.45 V + 120 x 0.0267896 = 0: 12.45^2 = 155.0025, less 4 x 3.2147521 = 142.1434917,
    root 11.9223945, V = 12.1861973, 9.847206 A.
    """
    flows = one_step(soc=0.75).take(load_W=useful(120.0))
    assert flows.bank_V == pytest.approx(12.1861973, abs=1e-6)
    assert flows.load_A == pytest.approx(9.847206, abs=1e-6)
    assert flows.soc == pytest.approx(0.75 - 9.847206 * 0.25 / 100.0, abs=1e-8)


def test_solar_below_its_setpoint_gives_all_it_has(one_step):
    """V = 12.45 + 0.1847775 (60 / V - 2): V^2 - 12.0804446 V - 11.086662 = 0, V = 12.938148."""
    flows = one_step(soc=0.75).take(load_A=useful(2.0), solar=[mppt(60.0)])
    root = math.sqrt(12.0804446**2 + 4.0 * 11.086662)
    assert flows.bank_V == pytest.approx((12.0804446 + root) / 2.0, abs=1e-6)
    assert flows.solar_A == pytest.approx(60.0 / flows.bank_V)
    assert flows.in_A == pytest.approx(flows.solar_A - 2.0)


def test_solar_at_its_setpoint_gives_what_the_bank_takes(one_step):
    """(14.4 - 12.45) / 0.1847775 = 10.5532 A into the bank and 2 A of loads, of 200 / 14.4 A."""
    flows = one_step(soc=0.75).take(load_A=useful(2.0), solar=[mppt(200.0)])
    assert flows.bank_V == 14.4
    assert flows.in_A == pytest.approx(1.95 / IN_ohm, rel=1e-6)
    assert flows.solar_A == pytest.approx(2.0 + 1.95 / IN_ohm, rel=1e-6)
    assert flows.solar_offered_A == pytest.approx(200.0 / 14.4)


def test_solar_comes_before_the_alternator(one_step):
    """At 14.0 V (14.2 less the cable's 0.2) the bank takes 1.55 / 0.1847775 = 8.3885 A, loads 2 A;
    the sun gives 60 / 14 = 4.2857 A of it and the alternator the rest, of its 45 A.
    """
    boat = one_step(soc=0.75, charging={"start_soc": 0.76, "stop_soc": 0.9})
    flows = boat.take(load_A=useful(2.0), solar=[mppt(60.0)], may_run=True)
    assert flows.bank_V == 14.0
    assert flows.solar_A == pytest.approx(60.0 / 14.0)
    assert flows.alternator_A == pytest.approx(2.0 + 1.55 / IN_ohm - 60.0 / 14.0, rel=1e-6)
    assert flows.alternator_offered_A == 45.0


def test_solar_set_above_the_regulator_takes_over(one_step):
    """200 W reach 14.4 V by themselves; the alternator, set at 14.0 V, idles along."""
    boat = one_step(soc=0.75, charging={"start_soc": 0.76, "stop_soc": 0.9})
    flows = boat.take(solar=[mppt(200.0)], may_run=True)
    assert (flows.bank_V, flows.alternator_A) == (14.4, 0.0)
    assert flows.charging == 1.0


def test_equal_setpoints_are_served_by_the_sun_first(one_step):
    """At one setpoint of 14.0 V: 8.3885 A are wanted, 20 A of sun are there."""
    boat = one_step(soc=0.75, charging={"start_soc": 0.76, "stop_soc": 0.9})
    flows = boat.take(solar=[mppt(280.0, absorption_V=14.0)], may_run=True)
    assert flows.solar_A == pytest.approx(1.55 / IN_ohm, rel=1e-6)
    assert flows.alternator_A == 0.0


def test_gassing_takes_its_share_of_the_charge(one_step):
    """Of what flows in, what is not stored is gas; the wells gain the difference."""
    boat = one_step(soc=0.95, battery={"charge_efficiency_frac": 0.88})
    before_Ah = boat.state.total_Ah
    flows = boat.take(solar=[mppt(100.0)])
    assert flows.gassing_A > 0.05 * flows.in_A
    gained_Ah = (flows.in_A - flows.gassing_A) * 0.25
    assert boat.state.total_Ah - before_Ah == pytest.approx(gained_Ah, abs=1e-12)


def test_self_discharge_and_protection_leak(one_step):
    """10 % in 720 h of 75 Ah are 0.0104167 A, the protection's 30 mA beside it."""
    boat = one_step(soc=0.75, battery={"self_discharge_frac_per_month": 0.1, "standby_A": 0.03})
    flows = boat.take()
    assert flows.self_discharge_A == pytest.approx(0.0404167, abs=1e-7)
    assert flows.soc == pytest.approx(0.75 - 0.0404167 * 0.25 / 100.0, abs=1e-10)
    assert flows.load_A == 0.0


def test_what_leaks_moves_the_voltage_of_the_middle_of_the_step(one_step):
    """With nothing on, the bank stands midway between the voltages at which it begins and ends."""
    flows = one_step(soc=0.75, battery={"standby_A": 2.0}).take()
    at_rest = {"standby_A": 0.0, "self_discharge_frac_per_month": 0.0}
    before_V, after_V = (
        one_step(soc=soc, battery=at_rest).take().bank_V for soc in (0.75, flows.soc)
    )
    assert before_V - after_V > 1e-3
    assert flows.bank_V == pytest.approx((before_V + after_V) / 2.0, abs=1e-9)


def test_a_full_bank_takes_no_more(one_step):
    """At 100 % with 300 W of sun: loads are carried, nothing is stored."""
    flows = one_step(soc=1.0).take(load_A=useful(3.0), solar=[mppt(300.0)])
    assert flows.soc == pytest.approx(1.0, abs=1e-8)
    assert flows.solar_A == pytest.approx(3.0, abs=1e-5)


def test_lithium_takes_no_charge_below_freezing(one_step):
    """The signals say so below 0 degrees; loads are carried by the sun all the same."""
    flows = one_step(soc=0.5, chemistry="lifepo4").take(
        load_A=useful(3.0), solar=[mppt(300.0, absorption_V=14.2)], takes_charge=0.0, bank_C=-2.0
    )
    assert flows.in_A == pytest.approx(0.0, abs=1e-5)
    assert flows.solar_A == pytest.approx(3.0, abs=1e-5)


def test_a_multi_stage_regulator_falls_back_to_float(one_step):
    """An hour at absorption, then float: four steps of a quarter, then the fifth."""
    boat = one_step(
        soc=0.9,
        alternator={"regulator": "multi-stage", "absorption_h": 1.0},
        charging={"start_soc": 0.95, "stop_soc": 1.0, "shortest_h": 3.0},
    )
    signals = {
        "may_run": True,
        "alternator_absorption_V": 14.4,
        "alternator_float_V": 13.5,
    }
    assert [boat.take(**signals).bank_V for _ in range(5)] == [14.4, 14.4, 14.4, 14.4, 13.5]


def test_groups_are_shed_in_turn_and_come_back_with_a_gap(one_step):
    """Comfort at 74 %, useful at 70 %; back 5 % above. Protected and essential stay."""
    shedding = Shedding(comfort_below_soc=0.74, useful_below_soc=0.70)
    loads = {"load_A": (1.0, 2.0, 4.0, 8.0)}

    def drawn_A(soc, **state):
        return one_step(soc=soc, shedding=shedding, state=state).take(**loads).load_A

    assert drawn_A(0.75) == 15.0
    assert drawn_A(0.74) == 7.0
    assert drawn_A(0.70) == 3.0
    assert drawn_A(0.76, comfort_shed=True) == 7.0
    assert drawn_A(0.79, comfort_shed=True) == 15.0
    assert drawn_A(0.72, comfort_shed=True, useful_shed=True) == 3.0


def test_a_shed_load_sags_nothing_and_burns_nothing(one_step):
    """Its 25 A peak and its heater go with the group."""
    signals = {"peak_A": (0.0, 0.0, 0.0, 25.0), "heater_L": (0.0, 0.0, 0.0, 0.1)}
    shedding = Shedding(comfort_below_soc=0.80)
    flows = one_step(soc=0.75, shedding=shedding).take(**signals)
    assert (flows.sag_V, flows.heater_L) == (pytest.approx(12.45), 0.0)
    flows = one_step(soc=0.75).take(**signals)
    assert flows.sag_V == pytest.approx(12.45 - 25.0 * OUT_ohm, abs=1e-5)
    assert flows.heater_L == 0.1


def test_switches_take_panels_engine_and_alternator_away(one_step):
    rule = {"charging": {"start_soc": 0.76, "stop_soc": 0.9}}
    signals = {"may_run": True, "solar": [mppt(60.0)]}

    def gives(**lost):
        flows = one_step(soc=0.75, **rule).take(switches=Switches(**lost), **signals)
        return flows.solar_A > 0.0, flows.alternator_A > 0.0, flows.charging > 0.0

    assert gives() == (True, True, True)
    assert gives(solar=0.0) == (False, True, True)
    assert gives(alternator=0.0) == (True, False, False)
    assert gives(engine=False) == (True, False, False)


def test_fuel_of_a_charging_step(one_step):
    """0.5 L/h for a quarter hour, and 0.246 L/kWh for 45 A x (14.0 + 0.2) V / 50 % = 1278 W for a
    quarter hour: 0.125 + 0.0785970 L. The bank at 30 % takes all of the 45 A.
    """
    boat = one_step(
        soc=0.30, capacity_Ah=1000.0, alternator={"constant_V": 14.2}, engine={"rated_kW": 14.0}
    )
    flows = boat.take(may_run=True)
    assert flows.alternator_A == pytest.approx(45.0)
    shaft_kWh = 45.0 * (flows.bank_V + 0.2) / 0.5 * 0.25 / 1000.0
    assert flows.charging_L == pytest.approx(0.125 + 0.246 * shaft_kWh)
    assert (flows.motoring_L, flows.alternator_motoring_L) == (0.0, 0.0)


def test_fuel_of_a_motoring_step(one_step):
    """2 L/h in gear; what the alternator costs beside it has a ledger of its own."""
    boat = one_step(soc=0.30, capacity_Ah=1000.0)
    flows = boat.take(motoring=1.0, may_run=True)
    assert flows.alternator_A == pytest.approx(50.0)
    assert flows.motoring_L == 0.5
    shaft_kWh = 50.0 * (flows.bank_V + 0.2) / 0.5 * 0.25 / 1000.0
    assert flows.alternator_motoring_L == pytest.approx(0.246 * shaft_kWh)
    assert (flows.charging, flows.charging_L) == (0.0, 0.0)


def test_the_bank_pays_for_controllers_that_idle(one_step):
    boat = one_step(soc=0.75, panel_W=(100.0,))
    assert boat.take().load_A == pytest.approx(0.015)


def test_a_charger_set_below_an_empty_bank_is_no_help_to_it(one_step):
    """A regulator of 12 V on a bank of 24 V: half an ampere-hour is left, 2 A for a quarter hour,
    for a load of 5 A; the alternator turns and gives nothing.
    """
    boat = one_step(soc=0.26, battery={"nominal_V": 24.0})
    flows = boat.take(load_A=useful(5.0), unreachable_frac=0.255, motoring=1.0)
    assert flows.alternator_A == 0.0
    assert flows.load_A == pytest.approx(2.0)


def test_a_bank_that_loses_nothing_stays_full_on_float_for_weeks():
    """Nothing leaks and the alternator carries all: not a millionth of an ampere creeps in."""
    still = {"self_discharge_frac_per_month": 0.0}
    loads = (Load(name="motoring light", draw_A=1.0, states=frozenset({"motoring"})),)
    leg = {"motoring_start_h": 400.0, "cabin_C": 25.0}
    boat = boat_of(panel_W=(), battery=still)
    result = simulate(passage_of(boat=boat, loads=loads, leg=leg, days=10.0))
    assert result.flow.soc.max() == pytest.approx(1.0, abs=1e-12)


def test_what_each_group_goes_without_is_counted(one_step):
    """By hand: of 1, 2, 4 and 8 A comfort lacks 8, useful and comfort 12, and in the dark all."""
    shedding = Shedding(comfort_below_soc=0.74, useful_below_soc=0.70)
    lacks_A = [
        one_step(soc=soc, shedding=shedding).take(load_A=(1.0, 2.0, 4.0, 8.0)).unserved_A
        for soc in (0.80, 0.74, 0.70, 0.15)
    ]
    assert lacks_A == [0.0, 8.0, 12.0, 15.0]


def test_what_controllers_take_is_in_the_sag(one_step):
    boat = one_step(soc=0.75, panel_W=(100.0,), controllers=(Controller(idle_A=5.0),))
    assert boat.take().sag_V == pytest.approx(12.45 - 5.0 * OUT_ohm, abs=1e-6)


def test_a_run_that_ends_within_a_step_leaves_what_it_was_while_it_turned(one_step):
    """At 79 % and 14.0 V until 80 %: the state has the current of that time, and how long it was
    held and has been off since; the flows have the means of the whole step.
    """
    running = {"running": True, "turning": True, "run_h": 1.0}
    boat = one_step(soc=0.79, charging={"start_soc": 0.55, "stop_soc": 0.8}, state=running)
    flows = boat.take(may_run=True)
    share = flows.charging
    assert 0.2 < share < 0.9
    assert boat.state.alternator_A == pytest.approx(flows.alternator_A / share)
    assert boat.state.into_A == pytest.approx(boat.state.alternator_A)
    assert boat.state.alternator_absorbed_h == pytest.approx(0.25 * share)
    assert boat.state.stopped_h == pytest.approx(0.25 * (1.0 - share))


def test_the_sun_keeps_a_bank_above_the_level_at_which_the_engine_starts(one_step):
    """20 A of loads take 56 % through 55 % within the step; not where the sun carries them."""
    rule = {"charging": {"start_soc": 0.55, "stop_soc": 0.8}}
    draws = {"load_A": useful(20.0), "may_run": True}
    assert 0.0 < one_step(soc=0.56, **rule).take(**draws).charging < 1.0
    assert one_step(soc=0.56, **rule).take(solar=[mppt(300.0)], **draws).charging == 0.0


def test_outside_its_hours_a_run_goes_on_by_order_alone(one_step):
    running = {"running": True, "turning": True, "run_h": 0.25}
    boat = one_step(soc=0.6, charging={"start_soc": 0.65, "stop_soc": 0.8}, state=running)
    assert boat.take(ordered=0.5).charging == 0.5


@pytest.mark.parametrize("into_A", [200.0, 16.0])
def test_a_current_that_would_overfill_the_bank_is_thought_on_to_full_and_no_further(
    one_step, into_A
):
    """Half a step of 200 A would be 25 Ah, of 16 A 2 Ah; there is room for one. Resistance is that
    of a full bank: (2.0 + 3.1 / 0.08^1.5) / 100 + 0.00125 = 1.3912694 ohm; 99 % are 12.69 V, so
    that 14.4 V take 1.71 / 1.3912694 = 1.2290934 A.
    """
    flows = one_step(soc=0.99, state={"into_A": into_A}).take(solar=[mppt(200.0)])
    assert flows.bank_V == 14.4
    assert flows.ohm == pytest.approx(1.3912694, abs=1e-7)
    assert flows.in_A == pytest.approx(1.2290934, abs=1e-7)


def test_a_controller_without_light_begins_with_absorption_on_the_next_morning(one_step):
    """It came down to float by day and stays there; a night later it holds 14.4 V again."""
    day = {"solar": [mppt(300.0)]}
    boat = one_step(soc=1.0, state={"floating": True})
    assert [boat.take(**day).bank_V for _ in range(2)] == [13.5, 13.5]
    boat.take(solar=[mppt(0.0)])
    assert boat.take(**day).bank_V == 14.4


def test_a_5_hour_capacity_lasts_five_hours_at_its_current(one_step):
    """By definition: 80 Ah in 5 h are 16 A in twenty quarter hours, and not in one more."""
    rated = {"capacity_5h_Ah": 80.0, "flat_soc": 0.0, "cutout_V": 9.0}
    boat = one_step(soc=1.0, battery=rated | {"self_discharge_frac_per_month": 0.0})
    for _ in range(20):
        assert boat.take(load_A=useful(16.0)).load_A == pytest.approx(16.0, abs=1e-9)
    assert boat.take(load_A=useful(16.0)).served < 0.6
