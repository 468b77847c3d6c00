"""Which panels a tracking controller holds at one common point, and whether that costs anything."""

from __future__ import annotations

from collections.abc import Sequence

from powersim.records.solar import Controller, Panel

#: Modules in parallel whose label's voltages are as near as this are held where each is at its best
#: to half a per cent, whatever their light: docs/model/panels.md. [-]
SAME_VOLTAGE_FRAC = 0.01


def held_apart(controller: Controller, panels: Sequence[Panel]) -> bool:
    """Whether panels give each what it can, as if it had a controller of its own.

    Parameters
    ----------
    controller : Controller
        What they feed.
    panels : sequence of Panel
        All that feed it.

    Returns
    -------
    bool
        False where one point for all has to be looked for.

    Notes
    -----
    A PWM controller holds every panel at the bank's voltage, which the currents are worked out for.

    Examples
    --------
    >>> from powersim.records import panel_of
    >>> two = panel_of("arch", power_W=100.0), panel_of("rail", power_W=60.0)
    >>> held_apart(Controller(), two), held_apart(Controller(wired="series"), two)
    (True, False)
    """
    panels = [panel for panel in panels if panel.count > 0]
    if controller.kind == "pwm" or len(panels) < 2:
        return True
    if controller.wired == "series":
        return False
    volts = [panel.module_Vmp for panel in panels]
    return max(volts) <= min(volts) * (1.0 + SAME_VOLTAGE_FRAC)
