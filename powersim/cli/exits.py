"""How a command ends: what it says to standard error, and its exit code."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable

import click

FAILS = 1  # the passage fails what was asked: a floor that is broken, a plan that cannot be kept
BAD_INPUT = 2  # the sailor's files or the command line
OWN_FAULT = 70  # books that do not close, or anything else that should not happen
INTERRUPTED = 130  # 128 + SIGINT, as a shell says it
PIPE_CLOSED = 141  # 128 + SIGPIPE: whoever read the output had enough

_WAY_ON = "To go on with the month's mean in place of a weather file, add --or-climatology."
TRACEBACK_VARIABLE = "POWERSIM_TRACEBACK"


def exit_code_of(call: Callable[[], object], *, traceback_asked: bool) -> int:
    """Run a command and turn whatever ends it into a message and an exit code.

    Parameters
    ----------
    call : callable
        Without arguments. It ends by returning, or by `click.exceptions.Exit`.
    traceback_asked : bool
        Let a fault of our own through with all its details.

    Returns
    -------
    int
        The exit code.
    """
    try:
        return _called(call)
    except click.ClickException as error:
        error.show()
        return BAD_INPUT  # its own code would be 1, which says that a passage fails
    except (KeyboardInterrupt, click.Abort):
        _say("stopped")
        return INTERRUPTED
    except BrokenPipeError:
        _forget_standard_output()
        return PIPE_CLOSED
    except Exception as error:  # noqa: BLE001 - the outermost place: a line for the sailor
        return _told(error, traceback_asked=traceback_asked)


def _called(call: Callable[[], object]) -> int:
    code = 0
    try:
        call()
    except click.exceptions.Exit as ending:
        code = ending.exit_code
    sys.stdout.flush()  # here, where a closed pipe can still be told from a fault
    return code


def _told(error: Exception, *, traceback_asked: bool) -> int:
    # Imported here: help ends without an error.
    from powersim.errors import BalanceError, InputError, PowersimError

    if isinstance(error, InputError):
        _say_problems(error)
        return BAD_INPUT
    if isinstance(error, PowersimError) and not isinstance(error, BalanceError):
        _say(str(error))
        return BAD_INPUT
    if traceback_asked:
        import traceback

        traceback.print_exception(error)
    else:
        what = " ".join(f"{type(error).__name__}: {error}".split())
        _say(
            f"a fault of its own ({what}); for the details run "
            f"'powersim --traceback ...' or set {TRACEBACK_VARIABLE}=1"
        )
    return OWN_FAULT


def _say(sentence: str) -> None:
    from powersim.report.text import printable

    click.echo(f"powersim: {printable(sentence)}", err=True)


def _say_problems(error) -> None:
    from powersim.report.rounding import plural
    from powersim.report.text import printable

    click.echo(printable(str(error)), err=True)
    click.echo(f"\n{plural(len(error.problems), 'problem')}", err=True)
    if error.or_climatology:
        click.echo(_WAY_ON, err=True)


def _forget_standard_output() -> None:
    """Keep the interpreter from complaining as it flushes into the closed pipe at its end."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)
