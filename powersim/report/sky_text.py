"""What was taken for the sky, where it was more than the month's mean."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from powersim.report import rounding, when_where

_NAMES = {"forecast": "forecast", "irradiance": "measured"}


def sky_lines(summary: dict) -> list[tuple[str, str]]:
    """The weather files, and those left out, as a name and a text; empty in average weather."""
    sky = summary["sky"]
    return [
        *((_NAMES[one["kind"]], _span(one)) for one in sky["files"]),
        *(("left out", text) for text in sky["left_out"]),
    ]


def _span(one) -> str:
    name = Path(one["file"]).name
    if one["from_utc"] is None:
        return f"{name}, which says nothing of the light on this passage"
    then = "fades into the month's mean over a day"
    if one["kind"] != "forecast":
        then = "gives way to the month's mean"
    span = f"{rounding.span(one['from_utc'], one['until_utc'], _moment)} UTC"
    doubt = "; check its clock, which could not be tried" if one["clock_untried"] else ""
    return f"{name}, {span}, then {then}{doubt}"


def _moment(utc: str) -> str:
    return when_where.ship_time(datetime.fromisoformat(utc).astimezone(UTC))
