"""Arguments and options that mean the same in every command."""

from __future__ import annotations

import re
from pathlib import Path

import click

from powersim.cli.exits import say
from powersim.defaults import MEMBERS, RISK_FRAC, SEED, STEP_h

STEPS_MIN = (5, 10, 15, 20, 30, 60)
#: With more of them the chance is no better known that matters, and memory runs short.
MOST_MEMBERS = 20_000
#: As `sky.streams` takes it; a test holds the two together.
LARGEST_SEED = 2**63 - 1


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
            self.fail(f'{value!r} is not {listed} min; for example --step "15 min"', param, ctx)
        return step_h


class WholeNumber(click.ParamType):
    """A whole number within bounds.

    Parameters
    ----------
    least, most : int
        Both are allowed.
    example : int
        For messages.
    """

    name = "number"

    def __init__(self, least: int, most: int, *, example: int):
        self.least, self.most, self.example = least, most, example

    def convert(self, value, param, ctx):
        """The number, from digits alone."""
        number = value if isinstance(value, int) else None
        if number is None and re.fullmatch(r"[+-]?[0-9]{1,20}", value.strip()):
            number = int(value)
        if number is None or not self.least <= number <= self.most:
            bounds = f"{self.least} to {self.most:,}"
            self.fail(
                f"{value!r} is not a whole number from {bounds}, such as {self.example}", param, ctx
            )
        return number


class RiskType(click.ParamType):
    """A share of the simulated passages, "5 %", from 0 to 1.

    Parameters
    ----------
    zero : bool
        Whether none at all may be asked for: a single sky can be held to that, but no number of
        simulated passages shows that nothing ever happens.
    """

    name = "risk"

    def __init__(self, *, zero: bool = True):
        self.zero = zero

    def get_metavar(self, param, ctx=None):
        """How it is shown in help."""
        return "PERCENT"

    def convert(self, value, param, ctx):
        """A share, from percent with their sign or without."""
        if isinstance(value, float):
            return value
        try:
            percent = float(value.strip().removesuffix("%"))
        except ValueError:
            percent = float("nan")
        if not self.zero and percent in (0.0, 100.0):
            why = (
                "no number of passages shows that nothing ever fails"
                if percent == 0.0
                else "then every choice would do"
            )
            self.fail(f"{value!r} cannot be searched for: {why}; such as 5 %", param, ctx)
        if not 0.0 <= percent < 100.0:  # written so that nan is refused too
            self.fail(f"{value!r} is not a share from 0 % to below 100 %, such as 5 %", param, ctx)
        return percent / 100.0


def mended(_ctx, _param, folder):
    """A folder given, when what a command that died there has left in it has been put right."""
    if folder is not None:
        from powersim.report.mending import mend

        for sentence in mend(folder):
            say(sentence)
    return folder


def folder_argument(**settings):
    """The passage folder; what is wrong with it is told by whoever reads or writes it."""
    return click.argument("folder", type=click.Path(path_type=Path), callback=mended, **settings)


folder = folder_argument()
folders = click.argument(
    "folders",
    metavar="FOLDER...",
    nargs=-1,
    required=True,
    type=click.Path(path_type=Path),
    callback=lambda ctx, param, folders: tuple(mended(ctx, param, one) for one in folders),
)
out = click.option(
    "--out",
    metavar="FOLDER",
    type=click.Path(path_type=Path),
    callback=mended,
    help="Where results go; 'results' in the passage folder if left out.",
)
depart = click.option(
    "--depart",
    metavar="DATE",
    help='Leave then, whatever boat.toml says; for example "2026-09-05 09:00 UTC".',
)
from_date = click.option(
    "--from",
    "from_date",
    metavar="DATE|worst",
    help='Count from this moment of the passage, such as "2026-09-12" or "day 12", or from the '
    "worst; from departure if left out.",
)
step = click.option(
    "--step",
    "step_h",
    type=StepType(),
    default=f"{60 * STEP_h:g} min",
    show_default=True,
    help="Length of a step of the simulation: 5, 10, 15, 20, 30 or 60 min.",
)


def _members(least, default, help_text):
    return click.option(
        "--members",
        metavar="N",
        type=WholeNumber(least, MOST_MEMBERS, example=200),
        default=default,
        show_default=True,
        help=f"How many passages to simulate{help_text}.",
    )


members = _members(1, MEMBERS, "; 1 is average weather alone")


#: For differences, which are taken passage by passage.
members_compared = _members(2, MEMBERS, ", 2 or more")


def members_searched(default: int):
    """How many passages a search simulates; one alone would show no chance."""
    return _members(20, default, ", 20 or more")


seed = click.option(
    "--seed",
    metavar="N",
    type=WholeNumber(0, LARGEST_SEED, example=7),
    default=SEED,
    show_default=True,
    help="Which weather: one seed draws the same on any machine.",
)


def _risk(kind):
    return click.option(
        "--risk",
        "risk_frac",
        type=kind,
        default=f"{100 * RISK_FRAC:g} %",
        show_default=True,
        help="Share of the passages that may break floor or reserve, or go dark.",
    )


risk = _risk(RiskType())
#: For a search, which can neither promise certainty nor ask for nothing.
risk_searched = _risk(RiskType(zero=False))
forecast = click.option(
    "--forecast",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="A GRIB file: cloud or light, wind and air for the days that it covers.",
)
irradiance = click.option(
    "--irradiance",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Measured or hindcast light, in steps from a minute to a day: a CSV with time and "
    "ghi_W_m2, or a file of PVGIS, NSRDB, EPW, TMY3 or SURFRAD.",
)
or_climatology = click.option(
    "--or-climatology",
    is_flag=True,
    help="Use average weather where such a file is no use, and say so.",
)


engine_plan = click.option(
    "--engine-plan",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Charging runs to use in place of boat.toml's rule, as 'plan' writes them.",
)


set_values = click.option(
    "--set",
    "set_values",
    metavar="PLACE=VALUE",
    multiple=True,
    help="What if: use this in place of what the files say, as in 'battery.capacity=300 Ah', "
    "'panel.arch.power=150 W' or 'loads.music.on=1 h/day'. Give it again for more.",
)
without = click.option(
    "--without",
    metavar="PLACE",
    multiple=True,
    help="What if: leave off this load, or take out this panel, charger, table or key, as in "
    "'loads.music', 'panel.arch' or 'shedding'. Give it again for more.",
)


def changes(command):
    """The two options that ask what if."""
    return set_values(without(command))


def weather_files(command):
    """The three options that tell what is known of the sky."""
    return forecast(irradiance(or_climatology(command)))


as_json = click.option(
    "--json", "as_json", is_flag=True, help="Print the answer as JSON, for a program to read."
)
quiet = click.option("--quiet", is_flag=True, help="Print nothing but the answer.")
force = click.option("--force", is_flag=True, help="Overwrite files that are in the way.")
figure_format = click.option(
    "--format",
    "figure_format",
    type=click.Choice(("png", "svg", "pdf")),
    default="png",
    show_default=True,
    help="Format of the pictures.",
)
figures_as = click.option(
    "--format",
    "figures_as",
    type=click.Choice(("png", "svg", "pdf")),
    help="Write every picture as a separate file too.",
)
no_figures = click.option("--no-figures", is_flag=True, help="Write no pictures.")
jobs = click.option(
    "--jobs",
    metavar="N",
    type=WholeNumber(1, 1024, example=4),
    help="Processes at once on this machine; one for each core if left out.",
)
backend = click.option(
    "--backend",
    type=click.Choice(["local", "dask"]),
    default="local",
    show_default=True,
    help="Work on this machine, or on a cluster of your own.",
)
scheduler = click.option(
    "--scheduler",
    metavar="ADDRESS",
    help="Address of your own cluster, such as tcp://192.168.1.20:8786.",
)
