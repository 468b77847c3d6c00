"""What a run of many members adds up, whether it closes, and what nobody took."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from powersim.errors import BalanceError
from powersim.records.chargers import OTHER_SOURCES, SURPLUS_SOURCES

if TYPE_CHECKING:
    from powersim.records.arrays import Array

#: What other chargers give, by source.
OTHERS_A = tuple(f"{source}_A" for source in OTHER_SOURCES)
#: Flows whose sums are the ledgers of a passage.
LEDGERS = (
    *("solar_A", "solar_offered_A", "alternator_A", "load_A", "in_A", "out_A"),
    *("gassing_A", "self_discharge_A", "charging", "motoring", "charging_L", "motoring_L"),
    *("alternator_motoring_L", "heater_L", "fuel_short_L", "dark"),
    *OTHERS_A,
    *("others_offered_A", "unserved_A", "waits"),
)
#: Rounding of a passage's sums of flows. [Ah]
TOLERANCE_Ah = 1e-6


def check_ledgers(sums: Mapping[str, Array], *, step_h: float, gained_Ah: Array) -> None:
    """Raise BalanceError unless every member's sums close.

    Parameters
    ----------
    sums : dict of str to ndarray, shape (members,)
        LEDGERS, added up over steps.
    step_h : float
        Length of a step. [h]
    gained_Ah : ndarray, shape (members,)
        What each bank holds more than as the run began. [Ah]

    Raises
    ------
    BalanceError
        Naming the first member whose books do not close.
    """
    for name, values in sums.items():
        if np.isnan(values).any():
            raise BalanceError(f"{name} of member {np.isnan(values).argmax()} is not a number")
    sources = ("solar_A", "alternator_A", *OTHERS_A, "out_A")
    over_bus_A = sum(sums[name] for name in sources)
    _close("charge over the bus", step_h * (over_bus_A - sums["load_A"] - sums["in_A"]))
    wasted_A = sums["gassing_A"] + sums["self_discharge_A"]
    stayed_Ah = step_h * (sums["in_A"] - sums["out_A"] - wasted_A)
    _close("charge in the bank", stayed_Ah - gained_Ah)


def surplus_of(sums: Mapping[str, Array]) -> Array:
    """What sun, wind and water offered and nothing took.

    Parameters
    ----------
    sums : dict of str to ndarray, shape (members,)
        LEDGERS, added up over steps.

    Returns
    -------
    ndarray, shape (members,)
        Summed as they are. [A]
    """
    not_taken_A = (
        sums["solar_offered_A"] - sums["solar_A"],
        sums["others_offered_A"] - sum(sums[f"{source}_A"] for source in SURPLUS_SOURCES),
    )
    # Rounding may leave either a whisker below.
    solar_A, others_A = not_taken_A
    return np.maximum(solar_A, 0.0) + np.maximum(others_A, 0.0)


def _close(what: str, off_Ah: Array) -> None:
    off = ~(np.abs(off_Ah) <= TOLERANCE_Ah)  # written so that nan is off too
    if off.any():
        member = int(off.argmax())
        raise BalanceError(
            f"the books of {what} do not close for member {member}: {off_Ah[member]:.3g} Ah too "
            "much in"
        )
