"""Where a browser is opened, and that nobody else sees the key on its way there."""

import stat
import sys

import pytest

from powersim.tryout import open_browser
from powersim.tryout.open_browser import Door, why_not

ADDRESS = "http://127.0.0.1:8123/#a-key_of_43_letters"


@pytest.mark.parametrize(
    ("environment", "platform", "why"),
    [
        ({}, "linux", "no display"),
        ({"DISPLAY": ""}, "linux", "no display"),
        ({"DISPLAY": ":0"}, "linux", None),
        ({"WAYLAND_DISPLAY": "wayland-0"}, "linux", None),
        ({}, "freebsd14", "no display"),
        ({}, "darwin", None),
        ({}, "win32", None),
        ({"DISPLAY": "localhost:10.0", "SSH_CONNECTION": "10.0.0.2 5 10.0.0.1 22"}, "linux", "ssh"),
        ({"DISPLAY": ":0", "SSH_TTY": "/dev/pts/1"}, "linux", "ssh"),
        ({"SSH_CLIENT": "10.0.0.2 5 22"}, "darwin", "ssh"),
    ],
)
def test_nothing_is_opened_over_ssh_or_without_a_display(environment, platform, why):
    assert why_not(environment, platform) == why


@pytest.mark.skipif(sys.platform == "win32", reason="rights of files are POSIX's")
def test_the_file_is_the_sailors_alone_and_leads_on(tmp_path, monkeypatch):
    monkeypatch.setattr(open_browser, "_place", lambda: str(tmp_path))
    door = Door(ADDRESS)
    assert stat.S_IMODE(door.file.stat().st_mode) == 0o600
    assert stat.S_IMODE(door.folder.stat().st_mode) == 0o700
    assert f'content="0; url={ADDRESS}"' in door.file.read_text(encoding="utf-8")
    assert "a-key" not in str(door.file)
    door.close()
    assert list(tmp_path.iterdir()) == []
    door.close()  # once more, as when Ctrl-C comes just then


def test_no_program_is_looked_for_in_the_current_folder():
    """Where PATH has an empty part, a dot or `bin`, a passage folder's xdg-open would be run."""
    cleaned = open_browser._without_the_current_folder(
        {"PATH": ":/usr/bin:.:bin::/bin:", "DISPLAY": ":0"}
    )
    assert cleaned["PATH"] == "/usr/bin:/bin"
    assert cleaned["DISPLAY"] == ":0"
