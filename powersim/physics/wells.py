"""The two-well kinetic battery: some charge is at hand, the rest seeps to it.

Charge at hand (the available well) feeds the load; bound charge flows to it in proportion to the
difference in height between the two wells. A hard discharge empties the first well while the
second is still half full, which is why a bank gives less at a high rate and recovers at rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from powersim.records.arrays import FloatsT


@dataclass(frozen=True, slots=True, kw_only=True)
class Wells:
    """The two constants of the model, or those of many banks.

    Attributes
    ----------
    available_frac : float or ndarray, shape (members,)
        c: the available well's share of all charge at rest. [-]
    rate_per_h : float or ndarray, shape (members,)
        k': the rate at which the wells level, k / (c (1 - c)) of the differential equation's k.
        [1/h]
    """

    available_frac: Any
    rate_per_h: Any

    def __post_init__(self) -> None:
        shares, rates = np.asarray(self.available_frac), np.asarray(self.rate_per_h)
        if not ((shares > 0) & (shares <= 1)).all():
            raise ValueError(f"available_frac must be 0 to 1, got {self.available_frac!r}")
        if not (rates > 0).all():
            raise ValueError(f"rate_per_h must be above 0, got {self.rate_per_h!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class WellStep:
    """What the wells do in one step of fixed length: constants of the closed form.

    Attributes
    ----------
    step_h : float
        Length of the step. [h]
    available_frac : float
        c of Wells. [-]
    kept_frac : float
        exp(-k' t): how much of the available charge of before is still felt. [-]
    levelled_frac : float
        c (1 - exp(-k' t)): share of the total that the available well draws level with. [-]
    drained_h : float
        Available charge lost for each ampere drawn through the step. [h]
    """

    step_h: float
    available_frac: float
    kept_frac: float
    levelled_frac: float
    drained_h: float


def well_step(wells: Wells, *, step_h: float) -> WellStep:
    """The closed form's constants for a step of this length.

    Parameters
    ----------
    wells : Wells
        The model's constants.
    step_h : float
        Length of the step. [h]

    Returns
    -------
    WellStep
        For steps of that length alone.

    Raises
    ------
    ValueError
        If the step is not longer than nothing.
    """
    if not step_h > 0:
        raise ValueError(f"step_h must be above 0, got {step_h!r}")
    levelled = _levelled(wells.rate_per_h * step_h)
    seen_h = levelled / wells.rate_per_h
    c = wells.available_frac
    return WellStep(
        step_h=step_h,
        available_frac=c,
        kept_frac=1.0 - levelled,
        levelled_frac=c * levelled,
        drained_h=seen_h + c * (step_h - seen_h),
    )


def available_after_Ah(
    step: WellStep, *, total_Ah: FloatsT, available_Ah: FloatsT, current_A: FloatsT
) -> FloatsT:
    """Charge in the available well after one step at constant current.

    Parameters
    ----------
    step : WellStep
        Constants for the step's length.
    total_Ah, available_Ah : float or ndarray, shape (members,)
        Charge in both wells, and in the available one, as the step begins. [Ah]
    current_A : float or ndarray, shape (members,)
        Above 0 on discharge, below 0 on charge. [A]

    Returns
    -------
    float or ndarray, shape (members,)
        Charge in the available well as the step ends; below 0 if the current could not be held.
        [Ah]

    Notes
    -----
    The total falls by current times time. Exact for a constant current, whatever the step. The
    available well moves one way, or up and then down (on charge, down and then up), so its lowest
    (highest) charge stands at one of the step's ends.

    References
    ----------
    .. [1] J. F. Manwell and J. G. McGowan, "Lead acid battery storage model for hybrid energy
       systems", Solar Energy 50 (1993) 399-405: the solution for constant current.

    Examples
    --------
    >>> step = well_step(Wells(available_frac=1.0, rate_per_h=1.0), step_h=0.5)
    >>> available_after_Ah(step, total_Ah=100.0, available_Ah=100.0, current_A=10.0)
    95.0
    """
    return (
        step.kept_frac * available_Ah + step.levelled_frac * total_Ah - step.drained_h * current_A
    )


def delivered_frac(wells: Wells, *, duration_h: float) -> Any:
    """Share of all charge that a constant current takes out of full wells in just this time.

    Parameters
    ----------
    wells : Wells
        The model's constants.
    duration_h : float
        Time in which the current empties the available well. [h]

    Returns
    -------
    float or ndarray, shape (members,)
        k' c T / (1 - exp(-k' T) + c (k' T - 1 + exp(-k' T))). [-]

    References
    ----------
    .. [1] Manwell and McGowan (1993), as above: the maximum discharge current.

    Examples
    --------
    >>> delivered_frac(Wells(available_frac=1.0, rate_per_h=0.3), duration_h=5.0)
    1.0
    """
    bound_per_available = 1.0 / wells.available_frac - 1.0
    return 1.0 / (1.0 + bound_per_available * unlevelled_frac(wells.rate_per_h * duration_h))


def unlevelled_frac(time_constants: Any) -> Any:
    """Mean share of a difference in height that is left while the wells level.

    Parameters
    ----------
    time_constants : float or ndarray, shape (members,)
        x = k' T, above 0. [-]

    Returns
    -------
    float or ndarray, shape (members,)
        (1 - exp(-x)) / x. [-]
    """
    return _levelled(time_constants) / time_constants


def _levelled(time_constants: Any) -> Any:
    """Share of a difference in height that is gone: 1 - exp(-x), a plain float for a float."""
    gone = -np.expm1(-time_constants)
    return gone if np.ndim(gone) else float(gone)
