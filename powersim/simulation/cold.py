"""How cold the bank gets along a passage, and what it cannot do for it.

A bank takes no charge below its chemistry's least temperature, if it has one; a bank with acid in
it freezes, the sooner the flatter it is. Numbers only: report/cold_text.py has the words.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import numpy as np

from powersim.physics.freezing import freezes_C
from powersim.records import BankPlace, Battery, Passage
from powersim.sky import below_deck
from powersim.sky.climatology import monthly_mean
from powersim.voyage.track import Track, track_of

if TYPE_CHECKING:
    from powersim.records.arrays import Array

#: How near to the freezing point of its acid a bank is spoken of: a cold spell, and as much again
#: for acid that is weaker than its charge says (common practice, no source). [degC]
NEAR_FREEZING_C = 10.0
_STEP_h = 1.0


def cold_of(
    bank_C: Array, *, battery: Battery, track: Track, soc: Array | None = None
) -> dict[str, Any]:
    """How cold the bank gets.

    Parameters
    ----------
    bank_C : ndarray, shape (n,)
        Temperature of the bank at every step. [degC]
    battery : Battery
        Its chemistry, and where it stands.
    track : Track
        Where the boat is, and when.
    soc : ndarray, shape (n,), optional
        State of charge. [-]

    Returns
    -------
    dict
        Of numbers and places. `too_cold_h` is the time in which the bank takes no charge, 0 for
        one that always does; `least_charge_C` is then None. `spell_too_cold` is whether a cold
        spell would make it so. `near_freezing` is None unless charge is known and a bank with acid
        in it comes within NEAR_FREEZING_C of where that freezes.
    """
    least_C = battery.traits.curves.least_charge_C
    too_cold = np.zeros(len(bank_C), dtype=bool) if least_C is None else bank_C < least_C
    coldest = int(np.argmin(bank_C))
    near = None
    if battery.traits.has_acid and soc is not None:
        points_C = freezes_C(soc)
        nearest = int(np.argmin(bank_C - points_C))
        if bank_C[nearest] - points_C[nearest] < NEAR_FREEZING_C:
            near = {
                "soc": float(soc[nearest]),
                "bank_C": float(bank_C[nearest]),
                "freezes_C": float(points_C[nearest]),
                "at": _place(track, nearest),
            }
    return {
        "lowest_bank_C": float(bank_C[coldest]),
        "lowest_bank_at": _place(track, coldest),
        "least_charge_C": least_C,
        "spell_too_cold": (
            least_C is not None
            and not _kept_warm(battery.place, least_C)
            and bool(bank_C.min() < battery.traits.frost_C)
        ),
        "too_cold_h": float(too_cold.sum() * track.step_h),
        "too_cold_from": _place(track, int(np.argmax(too_cold))) if too_cold.any() else None,
        "near_freezing": near,
    }


def cold_along(passage: Passage) -> dict[str, Any]:
    """How cold the bank gets in the month's mean air: track and climatology, but no sun.

    Parameters
    ----------
    passage : Passage
        Of which route, bank and departure count.

    Returns
    -------
    dict
        As `cold_of` has it, without charge.
    """
    track = track_of(
        [replace(waypoint, motoring_calm_frac=0.0) for waypoint in passage.waypoints],
        depart_utc_s=passage.depart_utc.timestamp(),
        step_h=_STEP_h,
        ship_offset_h=passage.ship_offset_h,
    )
    (air_C,) = monthly_mean(
        "air_C", lat_deg=track.lat_deg, lon_deg=track.lon_deg, utc_s=track.mid_utc_s
    )
    battery = passage.boat.battery
    bank_C = below_deck.bank_C(battery.place, air_C=air_C, given_cabin_C=track.cabin_C)
    return cold_of(bank_C, battery=battery, track=track)


def _kept_warm(place: BankPlace, least_C: float) -> bool:
    """Whether no cold spell reaches the bank: its temperature is given, or a heater keeps it."""
    kept_C = place.fixed_C if place.least_C is None else place.least_C
    return kept_C is not None and kept_C >= least_C


def _place(track: Track, step: int) -> dict[str, Any]:
    return {
        "time_utc": datetime.fromtimestamp(float(track.edge_utc_s[step]), UTC).isoformat(),
        "ship_offset_h": float(track.ship_offset_h[step]),
        "lat_deg": float(track.edge_lat_deg[step]),
        "lon_deg": float(track.edge_lon_deg[step]),
    }
