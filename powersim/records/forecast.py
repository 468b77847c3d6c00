"""What a weather forecast says of light, cloud, wind and air, as fields on grids."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from powersim.records.brief import brief


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """Rows of latitude and columns of longitude.

    Attributes
    ----------
    lat_deg : ndarray, shape (rows,)
        Rising from south to north. [deg]
    lon_deg : ndarray, shape (columns,)
        Rising eastward from the first column without a jump, so that they may exceed 180. A grid
        that goes round the world has its first column again at the end, 360 further. [deg]
    """

    lat_deg: Any
    lon_deg: Any

    __repr__ = brief

    def __post_init__(self) -> None:
        for name in ("lat_deg", "lon_deg"):
            axis = getattr(self, name)
            if not (len(axis) >= 2 and all(axis[1:] > axis[:-1])):
                raise ValueError(f"{name} must be two or more rising values")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ForecastField:
    """One quantity on a grid, at a moment or as the mean over a window.

    Attributes
    ----------
    run_utc_s : float
        Unix time at which the forecast was started. [s]
    from_utc_s, to_utc_s : float
        Unix time of the window's ends; the same twice for a moment. [s]
    grid : Grid
        Where its values lie.
    values : ndarray of float32, shape (rows, columns)
        nan where the file has none.
    """

    run_utc_s: float
    from_utc_s: float
    to_utc_s: float
    grid: Grid
    values: Any

    __repr__ = brief

    def __post_init__(self) -> None:
        if not self.to_utc_s >= self.from_utc_s:
            raise ValueError("a window must not end before it begins")
        if self.values.shape != (len(self.grid.lat_deg), len(self.grid.lon_deg)):
            raise ValueError("values do not fit their grid")

    @property
    def is_mean(self) -> bool:
        """Whether it is a mean over a window and not the value of a moment."""
        return self.to_utc_s > self.from_utc_s


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Forecast:
    """A forecast file.

    Within each tuple windows do not overlap, and no moment comes twice; all are in the order of
    their ends.

    Attributes
    ----------
    file : str
        As the sailor named it, for messages.
    light : tuple of ForecastField
        Shortwave on the horizontal. [W/m^2]
    cloud : tuple of ForecastField
        Covered share of the sky. [-]
    wind : tuple of ForecastField
        True wind 10 m above the sea. [m/s]
    air : tuple of ForecastField
        Temperature 2 m above the sea. [degC]
    """

    file: str
    light: tuple[ForecastField, ...] = ()
    cloud: tuple[ForecastField, ...] = ()
    wind: tuple[ForecastField, ...] = ()
    air: tuple[ForecastField, ...] = ()

    __repr__ = brief

    def __post_init__(self) -> None:
        if not (self.light or self.cloud):
            raise ValueError("a forecast tells of light or of cloud")
