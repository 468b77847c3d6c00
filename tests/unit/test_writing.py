"""A set of files is written whole or not at all, and nothing of the sailor's is lost."""

import errno
import hashlib
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from powersim.errors import NotWrittenError, OutputError
from powersim.report import file_moves
from powersim.report.staging import HIDDEN
from powersim.report.writing import MARKER, refuse_what_is_in_the_way, write_all


def names_in(folder):
    return sorted(path.name for path in folder.iterdir())


def test_bytes_text_and_a_function_that_writes(tmp_path):
    folder = tmp_path / "boat" / "results"
    paths = write_all(
        folder,
        {
            "soc.png": lambda path: path.write_bytes(b"picture"),
            "hourly.csv": "soc\n0.57 °\n",
            "raw.bin": b"\x00\r\n",
        },
    )
    assert paths == (folder / "soc.png", folder / "hourly.csv", folder / "raw.bin")
    assert (folder / "soc.png").read_bytes() == b"picture"
    assert (folder / "hourly.csv").read_bytes() == "soc\n0.57 °\n".encode()
    assert (folder / "raw.bin").read_bytes() == b"\x00\r\n"
    assert names_in(folder) == [MARKER, "hourly.csv", "raw.bin", "soc.png"]


def test_a_function_is_given_a_path_with_the_suffix_of_the_file(tmp_path):
    seen = []

    def draw(path):
        seen.append(path.suffix)
        path.write_bytes(b"")

    write_all(tmp_path, {"soc.svg": draw})
    assert seen == [".svg"]


def test_the_list_of_digests_is_what_sha256sum_would_print(tmp_path):
    write_all(tmp_path, {"b.csv": "two\n", "a.csv": "one\n"})
    one, two = (hashlib.sha256(text).hexdigest() for text in (b"one\n", b"two\n"))
    assert (tmp_path / MARKER).read_text().splitlines()[1:] == [f"{one}  a.csv", f"{two}  b.csv"]


def test_results_that_are_unchanged_are_overwritten_by_the_next_run(tmp_path):
    write_all(tmp_path, {"hourly.csv": "old", "soc.png": b"old"})
    write_all(tmp_path, {"hourly.csv": "new"})
    write_all(tmp_path, {"hourly.csv": "newer", "soc.png": b"newer"})
    assert (tmp_path / "hourly.csv").read_text() == "newer"
    assert (tmp_path / "soc.png").read_bytes() == b"newer"


def test_a_result_that_the_sailor_changed_needs_force(tmp_path):
    write_all(tmp_path, {"hourly.csv": "ours", "daily.csv": "ours"})
    (tmp_path / "hourly.csv").write_text("with my notes")
    with pytest.raises(OutputError) as caught:
        write_all(tmp_path, {"daily.csv": "new", "hourly.csv": "new"})
    assert str(caught.value) == (
        f"{tmp_path} holds hourly.csv, not written by powersim or changed since; "
        "name another folder, or overwrite with --force"
    )
    assert (tmp_path / "hourly.csv").read_text() == "with my notes"
    assert (tmp_path / "daily.csv").read_text() == "ours"
    write_all(tmp_path, {"daily.csv": "new", "hourly.csv": "new"}, force=True)
    assert (tmp_path / "hourly.csv").read_text() == "new"
    assert names_in(tmp_path) == [MARKER, "daily.csv", "hourly.csv"]


def test_a_file_of_the_sailor_is_never_overwritten_without_force(tmp_path):
    (tmp_path / "loads.csv").write_text("mine")
    with pytest.raises(OutputError, match=r"holds loads\.csv"):
        write_all(tmp_path, {"loads.csv": "starter", "boat.toml": ""}, replace_own=False)
    assert names_in(tmp_path) == ["loads.csv"]
    write_all(tmp_path, {"loads.csv": "starter"}, force=True, replace_own=False)
    assert (tmp_path / "loads.csv").read_text() == "starter"
    assert names_in(tmp_path) == ["loads.csv"]


def test_only_into_an_empty_folder_unless_forced(tmp_path):
    (tmp_path / "notes.txt").write_text("mine")
    with pytest.raises(OutputError) as caught:
        write_all(tmp_path, {"boat.toml": ""}, only_into_empty=True)
    assert str(caught.value) == f"{tmp_path} is not empty; name another folder, or use --force"
    assert names_in(tmp_path) == ["notes.txt"]
    write_all(tmp_path, {"boat.toml": ""}, only_into_empty=True, force=True)
    assert names_in(tmp_path) == [MARKER, "boat.toml", "notes.txt"]


def test_a_broken_list_of_digests_vouches_for_nothing(tmp_path):
    write_all(tmp_path, {"hourly.csv": "ours"})
    (tmp_path / MARKER).write_bytes(b"\xff\xfe\x00")
    with pytest.raises(OutputError, match=r"holds hourly\.csv"):
        write_all(tmp_path, {"hourly.csv": "new"})
    assert (tmp_path / "hourly.csv").read_text() == "ours"


def test_a_file_where_the_folder_should_be(tmp_path):
    (tmp_path / "results").write_text("mine")
    with pytest.raises(OutputError) as caught:
        write_all(tmp_path / "results", {"hourly.csv": ""})
    assert str(caught.value) == (
        f"cannot write to {tmp_path / 'results'}: a file of that name is in the way; "
        "name another folder"
    )
    with pytest.raises(OutputError, match="a file of that name is in the way"):
        write_all(tmp_path / "results" / "deeper", {"hourly.csv": ""})
    assert (tmp_path / "results").read_text() == "mine"


def test_a_link_that_leads_nowhere_where_the_folder_should_be(tmp_path):
    """As to a disk that is not plugged in."""
    (tmp_path / "results").symlink_to("unplugged")
    with pytest.raises(OutputError) as caught:
        write_all(tmp_path / "results", {"hourly.csv": ""})
    assert str(caught.value) == (
        f"cannot write to {tmp_path / 'results'}: a link that leads nowhere is in the way; "
        "name another folder"
    )
    assert (tmp_path / "results").is_symlink()


def test_a_folder_where_a_file_should_be_is_not_forced_away(tmp_path):
    (tmp_path / "hourly.csv").mkdir()
    with pytest.raises(OutputError) as caught:
        write_all(tmp_path, {"hourly.csv": ""}, force=True)
    assert str(caught.value) == (
        f"cannot write to {tmp_path}: a folder named hourly.csv is in the way"
    )


def test_no_permission(tmp_path, monkeypatch):
    # Permissions do not bind the superuser, so the system's answer is put in its place.
    def refuse(path, *args, **kwargs):
        raise PermissionError(errno.EACCES, "Permission denied", str(path))

    monkeypatch.setattr("pathlib.Path.mkdir", refuse)
    with pytest.raises(OutputError) as caught:
        write_all(tmp_path / "results", {"hourly.csv": ""})
    assert str(caught.value) == (
        f"cannot write to {tmp_path / 'results'}: no permission; name another folder"
    )


def test_a_full_disk_leaves_everything_as_it_was(tmp_path):
    def fills_up(path):
        path.write_bytes(b"half a pict")
        raise OSError(errno.ENOSPC, "No space left on device")

    folder = tmp_path / "new" / "results"
    with pytest.raises(OutputError) as caught:
        write_all(folder, {"hourly.csv": "x", "soc.png": fills_up})
    assert str(caught.value) == (
        f"cannot write to {folder}: No space left on device; nothing was written"
    )
    assert names_in(tmp_path) == []


@pytest.mark.parametrize("fails_at", range(1, 7))
@pytest.mark.parametrize("how", [OSError(errno.EIO, "Input/output error"), KeyboardInterrupt()])
def test_a_failing_rename_is_undone(tmp_path, monkeypatch, fails_at, how):
    """Three new files over two old ones and the list: every rename in turn fails."""
    write_all(tmp_path, {"a.csv": "old a", "b.csv": "old b"})
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    calls, replace = [], os.replace

    def replace_or_fail(source, target):
        calls.append(source)
        if len(calls) == fails_at:
            raise how
        replace(source, target)

    monkeypatch.setattr(os, "replace", replace_or_fail)
    with pytest.raises((OutputError, KeyboardInterrupt)):
        write_all(tmp_path, {"a.csv": "new a", "c.csv": "new c", "b.csv": "new b"})
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_ctrl_c_during_a_slow_write_leaves_nothing_behind(tmp_path):
    folder = tmp_path / "results"
    script = (
        "import sys, time\n"
        "from pathlib import Path\n"
        "from powersim.report.writing import write_all\n"
        "def slow(path):\n"
        "    path.write_bytes(b'half')\n"
        "    print('writing', flush=True)\n"
        "    time.sleep(60)\n"
        "write_all(Path(sys.argv[1]), {'hourly.csv': 'all of it', 'soc.png': slow})\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", script, str(folder)], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout.readline() == b"writing\n"
        assert names_in(folder) == [HIDDEN]  # neither under its name
        process.send_signal(signal.SIGINT)
        _, errors = process.communicate(timeout=10)
    assert b"KeyboardInterrupt" in errors
    assert names_in(tmp_path) == []


class Held:
    """`os.replace` of a computer on which another program has one file open, as Windows has it.

    Windows answers "access denied" (5) or "in use" (32), and Python has its number in `winerror`.
    """

    def __init__(self, name, *, times, number):
        self.name, self.times, self.number, self.real = name, times, number, os.replace

    def __call__(self, source, target):
        if os.path.basename(target) == self.name and self.times > 0:
            self.times -= 1
            error = PermissionError(errno.EACCES, "Permission denied", source, None, target)
            error.winerror = self.number
            raise error
        self.real(source, target)


@pytest.mark.parametrize("number", [5, 32, 33])
def test_a_hold_of_a_moment_is_waited_for(tmp_path, monkeypatch, number):
    write_all(tmp_path, {"a.csv": "old", "b.csv": "old"})
    held = Held("b.csv", times=2, number=number)
    monkeypatch.setattr(os, "replace", held)
    write_all(tmp_path, {"a.csv": "new", "b.csv": "new"})
    assert held.times == 0
    assert (tmp_path / "b.csv").read_text() == "new"


def test_a_file_that_stays_open_elsewhere_is_named_and_all_stays_old(tmp_path, monkeypatch):
    monkeypatch.setattr(file_moves, "HELD_FOR_s", 0.3)
    write_all(tmp_path, {"a.csv": "old", "b.csv": "old"})
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    monkeypatch.setattr(os, "replace", Held("b.csv", times=10_000, number=32))
    with pytest.raises(NotWrittenError) as caught:
        write_all(tmp_path, {"a.csv": "new", "b.csv": "new"})
    assert str(caught.value) == (
        f"cannot replace {tmp_path / 'b.csv'}: another program has it open, such as a "
        "spreadsheet, or it is write-protected; close it there and run this again; nothing was "
        "replaced"
    )
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_where_there_are_no_links_a_copy_is_kept(tmp_path, monkeypatch):
    """As on the file systems of memory sticks and telephones."""

    def no_links(*_, **__):
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    test_a_failing_rename_is_undone(tmp_path, monkeypatch, 3, OSError(errno.EIO, "I/O error"))


def test_a_file_that_was_protected_stays_so(tmp_path):
    write_all(tmp_path, {"boat.toml": "old"}, replace_own=False)
    (tmp_path / "boat.toml").chmod(0o440)
    write_all(tmp_path, {"boat.toml": "new"}, force=True, replace_own=False)
    assert (tmp_path / "boat.toml").read_text() == "new"
    assert (tmp_path / "boat.toml").stat().st_mode & 0o777 == 0o440


RACER = """
import sys, time
from pathlib import Path
from powersim.report.writing import write_all
folder, mine = Path(sys.argv[1]), sys.argv[2]
def slow(path):
    path.write_text(mine)
    time.sleep(0.01)
print("ready", flush=True)
sys.stdin.readline()
for _ in range(8):
    write_all(folder, {name: slow for name in ("a.csv", "b.csv", "c.csv")})
"""


def test_of_two_writers_at_once_the_second_waits(tmp_path):
    folder = tmp_path / "results"
    racers = [
        subprocess.Popen(
            [sys.executable, "-c", RACER, str(folder), mine],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for mine in ("one", "two")
    ]
    for racer in racers:
        assert racer.stdout.readline() == "ready\n"
    for racer in racers:
        racer.stdin.write("\n")
        racer.stdin.flush()
    for racer in racers:
        _, errors = racer.communicate(timeout=60)
        assert (racer.returncode, errors) == (0, "")
    assert len({path.read_text() for path in folder.glob("*.csv")}) == 1
    assert names_in(folder) == [MARKER, "a.csv", "b.csv", "c.csv"]
    write_all(folder, {"a.csv": "later"})  # nobody is locked out


def test_nothing_is_refused_early_while_another_run_puts_its_files_in_place(tmp_path, monkeypatch):
    """Just then a new file is not on the list; it would pass for one of the sailor's."""
    write_all(tmp_path, {"a.csv": "old"})
    real, seen = os.replace, []

    def replace(source, target):
        real(source, target)
        if Path(target).name == "a.csv":
            refuse_what_is_in_the_way(tmp_path, ["a.csv"])
            seen.append(Path(target).read_text())

    monkeypatch.setattr(os, "replace", replace)
    write_all(tmp_path, {"a.csv": "new"})
    assert seen == ["new"]


def test_a_name_with_a_folder_in_it_is_a_fault_of_the_caller(tmp_path):
    with pytest.raises(ValueError, match=r"without a folder is needed, got '../a.csv'"):
        write_all(tmp_path, {"../a.csv": ""})
