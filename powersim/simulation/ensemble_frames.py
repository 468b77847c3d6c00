"""An ensemble for those who go on with it in pandas or xarray."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

    from powersim.records.arrays import Array
    from powersim.simulation.ensemble import EnsembleResult

_INSTALL = 'python -m pip install "powersim[xarray]"'
#: What is kept by the hour: name -> field of the ensemble.
_HOURLY = {"soc": "hour_soc", "fuel_left_L": "hour_fuel_left_L"}
#: What is kept by the hour over all members: name -> field.
_TOGETHER = {"charging_frac": "hour_charging_frac", "motoring_frac": "hour_motoring_frac"}
#: Ends of names -> unit, the longest first.
_UNITS = {"_soc": "1", "_frac": "1", "soc": "1", "_Ah": "A h", "_L": "L", "_V": "V", "_h": "h"}


def frame_of(ensemble: EnsembleResult) -> pd.DataFrame:
    """Charge and fuel by the hour.

    Parameters
    ----------
    ensemble : EnsembleResult
        What came of the members.

    Returns
    -------
    pandas.DataFrame
        Indexed by `time_utc`, the hour's start as in the hourly table of a result; the values are
        those at the hour's end, as there. Columns are of two levels: `soc` or `fuel_left_L`, and
        the member from 1.
    """
    import pandas as pd

    members = pd.RangeIndex(1, ensemble.members + 1, name="member")
    parts = {name: getattr(ensemble, field) for name, field in _HOURLY.items()}
    return pd.concat(
        {
            name: pd.DataFrame(values, index=_time_utc(ensemble), columns=members)
            for name, values in parts.items()
        },
        axis=1,
        names=["quantity"],
    )


def dataset_of(ensemble: EnsembleResult) -> xr.Dataset:
    """Charge and fuel by the hour, and what each member came to.

    Parameters
    ----------
    ensemble : EnsembleResult
        What came of the members.

    Returns
    -------
    xarray.Dataset
        Over `time_utc` (the hour's start, in UTC without saying so, since numpy's times have no
        zone) and `member` (from 1): `soc` and `fuel_left_L` at each hour's end, the share of the
        members whose engine runs in each hour over `time_utc` alone, and over `member`
        alone every other array of the ensemble, the fuel left at landfall being
        `fuel_left_at_landfall_L`. What never happens is infinite. Units are attributes.

    Raises
    ------
    ImportError
        If xarray is not installed.
    """
    try:
        import xarray as xr
    except ImportError:
        raise ImportError(f"to_xarray needs xarray, which {_INSTALL} brings") from None
    alone = {
        each.name: getattr(ensemble, each.name)
        for each in fields(ensemble)
        if each.name not in {*_HOURLY.values(), *_TOGETHER.values()}
        and np.ndim(getattr(ensemble, each.name)) == 1
    }
    alone = {name: value for name, value in alone.items() if isinstance(value, np.ndarray)}
    alone |= ensemble.others_Ah
    alone["fuel_left_at_landfall_L"] = alone.pop("fuel_left_L")
    variables: dict[str, tuple[tuple[str, ...], Array]] = {
        name: (("time_utc", "member"), getattr(ensemble, field)) for name, field in _HOURLY.items()
    }
    variables |= {
        name: (("time_utc",), getattr(ensemble, field)) for name, field in _TOGETHER.items()
    }
    variables |= {name: (("member",), value) for name, value in alone.items()}
    return xr.Dataset(
        {name: (dims, value, _units(name)) for name, (dims, value) in variables.items()},
        coords={
            "time_utc": _time_utc(ensemble).tz_localize(None),
            "member": np.arange(1, ensemble.members + 1),
        },
        attrs={"seed": ensemble.seed, "step_h": ensemble.step_h},
    )


def _time_utc(ensemble: EnsembleResult) -> pd.DatetimeIndex:
    """The start of each hour."""
    import pandas as pd

    hours = len(ensemble.hour_soc)
    start = pd.to_datetime(ensemble.start_utc_s, unit="s", utc=True)
    return pd.date_range(start, periods=hours, freq="h", name="time_utc")


def _units(name: str) -> dict[str, str]:
    return next(({"units": unit} for end, unit in _UNITS.items() if name.endswith(end)), {})
