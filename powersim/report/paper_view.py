"""The table to charge by without a computer: how it is read, and how good it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.planning.paper_days import BY_EYE_FRAC
from powersim.planning.paper_table import KINDS
from powersim.records.care import care_in_short
from powersim.records.clock import clock
from powersim.report.changed_told import changed_dicts
from powersim.report.kinds import (
    AMPS,
    BY_WATCH,
    CHANCE,
    COUNT,
    HOURS,
    LITRES,
    SHARE,
    TENTHS,
    VOLTS,
    Text,
    of_passages,
    say,
)
from powersim.report.names import headed
from powersim.report.plain import plain
from powersim.report.rule_lines import LEVEL
from powersim.report.view import Bullets, Column, KeyValues, Paragraph, Section, Table, Title
from powersim.simulation.usual_load import usual_load_A

if TYPE_CHECKING:
    from powersim.planning.paper import PaperWay

NO_RUN, AT_ONCE = "no run", "run now"
#: How kinds of day are told apart by eye, the brightest first.
BY_EYE = ("shadows are sharp", "sun through cloud, or now and then", "no shadow")


def paper_sections(way: PaperWay, *, searched_in: int) -> list[Section]:
    """The table with how it is read, beside the boat's own rule.

    Parameters
    ----------
    way : PaperWay
        As it was found.
    searched_in : int
        Members of the search.

    Returns
    -------
    list of Section
        Without the table where it fails too often: nobody is to go by it.
    """
    where, members = way.passage.waypoints, way.verdict.members
    named = headed(way.passage.name, where[0].name, where[-1].name)
    head = say(
        "{}. Charging without a computer, by a table: searched in {} simulated passages and "
        "checked in {} others.",
        *(named, COUNT(searched_in), COUNT(members)),
    )
    verdict = KeyValues((_verdict(way),))
    beside: list[Section] = [Title("Beside the boat's own rule"), beside_table(way)]
    if not way.verdict.holds:
        return [Paragraph(head), verdict, Paragraph(_not_offered(way)), *beside]
    return [
        Paragraph(head),
        verdict,
        Title("How long to run today"),
        runs_table(way),
        Bullets(how_to_read(way)),
        *beside,
        Paragraph(
            say(
                "The meter errs as yours does, and the day is told by eye: two times in three "
                "right to {} of a clear sky's light. {}",
                *(SHARE(BY_EYE_FRAC), care_in_short(way.passage.boat)),
            )
        ),
    ]


def _verdict(way) -> tuple[str, Text]:
    fails = of_passages(way.verdict.members, way.verdict.fails.frac, "fails", "fail")
    risk = say("{} by the table. Your risk is {}.", fails, CHANCE(way.limits.risk_frac))
    return ("HOLDS" if way.verdict.holds else "FAILS", risk)


def _not_offered(way) -> str:
    own = way.own_verdict.holds
    other = "keep to the boat's own rule" if own else "'powersim plan' says what would help"
    return (
        "No table is offered: the best fails more often than you allow. A reading at dawn and a "
        f"look at the sky are too little for this boat; {other}."
    )


def runs_table(way: PaperWay) -> Table:
    """Hours to run, by what is read and by the kind of day."""
    table, by_volts = way.table, way.table.levels_V is not None
    levels = list(map(VOLTS, table.levels_V)) if table.levels_V else map(LEVEL, table.levels_soc)
    heads = [say("{} or more", one) if not place else one for place, one in enumerate(levels)]
    rows: list[tuple[Text, ...]] = [
        (head, *(BY_WATCH(one) if one else NO_RUN for one in runs))
        for head, runs in zip(heads, table.runs_h, strict=True)
    ]
    rows.append(("less", *(AT_ONCE,) * len(KINDS)))
    meter = "volts" if by_volts else "counter"
    return Table(
        columns=(Column(f"{meter}\nat {clock(table.read_at_h)}", words=True), *map(Column, KINDS)),
        rows=tuple(rows),
        caption="How long to run today",
    )


def how_to_read(way: PaperWay) -> tuple[Text, ...]:
    """What a tired person needs beside the table."""
    boat, table = way.passage.boat, way.table
    read: Text = "Read the counter"
    if table.levels_V is not None:
        read = say(
            "Read the voltmeter with nothing charging for two hours and the usual {} on",
            AMPS(usual_load_A(way.prepared)),
        )
    kinds = "; ".join(f"{kind}: {sign}" for kind, sign in zip(KINDS, BY_EYE, strict=True))
    lines: list[Text] = [
        say("{} at {}. Between two rows take the lower one.", read, clock(table.read_at_h)),
        f"{kinds}. If unsure, take the greyer column.",
        f"Run once a day, from {clock(table.begin_h)} on, for the whole time.",
        f"{AT_ONCE}: at once, at any hour, for as long as it takes ({_hours(table.longest_h)} were "
        "simulated), and switch off what you can do without.",
    ]
    alternator = boat.driven_alternator
    if alternator is not None and alternator.motoring_A >= alternator.charging_A:
        lines.append("Not simulated: an hour in gear on that day may count as an hour run.")
    if boat.charging.full_every_days is not None:
        lines.append(
            say(
                "Not simulated: every {} days run until the bank is full, whatever is read.",
                COUNT(boat.charging.full_every_days),
            )
        )
    lines.append(
        "If the engine does not start: give up comfort loads today and the useful ones tonight; "
        "never lights, lookout or VHF. The card's ladder, or 'powersim ladder', has the order."
    )
    return tuple(lines)


def _hours(run_h: float) -> str:
    return str(BY_WATCH(run_h))


def beside_table(way: PaperWay) -> Table:
    """What the table and the boat's own rule come to in the same passages."""
    fuel, days = way.passage.boat.fuel_word, way.passage_days
    rows = tuple(
        (
            name,
            CHANCE(verdict.fails.frac),
            LITRES(float(one.charging_L.mean())),
            HOURS(float(one.charging_h.mean())),
            TENTHS(7.0 * float(one.charging_runs.mean()) / days),
        )
        for name, one, verdict in (
            ("the table", way.judged, way.verdict),
            ("own rule", way.own, way.own_verdict),
        )
    )
    return Table(
        columns=(
            Column("", words=True),
            *(Column(head) for head in ("fail", f"{fuel}\nfor charging", "engine", "runs\na week")),
        ),
        rows=rows,
    )


def paper_dict(way: PaperWay) -> dict:
    """The same for a program.

    Parameters
    ----------
    way : PaperWay
        As it was found.

    Returns
    -------
    dict
        Strict JSON; the table is there too where it fails, and says so.
    """
    return {
        "passage": way.passage.name,
        "changed": changed_dicts(way.passage),
        "holds": way.verdict.holds,
        "risk_frac": way.limits.risk_frac,
        "judged_in": way.verdict.members,
        "kinds": list(KINDS),
        "table": plain(way.table),
        "by_table": _means(way.judged, way.verdict),
        "own_rule": _means(way.own, way.own_verdict),
    }


def _means(one, verdict) -> dict:
    names = ("charging_L", "charging_h", "charging_runs", "cost_L")
    return {
        "fails": verdict.fails._asdict(),
        **{name: float(getattr(one, name).mean()) for name in names},
    }
