"""Light that was measured, or worked out afterwards, as a file has it."""

from __future__ import annotations

from array import array
from dataclasses import dataclass, fields

from powersim.records.brief import brief

LONGEST_STEP_S = 86400.0
#: The year that stands for any, without a 29 February.
ANY_YEAR = 2001
_WEATHER = ("ghi_W_m2", "dni_W_m2", "dhi_W_m2", "air_C", "wind_m_s")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Irradiance:
    """Mean light, and perhaps air and wind, over intervals of equal length.

    Attributes
    ----------
    file : str
        As the sailor named it, for messages.
    start_utc_s : array[float] of float
        Unix time at which each interval begins, rising by the step or, over gaps, by a multiple of
        it. [s]
    step_s : float
        Length of an interval, up to a day. [s]
    any_year : bool
        Whether dates are those of a typical year, written as ANY_YEAR's: they stand for the same
        days and hours of any year.
    ghi_W_m2 : array[float] of float
        Mean light on the horizontal; nan where it is missing, here and below. [W/m^2]
    dni_W_m2, dhi_W_m2 : array[float] of float or None
        Mean beam facing the sun, and diffuse light on the horizontal; None if the file has none.
        [W/m^2]
    air_C : array[float] of float or None
        Air temperature. [degC]
    wind_m_s : array[float] of float or None
        True wind. [m/s]
    """

    file: str
    start_utc_s: array[float]
    step_s: float
    ghi_W_m2: array[float]
    dni_W_m2: array[float] | None = None
    dhi_W_m2: array[float] | None = None
    air_C: array[float] | None = None
    wind_m_s: array[float] | None = None
    any_year: bool = False

    __repr__ = brief

    def __post_init__(self) -> None:
        if not 0 < self.step_s <= LONGEST_STEP_S:
            raise ValueError(f"step_s must be above 0 and up to a day, got {self.step_s!r}")
        if not self.start_utc_s:
            raise ValueError("there must be one interval or more")
        for one in fields(self):
            values = getattr(self, one.name)
            if one.name in _WEATHER and values is not None and len(values) != len(self.start_utc_s):
                raise ValueError(f"{one.name} must have one value for each interval")
        pairs = zip(self.start_utc_s, self.start_utc_s[1:], strict=False)
        if not all(later - earlier > 0.99 * self.step_s for earlier, later in pairs):
            raise ValueError("intervals must be in order and must not overlap")
        for name in _WEATHER[:3]:
            if any(value < 0 for value in getattr(self, name) or ()):
                raise ValueError(f"{name} must not be negative")

    @property
    def end_utc_s(self) -> float:
        """Unix time at which the last interval ends. [s]"""
        return self.start_utc_s[-1] + self.step_s
