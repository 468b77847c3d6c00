"""The report: one HTML page that needs no network and no script, in the order a sailor asks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from powersim.records import PROTECTED, Caution
from powersim.records.units_aboard import CENTIMETRES, aboard
from powersim.report import kinds
from powersim.report.card_verdict import card_verdict
from powersim.report.changed_told import changed_sections
from powersim.report.ensemble_view import ensemble_sections
from powersim.report.files import answer
from powersim.report.findings import understood
from powersim.report.kinds import LANDFALL
from powersim.report.names import between, entitled, named_by_ends
from powersim.report.page_figures import figures_of
from powersim.report.page_tables import page_tables
from powersim.report.palette import style_sheet
from powersim.report.plain import plain
from powersim.report.quoted import breakable, html_of, quoted
from powersim.report.rule_view import rule_view
from powersim.report.simulated import CARE
from powersim.report.sky_text import sky_lines
from powersim.report.sounding_text import caution, wet_allowed
from powersim.report.verdict_figures import motoring_told
from powersim.report.verdict_view import verdict_view, word_of
from powersim.report.view import Bullets, KeyValues, Section
from powersim.report.weeks import weeks_of
from powersim.report.weeks_view import flows, weeks_table, worst_week
from powersim.report.what_differs import same_apart, what_differs

if TYPE_CHECKING:
    from powersim.report.endurance_view import EnduranceView
    from powersim.simulation.result import SimulationResult

_TEMPLATES = Path(__file__).parent / "templates"
#: What may stand in the one of two sentences that say the same.
_IN_AVERAGE = " in average weather"
_WEATHER = ("light_kWh_m2", "clear_frac", "night_h", "air_C", "wind_kn")


def report_html(
    result: SimulationResult,
    *,
    endurance: EnduranceView,
    cautions: Sequence[Caution],
    standing: Sequence[str],
    version: str,
) -> str:
    """The whole page.

    Parameters
    ----------
    result : Result
        Of the simulation.
    endurance : EnduranceView
        From departure.
    cautions : sequence of Caution
        What is allowed in the files but not wise.
    standing : sequence of str
        What every such boat should know.
    version : str
        Of powersim.

    Returns
    -------
    str
        HTML, the same for the same passage. Whatever stands in the sailor's files is text in it.
    """
    from markupsafe import Markup

    summary, boat, units = answer(result), result.passage.boat, aboard()
    told, weeks = understood(result.passage), weeks_of(result)
    rule, mind = rule_view(result), _said_once([*summary["warnings"], *plain(list(cautions))])
    differing = partial(what_differs, same=LANDFALL, means="the bank lasts to landfall")
    shape = None if boat.fuel is None else boat.fuel.shape
    tables = page_tables(result, summary, order=endurance.order)
    # A little that loads went without each day rounds to nothing, and is not to be told as that.
    whole = {"loads"} if any(load["unserved_Ah_per_day"] for load in summary["loads"]) else set()
    tables |= {
        name: (tables[name],) if name in whole else same_apart(tables[name])
        for name in ("runs", "loads", "waypoints")
    }
    return _environment().get_template("report.html").render(
        colours=Markup(style_sheet()),
        care=CARE.partition(". Standing")[0] + ".",
        summary=summary,
        fuel=summary["average"]["fuel"]["kind"],
        quote=partial(_quote, summary),
        name=entitled(result.passage, summary["passage"]["name"]),
        changed=changed_sections(result.passage),
        verdict=verdict_view(
            summary,
            weeks=None if result.ensemble is None else result.ensemble.weeks,
            bank=endurance.bank,
        ),
        word=word_of(summary["holds"]),
        figures=figures_of(result, summary),
        ends=between(summary["passage"]["from"], summary["passage"]["to"]),
        named_by_ends=named_by_ends(*(summary["passage"][key] for key in ("name", "from", "to"))),
        departure=dict(told)["departure"],
        rule=rule,
        # Nobody is to find a rule that fails in the place of the one to go by.
        instead=card_verdict(result).largest,
        expected=_expected(result, weeks, by_volts=rule.by_volts),
        worst=worst_week(weeks[summary["worst_part"]]),
        weather=weeks_table(weeks, _WEATHER, caption="Average weather, week by week"),
        ensemble=summary.get("ensemble"),
        motoring=motoring_told(summary) or "none" if "ensemble" in summary else "",
        bands=ensemble_sections(summary) if "ensemble" in summary else (),
        mind=mind,
        opening=_without(endurance.opening, mind),
        moments=list(differing(endurance.moments)),
        lasts=list(differing(endurance.lasts)),
        endurance=endurance,
        volume=units.volume.name,
        stick_in="centimetres" if units.depth is CENTIMETRES else units.depth.name,
        strip_wet="" if shape is None else wet_allowed(shape),
        sounding="" if shape is None else caution(shape, boat.fuel_word),
        sky=KeyValues(tuple(sky_lines(summary))),
        protected=PROTECTED,
        standing=standing,
        version=version,
        **tables,
    )  # fmt: skip


def _expected(result, weeks, *, by_volts):
    engine = result.passage.boat.engine is not None
    names = ["dawn_soc", *(["dawn_V"] if by_volts else []), "lowest"]
    names += ["low"] if result.ensemble is not None else []
    names += [*(["runs"] if engine else []), *flows(weeks, engine=engine)]
    return weeks_table(weeks, names, caption="What to expect, week by week")


def _said_once(found: Sequence[dict]) -> list[str]:
    """What is to be minded on this passage, as sentences; what the files and the simulation both
    tell is told once, by the first of them."""
    sentences: dict[str, str] = {}
    for one in found:
        sentence = f"{one['text'][:1].upper()}{one['text'][1:]}; {one['advice']}."
        sentences.setdefault(one["text"].replace(_IN_AVERAGE, ""), sentence)
    return list(sentences.values())


def _without(sections: Sequence[Section], said: Sequence[str]) -> Iterator[Section]:
    """Sections without the bullets that stand on the page already."""
    for section in sections:
        if isinstance(section, Bullets):
            section = Bullets(tuple(one for one in section.items if str(one) not in said))
            if not section.items:
                continue
        yield section


def _quote(summary, key: str, kind: str):
    """One number of the summary, of a kind by its name."""
    return quoted(summary, key, getattr(kinds, kind))


def _environment():
    """Jinja with everything escaped, and our own formats."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        autoescape=True,
        finalize=html_of,
        loader=FileSystemLoader(_TEMPLATES, encoding="utf-8"),
        lstrip_blocks=True,
        trim_blocks=True,
        undefined=StrictUndefined,
    )
    environment.filters["breakable"] = breakable
    environment.filters["section"] = lambda section: type(section).__name__
    return environment
