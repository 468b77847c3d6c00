"""Ctrl-C: at whatever moment it comes, the command ends with one line and exit code 130.

Python raises KeyboardInterrupt wherever the program happens to be. That is right while there is
something to put in order, such as results half written. It goes wrong where libraries are being
imported (some make an ImportError of it, and go on without what they could not import), where
Python cannot raise it and drops it (in `__del__`, in callbacks), and before and after our own work,
where nobody is there to catch it. So the command takes the signal itself:

- before and after the work it ends the process at once;
- during the work it raises KeyboardInterrupt, but not before an import has come to its end;
- where it was dropped all the same, it is raised again.

Little is imported here: until `take_over` has been called, Ctrl-C is Python's.
"""

from __future__ import annotations

import _thread
import contextlib
import os
import signal
import sys
import time

INTERRUPTED = 130  # 128 + SIGINT, as a shell says it
STOPPED = "powersim: stopped\n"
#: Between two looks whether an import has come to its end. [s]
_PAUSE_s = 0.01
_IMPORTS = "<frozen importlib"


class _State:
    """What the handler has to know. There is one handler for the process, and so one state."""

    at_work = False
    #: Whether Ctrl-C came while at work, however it then went on.
    asked = False
    told = False
    main_thread = 0


def take_over() -> None:
    """Take Ctrl-C from Python. To be called first of all, in the main thread."""
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:  # else our caller wants it
        _State.main_thread = _thread.get_ident()
        signal.signal(signal.SIGINT, _on_interrupt)
        sys.unraisablehook = _on_dropped


def begin_work() -> None:
    """From here on Ctrl-C raises KeyboardInterrupt; to be called where that is caught."""
    _State.asked = False
    _State.at_work = True


def end_work() -> None:
    """From here on nothing is left to put in order."""
    _State.at_work = False


def was_asked() -> bool:
    """Whether Ctrl-C came during the work: then that is why it ended, whatever was raised."""
    return _State.asked


def told() -> None:
    """Note that the one line has been said."""
    _State.told = True


def end_at_once() -> None:
    """Say the one line, unless it has been said, and end the process as it stands."""
    if not _State.told:
        _State.told = True
        with contextlib.suppress(OSError):
            os.write(2, STOPPED.encode())
    os._exit(INTERRUPTED)


def _on_interrupt(_signal, frame) -> None:
    if _State.at_work:
        _State.asked = True
        if _is_importing(frame):
            _come_again()
        else:
            raise KeyboardInterrupt
    elif _State.told or not _State.asked:  # else it is about to be told
        end_at_once()


def _is_importing(frame) -> bool:
    while frame is not None:
        if frame.f_code.co_filename.startswith(_IMPORTS):
            return True
        frame = frame.f_back
    return False


def _come_again() -> None:
    _thread.start_new_thread(_after_a_pause, ())


def _after_a_pause() -> None:
    time.sleep(_PAUSE_s)
    # As if Ctrl-C had been pressed: the handler looks again.
    if hasattr(signal, "pthread_kill"):
        signal.pthread_kill(_State.main_thread, signal.SIGINT)  # which ends a sleep too
    else:
        _thread.interrupt_main()  # which does so on Windows


def _on_dropped(dropped) -> None:
    """Python's hook for what was raised where nothing can be raised."""
    if isinstance(dropped.exc_value, KeyboardInterrupt) and _State.asked:
        _come_again()
    else:
        sys.__unraisablehook__(dropped)
