"""What a cold bank cannot do, in words: the same for `check`, a simulated passage and a plan."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from powersim.physics.freezing import freezes_C
from powersim.records import Caution
from powersim.report import rounding, when_where

#: What helps a bank that is too cold to be charged: in a plan, and beside all other warnings.
WARM_IT = (
    "warm the space that it stands in, take a heated bank, or take a lead-acid bank, which "
    "charges in the cold"
)
_WARM_IT = "warm its space, heat it (temperature in [battery]), or take a lead-acid bank"
_MEAN_AIR = "in average weather"


def cold_told(cold: dict, *, mean_air: bool = False) -> Iterator[Caution]:
    """What the sailor should know of a cold bank.

    Parameters
    ----------
    cold : dict
        From `simulation.cold`.
    mean_air : bool
        Whether the air is the month's mean all the way, which is then said.
    """
    lowest_C = cold["lowest_bank_C"]
    air = f" {_MEAN_AIR}" if mean_air else ""
    if cold["too_cold_h"]:
        yield Caution(text=too_cold(cold, air=air), advice=_WARM_IT)
    elif cold["spell_too_cold"]:
        yield Caution(
            text=f"the bank comes down to {rounding.celsius(lowest_C)} {_MEAN_AIR}, on "
            f"{_day(cold['lowest_bank_at'])}: a cold spell takes it below "
            f"{rounding.celsius(cold['least_charge_C'])}, and it then takes no charge",
            advice=_WARM_IT,
        )
    near = cold["near_freezing"]
    if near is not None:
        yield Caution(
            text=f"on {_moment(near['at'])} the bank is at {rounding.soc(near['soc'])} and "
            f"{rounding.celsius(near['bank_C'])}, and its acid freezes at about "
            f"{rounding.celsius(near['freezes_C'])}: ice bursts the cells",
            advice="keep it fuller in the cold, or warmer; never charge a bank that is frozen",
        )
    elif cold["least_charge_C"] is None and lowest_C < 0.0 and mean_air:
        flat, half, full = (rounding.celsius(freezes_C(soc)) for soc in (0.0, 0.5, 1.0))
        yield Caution(
            text=f"the bank comes down to {rounding.celsius(lowest_C)} {_MEAN_AIR}: the acid of a "
            f"flat bank freezes at about {flat}, half full at {half}, full at {full}",
            advice="never leave it flat in the frost: ice bursts the cells; never charge a bank "
            "that is frozen",
        )


def too_cold(cold: dict, *, air: str = "") -> str:
    """For how long the bank takes no charge: a sentence without its full stop.

    `cold` is of a bank that is too cold for some time; `air` is said after the hours.
    """
    hours = rounding.hours(cold["too_cold_h"])
    return (
        f"the bank is too cold to be charged for {hours}{air}, first on "
        f"{_moment(cold['too_cold_from'])}: below {rounding.celsius(cold['least_charge_C'])} "
        "it takes nothing, and sun and engine feed the loads alone"
    )


def too_cold_in_short(cold: dict) -> tuple[str, ...]:
    """The same before a rule that is read in a hurry: one line of two short sentences, or none."""
    if not cold["too_cold_h"]:
        return ()
    hours, day = rounding.hours(cold["too_cold_h"]), _day(cold["too_cold_from"])
    least = rounding.celsius(cold["least_charge_C"])
    return (f"Too cold to charge for {hours}, from {day}. Warm the bank: no run below {least}.",)


def _moment(at) -> str:
    return when_where.ship_time(_utc(at), ship_offset_h=at["ship_offset_h"])


def _day(at) -> str:
    return when_where.short_date(_utc(at), ship_offset_h=at["ship_offset_h"])


def _utc(at) -> datetime:
    return datetime.fromisoformat(at["time_utc"])
