"""What is left where a load fails, and what a spare gains: two short tables of `endurance`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from powersim.planning.loads_lost import LoadLost, loads_lost
from powersim.planning.spares import Spare, spares_of, tenth_and_half
from powersim.report import rounding
from powersim.report.kinds import DAYS, Kind, Text, say
from powersim.report.ladder_words import beside_the_bank, left_to_be_heard_by
from powersim.report.view import Column, Paragraph, Section, Table, Title
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.planning.dropping import Dropping
    from powersim.planning.endurance_table import DaysFrom, EnduranceTable
    from powersim.records import Passage

#: Less than half an hour is nothing. [days]
_LEAST_DAYS = 0.5 / 24.0
_GAINED = Kind(rounding.days, zero="none", least=_LEAST_DAYS)
#: What there is where no other load of that role is left.
_ELSE = {
    "lookout": "your own eyes, by the clock, and the lights",
    "navigation": "paper chart, a handheld, sun and sextant",
    "pilot": "the vane, or your hands",
}


def losses_sections(passage: Passage, dropping: Dropping, *, end: str) -> Iterator[Section]:
    """What each load takes with it that speaks, navigates, keeps watch or steers.

    Parameters
    ----------
    passage : Passage
        With all of them.
    dropping : Dropping
        What leaving each load off gains.
    end : str
        What comes first where a bank lasts to the end, such as "landfall".
    """
    lost = loads_lost(passage, dropping)
    if not lost:
        return
    yield Title("If a load is lost")
    yield Table(
        caption="What that gains, and what is left",
        columns=(
            Column("lost", words=True),
            Column("days"),
            Column("what is left", words=True),
        ),
        rows=tuple((_named(one), _gains(one, end=end), _left(one)) for one in lost),
    )
    passages = f", by the median of {dropping.passages} passages" if dropping.passages > 1 else ""
    yield Paragraph(
        "Days: how much longer the bank lasts without what is named first, until all is dark, "
        f"all charging lost{passages}."
    )
    yield Paragraph(beside_the_bank(passage))


def _named(one: LoadLost) -> str:
    return ", and with it ".join((one.load.name, *one.also))


def _gains(one: LoadLost, *, end: str) -> Text:
    kind = Kind(rounding.days, zero="unaffected", least=_LEAST_DAYS, never=f"to {end}")
    if one.gain is None:
        return kind(0.0)
    days = one.gain.days_to_flat
    middle = days if isinstance(days, float) else float(quantiles(days, (0.5,))[0])
    text = kind(middle)
    return text if str(text)[:1] in "ut" else say("+ {}", text)


def _left(one: LoadLost) -> Text:
    role = one.load.role or ""
    if role in ("comms", "vhf"):
        return left_to_be_heard_by(one.left)
    return ", ".join(one.same) or _ELSE[role]


def spares_sections(
    found: EnduranceTable, passage: Passage, *, moment_told: Text
) -> Iterator[Section]:
    """What a spare for each failure gains from the worst moment.

    Parameters
    ----------
    found : EnduranceTable
        With both moments.
    passage : Passage
        That it is of.
    moment_told : Text
        The worst moment in words.
    """
    worst = worst_of(found)
    if worst is None:
        return
    spares = spares_of(worst, passage.boat.battery)
    gaining = [spare for spare in spares if _worth(spare)]
    little = [spare.loss for spare in spares if spare not in gaining]
    if not gaining:
        return
    yield Title("What a spare gains")
    yield Paragraph(
        say(
            "Days gained where it is mended at once, counted from the worst moment, {}, to "
            "landfall, {} on, at most; all loads on. The most first.",
            *(moment_told, DAYS(worst.days_to_landfall)),
        )
    )
    yield _table(gaining, many=found.passages > 1)
    if little:
        yield Paragraph(f"No day is gained by mending: {', '.join(little)}.")


def worst_of(found: EnduranceTable) -> DaysFrom | None:
    """The lines from the worst moment; None where that was not asked for.

    Parameters
    ----------
    found : EnduranceTable
        With one moment or both.
    """
    if found.worst is not None:
        return found.counted
    return found.beside


def _worth(spare: Spare) -> bool:
    both = (*tenth_and_half(spare.to_flat_days), *tenth_and_half(spare.to_floor_days))
    return max(both) >= _LEAST_DAYS


def _table(spares: list[Spare], *, many: bool) -> Table:
    heads = ("median", "1 in 10\nabove") if many else ("",)
    overs = ("until all is dark", "to the floor")

    def cells(spare: Spare) -> Iterator[Text]:
        for days in (spare.to_flat_days, spare.to_floor_days):
            most, half = tenth_and_half(days)
            yield _GAINED(half)
            if many:
                yield _GAINED(most)

    return Table(
        caption="Days gained by mending",
        columns=(
            Column("mended", words=True),
            Column("carry", words=True),
            *(Column(head or over, over=over if head else "") for over in overs for head in heads),
        ),
        rows=tuple((spare.loss, spare.carry, *cells(spare)) for spare in spares),
    )


def losses_dicts(passage: Passage, dropping: Dropping | None) -> list[dict[str, object]]:
    """Loads that fail, for a program.

    Parameters
    ----------
    passage : Passage
        With all of them.
    dropping : Dropping or None
        None where it was not asked for.
    """
    from powersim.report.plain import plain

    if dropping is None:
        return []
    return [
        {
            "load": one.load.name,
            "also": list(one.also),
            "days_to_flat": None if one.gain is None else plain(one.gain.days_to_flat),
            "left": str(_left(one)),
        }
        for one in loads_lost(passage, dropping)
    ]


def spares_dicts(found: EnduranceTable, passage: Passage) -> list[dict[str, object]]:
    """What spares gain, for a program.

    Parameters
    ----------
    found : EnduranceTable
        With one moment or both.
    passage : Passage
        That it is of.
    """
    from powersim.report.plain import plain

    worst = worst_of(found)
    return [] if worst is None else [plain(one) for one in spares_of(worst, passage.boat.battery)]
