"""A bank that is flat, by charge, by voltage or by cold; and one that is full."""

import pytest
from builders import boat_of, calm_seas, passage_of
from one_step import mppt

from powersim.records import Load, Waypoint
from powersim.simulation.result import simulate

LOAD = {"load_A": (0.0, 0.0, 4.0, 0.0)}


@pytest.mark.parametrize(("soc", "dark"), [(0.21, False), (0.20, True), (0.19, True)])
def test_flat_by_charge(one_step, soc, dark):
    """At 20 % of a lead-acid bank (design: common practice) everything is off and counted."""
    flows = one_step(soc=soc, battery={"cutout_V": 9.0}).take(**LOAD)
    assert flows.dark == dark
    assert (flows.load_A, flows.served) == ((0.0, 0.0) if dark else (4.0, 1.0))


def test_a_heater_is_out_in_the_dark_and_burns_as_much_as_it_is_on(one_step):
    """0.1 L a step while all is on; nothing in the dark. Where half an ampere-hour is left, 2 A for
    a quarter hour of the 5 A that are wanted, two fifths of it: 0.04 L, and 3 A go unserved.
    """
    wanted = {"load_A": (0.0, 0.0, 5.0, 0.0), "heater_L": (0.0, 0.0, 0.1, 0.0)}
    lit, dark, scant = (one_step(soc=soc) for soc in (0.50, 0.15, 0.26))
    assert lit.take(**wanted).heater_L == lit.state.burnt_L == 0.1
    assert dark.take(**wanted).dark
    assert dark.take(**wanted).heater_L == dark.state.burnt_L == 0.0
    flows = scant.take(unreachable_frac=0.255, **wanted)
    assert (flows.dark, flows.served) == (False, pytest.approx(0.4))
    assert flows.heater_L == pytest.approx(0.04)
    assert flows.unserved_A == pytest.approx(3.0)


def test_flat_by_the_sag_of_a_short_heavy_load(one_step):
    """60 %: 12.30 V at rest behind (2.4 + 0.1 / 0.6^1.5) / 100 + 0.00125 = 0.027402 ohm: 25 A
    leave 11.61 V, 40 A would leave 11.20 V; the loads drop out on the way there, at 11.5 V.
    """
    mean = (0.0, 0.0, 0.5, 0.0)
    light = one_step(soc=0.60).take(load_A=mean, peak_A=(0.0, 0.0, 24.5, 0.0))
    heavy = one_step(soc=0.60).take(load_A=mean, peak_A=(0.0, 0.0, 39.5, 0.0))
    assert light.sag_V == pytest.approx(12.30 - 25.0 * 0.027402, abs=1e-4)
    assert heavy.sag_V == 11.5
    assert (light.dark, heavy.dark) == (False, True)
    assert (light.served, heavy.served) == (1.0, 0.0)


def test_chargers_hold_the_voltage_up_under_a_heavy_load(one_step):
    signals = {"load_A": (0.0, 0.0, 0.5, 0.0), "peak_A": (0.0, 0.0, 39.5, 0.0)}
    assert not one_step(soc=0.60).take(solar=[mppt(300.0)], **signals).dark


def test_what_is_dark_already_shows_the_bank_at_rest(one_step):
    """By hand: 12.20 V at 50 %, nothing on; by charge, at 15 %: 11.70 + 0.3 x 0.50 = 11.85 V."""
    signals = {"load_A": (0.0, 0.0, 0.5, 0.0), "peak_A": (0.0, 0.0, 99.5, 0.0)}
    boat = one_step(soc=0.50)
    assert [boat.take(**signals).sag_V for _ in range(2)] == [11.5, pytest.approx(12.20, abs=1e-9)]
    flat = one_step(soc=0.15).take(load_A=(0.0, 0.0, 0.5, 0.0))
    assert flat.sag_V == flat.bank_V == pytest.approx(11.85)


def test_the_alternator_holds_its_setpoint_under_a_heavy_load(one_step):
    """By hand: 60 %, 12.30 V at rest; on charge (2.0 + 3.1 / 0.48^1.5) / 100 ohm = 0.1132, so that
    14.0 V take 15 A. With 29 A of loads that is 44 of the 45 A there are: 14.0 V, where all 45 A
    pressed into the bank's resistance on discharge made 12.30 + 16 x 0.0287 = 12.76 V.
    """
    boat = one_step(soc=0.60, charging={"start_soc": 0.7, "stop_soc": 0.9})
    engine = {"may_run": True}
    flows = boat.take(load_A=(0.0, 0.0, 4.0, 0.0), peak_A=(0.0, 0.0, 25.0, 0.0), **engine)
    assert (flows.bank_V, flows.sag_V) == (14.0, 14.0)


def test_a_weak_charger_is_helped_by_the_bank_under_a_heavy_load(one_step):
    """By hand: 10 A held at up to 14.0 V against 25 A: 12.30 - 15 x 0.027402 = 11.89 V."""
    boat = one_step(soc=0.60, alternator={"charging_A": 10.0}, charging={"start_soc": 0.7})
    engine = {"may_run": True}
    flows = boat.take(peak_A=(0.0, 0.0, 25.0, 0.0), **engine)
    assert flows.bank_V == pytest.approx(12.30 + 10.0 * 0.1145, abs=0.02)
    assert flows.sag_V == pytest.approx(12.30 - 15.0 * 0.027402, abs=1e-4)


def test_lithium_goes_dark_when_its_protection_opens(one_step):
    """At 10 % by charge (design: common practice), or at 11.2 V under load whatever the charge."""
    lithium = {"chemistry": "lifepo4"}
    assert not one_step(soc=0.101, **lithium).take(**LOAD).dark
    assert one_step(soc=0.10, **lithium).take(**LOAD).dark
    assert one_step(soc=0.60, **lithium).take(peak_A=(0.0, 300.0, 0.0, 0.0)).dark


@pytest.mark.parametrize(("soc", "dark"), [(0.249, True), (0.25, False)])
def test_what_went_dark_comes_back_5_per_cent_higher(one_step, soc, dark):
    boat = one_step(soc=soc, state={"dark": True}, battery={"cutout_V": 9.0})
    assert boat.take(**LOAD).dark == dark


def test_the_last_of_the_charge_serves_part_of_a_step(one_step):
    """1 Ah above what the cold keeps: 4 A for a quarter hour, 40 % of 10 A."""
    boat = one_step(soc=0.76, battery={"cutout_V": 9.0, "flat_soc": 0.0})
    flows = boat.take(load_A=(0.0, 0.0, 10.0, 0.0), unreachable_frac=0.75)
    assert flows.load_A == pytest.approx(4.0)
    assert flows.served == pytest.approx(0.4)
    assert flows.soc == pytest.approx(0.75)
    assert boat.take(load_A=(0.0, 0.0, 10.0, 0.0), unreachable_frac=0.75).dark


def test_an_empty_available_well_serves_what_seeps_into_it(one_step):
    """Nothing at hand: the closed form gives what can be held over the step and no more."""
    boat = one_step(soc=0.5, state={"available_Ah": 0.0}, battery={"cutout_V": 9.0})
    flows = boat.take(load_A=(0.0, 0.0, 60.0, 0.0))
    assert 0.0 < flows.served < 1.0
    assert flows.available_Ah == pytest.approx(0.0, abs=1e-9)


@pytest.fixture(scope="module")
def run_flat():
    """10 A on 187 Ah, nothing charges: flat after about 15 h, three days to go."""
    return simulate(calm_seas(loads=(Load(name="pilot", draw_A=10.0),)))


def test_what_went_without_is_counted(run_flat):
    """All 10 A of every dark hour, and nothing before."""
    hourly = run_flat.hourly
    wanted_Ah = 10.0 * len(hourly)
    assert (hourly["loads_Ah"] + hourly["unserved_Ah"]).sum() == pytest.approx(wanted_Ah)
    assert hourly["unserved_Ah"].sum() == pytest.approx(10.0 * hourly["dark_h"].sum())
    assert run_flat.loads["unserved_Ah_per_day"].sum() * 3.0 == pytest.approx(
        hourly["unserved_Ah"].sum(), rel=0.02
    )


def test_charge_stays_between_empty_and_full(run_flat):
    assert run_flat.flow.soc.min() >= 0.0
    assert run_flat.flow.soc.max() <= 1.0
    assert run_flat.summary["average"]["charge"]["dark_h"] > 24.0
    assert not run_flat.summary["holds"]


def test_cold_locks_charge_away_and_warmth_gives_it_back():
    """From a bank at freezing to one at 25 degrees: dark at some 30 %, then alive at that charge.

    IEEE Std 485 leaves 74 % at 0 degrees, so 26 % are out of reach.
    """
    berth = {"speed_kn": 5.0, "stop_state": "berthed"}
    result = simulate(
        passage_of(
            boat=boat_of(
                panel_W=(),
                engine=None,
                battery={"soc_at_departure": 0.30, "self_discharge_frac_per_month": 0.0},
            ),
            loads=(Load(name="instruments", draw_A=1.0),),
            waypoints=(
                Waypoint(name="A", lat_deg=60.0, lon_deg=-30.0, cabin_C=-15.0, stop_h=36, **berth),
                Waypoint(name="B", lat_deg=59.9, lon_deg=-30.0, cabin_C=35.0, stop_h=12, **berth),
                Waypoint(name="C", lat_deg=59.8, lon_deg=-30.0, cabin_C=35.0),
            ),
        )
    )
    cold = result.hourly["leg"] == 1
    assert result.hourly["bank_C"][cold].iloc[:-1].max() < 5.0
    dark_h = result.hourly["dark_h"]
    assert dark_h[cold].sum() > 12.0
    assert dark_h[~cold].iloc[-10:].sum() == 0.0
    at_dark = result.hourly["soc"][dark_h > 0].iloc[0]
    assert at_dark > result.passage.boat.battery.flat_soc
    assert result.hourly["soc"].min() < at_dark


def test_the_tail_makes_a_bank_full(one_step):
    """An hour at 14.4 V with less than 2 % of 100 Ah flowing in, at 97 % or more."""
    boat = one_step(soc=0.99)
    flows = [boat.take(solar=[mppt(200.0)]) for _ in range(5)]
    assert all(f.in_A < 2.0 for f in flows)
    assert [f.since_full_h for f in flows] == [0.25, 0.5, 0.75, 0.0, 0.25]
    # Full, the controller holds float while there is light.
    assert [f.bank_V for f in flows] == [14.4, 14.4, 14.4, 14.4, 13.5]
    assert boat.take(solar=[mppt(0.0)]).bank_V < 12.8
    assert boat.take(solar=[mppt(200.0)]).bank_V == 14.4


def test_a_cold_bank_behind_a_plain_alternator_is_never_full():
    """At 14.0 V and 10 degrees without a sensor, twelve hours of running do not fill it (design
    notes: common practice, no source)."""
    result = simulate(
        passage_of(
            boat=boat_of(
                battery={"soc_at_departure": 0.8},
                panel_W=(),
                charging={
                    "start_soc": 0.85,
                    "stop_soc": 1.0,
                    "shortest_h": 12.0,
                    "longest_h": 12.0,
                    "hours_h": (0.0, 24.0),
                },
            ),
            loads=(),
            leg={"cabin_C": 2.0},
            days=0.6,
        )
    )
    run = result.engine.iloc[0]
    assert run["run_h"] == 12.0
    assert result.hourly["bank_C"].iloc[:12].max() < 12.0
    assert 0.9 < run["soc_after"] < 0.995
    assert result.flow.bank_V.max() == 14.0
    assert result.hourly["days_since_full"].iloc[-1] > 0.6
