"""Engine runs that go by the clock and not by the bank: a daily habit, a plan of single runs."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class DailyRun:
    """The engine charges at the same time every day, wherever the boat is between two latitudes.

    Attributes
    ----------
    at_h : float
        Ship's time at which it is started. [h]
    run_h : float
        For how long. [h]
    south_deg, north_deg : float
        Latitudes between which it is done; from the first up to, but without, the second. [deg]
    """

    at_h: float
    run_h: float
    south_deg: float = -90.0
    north_deg: float = 90.0

    def __post_init__(self) -> None:
        if not 0 <= self.at_h < 24:
            raise ValueError(f"at_h must be 0 to below 24, got {self.at_h!r}")
        if not 0 < self.run_h < 24:
            raise ValueError(f"run_h must be above 0 and below 24, got {self.run_h!r}")
        if not -90 <= self.south_deg < self.north_deg <= 90:
            raise ValueError("south_deg must lie below north_deg, both -90 to 90")


#: How the note above runs begins that no rule leads to which holds.
NO_RULE = "NO RULE HOLDS"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedRun:
    """One charging run of a plan.

    Attributes
    ----------
    start_utc_s : float
        Unix time at which the engine is started. [s]
    run_h : float
        For how long. [h]
    """

    start_utc_s: float
    run_h: float

    def __post_init__(self) -> None:
        if not 0 < self.run_h <= 24:
            raise ValueError(f"run_h must be above 0 and at most 24, got {self.run_h!r}")

    @property
    def end_utc_s(self) -> float:
        """Unix time at which it is stopped. [s]"""
        return self.start_utc_s + 3600.0 * self.run_h
