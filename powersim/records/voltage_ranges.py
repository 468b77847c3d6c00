"""Voltages that a bank can be charged at, and those that its makers ask for, by chemistry.

They tell a slip of the pen from a boat: nothing is worked out with them. Figures are for a 12 V
bank, and scale with the nominal voltage.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class VoltageRange:
    """What one voltage of a bank may be.

    Attributes
    ----------
    possible_V : tuple of (float, float)
        Beyond it the figure was not meant, or the bank does not outlive it. [V]
    usual_V : tuple of (float, float)
        As makers ask for. [V]
    above, below : str
        What comes of a voltage beyond the usual ones, on either side.
    """

    possible_V: tuple[float, float]
    usual_V: tuple[float, float]
    above: str
    below: str


_HALF_FULL = "the bank never gets quite full"
_TOO_GOOD = "most things drop out sooner, and the answer is too good"
_TOO_SOON = "all goes dark with charge left in the bank"
_DRIES = "the bank gasses and dries out"
_LEAD_ACID_CUTOUT = VoltageRange(
    possible_V=(9.0, 12.6), usual_V=(10.5, 12.2), above=_TOO_SOON, below=_TOO_GOOD
)
_LEAD_ACID_FLOAT = VoltageRange(
    possible_V=(12.8, 14.8), usual_V=(13.1, 13.9), above=_DRIES, below="the bank loses charge"
)
_NO_MAKER = "its makers ask for none of that kind"
_LEAD_ACID_SLOPE = VoltageRange(
    possible_V=(-0.072, 0.0), usual_V=(-0.045, 0.0), above=_NO_MAKER, below=_NO_MAKER
)

#: Per chemistry: field of Battery -> its range on a 12 V bank. The setpoint of an alternator that
#: holds one voltage is "constant_V". Common practice, no source: 2.35 to 2.50 V a cell for
#: flooded, up to 2.7 V to equalise; 2.30 to 2.40 V for gel; 2.35 to 2.47 V for AGM; 3.45 to
#: 3.65 V for LiFePO4, whose protection opens at 3.65 to 3.8 V and at 2.5 to 2.8 V.
VOLTAGE_RANGES = {
    "flooded": {
        "absorption_V": VoltageRange(
            possible_V=(13.2, 16.5),
            usual_V=(14.1, 15.0),
            above=f"{_DRIES}: right to equalise it now and then, under watch",
            below=_HALF_FULL,
        ),
        "constant_V": VoltageRange(
            possible_V=(12.0, 16.5), usual_V=(13.6, 14.8), above=_DRIES, below=_HALF_FULL
        ),
        "float_V": _LEAD_ACID_FLOAT,
        "cutout_V": _LEAD_ACID_CUTOUT,
        "temp_comp_V_per_C": _LEAD_ACID_SLOPE,
    },
    "gel": {
        "absorption_V": VoltageRange(
            possible_V=(13.2, 15.6),
            usual_V=(13.8, 14.4),
            above="gel dries out above, and nobody can top it up",
            below=_HALF_FULL,
        ),
        "constant_V": VoltageRange(
            possible_V=(12.0, 15.6),
            usual_V=(13.6, 14.4),
            above="gel dries out above, and nobody can top it up",
            below=_HALF_FULL,
        ),
        "float_V": _LEAD_ACID_FLOAT,
        "cutout_V": _LEAD_ACID_CUTOUT,
        "temp_comp_V_per_C": _LEAD_ACID_SLOPE,
    },
    "agm": {
        "absorption_V": VoltageRange(
            possible_V=(13.2, 16.0),
            usual_V=(14.1, 14.8),
            above="AGM dries out above, and nobody can top it up",
            below=_HALF_FULL,
        ),
        "constant_V": VoltageRange(
            possible_V=(12.0, 16.0),
            usual_V=(13.6, 14.8),
            above="AGM dries out above, and nobody can top it up",
            below=_HALF_FULL,
        ),
        "float_V": _LEAD_ACID_FLOAT,
        "cutout_V": _LEAD_ACID_CUTOUT,
        "temp_comp_V_per_C": _LEAD_ACID_SLOPE,
    },
    "lifepo4": {
        "absorption_V": VoltageRange(
            possible_V=(13.2, 15.2),
            usual_V=(13.8, 14.6),
            above="its protection opens, which can destroy an alternator",
            below=_HALF_FULL,
        ),
        "constant_V": VoltageRange(
            possible_V=(12.0, 15.2),
            usual_V=(13.5, 14.6),
            above="its protection opens, which can destroy an alternator",
            below=_HALF_FULL,
        ),
        "float_V": VoltageRange(
            possible_V=(12.8, 14.6),
            usual_V=(13.2, 13.8),
            above="lithium that is held full ages fast",
            below="the bank gives before its charger does",
        ),
        "cutout_V": VoltageRange(
            possible_V=(8.0, 13.0), usual_V=(10.0, 12.8), above=_TOO_SOON, below=_TOO_GOOD
        ),
        "temp_comp_V_per_C": VoltageRange(
            possible_V=(-0.072, 0.0),
            usual_V=(0.0, 0.0),
            above=_NO_MAKER,
            below="lithium is charged without: in the cold it would be given too much",
        ),
    },
}


def impossible_voltage(
    field: str, value: float, *, chemistry: str, blocks: float, drop_V=0.0, low_too=True
) -> str | None:
    """Why a voltage cannot be meant, in words for a record; None where it can.

    Parameters
    ----------
    field : str
        One of the fields above.
    value : float
        Of a bank or of what charges it. [V]
    chemistry : str
        Of the bank.
    blocks : float
        How many 12 V blocks stand in series. [-]
    drop_V : float
        Lost on the way to the bank, which a setpoint at the source may make up for. [V]
    low_too : bool
        False to pass one that is too low, with which a source does nothing.

    Examples
    --------
    >>> impossible_voltage("absorption_V", 20.0, chemistry="agm", blocks=1.0)
    'absorption_V must be 13.2 to 16 V for agm, got 20.0'
    """
    least_V, most_V = VOLTAGE_RANGES[chemistry][field].possible_V
    least_V, most_V = least_V * blocks, most_V * blocks + drop_V
    slack_V = 1e-9  # 1.2 times 12 is not quite 14.4
    low_enough = value <= most_V + slack_V  # written so that nan fails too
    if low_enough and (value >= least_V - slack_V or not low_too):
        return None
    return f"{field} must be {least_V:g} to {most_V:g} V for {chemistry}, got {value!r}"
