"""What `endurance` prints: days to the floor and to flat for each loss and each set of loads."""

from __future__ import annotations

import math
from datetime import timedelta

from powersim.report import rounding
from powersim.report.text import join, paragraph, table
from powersim.simulation.bands import band, quantiles

_WITHIN = ("1 weather in 10 within", "half of them within")
KEPT = (
    "Without the engine there is no motoring either; the boat is kept on her legs and dates all "
    "the same. Essential loads only: navigation lights, VHF, bilge pump, and what loads.csv calls "
    "essential. A forecast is no promise."
)


def endurance_text(found, result) -> str:
    """The endurance table for a reader.

    Parameters
    ----------
    found : EnduranceTable
        Of planning.endurance.
    result : Result
        Of the simulation that it starts from.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    start_utc = result.passage.depart_utc + timedelta(hours=found.from_h)
    start = rounding.moment(start_utc, ship_offset_h=_ship_offset_h(found, result))
    floor_soc = result.passage.boat.battery.floor_soc
    tables = _table if found.seed is None else _tables_in_weathers
    return join(
        paragraph(
            f"{result.passage.name}, counted from {start} with the bank at {_bank(found)}; "
            f"landfall after {rounding.days(found.days_to_landfall)}."
        ),
        *(tables(found, loads, floor_soc=floor_soc) for loads in _load_sets(found)),
        paragraph(KEPT),
    )


def _bank(found) -> str:
    """The charge that is counted from."""
    if found.seed is None:
        return rounding.soc(found.soc)
    low, middle, high = (rounding.soc(soc) for soc in quantiles(found.soc))
    band = middle if low == high else f"{middle} (8 of 10 weathers: {low} to {high})"
    return f"{band} in {len(found.soc)} weathers"


def _load_sets(found) -> list[str]:
    return list(dict.fromkeys(line.loads for line in found.lines))


def _table(found, loads, *, floor_soc) -> str:
    rows = [
        (
            line.loss,
            time_left(line.days_to_floor, found.days_to_landfall),
            time_left(line.days_to_flat, found.days_to_landfall),
        )
        for line in found.lines
        if line.loads == loads
    ]
    return table(
        rows, aligns="lrr", header=(loads, f"to floor, {rounding.soc(floor_soc)}", "to flat")
    )


def _tables_in_weathers(found, loads, *, floor_soc) -> str:
    """A table to the floor and one to flat, each with the worst tenth of the weathers and half."""
    lines = [line for line in found.lines if line.loads == loads]
    kinds = ((f"to floor, {rounding.soc(floor_soc)}", "days_to_floor"), ("to flat", "days_to_flat"))
    return join(
        *(
            f"{loads}, {what}\n"
            + table(
                [
                    (line.loss, *_lasts(getattr(line, name), found.days_to_landfall))
                    for line in lines
                ],
                aligns="lrr",
                header=("", *_WITHIN),
            )
            for what, name in kinds
        )
    )


def _lasts(days, landfall_days) -> list[str]:
    return [time_left(time_days, landfall_days) for time_days in quantiles(days, (0.1, 0.5))]


def endurance_dict(found, result) -> dict:
    """The same for a program; null where landfall comes first, bands where weathers were tried.

    Parameters
    ----------
    found : EnduranceTable
        Of planning.endurance.
    result : Result
        Of the simulation that it starts from.

    Returns
    -------
    dict
        Strict JSON.
    """
    start_utc = result.passage.depart_utc + timedelta(hours=found.from_h)
    in_weathers = found.seed is not None
    one = band if in_weathers else _finite
    tried = {"weathers": {"tried": len(found.soc), "seed": found.seed}} if in_weathers else {}
    return {
        "passage": result.passage.name,
        "from_utc": start_utc.isoformat(),
        "ship_offset_h": _ship_offset_h(found, result),
        **tried,
        "soc": one(found.soc),
        "floor_soc": result.passage.boat.battery.floor_soc,
        "days_to_landfall": found.days_to_landfall,
        "lines": [
            {
                "loss": line.loss,
                "loads": line.loads,
                "days_to_floor": one(line.days_to_floor),
                "days_to_flat": one(line.days_to_flat),
            }
            for line in found.lines
        ],
    }


def time_left(time_days, landfall_days) -> str:
    """Days until something happens, that it has, or that landfall comes first.

    Parameters
    ----------
    time_days : float or None
        None or infinite for never on this passage. [days]
    landfall_days : float
        Until landfall. [days]

    Returns
    -------
    str

    Examples
    --------
    >>> time_left(2.61, 30.0), time_left(0.0, 30.0)
    ('2.6 days', 'already')
    >>> time_left(None, 30.2)
    'more than 30 days (landfall)'
    """
    if time_days is None or math.isinf(time_days):
        return f"more than {rounding.days(landfall_days)} (landfall)"
    return rounding.days(time_days) if time_days > 0 else "already"


def _ship_offset_h(found, result) -> float:
    track = result.prepared.track
    return float(track.ship_offset_h[round(found.from_h / track.step_h)])


def _finite(time_days):
    return time_days if math.isfinite(time_days) else None
