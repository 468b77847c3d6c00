"""The flat records that compiled code reads and writes: what the plain records hold, as numbers.

A record of numpy's is read by the name of its fields, as a plain record is, so that one and the
same function takes either.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from powersim.kernel.chargers import Offer
from powersim.kernel.state import State
from powersim.kernel.step_signals import StepSignals

#: Lines of an open-circuit voltage curve, and knots of a PWM controller, for which there is room.
MOST_LINES, MOST_KNOTS = 12, 12

_FLAGS = {
    *("dark", "comfort_shed", "useful_shed", "turning", "running", "for_full", "floating"),
    *("others_floating", "by_order"),
}
_GROUPS = {"load_A", "load_W", "peak_A", "heater_L"}


def _floats(*names: str) -> list[tuple[Any, ...]]:
    return [(name, np.float64) for name in names]


def _record(fields: list[tuple[Any, ...]]) -> np.dtype[Any]:
    # With its numbers where the processor reads them at one go.
    return np.dtype(fields, align=True)


STATE = _record([(name, np.bool_ if name in _FLAGS else np.float64) for name in State._fields])

#: What is told of a member, whatever else is kept: see `Told`.
TOLD = _record(
    [
        *_floats("lowest_soc", "lowest_h", "lowest_V", "floor_h", "flat_h", "below_h"),
        *_floats("before_soc", "longest_since_full_h", "runs", "waits"),
        *_floats("joins_h", "leaves_h"),
        ("ran", np.bool_),
        ("waited", np.bool_),
    ]
)

ROW = _record(
    [
        (name, np.float64, (4,)) if name in _GROUPS else (name, np.float64)
        for name in StepSignals._fields
    ]
)

OFFER = _record(
    [
        (name, np.float64, (MOST_KNOTS - 1,)) if name == "slope_A_per_V" else (name, np.float64)
        for name in Offer._fields
    ]
)

CHARGER = _record(
    [
        ("source", np.int64),
        ("rated_A", np.float64),
        ("knots", np.int64),
        ("knots_V", np.float64, (MOST_KNOTS,)),
    ]
)

_WELLS = _record(_floats("step_h", "kept_frac", "levelled_frac", "drained_h"))
_BANK = _record(
    [
        *_floats("capacity_Ah", "hidden_Ah"),
        ("wells", _WELLS),
        *(
            (name, np.float64, (MOST_LINES,))
            for name in ("emf_soc", "emf_knots_V", "emf_slopes_V", "emf_ends_soc")
        ),
        *_floats("discharge_ohm", "discharge_rise_ohm", "charge_ohm", "charge_rise_ohm"),
        *_floats("charge_end_soc", "discharge_per_C", "charge_per_C"),
        *_floats("kept_empty_frac", "gassing_frac"),
    ]
)
_ALTERNATOR = _record(
    _floats("charging_A", "motoring_A", "absorption_h", "cable_drop_V", "efficiency_frac")
)
_RULE = _record(
    _floats(
        *("start_soc", "stop_soc", "shortest_h", "longest_h", "full_every_h"),
        *("at_readings", "ends_A", "little_Ah", "full_shortest_h", "full_longest_h"),
        *("comfort_below_soc", "useful_below_soc", "restore_frac", "drift_per_h", "drifts_h"),
        *("wait_below_soc", "wait_readings"),
    )
)
_PACK = _record(_floats("charge_W", "above_soc", "full_Wh", "use_W", "efficiency_frac"))
_PLANT = _record(
    [
        ("bank", _BANK),
        *_floats("flat_soc", "cutout_V", "least_V", "self_discharge_per_h", "standby_A", "tail_A"),
        ("idle_A", np.float64),
        ("alternator", _ALTERNATOR),
        *_floats("burn_L_per_h", "motoring_L_per_h", "slope_L_per_kWh"),
        *_floats("charging_slope_L_per_kWh", "usable_L", "start_above_soc"),
        ("charges_flat_bank", np.bool_),
        ("rule", _RULE),
        ("runs_in_the_cold", np.bool_),
        ("pack", _PACK),
    ]
)
_SWITCHES = _record(
    [
        *_floats("solar", "alternator", "engine"),
        ("groups", np.float64, (4,)),
        ("others", np.float64),
    ]
)
#: The boat that a member has, and what of it works.
MEMBER = _record([("plant", _PLANT), ("switches", _SWITCHES)])


def fill(records: np.ndarray, given: object) -> None:
    """Write what a plain record holds into the fields of the same names.

    Parameters
    ----------
    records : ndarray of one of these records, shape (n,)
        Written.
    given : dataclass or NamedTuple
        Its values are floats, or arrays shaped (n,); tuples of them fill a field's places from the
        first on, and the last of them all that are left. What has no field is left out.

    Raises
    ------
    ValueError
        If a tuple is longer than its field has room.
    """
    for name in records.dtype.names or ():
        value, field = getattr(given, name), records[name]
        if records.dtype[name].names:
            fill(field, value)
        elif field.ndim > 1:
            if len(value) > field.shape[1]:
                raise ValueError(f"{name} has {len(value)} values, more than {field.shape[1]}")
            for place in range(field.shape[1]):
                field[:, place] = value[min(place, len(value) - 1)] if len(value) else 0.0
        else:
            field[:] = value
