"""The table of `simulate` by part of the passage, and what other chargers give."""

from __future__ import annotations

from datetime import UTC, datetime

from powersim.records import OTHER_SOURCES
from powersim.report import rounding, when_where
from powersim.report.text import paragraph, table

_MOST_PARTS = 5  # lines of the table
_MOST_OTHERS = 2  # sources with a column of their own; more are one column


def parts_block(summary) -> str:
    """Charge in and out a day by part of the passage, and which is the worst.

    Parameters
    ----------
    summary : dict
        Of the simulation.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    parts, worst = summary["parts"], summary["worst_part"]
    weeks = -(-len(parts) // _MOST_PARTS)
    rows = [merged(parts[first : first + weeks]) for first in range(0, len(parts), weeks)]
    without = any(part["unserved_Ah_per_day"] > 0 for part in parts)
    engine = summary["fuel"]["kind"] is not None
    columns = _columns(sources_of(parts[0]), without=without)
    if not engine:
        columns.pop("altern.")
    # Where there is much to say, there is no room for where the part ends.
    crowded = len(columns) > len(_columns((), without=False))
    place = "at" if len(columns) > len(_columns((), without=True)) else "latitude"
    heads = ["Ah/day", place, *columns, *(["engine"] if engine else []), "lowest"]
    body = [_part_cells(part, columns.values(), crowded=crowded, engine=engine) for part in rows]
    lines = table(body, aligns="ll" + "r" * (len(heads) - 2), header=heads)
    week = parts[worst]
    wanted_Ah = week["loads_Ah_per_day"] + week["unserved_Ah_per_day"]
    gives = [f"sun gives {rounding.ah(week['solar_Ah_per_day'])}"]
    gives += [f"{one} {rounding.ah(week[f'{one}_Ah_per_day'])}" for one in sources_of(week)]
    named = (
        f"Worst week: from {week_date(week)}, {week_latitudes(week)}; "
        f"loads want {rounding.ah(wanted_Ah)} a day, {', '.join(gives)}."
    )
    return f"{lines}\n{paragraph(named)}"


def sources_of(part) -> tuple[str, ...]:
    """Which other chargers a boat has, by what a part of her passage tells.

    Parameters
    ----------
    part : dict
        As in the summary.

    Returns
    -------
    tuple of str
        In the order of OTHER_SOURCES.
    """
    return tuple(source for source in OTHER_SOURCES if f"{source}_Ah_per_day" in part)


def chargers_lines(summary) -> list[tuple[str, str]]:
    """What other chargers give a day, over the whole passage.

    Parameters
    ----------
    summary : dict
        Of the simulation.

    Returns
    -------
    list of (str, str)
        One line, or none for a boat without any.
    """
    days, totals = summary["passage"]["days"], summary["totals"]
    sources = sources_of(summary["parts"][0])
    told = [f"{source} {rounding.ah(totals[f'{source}_Ah'] / days)}" for source in sources]
    return [("chargers", f"{', '.join(told)} a day on average")] if told else []


def merged(parts) -> dict:
    """Parts of the passage that follow each other, as one.

    Parameters
    ----------
    parts : sequence of dict
        As in the summary.

    Returns
    -------
    dict
        Of the same keys.
    """
    days = sum(part["days"] for part in parts)
    means = {
        key: sum(part[key] * part["days"] for part in parts) / days
        for key in parts[0]
        if key.endswith("_per_day")
    }
    return parts[0] | {
        "days": days,
        "lat_to_deg": parts[-1]["lat_to_deg"],
        "lowest_soc": min(part["lowest_soc"] for part in parts),
        **means,
    }


def _columns(others, *, without: bool) -> dict[str, tuple[str, ...]]:
    """Heads of the amounts, each with the sources or sinks that it is the sum of."""
    most = _MOST_OTHERS - (1 if without else 0)
    named = {source: (source,) for source in others} if len(others) <= most else {"other": others}
    columns = {"solar": ("solar",), **named, "altern.": ("alternator",), "loads": ("loads",)}
    columns |= {"not taken": ("surplus",)} | ({"without": ("unserved",)} if without else {})
    return columns


def _part_cells(part, columns, *, crowded: bool, engine: bool) -> list[str]:
    amounts_Ah = [sum(part[f"{name}_Ah_per_day"] for name in names) for names in columns]
    return [
        week_date(part),
        when_where.latitude(part["lat_from_deg"]) if crowded else week_latitudes(part),
        *map(rounding.number, amounts_Ah),
        *([rounding.minutes(part["charging_min_per_day"] / 60.0)] if engine else []),
        rounding.soc(part["lowest_soc"]),
    ]


def week_date(part) -> str:
    """The ship's date on which a part of the passage begins: "5 Sep".

    Parameters
    ----------
    part : dict
        As in the summary.

    Returns
    -------
    str
    """
    when = datetime.fromisoformat(part["start_utc"]).astimezone(UTC)
    return when_where.short_date(when, ship_offset_h=part["ship_offset_h"])


def week_latitudes(part) -> str:
    """From where to where a part of the passage leads: "64°N to 53°N".

    Parameters
    ----------
    part : dict
        As in the summary.

    Returns
    -------
    str
    """
    return rounding.span(part["lat_from_deg"], part["lat_to_deg"], when_where.latitude)
