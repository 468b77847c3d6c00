"""Processes that powersim starts: none runs what lies in the current folder, none outlives us."""

from __future__ import annotations

import contextlib
import os
import sys
import threading
import time

from powersim.current_folder import trusted_path

#: Ours, and so as safe as the code itself.
SAFE_FOLDER = os.path.dirname(os.path.abspath(__file__))
#: A process that outlives its parent by this is not missed. [s]
_PATIENCE_s = 1.0
_VARIABLES = ("PYTHONSAFEPATH", "PYTHONPATH", "PYTHONWARNINGS")
#: Python code that takes its search path and a module from its arguments, and runs the module.
_START = (
    "import sys; end = sys.argv.index('--'); "
    "sys.path[:] = sys.argv[1:end]; module = sys.argv[end + 1]; sys.argv[:] = sys.argv[end + 1:]; "
    "import runpy; runpy.run_module(module, run_name='__main__', alter_sys=True)"
)


def command(module: str, *arguments: str) -> list[str]:
    """A command line that runs a module in an interpreter of its own.

    Parameters
    ----------
    module : str
        Of ours, by its full name.
    *arguments : str
        Its `sys.argv[1:]`.

    Returns
    -------
    list of str
        It heeds no variable of Python's own. Start it with `cwd=SAFE_FOLDER`, since libraries
        look around in the current folder too, for settings and for other libraries.
    """
    flags = ["-I", "-B"] if sys.dont_write_bytecode else ["-I"]
    return [sys.executable, *flags, "-c", _START, *trusted_path(), "--", module, *arguments]


@contextlib.contextmanager
def for_processes_of_libraries():
    """While a library starts processes by its own means: they too look elsewhere for code.

    Both what is set for this process and what is set for those that it starts are put back.
    """
    path, kept = list(sys.path), {name: os.environ.get(name) for name in _VARIABLES}
    os.environ["PYTHONSAFEPATH"] = "1"
    # What keeps their books would remark on what Ctrl-C has left to it, after our last word.
    os.environ.setdefault("PYTHONWARNINGS", "ignore::UserWarning")
    if kept["PYTHONPATH"]:
        parts = kept["PYTHONPATH"].split(os.pathsep)
        os.environ["PYTHONPATH"] = os.pathsep.join(
            os.path.abspath(part) for part in parts if part not in ("", os.curdir)
        )
    sys.path[:] = trusted_path()
    try:
        yield
    finally:
        sys.path[:] = path
        for name, value in kept.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def end_with(parent: int) -> None:
    """End this process soon after its parent has ended, however that was.

    Parameters
    ----------
    parent : int
        Its process's number.
    """
    threading.Thread(target=_watch, args=(parent,), daemon=True, name="parent's end").start()


def _watch(parent: int) -> None:
    if sys.platform == "win32":
        _wait_for_its_end(parent)
    else:
        while os.getppid() == parent:  # an orphan is given to another
            time.sleep(_PATIENCE_s)
    os._exit(1)  # at once: nobody waits for what would be done in an orderly end


def _wait_for_its_end(parent: int) -> None:
    """On Windows a process keeps the number of its parent; one waits for the parent itself."""
    import ctypes

    synchronize, for_ever = 0x00100000, 0xFFFFFFFF
    kernel = ctypes.windll.kernel32  # type: ignore[attr-defined]  # what only Windows has
    kernel.OpenProcess.restype = ctypes.c_void_p
    handle = kernel.OpenProcess(synchronize, False, parent)
    if handle:  # else it has ended already
        kernel.WaitForSingleObject(ctypes.c_void_p(handle), for_ever)
