"""The report: one HTML page that needs no network and no script, in the order a sailor asks."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from powersim.records import PROTECTED
from powersim.report import rounding
from powersim.report.ensemble_text import BAND_HEADS, band_rows, how_sure, told_days
from powersim.report.files import answer
from powersim.report.findings import understood
from powersim.report.kinds import percent
from powersim.report.names import named_by_ends
from powersim.report.page_figures import figures_of
from powersim.report.page_tables import (
    assumption_groups,
    hour_blocks,
    run_rows,
    shedding_rows,
    waypoint_rows,
)
from powersim.report.quoted import html_of, quote
from powersim.report.rule_text import rule_words
from powersim.report.simulated import CARE, answers
from powersim.report.sky_text import sky_lines
from powersim.report.sounding_text import caution, strip_rows, wet_allowed
from powersim.report.text import glued
from powersim.report.weeks import weeks_of

_TEMPLATES = Path(__file__).parent / "templates"


def report_html(result, *, endurance, cautions, standing, version: str) -> str:
    """The whole page.

    Parameters
    ----------
    result : Result
        Of the simulation.
    endurance : EnduranceView
        From departure.
    cautions : sequence
        What is allowed in the files but not wise: anything with a `text` and an `advice`.
    standing : sequence of str
        What every such boat should know.
    version : str
        Of powersim.

    Returns
    -------
    str
        HTML, the same for the same passage. Whatever stands in the sailor's files is text in it.
    """
    summary = answer(result)
    ensemble, boat = summary.get("ensemble"), result.passage.boat
    sounded = boat.fuel is not None and boat.fuel.shape is not None
    return _environment().get_template("report.html").render(
        care=CARE.partition(". Standing")[0] + ".",
        summary=summary,
        fuel=summary["fuel"]["kind"],
        charging="Charging" if boat.engine is None else "The engine",
        quote=partial(quote, summary),
        answers=[(name, glued(text)) for name, text in answers(summary)],
        figures=figures_of(result, summary),
        named_by_ends=named_by_ends(*(summary["passage"][key] for key in ("name", "from", "to"))),
        departure=dict(understood(result.passage))["departure"],
        rule=rule_words(result),
        runs=run_rows(result),
        weeks=weeks_of(result),
        ensemble=ensemble,
        bands=band_rows(summary) if ensemble else [],
        band_heads=BAND_HEADS,
        how_sure=glued(how_sure(ensemble)) if ensemble else "",
        risk_days=told_days(ensemble["by_day"]) if ensemble else [],
        endurance=endurance,
        strip=strip_rows(boat) if sounded else [],
        strip_wet=wet_allowed(boat.fuel.shape) if sounded else "",
        sounding=caution(boat.fuel.shape, boat.fuel_word) if sounded else "",
        shedding=shedding_rows(result, endurance.order),
        waypoints=waypoint_rows(result),
        sky=sky_lines(summary),
        hours=hour_blocks(result),
        understood=understood(result.passage),
        assumptions=assumption_groups(result.passage),
        cautions=cautions,
        protected=PROTECTED,
        standing=standing,
        version=version,
    )  # fmt: skip


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
    environment.filters |= {
        "celsius": rounding.celsius,
        "glued": glued,
        "hours": rounding.hours,
        "knots": rounding.knots,
        "number": rounding.number,
        "percent": percent,
        "section": lambda section: type(section).__name__,
        "sentence": lambda text: f"{text[:1].upper()}{text[1:]}.",
        "share": rounding.soc,
        "volts": rounding.volts,
    }
    return environment
