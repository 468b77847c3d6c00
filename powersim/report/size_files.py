"""The files of `size`: every choice as CSV, the answer as JSON, a picture.

docs/reference/results.md describes every column and key.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import fields
from typing import TYPE_CHECKING

from powersim.planning.size_front import is_adequate
from powersim.planning.size_point import Point
from powersim.report.files import csv_text
from powersim.report.plain import plain
from powersim.report.size_rules import rules_dicts

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

    from powersim.planning.size_front import Sized
    from powersim.planning.size_point import Study
    from powersim.report.staging import Content


def file_names(*, kind: str = "png") -> tuple[str, ...]:
    """What is written.

    Parameters
    ----------
    kind : str
        Of the picture.
    """
    return ("size.csv", "size.json", f"size.{kind}")


def size_files(
    sized: Sized,
    study: Study,
    *,
    stays: Sequence[str] = (),
    figures: bool = True,
    kind: str = "png",
) -> dict[str, Content]:
    """Everything that `powersim size` writes.

    Parameters
    ----------
    sized : Sized
        All choices, judged.
    study : Study
        What they were tried on.
    stays : sequence of str
        Settings of boat.toml that stay with another chemistry.
    figures : bool
        Draw the picture too.
    kind : str
        One of figures.FORMATS.

    Returns
    -------
    dict
        By file name, as `writing.write_all` takes it.
    """
    answer = json.dumps(
        size_dict(sized, study, stays=stays),
        indent=2,
        ensure_ascii=False,
        allow_nan=False,
    )
    table, summary, picture = file_names(kind=kind)
    files: dict[str, Content] = {table: csv_text(size_table(sized)), summary: answer + "\n"}
    if not figures:
        return files

    def draw(path: Path) -> None:
        from powersim.report.figure_size import plot_size
        from powersim.report.figures import save

        save(plot_size(sized, name=study.passage.name).figure, path, kind=kind)

    return files | {picture: draw}


def size_table(sized: Sized) -> pd.DataFrame:
    """One row a choice, the boat as she is first."""
    import pandas as pd

    rows = [_row(point, sized) for point in sized.points]
    table = pd.DataFrame(rows, columns=list(rows[0]))
    # What is nowhere known would be a column of objects.
    return table.astype({name: float for name in map(str, table) if name.startswith(_MAY_LACK)})


_MAY_LACK = ("floor_days", "flat_days", "saved_h")


def size_dict(sized: Sized, study: Study, *, stays: Sequence[str] = ()) -> dict:
    """The same for a program.

    Parameters
    ----------
    sized, study, stays
        As in `size_files`.

    Returns
    -------
    dict
        Strict JSON: no nan and no infinity; None for what never comes.
    """
    return {
        "passage": study.passage.name,
        "depart_utc": study.passage.depart_utc.isoformat(),
        "members": study.members,
        "seed": study.seed,
        "step_min": 60.0 * study.step_h,
        "risk_frac": sized.risk_frac,
        "adequate": len(sized.adequate),
        "kept": list(stays),
        "rules": rules_dicts(sized, sized.rules),
        "choices": [_row(point, sized, yes=True, no=False) for point in sized.points],
    }


def _row(point, sized, *, yes="yes", no="no") -> dict:
    place = next((at for at, one in enumerate(sized.front, 1) if one.point is point), 0)
    marked = sized.front[place - 1] if place else None
    values = {name: value for name, value in _plain(point).items() if name != "clips"}
    return {
        **plain(point.choice),
        "adequate": yes if is_adequate(point, sized.risk_frac) else no,
        "mark": place,
        "added_kg": point.weight_kg - sized.own.weight_kg,
        "saved_h_per_kg": marked.saved_h_per_kg if marked else None,
        "clips": yes if point.clips else no,
        **values,
    }


def _plain(point) -> dict:
    return {field.name: getattr(point, field.name) for field in fields(Point)[1:]}
