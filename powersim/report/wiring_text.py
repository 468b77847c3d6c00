"""What panels lose that share one tracking controller, in words: for `check`, and for a passage."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from powersim.records import Boat, Caution, Controller, Panel
from powersim.records.wiring import held_apart
from powersim.report import rounding
from powersim.report.text import listed

if TYPE_CHECKING:
    from powersim.simulation.prepared import Prepared

#: A smaller loss is less than is known of any panel, and nothing is said of it; our judgement. [-]
WORTH_SAYING_FRAC = 0.02
_FULL_W_m2, _HALF_FRAC, _CELL_C = 1000.0, 0.5, 25.0
_FROST_C = -10.0  # cells on a cold morning, before the sun warms them; common practice, no source
_BETTER = {
    "series": "wire them in parallel, or give each a controller of its own",
    "parallel": "give each a controller of its own",
}
_ASK = "ask the makers, and keep to your local code or ask an electrician"
_MIND = f"three or more in parallel want a fuse each; {_ASK}"
# Direct current that can harm begins about here; common practice, no source. [V]
_HARMS_V = 50.0


def wiring_told(boat: Boat) -> Iterator[Caution]:
    """What the files themselves show of panels that are held at one common point.

    Parameters
    ----------
    boat : Boat
        As its files were understood.

    Notes
    -----
    Figured for cells at 25 degC in 1,000 W/m2, and with each panel in turn in half of it.
    """
    for controller, panels in shared_of(boat):
        even_frac, shaded_frac = losses(controller, panels)
        wired = f"{_names(panels)} are wired in {controller.wired}{_on(controller, boat)}"
        if controller.wired == "series":
            open_V = sum(panel.count * panel.module_Voc for panel in panels)
            if _lit_apart(panels) and shaded_frac > WORTH_SAYING_FRAC:
                yield Caution(
                    text=f"{wired}, and stand in different shade or at different slopes: with one "
                    f"of them in half the light they give {rounding.soc(shaded_frac)} less than "
                    "each could by itself",
                    advice=f"{_BETTER['series']}; {_MIND}",
                )
            elif even_frac > WORTH_SAYING_FRAC:
                yield Caution(
                    text=f"{wired}, and their labels differ in amperes: even "
                    f"in full sun they give {rounding.soc(even_frac)} less than each could by "
                    "itself",
                    advice=f"{_BETTER['series']}; {_MIND}",
                )
            frost_V = open_V * _frost_factor()
            touch = "; so many volts can harm, and light is all it takes: cover the panels before "
            touch += "you work on them"
            yield Caution(
                text=f"{wired}, and reach {open_V:.0f} V open, {frost_V:.0f} V in frost",
                advice="see that the controller is made for it"
                + (touch if frost_V > _HARMS_V else ""),
            )
        elif even_frac > WORTH_SAYING_FRAC:
            yield Caution(
                text=f"{wired}, and their labels differ in volts: even in "
                f"full sun they give {rounding.soc(even_frac)} less than each could by itself",
                advice=f"{_BETTER['parallel']}: the one of more volts also pushes current into the "
                f"other; {_ASK}",
            )


def wiring_told_of(prepared: Prepared) -> Iterator[Caution]:
    """What panels held at one common point lose on a passage in average weather."""
    boat = prepared.passage.boat
    for offered in prepared.yields:
        apart_Wh, power_Wh = float(offered.apart_W.sum()), float(offered.power_W.sum())
        if apart_Wh > 0.0 and 1.0 - power_Wh / apart_Wh > WORTH_SAYING_FRAC:
            controller = offered.controller
            yield Caution(
                text=f"panels wired in {controller.wired}{_on(controller, boat)} offer "
                f"{rounding.soc(1.0 - power_Wh / apart_Wh)} less on this passage than if each had "
                "a controller of its own",
                advice=_BETTER[controller.wired],
            )


def shared_of(boat: Boat) -> Iterator[tuple[Controller, list[Panel]]]:
    """Controllers that hold panels at one common point, and those panels.

    Parameters
    ----------
    boat : Boat
        Its panels and controllers.

    Yields
    ------
    tuple of Controller and list of Panel
        In the order of the boat's.
    """
    for controller in boat.controllers:
        panels = [one for one in boat.panels if one.controller == controller.name and one.count]
        if not held_apart(controller, panels):
            yield controller, panels


def losses(controller: Controller, panels: Sequence[Panel]) -> tuple[float, float]:
    """What a common point takes of what panels could give each by itself.

    Parameters
    ----------
    controller : Controller
        How they are wired.
    panels : sequence of Panel
        Two or more.

    Returns
    -------
    tuple of float
        All in full sun; and at worst with one of them in half of it. [-]
    """
    from powersim.physics.common_point import modules_of, shared_frac

    def loss_frac(shaded: Panel | None) -> float:
        held = [
            modules_of(
                one,
                light_W_m2=_FULL_W_m2 * (_HALF_FRAC if one is shaded else 1.0),
                cell_C=_CELL_C,
            )
            for one in panels
        ]
        return 1.0 - float(shared_frac(held, wired=controller.wired))

    return loss_frac(None), max(loss_frac(one) for one in panels)


def _lit_apart(panels: Sequence[Panel]) -> bool:
    """Whether panels may have different light at one time."""
    return len({(one.mount, one.tilt_deg, one.bearing_deg, one.shades) for one in panels}) > 1


def _frost_factor() -> float:
    from powersim.physics.diode import TEST_CELL_C, VOC_TEMP_COEFF_PER_C

    return 1.0 + VOC_TEMP_COEFF_PER_C * (_FROST_C - TEST_CELL_C)


def _on(controller: Controller, boat: Boat) -> str:
    return f" on controller {controller.name}" if len(boat.controllers) > 1 else ""


def _names(panels: Sequence[Panel]) -> str:
    return listed(one.name for one in panels)
