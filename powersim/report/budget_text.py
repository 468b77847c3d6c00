"""What `budget` prints: each load's day along the route, and a day in each boat state."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from powersim.physics.demand import GROUPS
from powersim.planning.budget import by_group
from powersim.records import PROTECTED
from powersim.report import rounding, when_where
from powersim.report.comms_view import sessions_dict, sessions_told
from powersim.report.engine_hour_view import engine_hours_told
from powersim.report.plain import plain
from powersim.report.screen_text import screen_text
from powersim.report.text import join, paragraph, table, title

if TYPE_CHECKING:
    from powersim.planning.budget import Budget


def budget_text(budget: Budget, *, name: str) -> str:
    """The budget for a reader.

    Parameters
    ----------
    budget : Budget
        Of planning.budget.
    name : str
        Of the passage.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    volts = rounding.number(budget.nominal_V)
    return join(
        paragraph(f"{name}: what is taken from the bank in a day, in Ah at {volts} V."),
        _by_load(budget),
        title("A whole day in each state"),
        _by_state(budget),
        paragraph(
            "The nights are those of the route, on average in the second table. Losses of "
            f"supplies are in; what the bank itself loses is not. Protected: {PROTECTED}, which "
            "are never switched off to save charge."
        ),
        screen_text(engine_hours_told(budget.engine_hours)),
        screen_text(sessions_told(budget.sessions, when="at departure")),
    )


def budget_dict(budget: Budget, *, name: str) -> dict:
    """The same for a program.

    Parameters
    ----------
    budget : Budget
        Of planning.budget.
    name : str
        Of the passage.

    Returns
    -------
    dict
        Strict JSON.
    """
    return {
        "passage": name,
        "nominal_V": budget.nominal_V,
        "days": [_day_dict(day) for day in budget.days],
        "states": [{"state": day.title} | _sums(day) for day in budget.states],
        "engine_hours": plain(budget.engine_hours),
        "sessions": sessions_dict(budget.sessions),
    }


def _day_dict(day) -> dict:
    return {
        "start_utc": _utc(day).isoformat(),
        "ship_offset_h": day.ship_offset_h,
        "lat_deg": day.lat_deg,
        "night_h": day.night_h,
        **_sums(day),
    }


def _sums(day) -> dict:
    return {
        "total_Ah": day.total_Ah(),
        "total_Wh": day.total_Wh(),
        "groups_Ah": by_group(day),
        "loads": plain(day.rows),
    }


def _utc(day) -> datetime:
    return datetime.fromtimestamp(day.start_utc_s, UTC)


def _by_load(budget) -> str:
    days = budget.days
    heads = ["24 hours from", *map(_date, days), "mean Wh"]
    body = [
        ["latitude", *(when_where.latitude(day.lat_deg) for day in days), ""],
        ["hours of night", *(rounding.number(day.night_h, decimals=1) for day in days), ""],
        ["", *([""] * (len(days) + 1))],
    ]
    loads = sorted(zip(*(day.rows for day in days), strict=True), key=_mean_Ah, reverse=True)
    body += [
        _line(row[0].load, [part.charge_Ah for part in row], budget)
        for row in loads
        if _mean_Ah(row)
    ]
    body.append([""] * (len(days) + 2))
    body += [_line(group, [day.total_Ah(group) for day in days], budget) for group in GROUPS]
    body.append(_line("in all", [day.total_Ah() for day in days], budget))
    wh = [rounding.number(day.total_Wh()) for day in days]
    body.append(["in all, Wh", *wh, ""])
    unused = [row[0].load for row in loads if not _mean_Ah(row)]
    left_out = f"Not used on these days: {', '.join(unused)}." if unused else ""
    return join(table(body, aligns="l" + "r" * (len(days) + 1), header=heads), paragraph(left_out))


def _mean_Ah(row) -> float:
    return sum(part.charge_Ah for part in row) / len(row)


def _line(name, amounts_Ah, budget) -> list[str]:
    """A name, its charge day by day, and the mean of them as energy."""
    mean_Ah = sum(amounts_Ah) / len(amounts_Ah)
    cells = [rounding.number(amount_Ah, decimals=1) for amount_Ah in amounts_Ah]
    return [name, *cells, rounding.number(mean_Ah * budget.nominal_V)]


def _by_state(budget) -> str:
    rows = [
        (
            day.title,
            *(rounding.number(amount_Ah, decimals=1) for amount_Ah in by_group(day).values()),
            rounding.ah(day.total_Ah()),
            rounding.wh(day.total_Wh()),
        )
        for day in budget.states
    ]
    heads = ("state", *GROUPS, "in all", "")
    return table(rows, aligns="l" + "r" * (len(heads) - 1), header=heads)


def _date(day) -> str:
    return when_where.short_date(_utc(day), ship_offset_h=day.ship_offset_h)
