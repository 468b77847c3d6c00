"""Several panels on one controller: what it takes, where it is worked out, and what is said."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from builders import passage_of

from powersim.inputs.folder import load_folder
from powersim.physics.common_point import modules_of, shared_frac
from powersim.physics.solar import controller_yield
from powersim.records import Controller, ShadeSector, panel_of
from powersim.records.wiring import held_apart
from powersim.report.warnings import wiring_told_of
from powersim.report.wiring_text import losses, wiring_told
from powersim.simulation.prepare import prepare

LOADS = Path(__file__).resolve().parents[2] / "loads"
BRIGHT = panel_of("arch", power_W=100.0, mount="clear")
SHADED = replace(
    BRIGHT,
    name="deck",
    shades=(ShadeSector(from_deg=0.0, to_deg=360.0, below_deg=89.0, loss_frac=0.5),),
)
HIGH = panel_of(
    "roof",
    power_W=200.0,
    mount="clear",
    module_Vmp=37.0,
    module_Imp=5.4,
    module_Voc=45.0,
    module_Isc=5.8,
)
# Share of the full sun on the second of two panels of 100 W: lost in parallel, in series, per cent.
# docs/model/panels.md; all cells at 25 degC.
PAGE = {0.7: (0.0, 13.0), 0.5: (0.0, 28.0), 0.3: (0.0, 27.0), 0.1: (0.2, 14.0)}


@pytest.mark.parametrize("share", PAGE)
def test_the_table_of_the_page_is_that_of_today(share):
    held = [modules_of(BRIGHT, light_W_m2=1000.0 * of, cell_C=25.0) for of in (1.0, share)]
    lost = [100.0 * (1.0 - float(shared_frac(held, wired=w))) for w in ("parallel", "series")]
    assert lost[0] == pytest.approx(PAGE[share][0], abs=0.06)
    assert lost[1] == pytest.approx(PAGE[share][1], abs=1.0)


def offered(panels, **controller):
    passage = passage_of(days=2.0, lat_deg=30.0)
    prepared = prepare(passage, step_h=1.0)
    return controller_yield(
        Controller(**controller),
        panels,
        track=prepared.sun_track,
        sky=prepared.sun_sky,
        nominal_V=12.0,
    )


def test_a_string_in_one_light_and_panels_on_a_controller_each_lose_nothing():
    twins = (BRIGHT, replace(BRIGHT, name="other"))
    for wired in ("parallel", "series"):
        found = offered(twins, wired=wired)
        assert found.power_W == pytest.approx(found.apart_W, rel=2e-5)
    assert held_apart(Controller(wired="series"), (BRIGHT,))
    assert held_apart(Controller(wired="series"), (BRIGHT, replace(SHADED, count=0)))
    assert held_apart(Controller(kind="pwm"), (BRIGHT, SHADED))


def test_shade_on_one_panel_costs_a_string_more_than_its_own_light():
    apart, string = (offered((BRIGHT, SHADED), wired=w) for w in ("parallel", "series"))
    assert apart.power_W is apart.apart_W
    assert string.apart_W == pytest.approx(apart.power_W, abs=1e-9)
    assert string.module_W == pytest.approx(apart.module_W, abs=1e-9)
    lit = string.apart_W > 1.0
    share = string.power_W[lit] / string.apart_W[lit]
    assert 0.6 < share.min() < share.max() < 0.9
    # Never less than the bright one alone with two bypass diodes on the other, 1 V of 16 and more.
    alone = offered((BRIGHT,)).power_W[lit]
    assert (string.power_W[lit] > 0.92 * alone).all()
    assert (string.power_W <= string.apart_W).all()


def test_unlike_volts_in_parallel_are_held_down_to_the_lower():
    assert not held_apart(Controller(), (BRIGHT, HIGH))
    found = offered((BRIGHT, HIGH))
    lit = found.apart_W > 5.0
    assert 0.5 < (found.power_W[lit] / found.apart_W[lit]).max() < 0.75


@pytest.mark.parametrize(
    ("name", "lost"), [("new-zealand-to-tahiti", 0.19), ("iceland-to-cabo-verde", 0.08)]
)
def test_what_the_page_says_of_shipped_passages(name, lost, monkeypatch):
    """In parallel a thousandth, which is left out; in series what the page says."""
    passage = load_folder(LOADS / name)
    (controller,) = passage.boat.controllers
    for wired, expected, within in (("parallel", 0.0005, 0.0005), ("series", lost, 0.01)):
        boat = replace(passage.boat, controllers=(replace(controller, wired=wired),))
        monkeypatch.setattr("powersim.physics.solar.held_apart", lambda *of: False)
        (found,) = prepare(replace(passage, boat=boat), step_h=1.0).yields
        assert 1.0 - found.power_W.sum() / found.apart_W.sum() == pytest.approx(
            expected, abs=within
        )


def boat_of(panels, controller):
    boat = passage_of(days=1.0).boat
    return replace(boat, panels=panels, controllers=(controller,))


def test_check_says_what_a_string_in_different_shade_costs_and_how_high_its_volts_are():
    said = [*wiring_told(boat_of((BRIGHT, SHADED), Controller(wired="series")))]
    # 2 x 22.0 V; in frost 35 degrees less: 1 + 0.0032 x 35 = 1.112 times it.
    assert [one.text for one in said] == [
        "arch and deck are wired in series, and stand in different shade or at different slopes: "
        "with one of them in half the light they give 28 % less than each could by itself",
        "arch and deck are wired in series, and reach 44 V open, 49 V in frost",
    ]
    assert "a fuse each" in said[0].advice
    assert said[1].advice == "see that the controller is made for it"
    # Three of them reach 66 V, 73 V in frost.
    (_, high) = wiring_told(boat_of((BRIGHT, replace(SHADED, count=2)), Controller(wired="series")))
    assert "66 V open, 73 V in frost" in high.text
    assert "so many volts can harm" in high.advice


def test_check_says_what_labels_that_differ_cost():
    (one,) = wiring_told(boat_of((BRIGHT, HIGH), Controller()))
    even, _ = losses(Controller(), (BRIGHT, HIGH))
    assert one.text == (
        "arch and roof are wired in parallel, and their labels differ in volts: even in full sun "
        f"they give {100 * even:.0f} % less than each could by itself"
    )
    weak = panel_of("weak", power_W=50.0, mount="clear")
    (amperes, _) = wiring_told(boat_of((BRIGHT, weak), Controller(wired="series")))
    assert "their labels differ in amperes" in amperes.text


def test_nothing_is_said_where_nothing_is_lost():
    for panels, controller in (
        ((BRIGHT, SHADED), Controller()),
        ((BRIGHT, SHADED), Controller(kind="pwm")),
        ((BRIGHT,), Controller(wired="series")),
    ):
        assert not [*wiring_told(boat_of(panels, controller))]


def test_a_simulated_passage_says_what_its_string_costs():
    boat = boat_of((BRIGHT, SHADED), Controller(wired="series"))
    passage = replace(passage_of(days=2.0, lat_deg=30.0), boat=boat)
    (one,) = wiring_told_of(prepare(passage, step_h=1.0))
    (found,) = prepare(passage, step_h=1.0).yields
    lost = 100.0 * (1.0 - found.power_W.sum() / np.sum(found.apart_W))
    assert 15.0 < lost < 35.0
    assert one.text == (
        f"panels wired in series offer {lost:.0f} % less on this passage than if each had a "
        "controller of its own"
    )
