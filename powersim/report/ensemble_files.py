"""The tables of an ensemble: a row a member, a row an hour, a row a day.

docs/reference/results.md describes every column.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.simulation.bands import quantiles
from powersim.simulation.ensemble_summary import failing_in
from powersim.simulation.fails_by import risk_by_day

if TYPE_CHECKING:
    import pandas as pd

    from powersim.simulation.ensemble import EnsembleResult
    from powersim.simulation.result import SimulationResult

#: Columns of members.csv that an Ensemble has by another name, or in hours.
_FUEL = ("charging_L", "motoring_L", "alternator_motoring_L", "heater_L", "short_L", "left_L")
_AS_THEY_ARE = ("solar_Ah", "alternator_Ah", "loads_Ah", "surplus_Ah", "unserved_Ah")


def members_table(result: SimulationResult) -> pd.DataFrame:
    """One row a member."""
    import numpy as np
    import pandas as pd

    ensemble = _ensemble(result)
    fails = failing_in(ensemble, result.passage.boat.fuel).any
    columns = {
        "member": np.arange(1, ensemble.members + 1),
        "holds": np.where(fails, "no", "yes"),
        "lowest_soc": ensemble.lowest_soc,
        "days_to_lowest": ensemble.lowest_h / 24.0,
        "lowest_V": ensemble.lowest_V,
        "soc_at_landfall": ensemble.hour_soc[-1],
        "days_to_floor": _or_never(ensemble.floor_h / 24.0),
        "days_to_flat": _or_never(ensemble.flat_h / 24.0),
        "dark_h": ensemble.dark_h,
        "longest_gap_between_full_days": ensemble.longest_since_full_h / 24.0,
        "charging_h": ensemble.charging_h,
        "charging_runs": np.asarray(ensemble.charging_runs).astype(int),
        "motoring_h": ensemble.motoring_h,
    }
    columns |= {f"fuel_{name}": _fuel(ensemble, name) for name in _FUEL}
    columns |= {name: getattr(ensemble, name) for name in _AS_THEY_ARE}
    columns |= ensemble.others_Ah
    for name in ("lain_to_h", "waited_h", "runs_waited"):  # of a boat that minds some sea
        if getattr(ensemble, name) is not None:
            columns[name] = getattr(ensemble, name)
    return pd.DataFrame(columns)


def bands_table(result: SimulationResult) -> pd.DataFrame:
    """Bands of charge and diesel over the members, one row an hour, of what is left at its end."""
    import pandas as pd

    ensemble, hourly = _ensemble(result), result.hourly
    columns = {"time_utc": hourly.index, "ship_time": hourly["ship_time"].to_numpy()}
    columns |= _banded("soc", ensemble.hour_soc)
    columns["lowest_soc"] = ensemble.hour_soc.min(axis=1)
    columns |= _banded("fuel_left_L", ensemble.hour_fuel_left_L)
    return pd.DataFrame(columns)


def risk_table(result: SimulationResult) -> pd.DataFrame:
    """Share of the members that have met with something, one row a day."""
    import pandas as pd

    columns = risk_by_day(_ensemble(result), result.passage.boat.fuel)
    end = pd.to_timedelta(columns["days"], unit="D")
    return pd.DataFrame({"end_utc": pd.Timestamp(result.passage.depart_utc) + end, **columns})


def _ensemble(result: SimulationResult) -> EnsembleResult:
    assert result.ensemble is not None, "asked where there is one"
    return result.ensemble


def _fuel(ensemble, name):
    """A fuel ledger, or what is short or left, by the name that it has in the hourly table."""
    return getattr(ensemble, f"fuel_{name}" if name in ("short_L", "left_L") else name)


def _banded(name, values) -> dict:
    return dict(zip((f"p{share}_{name}" for share in (10, 50, 90)), quantiles(values), strict=True))


def _or_never(days):
    """An empty cell for what never comes."""
    import numpy as np

    return np.where(np.isfinite(days), days, np.nan)
