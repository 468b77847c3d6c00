"""What `simulate` prints: the passage for a tired sailor, in under 40 lines of 80 columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.records.units_aboard import aboard
from powersim.report import rounding, when_where
from powersim.report.changed_told import changed_sections
from powersim.report.days_left_text import days_left_told
from powersim.report.devices_view import devices_in_short
from powersim.report.engine_runs import engine_runs, ship_offset_h
from powersim.report.ensemble_view import ensemble_sections
from powersim.report.files import answer
from powersim.report.ledger import ledger_sum
from powersim.report.names import headed
from powersim.report.screen_text import screen_text
from powersim.report.sky_text import sky_lines
from powersim.report.text import join, key_values, paragraph, table
from powersim.report.verdict_figures import average_told, calm_told
from powersim.report.verdict_view import verdict_view
from powersim.report.view import Paragraph, Table
from powersim.report.warnings import long_without_full
from powersim.report.weeks import few, weeks_of
from powersim.report.weeks_view import flows, others_of, weeks_table, worst_week
from powersim.report.what_next import FOLDER

if TYPE_CHECKING:
    from powersim.planning.days_left import DaysLeft
    from powersim.simulation.result import SimulationResult

MOST_LINES = 39  # in average weather alone
MOST_LINES_IN_MEMBERS = 73
#: Loads named, one more place being for the rest; the fewer if warnings need the room.
_MOST_LOADS = (7, 3, 1)
_MOST_RUNS = 4  # charging runs written out
_MOST_PARTS = 5  # lines of the table of weeks
_MOST_OTHERS = 1  # sources with a column of their own in it
_MOST_FLOWS = 4  # columns beside which there is room for where a week ends
CARE = "A forecast is no promise. Standing cautions: 'powersim check'."


def simulated_text(
    result: SimulationResult,
    *,
    brief: bool = False,
    written: str = "",
    folder: str = FOLDER,
    left: DaysLeft | None = None,
) -> str:
    """The passage for a reader.

    Parameters
    ----------
    result : Result
        Of the simulation.
    brief : bool
        The first lines alone.
    folder : str
        The passage's, as it is typed in a command.
    left : DaysLeft, optional
        How long the bank lasts with all charging lost; from departure in average weather if left
        out.
    written : str
        Where the files of results are, in one sentence.

    Returns
    -------
    str
        At most 80 columns wide, and in average weather alone 39 lines long; what then has no place
        is in `summary.json`.
    """
    summary = answer(result)
    weeks = None if result.ensemble is None else result.ensemble.weeks
    bank = None if left is None else days_left_told(result, left.departure, left.worst)
    verdict = verdict_view(summary, folder=folder, weeks=weeks, bank=bank)
    changed = screen_text(changed_sections(result.passage))
    if brief:
        return join(changed, screen_text(verdict.sections))
    last = paragraph(f"{written} {CARE}")
    beside = _in_average if result.ensemble is None else _in_members
    most_lines = MOST_LINES if result.ensemble is None else MOST_LINES_IN_MEMBERS
    for most_loads in _MOST_LOADS:
        blocks = [
            changed,
            _headed(summary, verdict),
            *beside(result, summary, loads=_loads(summary, most=most_loads)),
            _devices(result, summary),
            key_values(sky_lines(summary)),
        ]
        room = most_lines - sum(1 + _lines(block) for block in (*blocks, last) if block)
        # What is warned of is looked for in average weather, and others may be worse.
        head = "" if result.ensemble is None else "Already in average weather:\n"
        warned, all_told = _warned(summary["warnings"], room=room - head.count("\n"))
        if all_told:
            break
    return join(*blocks, head + warned if warned else "", last)


def _in_average(result, summary, *, loads) -> list[str]:
    """Average weather alone, with its runs by the clock."""
    return [_weeks(result), loads, _more(result, summary)]


def _in_members(result, summary, *, loads) -> list[str]:
    """Many passages; of average weather no more than a footnote."""
    return [
        screen_text(ensemble_sections(summary)),
        _weeks(result),
        loads,
        key_values(_chargers(summary, given_Ah=lambda name: summary["ensemble"][name]["mean"])),
        paragraph(str(average_told(summary))),
    ]


def _devices(result, summary) -> str:
    if "devices" not in summary:
        return ""
    nominal_V = result.passage.boat.battery.nominal_V
    return paragraph(str(devices_in_short(summary, nominal_V=nominal_V)))


def _lines(block: str) -> int:
    return block.count("\n") + 1


def _headed(summary, verdict) -> str:
    passage = summary["passage"]
    sailed_nm = passage["distance_nm"]
    head = [
        headed(passage["name"], passage["from"], passage["to"]),
        rounding.days(passage["days"]),
        *([rounding.miles(sailed_nm)] if sailed_nm else []),  # none where she stays
    ]
    return join(paragraph(", ".join(head)), screen_text(verdict.sections))


def _weeks(result) -> str:
    """Charge in and out a day by part of the passage, and which is the worst."""
    weeks = weeks_of(result)
    lines = _weeks_table(
        few(weeks, most=_MOST_PARTS), engine=result.passage.boat.engine is not None
    )
    worst = Paragraph(worst_week(weeks[result.summary["worst_part"]]))
    return f"{screen_text([lines])}\n{screen_text([worst])}"


def _weeks_table(weeks, *, engine: bool) -> Table:
    names = flows(weeks, engine=engine, most_others=_MOST_OTHERS)
    if "unserved" in names:
        names.remove("surplus")  # no room for it, and little of it
    low = "lowest" if weeks[0].low_soc is None else "low"
    return weeks_table(
        weeks,
        [*names, *(["runs"] if engine else []), low],
        caption="Week by week",
        one_place=len(names) > _MOST_FLOWS,
    )


def _loads(summary, *, most: int) -> str:
    """The largest loads in two columns, the small ones summed."""
    loads = [load for load in summary["loads"] if load["Ah_per_day"] > 0]
    named, rest = loads[:most], loads[most:]
    if len(rest) == 1:  # its line is taken in any case
        named, rest = loads, []
    entries = [(load["load"], load["Ah_per_day"], load["Wh_per_day"]) for load in named]
    if rest:
        sums = (sum(load[key] for load in rest) for key in ("Ah_per_day", "Wh_per_day"))
        entries.append((f"{len(rest)} smaller ones", *sums))
    total_Ah = sum(load["Ah_per_day"] for load in loads)
    total_Wh = sum(load["Wh_per_day"] for load in loads)
    head = f"Loads take {rounding.ah(total_Ah)} ({rounding.wh(total_Wh)}) a day on average:"
    cells = [(name, rounding.ah(ah), rounding.wh(wh)) for name, ah, wh in entries]
    if not cells:
        return "Loads take nothing."
    return f"{head}\n{_in_two_columns(cells)}"


def _more(result, summary) -> str:
    charge, engine, fuel = (
        summary["average"]["charge"],
        summary["average"]["engine"],
        summary["average"]["fuel"],
    )
    lines = [("wear", _wear(charge, gap_told=long_without_full(result)))]
    lines += _chargers(summary, given_Ah=summary["totals"].get)
    if engine["motoring_h"]:
        litres = rounding.litres(fuel["motoring_L"] + fuel["alternator_motoring_L"])
        motored = f"{rounding.hours(engine['motoring_h'])}, {litres}{calm_told(summary)}"
        lines.append(("motoring", motored))
    if fuel["aboard_L"]:
        lines.append((f"{fuel['kind']}, {aboard().volume.symbol}", str(ledger_sum(summary))))
    charging = result.engine[result.engine["kind"] == "charging"]
    runs = f"{_runs(charging)}\n" if len(charging) else ""
    return runs + key_values(lines)


def _chargers(summary, *, given_Ah) -> list[tuple[str, str]]:
    """What other chargers give, each by itself; `given_Ah` by the name of the ledger."""
    days = summary["passage"]["days"]
    given = [
        f"{one} {rounding.ah(given_Ah(f'{one}_Ah') / days)}"
        for one in others_of(summary["parts"][0])
    ]
    return [("chargers", f"{', '.join(given)} a day on average")] if given else []


def _wear(charge, *, gap_told: bool) -> str:
    """How much of the bank's cycle life goes, to a tenth of a per cent, and how often it is full.

    The latter only where no warning tells it.
    """
    percent = 100.0 * charge["cycle_life_used_frac"]
    little = 0 < percent < 0.05
    used = "less than 0.1" if little else rounding.number(percent, decimals=1)
    deepest = rounding.soc(charge["deepest_cycle_frac"])
    text = f"{used} % of cycle life, deepest cycle {deepest} of the label"
    gap = rounding.days(charge["longest_gap_between_full_days"])
    return text if gap_told else f"{text}; {gap} at most between full charges"


def _runs(charging) -> str:
    """The first charging runs in two columns, and how many more there are."""
    cells = [
        (
            when_where.ship_time(run.start_utc, ship_offset_h=ship_offset_h(run)),
            rounding.hours_minutes(run.run_h),
            rounding.litres(run.fuel_L),
        )
        for run in engine_runs(charging.iloc[:_MOST_RUNS])
    ]
    more = len(charging) - len(cells)
    first = f", the first {len(cells)} of them here" if more else ""
    head = f"{rounding.plural(len(charging), 'charging run')}{first} (all: engine.csv):"
    return f"{head}\n{_in_two_columns(cells)}"


def _in_two_columns(cells) -> str:
    half = -(-len(cells) // 2)
    cells = [*cells, *[("", "", "")] * (2 * half - len(cells))]
    rows = [left + right for left, right in zip(cells[:half], cells[half:], strict=True)]
    return table(rows, aligns="lrrlrr")


def _warned(warnings, *, room: int) -> tuple[str, bool]:
    """As many warnings as there is room for, the gravest first, and whether these are all.

    What to do about the gravest is the last to go, after all the others.
    """
    whole = [paragraph(f"{w['text']}; {w['advice']}", bullet="! ") for w in warnings]
    if sum(map(_lines, whole)) <= room:
        return "\n".join(whole), True
    short = [paragraph(w["text"], bullet="! ") for w in warnings]
    count = len(warnings)
    kept = [
        (told, with_advice) for told in range(count, 0, -1) for with_advice in range(told, 0, -1)
    ]
    for told, with_advice in [*kept, *((told, 0) for told in range(count, 0, -1)), (0, 0)]:
        blocks = [*whole[:with_advice], *short[with_advice:told]]
        if sum(map(_lines, blocks)) + 1 <= room:
            break
    left = count - told
    kind = "more warning" if told else "warning"
    rest = "What to do about the rest is" if with_advice else "What to do is"
    more = f"{rounding.plural(left, kind)}, and what to do," if left else rest
    return "\n".join([*blocks, f"! {more} in summary.json"]), False
