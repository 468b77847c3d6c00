"""An ensemble in plain numbers: what `summary.json` holds of it and the screen is made from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from powersim.defaults import RISK_FRAC
from powersim.records import Fuel
from powersim.simulation.bands import quantiles, told_of
from powersim.simulation.fails_by import risk_by_day
from powersim.simulation.verdict import (
    Failing,
    Verdict,
    failing_of,
    verdict_of,
)

if TYPE_CHECKING:
    from powersim.simulation.ensemble import EnsembleResult
    from powersim.simulation.ensemble_weeks import EnsembleWeeks

#: Amounts of a member that are told as bands.
_BANDED = (
    *("charging_h", "charging_runs", "motoring_h"),
    *("charging_L", "motoring_L", "alternator_motoring_L", "heater_L", "fuel_short_L"),
    *("fuel_left_L", "solar_Ah", "alternator_Ah", "loads_Ah", "surplus_Ah", "unserved_Ah"),
)
#: What is told as bands of each week.
_BY_WEEK = ("runs", "charging_h", "charging_L", "motoring_h", "motoring_L", "lowest_soc")


def ensemble_summary(
    ensemble: EnsembleResult, *, fuel: Fuel | None, risk_frac: float = RISK_FRAC
) -> dict[str, Any]:
    """What the members come to.

    Parameters
    ----------
    ensemble : EnsembleResult
        What came of the members.
    fuel : Fuel or None
        Of the boat, for its reserve.
    risk_frac : float
        Share of the members that may fail. [-]

    Returns
    -------
    dict
        Of numbers and dicts only; None for what never comes.
    """
    lowest_soc = ensemble.lowest_soc
    return {
        "lowest_soc": told_of(lowest_soc)
        | {
            "at_risk": float(quantiles(lowest_soc, (risk_frac,))[0]),
            "least": float(lowest_soc.min()),
        },
        "lowest_V": told_of(ensemble.lowest_V),
        "days_to_floor": told_of(ensemble.floor_h / 24.0),
        "days_to_flat": told_of(ensemble.flat_h / 24.0),
        "longest_gap_between_full_days": told_of(ensemble.longest_since_full_h / 24.0),
        **{name: told_of(getattr(ensemble, name)) for name in _BANDED},
        **{name: told_of(taken_Ah) for name, taken_Ah in ensemble.others_Ah.items()},
        **_in_heavy_weather(ensemble),
        "weeks": _weeks(ensemble.weeks),
        "by_day": [
            dict(zip(columns, map(float, row), strict=True))
            for columns in [risk_by_day(ensemble, fuel)]
            for row in zip(*columns.values(), strict=True)
        ],
    }


def _in_heavy_weather(ensemble: EnsembleResult) -> dict[str, Any]:
    """Only of a boat that minds some sea."""
    lain_to_h, waited_h, runs = ensemble.lain_to_h, ensemble.waited_h, ensemble.runs_waited
    if lain_to_h is None or waited_h is None or runs is None:
        return {}
    return {
        "lain_to_days": told_of(lain_to_h / 24.0),
        "waited_h": told_of(waited_h),
        "runs_waited": told_of(runs),
    }


def _weeks(weeks: EnsembleWeeks) -> list[dict[str, Any]]:
    """Each week: charge in means a day over the members, the rest as bands."""
    flows = {
        **{name: getattr(weeks, name) for name in ("solar_Ah", "alternator_Ah", "loads_Ah")},
        **weeks.others_Ah,
        **{name: getattr(weeks, name) for name in ("surplus_Ah", "unserved_Ah")},
    }
    return [
        {
            "days": float(days),
            **{
                f"{name}_per_day": float(of_weeks[place].mean() / days)
                for name, of_weeks in flows.items()
            },
            "charging_min_per_day": float(60.0 * weeks.charging_h[place].mean() / days),
            **{name: told_of(getattr(weeks, name)[place]) for name in _BY_WEEK},
        }
        for place, days in enumerate(weeks.days)
    ]


def failing_in(ensemble: EnsembleResult, fuel: Fuel | None) -> Failing:
    """Which members fail, and of what.

    Parameters
    ----------
    ensemble : EnsembleResult
        What came of the members.
    fuel : Fuel or None
        Of the boat.

    Returns
    -------
    Failing
        Of arrays shaped (members,).
    """
    return failing_of(
        floor_h=ensemble.floor_h,
        flat_h=ensemble.flat_h,
        fuel_left_L=ensemble.fuel_left_L,
        fuel_short_L=ensemble.fuel_short_L,
        fuel=fuel,
    )


def verdict_on(
    ensemble: EnsembleResult, *, fuel: Fuel | None, risk_frac: float = RISK_FRAC
) -> Verdict:
    """The verdict on a passage that was tried in many members.

    Parameters
    ----------
    ensemble : EnsembleResult
        What came of the members.
    fuel : Fuel or None
        Of the boat.
    risk_frac : float
        Share of the members that may fail. [-]

    Returns
    -------
    Verdict
        As verdict.py has it.
    """
    return verdict_of(
        failing_in(ensemble, fuel),
        risk_frac=risk_frac,
        seed=ensemble.seed,
        counted_from_h=ensemble.counted_from_h,
    )
