"""What is told while members are tried, and that Ctrl-C then leaves nothing behind."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from powersim.cli import progress
from powersim.cli.progress import share_told

DEMO = Path(__file__).resolve().parents[2] / "loads" / "iceland-to-cabo-verde"


class Clock:
    """A clock that a test turns on by hand, beside a terminal."""

    def __init__(self, monkeypatch):
        self.now_s = 0.0
        monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
        monkeypatch.setattr(progress.time, "monotonic", lambda: self.now_s)


def test_the_share_is_told_after_two_seconds_and_wiped_at_the_end(capsys, monkeypatch):
    clock = Clock(monkeypatch)
    with share_told("simulating 200 passages") as tell:
        for now_s, done_frac in [(0.5, 0.1), (1.9, 0.3), (2.0, 0.459), (2.1, 0.5), (2.3, 0.999)]:
            clock.now_s = now_s
            tell(done_frac)
    # 2 s for 0.459 of it leave 2 x 0.541 / 0.459 = 2.4 s.
    shown = ["simulating 200 passages: 45 %, 3 s left", "simulating 200 passages: 99 %, 1 s left"]
    wiped = " " * len(shown[-1])
    assert capsys.readouterr().err == f"\r{shown[0]}\r{shown[1]}\r{wiped}\r"


def test_a_shorter_line_leaves_nothing_of_a_longer_one(capsys, monkeypatch):
    clock = Clock(monkeypatch)
    with share_told("trying") as tell:
        for now_s, done_frac in [(2.0, 0.01), (100.0, 1.0)]:
            clock.now_s = now_s
            tell(done_frac)
    first, last = "trying: 1 %, 4 min left", "trying: 100 %"
    padded = last.ljust(len(first))
    assert capsys.readouterr().err == f"\r{first}\r{padded}\r{' ' * len(last)}\r"


def test_what_is_done_is_told_before_any_share_is_known(capsys, monkeypatch):
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    with share_told("trying 9 choices", after_s=0.01):
        time.sleep(0.2)
    said = "trying 9 choices ..."
    assert capsys.readouterr().err == f"\r{said}\r{' ' * len(said)}\r"


def test_what_is_quick_is_not_told(capsys, monkeypatch):
    Clock(monkeypatch)
    with share_told("simulating 2 passages") as tell:
        tell(1.0)
    assert capsys.readouterr().err == ""


def test_nobody_is_told_where_nobody_looks_on(capsys, monkeypatch):
    monkeypatch.setattr(sys.stderr, "isatty", lambda: False)
    with share_told("simulating 200 passages") as tell:
        assert tell is None
    assert capsys.readouterr().err == ""


def all_from(terminal):
    """What is left to read of a terminal whose other end is closed, which Linux calls an error."""
    read = b""
    try:
        while more := os.read(terminal, 1000):
            read += more
    except OSError:
        pass
    return read


@pytest.mark.slow
def test_ctrl_c_among_the_members_leaves_no_file(environment, tmp_path):
    """On a terminal, which shows the share first."""
    pty = pytest.importorskip("pty", reason="a terminal of our own needs a POSIX system")
    ours, theirs = pty.openpty()
    out = tmp_path / "results"
    # More members than can be tried before the first share is told.
    command = [sys.executable, "-m", "powersim", "simulate", str(DEMO), "--out", str(out)]
    with subprocess.Popen(
        [*command, "--members", "5000", "--step", "5 min"],
        stdout=subprocess.PIPE,
        stderr=theirs,
        env=environment,
        start_new_session=True,
    ) as process:
        os.close(theirs)
        shown, begun_s = b"", time.monotonic()
        while b"%" not in shown and time.monotonic() - begun_s < 60.0:
            shown += os.read(ours, 1000)
        process.send_signal(signal.SIGINT)
        output = process.stdout.read()
        assert process.wait(timeout=30) == 130
    shown += all_from(ours)
    os.close(ours)
    assert shown.startswith(b"\rsimulating 5000 passages")
    assert b"simulating 5000 passages: " in shown
    assert shown.endswith(b" \rpowersim: stopped\r\n")
    assert output == b""
    assert not out.exists()
    assert list(tmp_path.iterdir()) == []
