"""The sailor's browser, opened on the page without the key being seen on the way.

What a program is started with can be read by everybody on the computer. So the browser is handed a
private file and not the address; the file leads on to the page, and is deleted soon after.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import webbrowser
from collections.abc import Mapping
from html import escape
from pathlib import Path

from powersim.processes import SAFE_FOLDER, command

_OVER_SSH = ("SSH_CONNECTION", "SSH_CLIENT", "SSH_TTY")
_DISPLAYS = ("DISPLAY", "WAYLAND_DISPLAY")
_NAME = "open.html"
_LEADS_ON = """<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="referrer" content="no-referrer">
<meta http-equiv="refresh" content="0; url={address}">
<title>powersim</title>
<p><a href="{address}">Go on to the page.</a></p>
</html>
"""


def why_not(environment: Mapping[str, str], platform: str = sys.platform) -> str | None:
    """Why no browser can be opened where the sailor sees it; None if one can.

    Parameters
    ----------
    environment : mapping of str to str
        Of this process.
    platform : str
        As `sys.platform` has it.
    """
    if any(environment.get(name) for name in _OVER_SSH):
        return "ssh"
    has_display = platform in ("win32", "darwin") or any(map(environment.get, _DISPLAYS))
    return None if has_display else "no display"


class Door:
    """A private file that leads to the page, there until `close`.

    Parameters
    ----------
    address : str
        With the key.
    """

    def __init__(self, address: str):
        self.folder = Path(tempfile.mkdtemp(prefix="powersim-page-", dir=_place()))
        self.file = self.folder / _NAME
        text = _LEADS_ON.format(address=escape(address, quote=True))
        handle = os.open(self.file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with open(handle, "w", encoding="utf-8") as file:
            file.write(text)
        self._opener: subprocess.Popen[bytes] | None = None

    def open(self) -> None:
        """Have the sailor's browser open it, in a process of its own that Ctrl-C does not reach."""
        self._opener = subprocess.Popen(
            command("powersim.tryout.open_browser", self.file.as_uri()),
            cwd=SAFE_FOLDER,
            env=_without_the_current_folder(os.environ),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )

    def found_none(self) -> bool:
        """Whether it has turned out that there is no browser to open it."""
        # What opens it ends at once, or with its browser.
        return self._opener is not None and self._opener.poll() not in (None, 0)

    def close(self) -> None:
        """Delete the file; the browser has read it, or never will."""
        shutil.rmtree(self.folder, ignore_errors=True)


def _place() -> str | None:
    """Where the file lies: where browsers that are shut in by snap can read it, if there are any.

    They see nothing of the temporary files, and of a home only what is not hidden.
    """
    home = os.path.expanduser("~")
    return home if os.path.isdir("/snap/bin") and os.access(home, os.W_OK) else None


def _without_the_current_folder(environment: Mapping[str, str]) -> dict[str, str]:
    """The environment, with no program looked for in whatever folder is the current one."""
    parts = environment.get("PATH", os.defpath).split(os.pathsep)
    kept = [part for part in parts if os.path.isabs(part)]
    return {**environment, "PATH": os.pathsep.join(kept), "NoDefaultCurrentDirectoryInExePath": "1"}


def main() -> None:
    """Open what is named on the command line; the process of its own runs this."""
    sys.exit(0 if webbrowser.open(sys.argv[1]) else 1)


if __name__ == "__main__":
    main()
