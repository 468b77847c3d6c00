"""The files of results: tables as CSV, the summary as JSON, the figures as PNG.

docs/reference/results.md describes every column and key.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

from powersim.report.ensemble_files import bands_table, members_table, risk_table
from powersim.report.plain import plain
from powersim.report.warnings import warnings_of

if TYPE_CHECKING:
    import pandas as pd

    from powersim.report.staging import Content
    from powersim.simulation.result import SimulationResult

#: What a spreadsheet takes for the beginning of a formula (OWASP, CSV Injection, from memory).
_FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
#: Pictures that come with the tables; the report has them all.
_PICTURES = ("soc", "energy")


def result_files(
    result: SimulationResult, *, figures: bool = True, kind: str = "png"
) -> dict[str, Content]:
    """Everything that `powersim simulate` writes.

    Parameters
    ----------
    result : Result
        Of the simulation.
    figures : bool
        Draw the pictures too, which takes most of a second more.
    kind : str
        Of the pictures: png, svg or pdf.

    Returns
    -------
    dict
        By file name, as `writing.write_all` takes it.
    """
    files: dict[str, Content] = {
        "hourly.csv": csv_text(result.hourly.reset_index()),
        "daily.csv": csv_text(result.daily.reset_index(), days=("ship_date",)),
        "engine.csv": csv_text(result.engine),
        "summary.json": json.dumps(answer(result), indent=2, ensure_ascii=False, allow_nan=False)
        + "\n",
    }
    if result.ensemble is not None:
        files |= {
            "members.csv": csv_text(members_table(result)),
            "bands.csv": csv_text(bands_table(result)),
            "risk.csv": csv_text(risk_table(result)),
        }
    if not figures:
        return files
    from powersim.report.figures import figure_files

    return files | figure_files(result, names=_PICTURES, kind=kind)


def answer(result: SimulationResult) -> dict:
    """The summary with its warnings, as `summary.json` holds it.

    Parameters
    ----------
    result : Result
        Of the simulation.

    Returns
    -------
    dict
        Strict JSON: no nan and no infinity.
    """
    return result.summary | {"warnings": plain(warnings_of(result))}


def csv_text(table: pd.DataFrame, *, days: Sequence[str] = ()) -> str:
    """A table as CSV: floats to six digits, times as ISO 8601, nothing where nothing is known."""
    columns = [_cells(table[name], day_only=name in days) for name in table.columns]
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(table.columns)
    writer.writerows(zip(*columns, strict=True))
    return text.getvalue()


def _cells(column, *, day_only: bool) -> list[str]:
    # By hand: DataFrame.to_csv takes several times as long.
    kind = column.dtype.kind
    if kind == "f":
        return ["" if value != value else f"{value:.6g}" for value in column.tolist()]
    if kind in "biu":
        return [str(value) for value in column.tolist()]
    if kind != "M":
        return [_inert(str(value)) for value in column.tolist()]
    from numpy import datetime_as_string

    # By numpy, in a tenth of the time; an aware time comes out in UTC, which its Z says.
    unit: Literal["D", "s"] = "D" if day_only else "s"
    sign = "" if column.dt.tz is None else "Z"
    moments = column.to_numpy(dtype="datetime64[ns]")
    return [f"{moment}{sign}" for moment in datetime_as_string(moments, unit=unit).tolist()]


def _inert(words: str) -> str:
    """Words that a spreadsheet takes for no formula: an apostrophe stands before its signs."""
    return f"'{words}" if words.startswith(_FORMULA_SIGNS) else words
