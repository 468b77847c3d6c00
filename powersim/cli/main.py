"""The `powersim` command: a table of names, each loaded only when it is called."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence

import click

from powersim import __version__
from powersim.cli.exits import TRACEBACK_VARIABLE, exit_code_of
from powersim.cli.streams import make_ready

#: By it a shell asks how a command line may go on; its name is click's.
COMPLETION_VARIABLE = "_POWERSIM_COMPLETE"
#: Name -> where the command is, and its line in `powersim --help`, so that help loads none of
#: them. They are listed in this order.
COMMANDS = {
    "demo": ("powersim.cli.demo:demo", "Copy the demo passage out and simulate it."),
    "new": ("powersim.cli.new:new", "Write a commented starter folder for a passage."),
    "check": ("powersim.cli.check:check", "Find every mistake in a passage's files."),
    "budget": ("powersim.cli.budget:budget", "What each load takes in a day, in Ah and Wh."),
    "simulate": ("powersim.cli.simulate:simulate", "Work out the passage hour by hour."),
    "endurance": (
        "powersim.cli.endurance:endurance",
        "Days to the floor and to flat, with this or that lost.",
    ),
    "ladder": (
        "powersim.cli.ladder:ladder",
        "What to give up at sea, in which order, at which charge.",
    ),
    "plan": ("powersim.cli.plan:plan", "When to run the engine to charge: a rule to go by."),
    "paper": ("powersim.cli.paper:paper", "A table to charge by with the laptop off."),
    "try": ("powersim.cli.try_:try_", "A page that answers while a value is moved."),
    "compare": ("powersim.cli.compare:compare", "Boats, dates and values, side by side."),
    "size": ("powersim.cli.size:size", "What another bank, panels or alternator would change."),
    "sheet": ("powersim.cli.sheet:sheet", "Sheets to print: two days of log, and a sea trial."),
    "sounding": ("powersim.cli.sounding:sounding", "The dip stick in litres, and how far they go."),
    "underway": (
        "powersim.cli.underway:underway",
        "The log against the plan, and a new forecast from here.",
    ),
    "report": ("powersim.cli.report:report", "A page for any browser, and a card to print."),
}


class LazyGroup(click.Group):
    """A group whose commands are imported when they are called, not when they are listed."""

    def list_commands(self, ctx):
        """Names, in the order of the table."""
        return list(COMMANDS)

    def get_command(self, ctx, cmd_name):
        """The command itself, imported now; None if there is none of that name."""
        if cmd_name not in COMMANDS:
            return None
        from importlib import import_module

        module, _, attribute = COMMANDS[cmd_name][0].partition(":")
        return getattr(import_module(module), attribute)

    def resolve_command(self, ctx, args):
        """As click does, but an unknown name is answered with the nearest known one."""
        if args and not args[0].startswith("-") and args[0] not in COMMANDS:
            ctx.fail(_unknown(args[0]))
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx, formatter) -> None:
        """The list of commands, from the table alone."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


def _unknown(name: str) -> str:
    from difflib import get_close_matches

    near = get_close_matches(name, COMMANDS, n=1)
    hint = f"did you mean {near[0]!r}?" if near else f"there are {', '.join(COMMANDS)}"
    return f"no command {name!r}; {hint}"


def _show_version(ctx, _option, asked):
    if asked:
        click.echo(f"powersim {__version__}")
        ctx.exit()


@click.group(
    cls=LazyGroup,
    invoke_without_command=True,
    subcommand_metavar="COMMAND [ARGS]...",
    # A fixed width, like that of all our text, also saves click an import.
    context_settings={"help_option_names": ["-h", "--help"], "terminal_width": 80},
    epilog=(
        "\b\nExit codes: 0 all is well; 1 the passage fails what was asked; 2 bad input\n"
        "or usage; 70 a fault of powersim's own; 74 output could not be written, as on\n"
        "a full disk; 130 stopped by Ctrl-C.\n\n"
        "\b\nExample:\n  powersim demo"
    ),
)
@click.option(
    "--version",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_show_version,
    help="Show the version and exit.",
)
@click.option(
    "--traceback",
    is_flag=True,
    expose_value=False,
    help="Show all details of a fault of powersim's own.",
)
@click.pass_context
def powersim(context) -> None:
    """Electrical endurance of a small boat on a long ocean passage.

    How long she lasts if the sun or the engine fails, and what fuel that leaves: charge hour by
    hour, days until the bank is flat, engine hours and litres. It reads three files that a
    spreadsheet and a text editor can open, and needs no network.
    """
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


def run(arguments: Sequence[str]) -> int:
    """Run one command line and give its exit code; nothing is raised."""
    details = "--traceback" in arguments or bool(os.environ.get(TRACEBACK_VARIABLE))

    def call():
        # What a command that goes on after a fault has to know is handed down as its `obj`.
        with powersim.make_context("powersim", list(arguments), obj=details) as context:
            powersim.invoke(context)

    return exit_code_of(call, traceback_asked=details)


def main_code() -> int:
    """Run the command line that the process was started with, and give its exit code."""
    # A command lives for seconds and frees by reference count; the collector would only walk all
    # that pandas and pvlib load, over and over: 7 % of their import, and again while we run.
    gc.disable()
    make_ready()
    if os.path.lexists("matplotlibrc"):  # here; a light command imports nothing for it
        from powersim.report.settings_here import pass_over_settings_here

        pass_over_settings_here()
    if COMPLETION_VARIABLE in os.environ:  # the shell asks, and not the sailor
        powersim.main(prog_name="powersim")
    return run(sys.argv[1:])


def main() -> None:
    """Start from a script of one's own; `cli.start` is where the shell starts."""
    sys.exit(main_code())
