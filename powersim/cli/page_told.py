"""What the terminal says of the page that `powersim try` serves, and its browser opened."""

from __future__ import annotations

import gc
import os
import re
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

import click

from powersim.cli.exits import say
from powersim.errors import PowersimError

if TYPE_CHECKING:
    from pathlib import Path

    from powersim.tryout.open_browser import Door
    from powersim.tryout.server import Server
    from powersim.tryout.session import Session

#: How long the private file waits for a browser, which may be slow to start. [s]
_DOOR_s = 120.0
#: Between two looks whether one was found. [s]
_LOOK_s = 0.25
_SSH_PORT = "22"
_ADDRESS = re.compile(r"[0-9A-Fa-f.:]+(%[0-9A-Za-z]+)?")
_USER = re.compile(r"[A-Za-z_][A-Za-z0-9_.-]*")
_CLOSED = """\
Ctrl-C here ends it; so does a quarter of an hour without an open page."""
_OPENED = """\
Your browser opens it. If it does not, copy the address into it, all of it."""
_TO_COPY = """\
Copy the address into a browser of this computer, all of it."""
_OVER_SSH = """\
No browser is opened over ssh. On the computer before you type this in another
terminal, leave it open, and then copy the address into the browser there:

  {tunnel}
"""
_NO_DISPLAY = """\
No browser is opened, since there is no display here. From a computer that has
one, type this, leave it open, and then copy the address into the browser there:

  {tunnel}
"""


def address_told(server: Server, *, opens: bool) -> None:
    """Print where the page is, and how to come there."""
    from powersim.tryout.open_browser import why_not

    told = {"ssh": _OVER_SSH, "no display": _NO_DISPLAY, None: _OPENED if opens else _TO_COPY}
    way = told[why_not(os.environ)].format(tunnel=_tunnel(server.port))
    click.echo(f"The page is served on this computer alone:\n\n  {server.address}\n\n{way}")
    click.echo(_CLOSED)


@contextmanager
def page_opened(server: Server, *, opens: bool) -> Iterator[None]:
    """Have the browser open the page, where the sailor would see it."""
    from powersim.tryout.open_browser import Door, why_not

    if not opens or why_not(os.environ) is not None:
        yield
        return
    try:
        door = Door(server.address)
    except OSError as error:
        _not_opened(str(error.strerror or error))
        yield
        return
    try:
        threading.Thread(target=_open, args=(door, server), daemon=True, name="door").start()
        yield
    finally:
        door.close()


def _open(door: Door, server: Server) -> None:
    """Open the browser, and delete the private file when it has come, or never will."""
    until_s = time.monotonic() + _DOOR_s
    try:
        door.open()
        while not server.lifetime.heard.wait(_LOOK_s) and time.monotonic() < until_s:
            if door.found_none():
                _not_opened("none was found")
                break
    except OSError as error:
        _not_opened(str(error.strerror or error))
    door.close()


def _not_opened(why: str) -> None:
    with suppress(OSError):
        say(f"no browser could be opened ({why}); copy the address into yours")


def idle_told(server: Server, folder: Path) -> None:
    """Say why it has ended."""
    from powersim.inputs.pasteable import pasteable

    say(
        f"no page has been open for {server.lifetime.idle_s / 60.0:g} min, so it has ended; "
        f"'powersim try {pasteable(folder)}' serves it again"
    )


def begin_the_answer(session: Session, tell_fault: Callable[[str, Exception], None]) -> None:
    """Work out the files' own answer while the browser starts; mistakes are told on the page."""

    def begin() -> None:
        try:
            session.get_ready()
        except PowersimError:
            return
        except Exception as error:  # noqa: BLE001 - the outermost place of its thread
            tell_fault("the files' own answer", error)
        finally:
            _collect_rings()

    threading.Thread(target=begin, daemon=True, name="first answer").start()


def _collect_rings() -> None:
    """From now on clear away what refers to itself: off in commands that live for seconds, it is
    needed in one that may be up for a day. What has been loaded by now stays and is not looked
    through again, which would hold up an answer by a tenth of a second.
    """
    gc.collect()
    gc.freeze()
    gc.enable()


def fault_teller() -> Callable[[str, Exception], None]:
    """What says in a line that a fault of our own came up, with details if they are asked for."""
    details = bool(click.get_current_context().obj)  # here, since threads know of no command

    def tell(where: str, error: Exception) -> None:
        what = " ".join(f"{type(error).__name__}: {error}".split())
        say(f"a fault of its own in {where} ({what}); the page goes on")
        if details:
            import traceback

            traceback.print_exception(error)

    return tell


def _tunnel(port: int) -> str:
    """A line that brings the page to another computer, through ssh and nothing else."""
    told = os.environ.get("SSH_CONNECTION", "").split()
    here, ssh_port = (told[2], told[3]) if len(told) == 4 else ("", _SSH_PORT)
    user = os.environ.get("USER", "")
    name = here if _ADDRESS.fullmatch(here) else "THIS-COMPUTER"
    who = f"{user}@{name}" if _USER.fullmatch(user) else name
    by = f" -p {ssh_port}" if ssh_port.isdigit() and ssh_port != _SSH_PORT else ""
    return f"ssh{by} -L {port}:127.0.0.1:{port} {who}"
