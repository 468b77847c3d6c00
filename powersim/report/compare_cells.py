"""The cells of a comparison's tables: what each choice comes to, and how it differs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.records.units_aboard import aboard
from powersim.report import rounding
from powersim.report.kinds import LASTS
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.planning.compare import Outcome
    from powersim.planning.compare_best import Compared
    from powersim.records.arrays import Array
    from powersim.simulation.differences import Difference

#: What a sailor must allow for: the share of the passages that lies below. [-]
TAIL_FRAC = 0.1
#: By the id of a measure: its head, and what a difference is multiplied by.
DIFFERENCES = {
    "fails": ("fails\n[points]", 100.0),
    "lowest": ("lowest\n[points]", 100.0),
    "runs": ("runs\na week", 1.0),
    "burnt": ("{fuel}\nburnt [{litres}]", 1.0),
}
_LASTS_HEAD = "lasts\n[days]"


def cells_of(found: Compared) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Heads, and for each choice what it comes to.

    Parameters
    ----------
    found : Compared
        All choices, simulated.
    """
    engine = any("burnt" in one.measured for one in found.outcomes)
    fuel = found.choices[0].passage.boat.fuel_word
    heads = ["", "fails", "lowest\ncharge"]
    heads += ["runs\na week", f"{fuel}\nburnt"] if engine else []
    heads.append("lasts,\ncharging\nlost")
    return tuple(heads), [_row(one, engine=engine) for one in found.outcomes]


def _row(outcome: Outcome, *, engine: bool) -> tuple[str, ...]:
    measured, verdict = outcome.measured, outcome.verdict
    word = "holds" if verdict.holds else "FAILS"
    cells = [
        word if verdict.sure else f"{word}?",
        rounding.tenths_of_percent(verdict.fails.frac),
        rounding.soc(tail(measured["lowest"])),
    ]
    if engine:
        runs, burnt = measured.get("runs"), measured.get("burnt")
        cells.append(rounding.UNKNOWN if runs is None else _mean(runs, decimals=1))
        cells.append(rounding.UNKNOWN if burnt is None else rounding.litres(float(burnt.mean())))
    # With its unit: some are of hours and some of days, and 27 is easily taken for the other.
    cells.append(LASTS.text(tail(outcome.lost.flat_days)))
    return tuple(cells)


def tail(values: Array) -> float:
    """What 1 in 10 of the passages is below.

    Parameters
    ----------
    values : ndarray, shape (members,)
        May be infinite for never.
    """
    return float(quantiles(values, (TAIL_FRAC,))[0])


def _mean(values: Array, *, decimals: int) -> str:
    return rounding.number(float(values.mean()), decimals=decimals)


def differing_cells(found: Compared) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Heads, and for each choice how it differs from the first.

    Parameters
    ----------
    found : Compared
        All choices, simulated.
    """
    fuel = found.choices[0].passage.boat.fuel_word
    told = [name for name in DIFFERENCES if any(name in one for one in found.differences)]
    heads = [DIFFERENCES[name][0].format(fuel=fuel, litres=aboard().volume.symbol) for name in told]
    rows = [
        (*(_cell(one.get(name), name) for name in told), _cell(lasts, "lasts"))
        for one, lasts in zip(found.differences, found.lasts, strict=True)
    ]
    return (*heads, _LASTS_HEAD), rows


def _cell(difference: Difference | None, name: str) -> str:
    """A difference in one cell; never a nought, nor one that so many passages cannot show.

    A share's interval is not the same on both sides, and stands in brackets.
    """
    if difference is None or not (difference.same or difference.shows):
        return rounding.UNKNOWN
    if difference.same:
        return "same"
    times, last = DIFFERENCES.get(name, ("", 1.0))[1], 1
    if name == "burnt":
        volume = aboard().volume
        times, last = times / volume.size, last + volume.more
    mean, *ends = (times * one for one in (difference.mean, difference.least, difference.most))
    least_told = 10.0**-last
    if round(abs(mean), last) < least_told:
        return f"<{least_told:g}"
    # What shows has an interval that is nearer than the mean is large: so a row fits the page.
    decimals = last if abs(mean) < (100.0 if name == "burnt" else 10.0) else 0
    amount = rounding.signed(mean, decimals=decimals)
    if name != "fails":
        half = max(10.0**-decimals, (ends[1] - ends[0]) / 2.0)
        return f"{amount} ±{rounding.number(half, decimals=decimals)}"
    least, most = (rounding.signed(one, decimals=decimals) for one in ends)
    return f"{amount} ({least} to {most})"
