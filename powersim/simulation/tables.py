"""From flows to tables: by the hour, by the ship's day, by engine run, by load.

Column names carry units; docs/reference/results.md describes every one of them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.demand import GROUPS
from powersim.records import BOAT_STATES
from powersim.simulation.books_record import Books, columns_of, group_shares
from powersim.simulation.why_charging import why_charging

if TYPE_CHECKING:
    import pandas as pd

    from powersim.kernel.flows import Flows
    from powersim.records.arrays import Array, Bools
    from powersim.simulation.prepared import Prepared

FUEL_COLUMNS = (
    "fuel_charging_L",
    "fuel_motoring_L",
    "fuel_alternator_motoring_L",
    "fuel_heater_L",
)
#: What each group of loads got; with the controllers' own draw they make loads_Ah.
GROUP_COLUMNS = tuple(f"{group}_loads_Ah" for group in GROUPS)
_SUMMED = (
    *Books.names(),
    *GROUP_COLUMNS,
    "charging_h",
    "motoring_h",
    "motoring_missed_h",
    "night_h",
    *FUEL_COLUMNS,
    "fuel_short_L",
)


def hourly_table(
    *, prepared: Prepared, flow: Flows[Array], books: Books, soc_start: float
) -> pd.DataFrame:
    """What happened hour by hour, for one member.

    Parameters
    ----------
    prepared : Prepared
        The passage in average weather.
    flow : Flows
        Of arrays shaped (steps, 1).
    books : Books
        Of every step.
    soc_start : float
        State of charge as the run began, which counts to its first hour. [-]

    Returns
    -------
    pandas.DataFrame
        One row an hour, indexed by `time_utc`, the hour's start.
    """
    import pandas as pd

    track, sky = prepared.track, prepared.sky
    per_hour = round(1.0 / track.step_h)

    def start(values: np.ndarray) -> np.ndarray:
        return np.asarray(values)[::per_hour]

    def end(values: Array) -> Array:
        return np.asarray(values)[per_hour - 1 :: per_hour]

    def over(values: Array, how: Callable[..., Array]) -> Array:
        return how(np.asarray(values, dtype=float).reshape(-1, per_hour), axis=1)

    member = {name: getattr(flow, name)[:, 0] for name in flow._fields}
    index = pd.to_datetime(start(track.edge_utc_s[:-1]), unit="s", utc=True).rename("time_utc")
    ship_offset_h = start(track.ship_offset_h)
    columns = {
        "ship_time": index.tz_localize(None) + pd.to_timedelta(ship_offset_h, unit="h"),
        "ship_offset_h": ship_offset_h,
        "lat_deg": start(track.edge_lat_deg[:-1]),
        "lon_deg": start(track.edge_lon_deg[:-1]),
        "leg": start(track.leg) + 1,
        "state": np.array(BOAT_STATES)[start(track.state)],
        "sun_elevation_deg": over(sky.elevation_deg, np.mean),
        "ghi_W_m2": over(sky.ghi_W_m2, np.mean),
        "air_C": over(sky.air_C, np.mean),
        "bank_C": over(sky.bank_C, np.mean),
        "soc": end(member["soc"]),
        "lowest_soc": over(member["soc"], np.min),
        "bank_V": over(member["bank_V"], np.mean),
        "lowest_V": over(np.minimum(member["bank_V"], member["sag_V"]), np.min),
        "days_since_full": end(member["since_full_h"]) / 24.0,
        "dark_h": over(member["dark"], np.sum) * track.step_h,
    }
    columns |= {
        name: over(books.column(name)[:, 0], np.sum) for name in columns_of(prepared.signals)
    }
    columns |= {
        name: over(served_Ah, np.sum)
        for name, served_Ah in zip(GROUP_COLUMNS, _served_Ah(prepared, flow), strict=True)
    }
    columns |= {
        "charging_h": over(member["charging"], np.sum) * track.step_h,
        "motoring_h": over(member["motoring"], np.sum) * track.step_h,
        "motoring_missed_h": over(prepared.signals.motoring[:, 0] - member["motoring"], np.sum)
        * track.step_h,
        "night_h": over(sky.night_frac, np.sum) * track.step_h,
        "fuel_charging_L": over(member["charging_L"], np.sum),
        "fuel_motoring_L": over(member["motoring_L"], np.sum),
        "fuel_alternator_motoring_L": over(member["alternator_motoring_L"], np.sum),
        "fuel_heater_L": over(member["heater_L"], np.sum),
        "fuel_short_L": over(member["fuel_short_L"], np.sum),
    }
    table = pd.DataFrame(columns, index=index)
    burnt_L = table[list(FUEL_COLUMNS)].sum(axis=1) - table["fuel_short_L"]
    hour = table.index[0]
    table.loc[hour, "lowest_soc"] = min(soc_start, table.loc[hour, "lowest_soc"])
    table["fuel_left_L"] = prepared.plant.usable_L - burnt_L.cumsum()
    return table


def _served_Ah(prepared: Prepared, flow: Flows[Array]) -> Array:
    """What each group of loads got in every step, in the order of GROUPS."""
    signals = prepared.signals
    wanted_A = signals.load_A[..., 0] + signals.load_W[..., 0] / flow.bank_V
    shares = np.concatenate(group_shares(flow), axis=1)
    return (wanted_A * shares * signals.step_h).T


def daily_table(hourly: pd.DataFrame) -> pd.DataFrame:
    """The hourly table summed by the ship's day.

    Parameters
    ----------
    hourly : pandas.DataFrame
        From `hourly_table`.

    Returns
    -------
    pandas.DataFrame
        One row a day in order, indexed by `ship_date`, which comes twice eastward over the date
        line; the first and last are short (`hours`). `start_utc` rises from day to day all the
        same.
    """
    # Eastward over the date line a date comes twice: two days, not one of forty-eight hours.
    turn = (hourly["ship_offset_h"].diff().abs() > 12.0).cumsum()
    ship_date = hourly["ship_time"].dt.normalize().rename("ship_date")
    by_day = hourly.assign(start_utc=hourly.index).groupby([turn, ship_date])
    daily = by_day.agg(
        start_utc=("start_utc", "first"),
        hours=("soc", "size"),
        lat_deg=("lat_deg", "last"),
        lon_deg=("lon_deg", "last"),
        soc=("soc", "last"),
        lowest_soc=("lowest_soc", "min"),
        lowest_V=("lowest_V", "min"),
        days_since_full=("days_since_full", "last"),
        dark_h=("dark_h", "sum"),
    )
    summed = by_day[[name for name in _SUMMED if name in hourly]].sum()
    daily = daily.join(summed)
    daily["fuel_left_L"] = by_day["fuel_left_L"].last()
    return daily.droplevel(0)


def engine_table(
    *, prepared: Prepared, flow: Flows[Array], books: Books, soc_start: float
) -> pd.DataFrame:
    """Every run of the engine: charging at rest and motoring.

    Parameters
    ----------
    prepared : Prepared
        The passage in average weather.
    flow : Flows
        Of arrays shaped (steps, 1).
    books : Books
        Of every step.
    soc_start : float
        State of charge as the run began. [-]

    Returns
    -------
    pandas.DataFrame
        One row a run, in order.
    """
    import pandas as pd

    track, alternator = prepared.track, prepared.plant.alternator
    edge_utc_s = track.edge_utc_s
    soc = np.concatenate([[soc_start], flow.soc[:, 0]])
    charging, motoring = flow.charging[:, 0], flow.motoring[:, 0]
    # A long step may both motor and charge: what the alternator gave goes by the time of each.
    turning = np.maximum(charging + motoring, 1e-12)
    kinds = {
        "charging": (charging, flow.charging_L[:, 0]),
        "motoring": (motoring, flow.motoring_L[:, 0] + flow.alternator_motoring_L[:, 0]),
    }
    runs = []
    for kind, (share, litres) in kinds.items():
        alternator_Ah = books.alternator_Ah[:, 0] * share / turning
        shaft_Wh = books.alternator_Wh[:, 0] * share / turning / alternator.efficiency_frac
        for first, last in _spells(share > 0):
            steps = slice(first, last)
            # A run of several steps begins late in its first, and ends early in its last.
            late, early = (1.0 - share[[first, last - 1]]) * (last - first > 1)
            start_utc_s = edge_utc_s[first] + 3600.0 * track.step_h * late
            runs.append(
                {
                    "start_utc": _moment(start_utc_s).tz_localize("UTC"),
                    "ship_time": _moment(start_utc_s + 3600.0 * track.ship_offset_h[first]),
                    "kind": kind,
                    "why": (
                        "under way" if kind == "motoring" else why_charging(prepared, flow, first)
                    ),
                    "lat_deg": track.edge_lat_deg[first],
                    "lon_deg": track.edge_lon_deg[first],
                    "run_h": float(share[steps].sum() * track.step_h),
                    "fuel_L": float(litres[steps].sum()),
                    "alternator_Ah": float(alternator_Ah[steps].sum()),
                    "shaft_kWh": float(shaft_Wh[steps].sum()) / 1000.0,
                    "soc_before": _beyond(soc, first, -1, late),
                    "soc_after": _beyond(soc, last, 1, early),
                }
            )
    columns = [
        "start_utc",
        "ship_time",
        "kind",
        "why",
        "lat_deg",
        "lon_deg",
        "run_h",
        "fuel_L",
        "alternator_Ah",
        "shaft_kWh",
        "soc_before",
        "soc_after",
    ]
    table = pd.DataFrame(runs, columns=columns)
    return table.sort_values("start_utc", kind="stable").reset_index(drop=True)


def _moment(utc_s: float) -> pd.Timestamp:
    import pandas as pd

    return pd.Timestamp(utc_s, unit="s").round("ms")


def _beyond(soc: Array, edge: int, way: int, part: float) -> float:
    """Charge so much of a step inside a run, as if it changed there as in the step outside."""
    outside = edge + way
    if part == 0.0 or not 0 <= outside < len(soc):
        return soc[edge]
    return float(np.clip(soc[edge] - part * (soc[outside] - soc[edge]), 0.0, 1.0))


def _spells(on: Bools) -> list[tuple[int, int]]:
    """(first, end) of every unbroken run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], on, [False]]).astype(int)))
    return [(int(first), int(end)) for first, end in edges.reshape(-1, 2)]


def load_table(*, prepared: Prepared, flow: Flows[Array], days: float) -> pd.DataFrame:
    """What each load took a day, and what it went without.

    Parameters
    ----------
    prepared : Prepared
        The passage in average weather.
    flow : Flows
        Of arrays shaped (steps, 1).
    days : float
        Length of the passage.

    Returns
    -------
    pandas.DataFrame
        One row a load, the largest first; what supplies take while idling is a row too, what
        solar controllers take for themselves is not.
    """
    import pandas as pd

    demand, step_h = prepared.demand, prepared.track.step_h
    wanted_A, share = _wanted_A_and_share(prepared, flow)
    volts, per_day = flow.bank_V[:, 0], step_h / days
    table = pd.DataFrame(
        {
            "load": list(demand.names),
            "group": list(demand.groups),
            "Ah_per_day": (wanted_A * share).sum(axis=1) * per_day,
            "Wh_per_day": (wanted_A * share * volts).sum(axis=1) * per_day,
            "unserved_Ah_per_day": (wanted_A * (1.0 - share)).sum(axis=1) * per_day,
            "on_h_per_day": (demand.on_frac * share).sum(axis=1) * per_day,
        }
    )
    return table.sort_values("Ah_per_day", ascending=False, kind="stable").reset_index(drop=True)


def loads_by_day(*, prepared: Prepared, flow: Flows[Array], hours: Sequence[int]) -> Array:
    """What each load took day by day.

    Parameters
    ----------
    prepared : Prepared
        The passage in average weather.
    flow : Flows
        Of arrays shaped (steps, 1).
    hours : sequence of int
        Length of each ship's day, as the daily table has them.

    Returns
    -------
    ndarray, shape (loads, days)
        In the order of the demand's names. [Ah]
    """
    step_h = prepared.track.step_h
    wanted_A, share = _wanted_A_and_share(prepared, flow)
    ends = np.cumsum(np.round(np.asarray(hours) / step_h).astype(int))
    return np.add.reduceat(wanted_A * share * step_h, [0, *ends[:-1]], axis=1)


def _wanted_A_and_share(prepared: Prepared, flow: Flows[Array]) -> tuple[Array, Array]:
    """What each load wants in every step, and how much of it it gets."""
    demand = prepared.demand
    shares = np.stack(group_shares(flow))[..., 0]
    return (
        demand.current_A + demand.power_W / flow.bank_V[:, 0],
        shares[[GROUPS.index(group) for group in demand.groups]],
    )
