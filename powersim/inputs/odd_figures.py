"""Figures that can be meant, and are more likely slips: of the unit, the point, or the line."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from powersim.inputs.route_limits import leg_h
from powersim.inputs.toml_table import record_defaults
from powersim.inputs.windows import open_h
from powersim.records import Caution, Companion, Passage, Waypoint
from powersim.records.units_aboard import aboard

#: What a small cruising boat makes good, heels on average and stays, as most do; our judgement.
SLOWEST_KN, FASTEST_KN = 1.0, 10.0
STEEPEST_DEG = 30.0
LONGEST_STOP_DAYS = 60.0
#: Legs are measured on a sphere here, and may be sailed along a rhumb line. [-]
LONGER_THAN_LEG = 1.25


def odd_figures(passage: Passage, states: Sequence[str]) -> tuple[Caution, ...]:
    """Every figure to look at again.

    Returns
    -------
    tuple of Caution
        Those that the readers found first, with their lines, then loads and legs.
    """
    return (
        *_doubted(passage),
        *_more_than_the_bank(passage, states),
        *_on_anyway(passage),
        *_unusual_legs(passage),
        *_calms_of_no_leg(passage),
    )


def _doubted(passage):
    """What can be meant, and is unlike what other boats have: with its place, as an error has."""
    for doubt in passage.doubts:
        yield Caution(text=f"{doubt.at}: {doubt.text}", advice=doubt.expected)


def _calms_of_no_leg(passage):
    """What counts as calm is said, and nothing hangs on it."""
    default_kn, _ = record_defaults(Waypoint)["calm_kn"]
    if passage.calm_below_kn is None and any(
        leg.calm_kn != default_kn for leg in passage.waypoints[:-1]
    ):
        yield Caution(
            text="calm_below changes nothing: no leg motors through a share of its calms",
            advice="give motoring such a share, for example 20 % of calms, or leave it out",
        )


def _more_than_the_bank(passage, states):
    """One load that empties the bank in a day: a slip of the unit, or a boat that needs shore."""
    battery = passage.boat.battery
    supplies = {supply.name: supply for supply in passage.boat.supplies}
    for load in passage.loads:
        if not load.states & set(states):
            continue
        supply = supplies.get(load.supply)
        outlet_V = supply.output_V if supply else battery.nominal_V
        taken_W = load.draw_W + load.draw_A * outlet_V
        if supply:
            taken_W /= supply.efficiency_frac
        on_h = load.time_on_h_per_day
        if on_h is None:
            on_h = load.on_frac * open_h(load.window)
        day_Ah = load.count * taken_W * on_h / battery.nominal_V
        if day_Ah > battery.real_capacity_Ah:
            yield Caution(
                text=f"{load.name} takes up to {day_Ah:.0f} Ah a day, more than the "
                f"{battery.real_capacity_Ah:.0f} Ah that the whole bank holds",
                advice="look again at its draw, its unit and its time on",
            )


def _on_anyway(passage):
    """A load that sessions are to switch on, and that is never off: mostly an `on` left out."""
    for row in passage.drawn:
        if not isinstance(row, Companion) or row.count == 0:
            continue
        base = next(load for load in passage.loads if load.known_as == row.base)
        always = base.on_frac == 1.0 and base.window.kind == "always"
        if always and base.temperature_rule is None and base.states >= row.states:
            yield Caution(
                text=f"{base.name} is on all the time, so that {row.for_load} adds nothing to it",
                advice="give its own hours in the column on, or leave it out of the column with",
            )


def _unusual_legs(passage):
    """A decimal slip in a speed or a heel, or a stop in the wrong unit."""
    for leg, end in pairwise(passage.waypoints):
        under_way_h, motoring_h = leg_h(leg, end), leg.motoring_start_h + leg.motoring_end_h
        if motoring_h > LONGER_THAN_LEG * under_way_h:
            yield Caution(
                text=f"{motoring_h:.3g} h of motoring from {leg.name}, on a leg of some "
                f"{under_way_h:.0f} h",
                advice="look again at its motoring, for example 2 h at start; 3 h at end",
            )
        if not SLOWEST_KN <= leg.speed_kn <= FASTEST_KN:
            yield Caution(
                text=f"{leg.speed_kn:.3g} kn made good from {leg.name}, "
                f"{aboard().distance.text(24 * leg.speed_kn)} a day: the usual is "
                f"{SLOWEST_KN:g} kn to {FASTEST_KN:g} kn",
                advice="look again at its speed, for example 4.5 kn",
            )
        if leg.heel_deg > STEEPEST_DEG:
            yield Caution(
                text=f"{leg.heel_deg:.0f} degrees of heel on average from {leg.name}",
                advice="look again at its heel, for example 12 deg",
            )
        if leg.stop_h > LONGEST_STOP_DAYS * 24.0:
            yield Caution(
                text=f"a stop of {leg.stop_h / 24.0:.0f} days at {leg.name}",
                advice="look again at its stop and its unit, for example 36 h at anchor",
            )
