"""What to expect week by week: one table, of which each form shows the columns it has room for."""

from __future__ import annotations

from collections.abc import Sequence

from powersim.records import OTHER_SOURCES
from powersim.report.kinds import (
    AH,
    AH_A_DAY,
    CELSIUS,
    HOURS,
    KNOTS,
    LATITUDE,
    MINUTES,
    SHARE,
    SHORT_DATE,
    TENTHS,
    VOLTS,
    Words,
    joined,
    say,
)
from powersim.report.view import Column, Table
from powersim.report.week_runs import week_runs_short
from powersim.report.weeks import Week

_AH = "Ah a day"
_DAWN = "before dawn"
#: What loads go without on average over many passages, a day, that is not worth a column. [Ah]
_LITTLE_Ah = 0.5
#: Columns by what a week has on average: how each is headed, and its kind.
_MEANS = {
    "dawn_soc": (Column("charge", over=_DAWN), SHARE),
    "dawn_V": (Column("volts", over=_DAWN), VOLTS),
    "charging_min_per_day": (Column("engine", over="a day"), MINUTES),
    "light_kWh_m2": (Column("light", over="kWh/m² a day"), TENTHS),
    "clear_frac": (Column("of a clear sky's"), SHARE),
    "night_h": (Column("night"), HOURS),
    "air_C": (Column("air"), CELSIUS),
    "wind_kn": (Column("wind"), KNOTS),
}


def weeks_table(
    weeks: Sequence[Week], names: Sequence[str], *, caption: str, one_place: bool = False
) -> Table:
    """The weeks, in columns after date and latitude; `one_place`: only where each begins.

    Names of columns are keys of `_MEANS`, "runs" for how often and how long the engine charges,
    "lowest", "low" for what 1 in 10 simulated passages fall below, or what flows, joined by "+":
    "solar", "wind+water".
    """
    columns = [Column("from", words=True), Column("at" if one_place else "latitude", words=True)]
    return Table(
        caption=caption,
        columns=(*columns, *(_column(name) for name in names)),
        rows=tuple(
            (
                SHORT_DATE(week.start),
                _latitudes(week, one_place=one_place),
                *(_cell(week, name) for name in names),
            )
            for week in weeks
        ),
    )


def _column(name: str) -> Column:
    if name in _MEANS:
        return _MEANS[name][0]
    if name == "runs":
        return Column("engine\nruns")
    if name in ("lowest", "low"):
        return Column("lowest" if name == "lowest" else "1 in 10\nbelow")
    if "+" in name:
        return Column("other", over=_AH)
    return Column("without" if name == "unserved" else name, over=_AH)


def _cell(week: Week, name: str):
    part = "" if week.place is None else f"{week.of}.{week.place}."
    band = ".p50" if week.of.startswith("ensemble") else ""  # whose charges may all be unknown
    if name == "runs":
        return week_runs_short(week.runs, week.charging_h)
    if name == "lowest":
        return SHARE(week.lowest_soc, part and f"{part}lowest_soc{band}")
    if name == "low":
        return SHARE(week.low_soc, part and f"{part}lowest_soc.p10")
    if name in _MEANS:
        # Of these the summary's part has what it has a day.
        key = f"{part}{name}" if part and name.endswith("_per_day") else ""
        return _MEANS[name][1](week.means[name], key)
    amounts = [f"{flow}_Ah_per_day" for flow in name.split("+")]
    key = f"{part}{amounts[0]}" if part and len(amounts) == 1 else ""
    return AH_A_DAY(sum(week.means[amount] for amount in amounts), key)


def _latitudes(week: Week, *, one_place: bool) -> Words:
    first, last = map(LATITUDE, week.lats_deg)
    if one_place or str(first) == str(last):
        return say("{}", first)
    return say("{} to {}", first, last)


def flows(
    weeks: Sequence[Week], *, engine: bool, most_others: int = len(OTHER_SOURCES)
) -> list[str]:
    """What flows in and out of the bank, by names of columns.

    `most_others` sources besides sun and engine have a column of their own; more are one column.
    Where loads went without, that takes the room of one; in many passages a little of it, in one of
    them, does not.
    """
    least_Ah = 0.0 if weeks[0].low_soc is None else _LITTLE_Ah
    without = any(week.means["unserved_Ah_per_day"] > least_Ah for week in weeks)
    others = others_of(weeks[0].means)
    if len(others) > most_others - without:
        others = ("+".join(others),)
    turned = ["alternator"] if engine else []
    return ["solar", *others, *turned, "loads", "surplus", *(["unserved"] if without else [])]


def others_of(told: dict) -> tuple[str, ...]:
    """Which other chargers a boat has, by what a part of her passage tells."""
    return tuple(source for source in OTHER_SOURCES if f"{source}_Ah_per_day" in told)


def worst_week(week: Week) -> Words:
    """What the hungriest week wants and gets."""
    means = week.means
    wanted_Ah = means["loads_Ah_per_day"] + means["unserved_Ah_per_day"]
    gives = [say("sun gives {}", AH(means["solar_Ah_per_day"]))]
    gives += [say("{} {}", one, AH(means[f"{one}_Ah_per_day"])) for one in others_of(means)]
    return say(
        "Worst week: from {}, {}; loads want {} a day, {}.",
        SHORT_DATE(week.start),
        _latitudes(week, one_place=False),
        AH(wanted_Ah),
        joined(gives, ", "),
    )
