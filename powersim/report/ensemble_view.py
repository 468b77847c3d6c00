"""How a passage went in many members: bands of charge, engine and fuel, and the risk by day."""

from __future__ import annotations

from powersim.report.kinds import (
    AH,
    BAND_HEADS,
    CHANCE,
    COUNT,
    DAYS,
    HOURS,
    LITRES,
    SHARE,
    TENTHS,
    say,
)
from powersim.report.view import Column, Paragraph, Section, Table

#: Columns of the table of risk by day, the last being landfall.
_MOST_DAYS = 8
#: The mean stands beside the median: calms in one passage of ten move it alone.
_HEADS = (*BAND_HEADS[:2], "mean", BAND_HEADS[2])
#: What is written as nothing: less than half of the last digit.
_LEAST = 0.05
_QUANTILES = ("p10", "p50", "mean", "p90")
#: Days between its columns: the least that fits.
_STRIDES_DAYS = (1, 2, 5, 10, 20, 50, 100)


def ensemble_sections(summary: dict) -> tuple[Section, ...]:
    """Bands, the risk by day, and how sure the verdict is."""
    return _bands(summary), _risk(summary), Paragraph(_how_sure(summary["verdict"]["fails"]))


def _bands(summary) -> Table:
    """One line for each amount that is not nothing in all passages."""
    told, fuel = summary["ensemble"], summary["average"]["fuel"]["kind"]
    kinds = [
        ("engine, charging", "charging_h", HOURS),
        ("engine, motoring", "motoring_h", HOURS),
        (f"{fuel}, charging runs", "charging_L", LITRES),
        (f"{fuel}, motoring", "motoring_L", LITRES),
        (f"{fuel}, alternator while motoring", "alternator_motoring_L", LITRES),
        (f"{fuel or 'fuel'}, heater", "heater_L", LITRES),
        (f"{fuel} missing", "fuel_short_L", LITRES),
    ]
    if summary["average"]["fuel"]["aboard_L"]:
        kinds.append((f"{fuel} left at landfall", "fuel_left_L", LITRES))
    kinds.append(("longest time between full charges", "longest_gap_between_full_days", DAYS))
    kinds.append(("loads went without", "unserved_Ah", AH))
    if "lain_to_days" in told:
        kinds += [
            ("lain to", "lain_to_days", DAYS),
            ("charging that waited for the sea", "waited_h", HOURS),
            ("how often a run waited", "runs_waited", TENTHS),
        ]
    lowest = ("lowest charge", "lowest_soc", SHARE)
    kinds = [lowest, *(one for one in kinds if _any_of(told[one[1]]))]
    return Table(
        caption="What the passages come to",
        columns=(
            Column(f"{summary['verdict']['members']} simulated passages", words=True),
            *map(Column, _HEADS),
        ),
        rows=tuple(
            (name, *(kind(told[key][p], f"ensemble.{key}.{p}") for p in _QUANTILES))
            for name, key, kind in kinds
        ),
    )


def _any_of(told) -> bool:
    """Whether there is enough of it to be told: more than nothing as it is written."""
    return any(told[name] is None or abs(told[name]) >= _LEAST for name in _QUANTILES)


def _risk(summary) -> Table:
    """Share of the passages that have met with something by some days."""
    by_day = summary["ensemble"]["by_day"]
    places = told_places(by_day)
    kinds = [("below the floor", "floor_frac"), ("gone flat", "flat_frac")]
    if summary["average"]["fuel"]["aboard_L"]:
        kinds.append((f"{summary['average']['fuel']['kind']} below its reserve", "reserve_frac"))
    kinds.append(("any of them", "fails_frac"))
    days = [str(COUNT(by_day[place]["days"])) for place in places[:-1]]
    return Table(
        caption="Share of the passages that have met with it by then",
        columns=(Column("by day", words=True), *map(Column, days), Column("landfall")),
        rows=tuple(
            (
                name,
                *(CHANCE(by_day[place][key], f"ensemble.by_day.{place}.{key}") for place in places),
            )
            for name, key in kinds
        ),
    )


def told_places(by_day: list[dict]) -> list[int]:
    """Places in `by_day` of every so many days, and of landfall."""
    landfall_days = by_day[-1]["days"]
    fitting = [stride for stride in _STRIDES_DAYS if landfall_days <= stride * (_MOST_DAYS - 1)]
    # A passage of years is told by its end alone.
    stride = fitting[0] if fitting else len(by_day)
    last = len(by_day) - 1
    return [*range(stride - 1, last, stride), last]


def _how_sure(fails):
    """What the number of passages leaves open."""
    least, most = (
        CHANCE(fails[key], f"verdict.fails.{key}") for key in ("least_frac", "most_frac")
    )
    share = say("between {} and {}", least, most) if str(least) != str(most) else least
    return say("With ever more passages, {} would fail (19 times in 20).", share)
