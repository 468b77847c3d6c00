"""The files of `compare`: every choice as CSV, the answer as JSON, a picture.

docs/reference/results.md describes every column and key.
"""

from __future__ import annotations

import json
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
        "warnings": list(choice.cautions),
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
    """One choice as the cells of a line."""
    lost, differences = choice["charging_lost"], choice["differences"]
    row: dict[str, Any] = {
        "number": choice["number"],
        "folder": choice["folder"],
        "depart_utc": choice["depart_utc"],
        "landfall_utc": choice["landfall_utc"],
        "changed": "; ".join(choice["changed"]),
        **{name: _YES[choice[name]] for name in ("holds", "sure")},
        **{f"fails_{part}": share for part, share in choice["fails"].items()},
        **{f"{name}_frac": choice[name]["frac"] for name in ("floor", "dark", "reserve")},
    }
    for name, told in _TOLD.items():
        row |= {f"{name}_{part}": choice[name][part] for part in told if name in choice}
    row["charging_lost_utc"] = lost["at_utc"]
    row |= {f"{name}_{part}": lost[name][part] for name in _DAYS for part in ("p10", "p50")}
    row["too_cold_h"] = choice["too_cold_h"]
    for name in (name for name in _COMPARED if name in differences):
        difference = differences[name]
        row |= {f"more_{name}_{part}": difference[part] for part in ("mean", "least", "most")}
        row[f"more_{name}_shows"] = _YES[difference["shows"]]
    return row


_YES = {True: "yes", False: "no"}
_DAYS = ("days_to_floor", "days_to_flat")
#: Of each amount the mean, and what a sailor must allow for.
_TOLD = {
    "lowest_soc": ("p10", "mean"),
    "runs_per_week": ("p90", "mean"),
    "engine_h": ("p90", "mean"),
    "charging_L": ("p90", "mean"),
    "burnt_L": ("p90", "mean"),
    "left_L": ("p10", "mean"),
}
_COMPARED = ("fails_frac", *_TOLD, "days_to_flat")
