"""The picture of a comparison: over dates as lines, otherwise a row for each choice."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from textwrap import fill
from typing import TYPE_CHECKING

from powersim.records.units_aboard import aboard
from powersim.report import when_where
from powersim.report.compare_names import names_of
from powersim.report.direct_labels import SideLabel, label_beside
from powersim.report.palette import CHARGE, DIESEL, ENGINE, FAILS, GRID, INK, PAPER, SOFT, Thing
from powersim.report.rounding import number, plural, soc
from powersim.report.text import shortened
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from powersim.planning.compare import Outcome
    from powersim.planning.compare_best import Compared
    from powersim.records.arrays import Array

#: Characters of a line of a name beside a picture over dates.
_BESIDE = 20
#: As lines from so many departures up, for no more boats than these; else as rows.
_LEAST_DATES, _MOST_LINES = 3, 6
#: Rows of the picture, at most; compare.csv has all.
MOST_ROWS = 40
_LINE = 36  # characters of a name, of which two lines are told
#: Letters of a head that a panel has room for at its usual size.
_LONGEST_HEAD = 20
_MOST_DATES = 9
_WIDE_IN, _LINES_HIGH_IN, _ROW_IN, _AROUND_IN = 10.0, 6.4, 0.33, 1.9
#: Tells lines of several boats apart, beside their names.
_DASHES: tuple[tuple[float, ...], ...] = (
    (), (5.0, 1.5), (1.5, 1.5), (7.0, 1.5, 1.5, 1.5), (3.0, 3.0), (9.0, 2.0),
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A figure, and what lies about it.

    Attributes
    ----------
    middle, low, high : float
        The mean, and what 8 in 10 of the passages lie between; of days the median. A chance, and
        its interval.
    """

    middle: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One measure of the picture.

    Attributes
    ----------
    head : str
        Its name, with its unit.
    thing : Thing
        Whose colour it has.
    spreads : tuple of Spread or None
        One a choice; None where she has nothing of it.
    limit : float or None
        Drawn as a line.
    """

    head: str
    thing: Thing
    spreads: tuple[Spread | None, ...]
    limit: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CompareFigure:
    """The numbers of the picture.

    Attributes
    ----------
    title : str
        What passage, and how many choices hold.
    panels : tuple of Panel
        The chance of failing first.
    holds : tuple of bool
        Whether each choice does.
    names : tuple of str
        Of each choice, with its number in the tables.
    lines : dict of str to tuple of int
        The places of each boat's choices in the order of their departures; empty for rows.
    departs_utc : tuple of datetime
        Of each choice.
    """

    title: str
    panels: tuple[Panel, ...]
    holds: tuple[bool, ...]
    names: tuple[str, ...]
    lines: dict[str, tuple[int, ...]]
    departs_utc: tuple[datetime, ...]


def compare_figure(found: Compared) -> CompareFigure:
    """The numbers of the picture.

    Parameters
    ----------
    found : Compared
        All choices, simulated.
    """
    names, study = names_of(found), found.study
    departs = tuple(one.passage.depart_utc for one in found.choices)
    boats: dict[str, list[int]] = {}
    for at, choice in enumerate(found.choices):
        boats.setdefault(names.boat(choice), []).append(at)
    lines = {boat: tuple(sorted(places, key=departs.__getitem__)) for boat, places in boats.items()}
    longest = max(len({departs[at] for at in places}) for places in lines.values())
    by_date = longest >= _LEAST_DATES and len(lines) <= _MOST_LINES
    passages = {choice.passage.name for choice in found.choices}
    alone = f"{passages.pop()}: " if len(passages) == 1 else ""
    holding = len(found.holding)
    hold = "none holds" if not holding else "1 holds" if holding == 1 else f"{holding} hold"
    return CompareFigure(
        title=f"{alone}{plural(len(departs), 'choice')}, {hold} "
        f"({study.members} simulated passages each)",
        panels=tuple(_panels(found)),
        holds=tuple(one.verdict.holds for one in found.outcomes),
        names=tuple(f"{at}  {names.of(one)}" for at, one in enumerate(found.choices, 1)),
        lines=lines if by_date else {},
        departs_utc=departs,
    )


def _panels(found: Compared) -> list[Panel]:
    risk_percent = 100.0 * found.study.risk_frac
    fuel = found.choices[0].passage.boat.fuel_word
    outcomes, volume = found.outcomes, aboard().volume
    panels = [Panel(
        head="fails [%]", thing=FAILS, limit=risk_percent,
        spreads=tuple(
            Spread(middle=100.0 * frac, low=100.0 * low, high=100.0 * high)
            for frac, low, high in (one.verdict.fails for one in outcomes)
        ),
    )]  # fmt: skip
    for head, thing, values, times in (
        (f"{fuel} burnt [{volume.symbol}]", DIESEL, _measured("burnt"), 1.0 / volume.size),
        ("runs a week", ENGINE, _measured("runs"), 1.0),
        ("lowest charge [%]", CHARGE, _measured("lowest"), 100.0),
        ("charging lost [days]", CHARGE, _lasts, 1.0),
    ):
        spreads = tuple(_spread(values(one), times=times) for one in outcomes)
        if any(spreads):
            panels.append(Panel(head=head, thing=thing, spreads=spreads))
    return panels


def _measured(name: str) -> Callable[[Outcome], Array | None]:
    return lambda outcome: outcome.measured.get(name)


def _lasts(outcome: Outcome) -> Array:
    return outcome.lost.flat_days


def _spread(values: Array | None, *, times: float) -> Spread | None:
    if values is None:
        return None
    low, median, high = (times * float(one) for one in quantiles(values))
    mean = times * float(values.mean())
    return Spread(middle=mean if math.isfinite(mean) else median, low=low, high=high)


def plot_compare(found: Compared) -> Axes:
    """Draw it.

    Parameters
    ----------
    found : Compared
        All choices, simulated.

    Returns
    -------
    matplotlib.axes.Axes
        The first panel; its figure has the others.
    """
    numbers = compare_figure(found)
    return _draw_lines(numbers) if numbers.lines else _draw_rows(numbers)


def _figure(high_in: float) -> Figure:
    from matplotlib.figure import Figure

    return Figure(figsize=(_WIDE_IN, high_in))


def _draw_lines(numbers: CompareFigure) -> Axes:
    """The chance and the litres, or else the lowest charge, over the departures."""
    figure = _figure(_LINES_HIGH_IN)
    chance, other = numbers.panels[:2]
    axes = figure.subplots(2, 1, sharex=True)
    figure.subplots_adjust(left=0.075, right=0.8, top=0.92, bottom=0.13, hspace=0.28)
    for ax, panel, about in (
        (axes[0], chance, "with ever more passages, 19 times in 20 within the band"),
        (axes[1], other, "mean; 8 in 10 of the passages within the band"),
    ):
        _draw_over_dates(ax, panel, numbers)
        ax.set_title(f"{panel.head}: {about}", loc="left", fontsize=9.5, color=SOFT.light)
    figure.suptitle(
        shortened(numbers.title, 100), x=0.075, ha="left", fontsize=12.0, parse_math=False
    )
    _departures_along(axes[1], sorted(set(numbers.departs_utc)))
    _say_what_signs_mean(figure, numbers)
    return axes[0]


def _draw_over_dates(ax: Axes, panel: Panel, numbers: CompareFigure) -> None:
    from matplotlib.dates import date2num

    thing = panel.thing
    labels: list[SideLabel] = []
    for (boat, places), dashes in zip(numbers.lines.items(), _DASHES, strict=False):
        told = [
            (numbers.departs_utc[at], spread, at) for at in places if (spread := panel.spreads[at])
        ]
        if not told:
            continue
        dates = [float(date2num(when)) for when, _, _ in told]
        alpha = 0.25 if len(numbers.lines) == 1 else 0.12
        ax.fill_between(
            dates, [one.low for _, one, _ in told], [one.high for _, one, _ in told],
            color=thing.mark, alpha=alpha, linewidth=0,
        )  # fmt: skip
        (line,) = ax.plot(
            dates, [one.middle for _, one, _ in told], color=thing.mark, linewidth=1.6
        )
        if dashes:
            line.set_dashes(dashes)
        for when, (_, one, at) in zip(dates, told, strict=True):
            _dot(ax, when, one.middle, thing, holds=numbers.holds[at])
        last = told[-1][1].middle
        name = shortened(boat or panel.head.split(" [")[0], 2 * _BESIDE)
        labels.append(
            SideLabel(y=last, words=fill(name, _BESIDE), color=thing.word, bold=not labels)
        )
    if panel.limit is not None:
        ax.axhline(panel.limit, color=thing.mark, linewidth=1.2, dashes=thing.dashes)
        labels.append(
            SideLabel(y=panel.limit, words=f"your risk, {number(panel.limit)} %", color=thing.word)
        )
    ax.set_ylim(bottom=0.0)
    ax.yaxis.set_major_formatter("{x:g}")
    ax.grid(color=GRID.light, linewidth=0.6)
    ax.set_axisbelow(True)
    label_beside(ax, labels)


def _departures_along(ax: Axes, dates: Sequence[datetime]) -> None:
    """Departures by their dates, as many as have room beside each other."""
    from matplotlib.dates import date2num

    room = (dates[-1] - dates[0]) / _MOST_DATES
    shown = [dates[0]]
    for when in dates[1:]:
        if when - shown[-1] >= room:
            shown.append(when)
    years = len({when.year for when in dates}) > 1
    ax.set_xticks(
        [float(date2num(when)) for when in shown],
        [f"{when_where.short_date(when)}{f' {when.year}' if years else ''}" for when in shown],
    )
    ax.set_xlabel("leaves (date in UTC)" if years else f"leaves ({dates[0].year}, date in UTC)")


def _draw_rows(numbers: CompareFigure) -> Axes:
    """A row for each choice, with a panel for each measure."""
    count = min(len(numbers.names), MOST_ROWS)
    high_in = _AROUND_IN + _ROW_IN * count
    figure = _figure(high_in)
    names = [fill(shortened(name, 2 * _LINE), _LINE) for name in numbers.names[:count]]
    longest = max(len(line) for name in names for line in name.splitlines())
    left = 0.03 + 0.0078 * longest
    axes = figure.subplots(1, len(numbers.panels), sharey=True, squeeze=False)[0]
    figure.subplots_adjust(
        left=left, right=0.985, top=1.0 - 0.85 / high_in, bottom=0.85 / high_in, wspace=0.14
    )
    for ax, panel in zip(axes, numbers.panels, strict=True):
        _draw_panel(ax, panel, numbers, count)
    axes[0].set_yticks(range(count), names, parse_math=False)
    axes[0].set_ylim(count - 0.5, -0.5)
    more = len(numbers.names) - count
    title = f"{numbers.title}{f'; {more} more in compare.csv' if more else ''}"
    figure.suptitle(shortened(title, 100), x=0.02, y=1.0 - 0.15 / high_in, ha="left", va="top",
                    fontsize=12.0, parse_math=False)  # fmt: skip
    figure.text(
        0.98, 0.16 / high_in,
        "lines: 8 in 10 of the passages; of the chance, 19 times in 20 with ever more passages",
        fontsize=9.0, color=SOFT.light, ha="right",
    )  # fmt: skip
    _say_what_signs_mean(figure, numbers, y=0.16 / high_in)
    return axes[0]


def _draw_panel(ax: Axes, panel: Panel, numbers: CompareFigure, count: int) -> None:
    thing, spreads = panel.thing, panel.spreads[:count]
    known = [
        one for spread in spreads if spread for one in (spread.low, spread.middle, spread.high)
    ]
    finite = [one for one in [*known, panel.limit or 0.0] if math.isfinite(one)]
    top = 1.08 * max(finite, default=1.0) or 1.0
    for at, spread in enumerate(spreads):
        if spread is None:
            continue
        low, middle, high = (min(one, top) for one in (spread.low, spread.middle, spread.high))
        ax.plot([low, high], [at, at], color=thing.mark, linewidth=2.2, alpha=0.55,
                solid_capstyle="butt")  # fmt: skip
        _dot(ax, middle, at, thing, holds=numbers.holds[at])
        if not math.isfinite(spread.high):
            ax.annotate("landfall", (top, at), xytext=(-2, 4), textcoords="offset points",
                        ha="right", fontsize=7.5, color=thing.word)  # fmt: skip
    if panel.limit is not None:
        ax.axvline(panel.limit, color=thing.mark, linewidth=1.2, dashes=thing.dashes)
        ax.annotate(f"risk {soc(panel.limit / 100.0)}", (panel.limit, 1.0), xytext=(0, 2),
                    xycoords=("data", "axes fraction"), textcoords="offset points",
                    ha="center", fontsize=8.0, color=thing.word, annotation_clip=False)  # fmt: skip
    ax.set_xlim(0.0, top)
    points = 9.5 if len(panel.head) <= _LONGEST_HEAD else 8.5
    ax.set_title(panel.head, fontsize=points, color=thing.word, loc="left", pad=14.0)
    ax.grid(axis="x", color=GRID.light, linewidth=0.6)
    ax.set_axisbelow(True)
    ax.tick_params(axis="y", length=0, pad=9.0)


def _dot(ax: Axes, x: float, y: float, thing: Thing, *, holds: bool) -> None:
    """Filled where the choice holds; hollow, and larger, where it fails."""
    ax.plot(
        [x], [y], marker="o", markersize=6.0 if holds else 7.0, linestyle="none",
        markerfacecolor=thing.mark if holds else PAPER.light,
        markeredgecolor=thing.mark, markeredgewidth=1.6, zorder=3, clip_on=False,
    )  # fmt: skip


def _say_what_signs_mean(figure: Figure, numbers: CompareFigure, *, y: float = 0.02) -> None:
    words = "filled: holds; hollow: FAILS"
    if all(numbers.holds) or not any(numbers.holds):
        words = "every choice holds" if numbers.holds[0] else "every choice FAILS (hollow)"
    figure.text(0.02, y, words, fontsize=9.0, color=INK.light, ha="left")
