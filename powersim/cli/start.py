"""Where the command starts from the shell: ready for what may come before anything is imported."""

import os
import sys

try:
    from powersim.current_folder import forget_the_current_folder

    forget_the_current_folder()  # before anything that could be found in it

    from powersim.cli import interrupts

    interrupts.take_over()
except KeyboardInterrupt:
    sys.stderr.write("powersim: stopped\n")
    os._exit(130)

import atexit
import contextlib  # Ctrl-C is ours from here on


def main() -> None:
    """Run the command line and end the process with its exit code."""
    atexit.register(_leave)  # the first, and so the last to be called
    try:
        from powersim.cli.main import main_code

        _End.code = main_code()
    except SystemExit as ending:  # click's own, as when a shell has asked how a line goes on
        _End.code = ending.code if isinstance(ending.code, int) else int(bool(ending.code))
    except KeyboardInterrupt:  # once more, as the first was about to be told
        interrupts.end_at_once()
    sys.exit(_End.code)


class _End:
    code = 70  # as `exits.OWN_FAULT`: where no code is found, something has gone wrong


def _leave() -> None:
    """End here: taking the interpreter apart helps nobody, and a Ctrl-C in it would be silent."""
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError):
            stream.flush()
    os._exit(_End.code)
