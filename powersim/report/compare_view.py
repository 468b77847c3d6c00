"""What `compare` says: which choices hold, what cannot be told apart, and a row for each choice."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from powersim.report import rounding
from powersim.report.compare_cells import cells_of, differing_cells
from powersim.report.compare_names import Names, names_of, rows_told
from powersim.report.rounding import plural
from powersim.report.screen_text import screen_text
from powersim.report.size_text import care
from powersim.report.view import Bullets, Column, Paragraph, Section, Table, Title

if TYPE_CHECKING:
    from powersim.planning.compare_best import Compared

#: Rows of each table; compare.csv has all.
MOST_ROWS = 60
#: With more differences than these, one of them is likely to show by chance.
_MANY = 5
#: How many passages settle most doubts.
_MEMBERS = 1000
SEASONS = (
    "Seasons are not in these figures: no hurricane or cyclone, no ice, no gale and no fog. "
    "Leaving later moves landfall too: here it comes {landfalls}. Pilot charts and sailing "
    "directions come first for the weeks, and forecasts for the day; this table tells what bank "
    "and diesel say of what those leave open."
)


def compare_text(found: Compared, *, written: str = "", brief: bool = False) -> str:
    """The answer for a terminal.

    Parameters
    ----------
    found : Compared
        All choices, simulated.
    written : str
        Where the files are.
    brief : bool
        The verdict and what each comes to alone.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    last = [Paragraph(written)] if written and not brief else []
    return screen_text([*compare_sections(found, brief=brief), *last])


def compare_sections(found: Compared, *, brief: bool = False) -> tuple[Section, ...]:
    """The answer for a reader.

    Parameters
    ----------
    found : Compared
        All choices, simulated.
    brief : bool
        The verdict and what each comes to alone.

    Returns
    -------
    tuple of Section
        As they are read.
    """
    names = names_of(found)
    first = (
        Paragraph(_verdict(found)),
        *_unsure(found),
        *_best(found),
        *_seasons(found, names),
        *_cautions(found),
    )
    table = (Title("What each comes to"), _table(found, names))
    if brief:
        return (*first, *table)
    return (
        *first,
        *table,
        *_differences(found, names),
        Bullets(tuple(_notes(found))),
        *([Paragraph(care())] if names.values or names.folders else []),
    )


def _verdict(found: Compared) -> str:
    study, count, holding = found.study, len(found.choices), len(found.holding)
    risk = rounding.soc(study.risk_frac)
    each = f"{plural(count, 'choice')}, {'each ' if count > 1 else ''}in"
    if len({choice.passage.name for choice in found.choices}) > 1:
        # Other routes have other weather, whatever is drawn for it.
        tried = f"{each} {study.members} simulated passages with the same draws."
    else:
        name = found.choices[0].passage.name
        tried = f"{name}: {each} the same {study.members} simulated passages."
    if holding == count:
        every = "It HOLDS" if count == 1 else "Both HOLD" if count == 2 else f"All {count} HOLD"
        return f"{tried} {every}: no more than {risk} of the passages fail."
    if not holding:
        none = "It FAILS" if count == 1 else "NONE HOLDS"
        return (
            f"{tried} {none}: more of the passages fail than your risk of {risk}. Do not leave by "
            "any of these as it is; 'powersim simulate' of one says what to do next."
        )
    hold, fail = ("HOLDS" if holding == 1 else "HOLD"), count - holding
    fails = "FAILS" if fail == 1 else "FAIL"
    rows = rows_told(found.holding)
    return f"{tried} {holding} {hold} ({rows}), {fail} {fails}; your risk is {risk}."


def _unsure(found: Compared) -> Iterator[Paragraph]:
    """Of which rows more passages may say otherwise."""
    outcomes, members = found.outcomes, found.study.members
    unsure = [at for at, one in enumerate(outcomes) if not one.verdict.sure]
    if not unsure:
        return
    more = f"; --members {_MEMBERS} tells more" if members < _MEMBERS else ""
    rows = "every row" if len(unsure) == len(outcomes) > 1 else rows_told(unsure)
    yield Paragraph(
        f"Too close to call with {members} passages, and marked '?': {rows}. With ever more "
        f"passages it may fail where it holds here, or hold where it fails{more}."
    )


def _best(found: Compared) -> Iterator[Paragraph]:
    """Which fails least often, if any can be told from the others."""
    if len(found.choices) < 2:
        return
    members, least = found.study.members, found.least
    count = round(found.outcomes[least[0]].verdict.fails.frac * members)
    if len(least) == len(found.choices):
        yield Paragraph(f"All rows fail equally often, in {count} of {members}.")
        return
    which = rows_told(least)
    does = "fails" if len(least) == 1 else "fail"
    seldom = f"{which[0].upper()}{which[1:]} {does} least often, in {count} of {members}"
    alike = found.not_told_apart
    others = [at for at in alike if at not in least]
    if not others:
        yield Paragraph(f"{seldom}; every other row fails more often, and not by chance.")
        return
    if len(alike) == len(found.choices):
        apart = f"{members} passages cannot tell any other row from that"
    else:
        apart = f"{members} passages cannot tell {rows_told(others)} from that"
    need = "it need" if len(least) == 1 else "they need"
    yield Paragraph(f"{seldom}. But {apart}: {need} not be better. {_choose(found, alike)}")


def _choose(found: Compared, alike: tuple[int, ...]) -> str:
    """What to do with rows that cannot be told apart.

    One that fails is never offered, nor one in which something is off that is needed at sea.
    """
    hold = [at for at in alike if found.outcomes[at].verdict.holds]
    if not hold:
        return "None of them holds."
    fit = [at for at in hold if not found.choices[at].needed_is_off]
    needs = " and leave nothing off that is needed at sea" if len(fit) < len(hold) else ""
    if not fit:
        return "Those of them that hold leave off what is needed at sea."
    if len(fit) == 1:
        return f"Only {rows_told(fit)} of them holds{needs.replace('leave', 'leaves')}."
    whose = f"those that hold{needs}, {rows_told(fit)},"
    return f"Choose among {'them' if len(fit) == len(alike) else whose} by what else counts."


def _seasons(found: Compared, names: Names) -> Iterator[Paragraph]:
    if not names.dates:
        return
    landfalls = [one.landfall_utc for one in found.outcomes]
    first, last = names.date(min(landfalls)), names.date(max(landfalls))
    when = f"on {first}" if first == last else f"between {first} and {last}"
    yield Paragraph(SEASONS.format(landfalls=when))


def _cautions(found: Compared) -> Iterator[Section]:
    """What changes are warned of, each with the rows that have it."""
    rows: dict[str, list[int]] = {}
    for at, choice in enumerate(found.choices):
        for caution in choice.cautions:
            rows.setdefault(caution, []).append(at)
    if rows:
        told = (f"{rows_told(places)}: {caution}" for caution, places in rows.items())
        yield Bullets(tuple(f"{one[0].upper()}{one[1:]}" for one in told))


def _table(found: Compared, names: Names) -> Table:
    columns = [Column("")]
    columns += [Column("choice", words=True)] if names.boat(found.choices[0]) else []
    alone = not (names.folders or names.values)
    dated = names.dates or alone
    columns += [Column("leaves")] if dated else []
    # Beside words about the boat there is no room for it.
    landfall = dated and alone
    columns += [Column("landfall")] if landfall else []
    heads, rows = cells_of(found)
    told = []
    for at, (choice, outcome, cells) in enumerate(
        zip(found.choices, found.outcomes, rows, strict=True), 1
    ):
        label = [str(at), *filter(None, [names.boat(choice)])]
        if dated:
            label.append(names.date(choice.passage.depart_utc))
        if landfall:
            label.append(names.date(outcome.landfall_utc))
        told.append((*label, *cells))
    return Table(columns=(*columns, *map(Column, heads)), rows=tuple(told[:MOST_ROWS]))


def _differences(found: Compared, names: Names) -> Iterator[Section]:
    """How each choice differs from the first."""
    if len(found.choices) < 2:
        return
    heads, rows = differing_cells(found)
    by_date = names.dates and not (names.folders or names.values)
    label = Column("leaves") if by_date else Column("choice", words=True)
    first = names.of(found.choices[0])
    yield Title(f"Against row 1, {first}")
    yield Table(
        columns=(Column(""), label, *map(Column, heads)),
        rows=tuple(
            (str(at), names.of(choice), *cells)
            for at, (choice, cells) in enumerate(zip(found.choices, rows, strict=True), 1)
        )[1:MOST_ROWS],
    )


def _notes(found: Compared) -> Iterator[str]:
    """What to mind with these numbers."""
    study, outcomes = found.study, found.outcomes
    members = study.members
    yield (
        "fails: below the floor, all dark, or into the reserve of fuel; lowest charge, lasts: "
        "1 passage in 10 is below; runs, fuel: means"
    )
    yield (
        "lasts: until everything is dark if all charging is lost at the worst moment, with all "
        "loads on"
    )
    times = {f"{choice.passage.depart_utc:%H:%M}" for choice in found.choices}
    if len(times) == 1 and len({choice.passage.depart_utc for choice in found.choices}) > 1:
        yield f"leaves: on each of these dates at {times.pop()} UTC"
    if len(outcomes) > 1:
        yield (
            "differences are means over pairs of passages with the same draws, more (+) or less "
            "(-); with ever more passages the mean would lie, 19 times in 20, as near as is said "
            f"behind ±, or within the brackets; –: no difference that {members} passages can show; "
            f"same: the same in all {members}"
        )
    if len(outcomes) - 1 > _MANY:
        yield "of so many differences, 1 in 20 shows by chance alone"
    dark = [
        f"{rows_told([at])} in {round(one.verdict.dark.frac * members)}"
        for at, one in enumerate(outcomes)
        if one.verdict.dark.frac
    ]
    if dark:
        yield f"everything goes dark in some of the {members} passages: {', '.join(dark)}"
    cold = [at for at, one in enumerate(outcomes) if one.too_cold_h]
    if cold:
        yield f"the bank is too cold to be charged for some time in {rows_told(cold)}"
    if any(lasts is None for lasts in found.lasts):
        yield (
            "where a bank lasts to landfall in some passages, no difference in days can be worked "
            "out"
        )
    if len({one.name for one in found.choices}) > 1:
        yield (
            "passages of two folders with the same number meet the same draws, along their own "
            "routes"
        )
    yield from _left_out(found)
    if len(outcomes) > MOST_ROWS:
        yield f"{len(outcomes) - MOST_ROWS} more rows are in compare.csv"
    if len(outcomes) > 1:
        yield "the best of many was also lucky: try the choice that you make with another --seed"


def _left_out(found: Compared) -> Iterator[str]:
    """Weather files that some rows were simulated without, so that they cannot be compared."""
    rows: dict[str, list[int]] = {}
    for at, outcome in enumerate(found.outcomes):
        for problem in outcome.left_out:
            rows.setdefault(problem.file, []).append(at)
    for file, places in rows.items():
        some = len(places) < len(found.outcomes)
        apart = ", and are not in the same weather as the others" if some else ""
        yield f"{file} is no use in {rows_told(places)}: in average weather without it{apart}"
