"""The files of `compare`: every choice as CSV, the answer as JSON, a picture.

docs/reference/results.md describes every column and key.
"""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, Any

from powersim.planning.measures import CHARGE, HAPPENS, HOURS, LITRES, MEASURES, RUNS, Measure
from powersim.report.files import csv_text
from powersim.simulation.bands import told_of

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

    from powersim.planning.compare import Choice, Outcome
    from powersim.planning.compare_best import Compared
    from powersim.report.staging import Content
    from powersim.simulation.differences import Difference

#: What a column is called by a measure's unit.
_SUFFIX = {HAPPENS: "frac", CHARGE: "soc", RUNS: "per_week", HOURS: "h", LITRES: "L"}
_QUANTILES = ("p10", "p50", "p90", "mean")


def file_names(*, kind: str = "png") -> tuple[str, ...]:
    """What is written.

    Parameters
    ----------
    kind : str
        Of the picture.
    """
    return ("compare.csv", "compare.json", f"compare.{kind}")


def compare_files(
    found: Compared, *, figures: bool = True, kind: str = "png"
) -> dict[str, Content]:
    """Everything that `powersim compare` writes.

    Parameters
    ----------
    found : Compared
        All choices, simulated.
    figures : bool
        Draw the picture too.
    kind : str
        One of figures.FORMATS.

    Returns
    -------
    dict
        By file name, as `writing.write_all` takes it.
    """
    answer = json.dumps(compare_dict(found), indent=2, ensure_ascii=False, allow_nan=False)
    table, summary, picture = file_names(kind=kind)
    files: dict[str, Content] = {
        table: csv_text(compare_table(found)),
        summary: answer + "\n",
    }
    if not figures:
        return files

    def draw(path: Path) -> None:
        from powersim.report.figure_compare import plot_compare
        from powersim.report.figures import save

        save(plot_compare(found).figure, path, kind=kind)

    return files | {picture: draw}


def compare_table(found: Compared) -> pd.DataFrame:
    """One row a choice, in the order asked.

    Parameters
    ----------
    found : Compared
        All choices, simulated.
    """
    import pandas as pd

    rows = [_row(one) for one in compare_dict(found)["choices"]]
    table = pd.DataFrame(rows)
    empty = [name for name in table.columns if table[name].isna().all()]
    return table.astype(dict.fromkeys(empty, float))


def compare_dict(found: Compared) -> dict[str, Any]:
    """The same for a program.

    Parameters
    ----------
    found : Compared
        All choices, simulated.

    Returns
    -------
    dict
        Strict JSON: no nan and no infinity; None for what never comes.
    """
    study = found.study
    return {
        "passage": found.choices[0].passage.name,
        "members": study.members,
        "seed": study.seed,
        "step_min": 60.0 * study.step_h,
        "risk_frac": study.risk_frac,
        "hold": len(found.holding),
        "fail_least": [at + 1 for at in found.least],
        "not_told_apart": [at + 1 for at in found.not_told_apart],
        "choices": [
            _choice(at, choice, outcome, differences, lasts)
            for at, (choice, outcome, differences, lasts) in enumerate(
                zip(found.choices, found.outcomes, found.differences, found.lasts, strict=True), 1
            )
        ],
    }


def _choice(
    number: int,
    choice: Choice,
    outcome: Outcome,
    differences: dict[str, Difference],
    lasts: Difference | None,
) -> dict[str, Any]:
    """One choice: what it is, what it comes to, and how it differs from the first."""
    verdict = outcome.verdict
    return {
        "number": number,
        "folder": choice.name,
        "depart_utc": choice.passage.depart_utc.isoformat(),
        "landfall_utc": outcome.landfall_utc.isoformat(),
        "changed": list(choice.told),
        "holds": verdict.holds,
        "sure": verdict.sure,
        **{
            name: getattr(verdict, name)._asdict() for name in ("fails", "floor", "dark", "reserve")
        },
        **{
            f"{one.id}_{_SUFFIX[one.unit]}": told_of(outcome.measured[one.id])
            for one in _amounts()
            if one.id in outcome.measured
        },
        "charging_lost": {
            "at_utc": outcome.lost.at_utc.isoformat(),
            "days_to_floor": told_of(outcome.lost.floor_days),
            "days_to_flat": told_of(outcome.lost.flat_days),
        },
        "too_cold_h": outcome.too_cold_h,
        "differences": {
            f"{one.id}_{_SUFFIX[one.unit]}": _difference(differences[one.id])
            for one in MEASURES
            if one.id in differences
        }
        | ({} if lasts is None else {"days_to_flat": _difference(lasts)}),
    }


def _amounts() -> list[Measure]:
    return [one for one in MEASURES if one.unit != HAPPENS]


def _difference(difference: Difference) -> dict[str, Any]:
    return {
        "mean": difference.mean,
        "least": difference.least,
        "most": difference.most,
        "differing": difference.differing,
        "shows": difference.shows,
    }


def _row(choice: dict[str, Any]) -> dict[str, Any]:
    """One choice as the cells of a line: names in front, and words for yes and no."""
    row: dict[str, Any] = {}
    for name, value in choice.items():
        if name == "changed":
            row[name] = "; ".join(value)
        elif name in ("fails", "floor", "dark", "reserve"):
            row |= {f"{name}_{part}": share for part, share in value.items()}
        elif name == "charging_lost":
            row |= {f"{part}_{p}": value[part][p] for part in _DAYS for p in _QUANTILES}
        elif name == "differences":
            row |= {
                f"more_{measure}_{part}": _word(told[part])
                for measure, told in value.items()
                for part in ("mean", "least", "most", "shows")
            }
        elif isinstance(value, dict):
            row |= {f"{name}_{p}": value[p] for p in _QUANTILES}
        else:
            row[name] = _word(value)
    return row


_DAYS = ("days_to_floor", "days_to_flat")


def _word(value: Any) -> Any:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
