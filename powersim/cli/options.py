"""Arguments and options that mean the same in every command."""

from __future__ import annotations

from pathlib import Path

import click

STEPS_MIN = (5, 10, 15, 20, 30, 60)


class StepType(click.ParamType):
    """The length of a step, "15 min", as hours."""

    name = "step"

    def get_metavar(self, param, ctx=None):
        """How it is shown in help."""
        return "MINUTES"

    def convert(self, value, param, ctx):
        """Hours, from one of the steps that divide an hour."""
        if isinstance(value, float):
            return value
        known = {f"{minutes}min": minutes / 60 for minutes in STEPS_MIN}
        step_h = known.get("".join(value.split()).lower())
        if step_h is None:
            listed = ", ".join(str(minutes) for minutes in STEPS_MIN)
            self.fail(f"{value!r} is not {listed} min; for example --step '15 min'", param, ctx)
        return step_h


def folder_argument(**settings):
    """The passage folder; what is wrong with it is told by whoever reads or writes it."""
    return click.argument("folder", type=click.Path(path_type=Path), **settings)


folder = folder_argument()
out = click.option(
    "--out",
    metavar="FOLDER",
    type=click.Path(path_type=Path),
    help="Where results go; 'results' inside the passage folder if left out.",
)
depart = click.option(
    "--depart",
    metavar="DATE",
    help="Leave then and not as boat.toml says; for example '2026-09-05 09:00 UTC'.",
)
from_date = click.option(
    "--from",
    "from_date",
    metavar="DATE",
    help="Count from this moment of the passage; from departure if left out.",
)
step = click.option(
    "--step",
    "step_h",
    type=StepType(),
    default="15 min",
    show_default=True,
    help="Length of a step of the simulation: 5, 10, 15, 20, 30 or 60 min.",
)
as_json = click.option(
    "--json", "as_json", is_flag=True, help="Print the answer as JSON, for a program to read."
)
quiet = click.option("--quiet", is_flag=True, help="Print nothing but the answer.")
force = click.option("--force", is_flag=True, help="Overwrite files that are in the way.")
no_figures = click.option("--no-figures", is_flag=True, help="Write no pictures.")
