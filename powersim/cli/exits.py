"""How a command ends: what it says to standard error, and its exit code."""

from __future__ import annotations

import contextlib
import errno
import sys
from collections.abc import Callable

import click

from powersim.cli import interrupts
from powersim.cli.interrupts import INTERRUPTED
from powersim.cli.streams import forget_what_cannot_be_written

FAILS = 1  # the passage fails what was asked: a floor that is broken, a plan that cannot be kept
BAD_INPUT = 2  # the sailor's files or the command line
OWN_FAULT = 70  # EX_SOFTWARE of sysexits.h: books that do not close, or what should not happen
NOT_WRITTEN = 74  # EX_IOERR of sysexits.h
PIPE_CLOSED = 141  # 128 + SIGPIPE: whoever read the output had enough

#: What each code tells a script, for the page of commands.
MEANINGS = {
    0: "all is well",
    FAILS: "the passage fails what was asked: floor, reserve or risk",
    BAD_INPUT: "files, command line or a path cannot be used; messages say where and why",
    OWN_FAULT: "a fault of powersim's own",
    NOT_WRITTEN: "output could not be written: a full disk, a closed standard output",
    INTERRUPTED: "stopped by Ctrl-C",
    PIPE_CLOSED: "the program that read the output stopped reading, as `head` does",
}

#: What the system answers where a file or a stream takes no more: EX_IOERR.
_TAKES_NO_MORE = frozenset(
    getattr(errno, name)
    for name in ("ENOSPC", "EDQUOT", "EFBIG", "EIO", "EBADF", "ENXIO")
    if hasattr(errno, name)
)
_LONGEST_PATH_QUOTED = 40
_WAY_ON = "To use average weather in place of a weather file, add --or-climatology."
TRACEBACK_VARIABLE = "POWERSIM_TRACEBACK"


def exit_code_of(call: Callable[[], object], *, traceback_asked: bool) -> int:
    """Run a command and turn whatever ends it into a message and an exit code.

    Parameters
    ----------
    call : callable
        Without arguments. It ends by returning, or by `click.exceptions.Exit`.
    traceback_asked : bool
        Let a fault of our own through with all its details.
    """
    try:
        interrupts.begin_work()
        code = _called(call)
        interrupts.end_work()
        if interrupts.was_asked():  # and a library let it pass
            raise KeyboardInterrupt
        return code
    except BrokenPipeError:
        return PIPE_CLOSED
    except (Exception, KeyboardInterrupt) as error:  # noqa: BLE001 - the outermost place
        interrupts.end_work()
        code = INTERRUPTED if interrupts.was_asked() else _code_of(error)
        with contextlib.suppress(OSError):  # where no message can be written, the code tells
            _tell(error, code, traceback_asked=traceback_asked)
        return code
    finally:
        interrupts.end_work()
        forget_what_cannot_be_written()


def _called(call: Callable[[], object]) -> int:
    code = 0
    try:
        call()
    except click.exceptions.Exit as ending:
        code = ending.exit_code
    sys.stdout.flush()  # here, where what it cannot take can still be told
    return code


def _code_of(error: BaseException) -> int:
    # Imported here: help ends without an error.
    from powersim.errors import BalanceError, NotWrittenError, PowersimError

    if isinstance(error, (KeyboardInterrupt, click.Abort)):
        return INTERRUPTED
    if isinstance(error, click.ClickException):
        return BAD_INPUT  # its own code would be 1, which says that a passage fails
    if isinstance(error, NotWrittenError):
        return NOT_WRITTEN
    if isinstance(error, PowersimError) and not isinstance(error, BalanceError):
        return BAD_INPUT
    if isinstance(error, OSError) and error.errno == errno.ENAMETOOLONG:
        return BAD_INPUT
    if isinstance(error, OSError) and error.errno in _TAKES_NO_MORE:
        return NOT_WRITTEN
    return OWN_FAULT


def _tell(error, code: int, *, traceback_asked: bool) -> None:
    from powersim.errors import InputError, PowersimError

    if code == INTERRUPTED:
        click.echo(interrupts.STOPPED, nl=False, err=True)
        interrupts.told()
    elif isinstance(error, click.ClickException):
        error.show()
    elif isinstance(error, InputError):
        _say_problems(error)
    elif isinstance(error, PowersimError) and code != OWN_FAULT:
        say(str(error))
    elif code == BAD_INPUT:
        say(_too_long(str(error.filename)))
    elif code == NOT_WRITTEN:
        closed = error.errno == errno.EBADF
        reason = "standard output is closed" if closed else error.strerror or error
        say(f"the answer could not be written ({reason})")
    elif traceback_asked:
        import traceback

        traceback.print_exception(error)
    else:
        what = " ".join(f"{type(error).__name__}: {error}".split())
        say(
            f"a fault of its own ({what}); for the details run "
            f"'powersim --traceback ...' or set {TRACEBACK_VARIABLE}=1"
        )


def _too_long(path: str) -> str:
    short = f"{path[:_LONGEST_PATH_QUOTED]}..." if len(path) > _LONGEST_PATH_QUOTED else path
    return f"{short}: the path is too long ({len(path):,} letters); use a shorter one"


def say(sentence: str) -> None:
    """A line on standard error."""
    from powersim.report.text import printable

    click.echo(f"powersim: {printable(sentence)}", err=True)


def _say_problems(error) -> None:
    from powersim.report.rounding import plural
    from powersim.report.text import printable

    click.echo(printable(str(error)), err=True)
    click.echo(f"\n{plural(len(error.problems), 'problem')}", err=True)
    if error.or_climatology:
        click.echo(_WAY_ON, err=True)
