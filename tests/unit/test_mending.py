"""What a command that died has left: what is said of it, and by whom it is left alone."""

import errno
import json
import os

import pytest

import powersim
from powersim.cli.main import run
from powersim.errors import InputError, OutputError
from powersim.inputs.starter import demo_files
from powersim.report import mending, staging
from powersim.report.file_lock import FileLock
from powersim.report.mending import mend
from powersim.report.staging import HIDDEN, RESCUED
from powersim.report.writing import write_all

OLD = {"boat.toml": "old boat", "loads.csv": "old loads"}
NEW = {"boat.toml": "new boat", "loads.csv": "new loads"}
STOPPED = "a command was stopped while it wrote here"


@pytest.fixture
def half(tmp_path, monkeypatch):
    """A folder as a death leaves it: boat.toml new, loads.csv old, the journal open."""

    folder = tmp_path / "tern"
    write_all(folder, OLD, replace_own=False)
    real = os.replace

    def replace(source, target):
        if os.path.basename(target) == "loads.csv":
            raise OSError("the battery is flat")
        real(source, target)

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", replace)
        # The dead neither put back nor tidy up; the system lets go of their lock.
        patch.setattr(staging.Staging, "end", lambda self: None)
        with pytest.raises(OutputError):
            write_all(folder, NEW, force=True, replace_own=False)
    assert texts(folder) == {"boat.toml": "new boat", "loads.csv": "old loads"}
    assert (folder / HIDDEN / "journal").exists()
    return folder


def texts(folder):
    return {path.name: path.read_text() for path in folder.iterdir() if path.is_file()}


def test_it_is_put_back_and_said_once(half):
    assert mend(half) == (f"{half}: {STOPPED}; the files are as they were before it",)
    assert texts(half) == OLD
    assert not (half / HIDDEN).exists()
    assert mend(half) == ()


@pytest.mark.parametrize("seen_from", [".", "..", "../another", "results"])
def test_it_is_found_from_the_folder_and_from_where_it_lies(half, seen_from, monkeypatch):
    """A passage's command mends its results too; the results' own only themselves."""
    results = half / "results"
    os.rename(half, half.parent / "aside")
    half.mkdir()
    os.rename(half.parent / "aside", results)
    monkeypatch.chdir(results)
    seen = {".": results, "..": half, "../another": half / "another", "results": results}[seen_from]
    said = mend(seen)
    assert bool(said) == (seen_from != "../another")
    assert texts(results)["boat.toml"] == ("old boat" if said else "new boat")


def test_results_that_are_a_link_to_another_disk_are_put_right_too(half):
    """By a link to itself, and one that leads nowhere, a folder is looked through all the same."""
    passage = half.parent / "petrel"
    passage.mkdir()
    for name, target in (("itself", "itself"), ("nowhere", "gone"), ("results", half)):
        (passage / name).symlink_to(target)
    said = f"{passage / 'results'}: {STOPPED}; the files are as they were before it"
    assert mend(passage) == (said,)
    assert texts(half) == OLD
    assert not (half / HIDDEN).exists()


def test_a_notebook_puts_it_right_too_and_warns(half):
    for name, text in demo_files().items():
        if name != "boat.toml":
            (half / name).write_text(text, encoding="utf-8")
    with (
        pytest.warns(UserWarning, match=f"{STOPPED}; the files are as they were before it"),
        pytest.raises(InputError),
    ):
        powersim.load(half)
    assert (half / "boat.toml").read_text() == "old boat"


def test_what_was_edited_since_is_left_alone_and_named(half):
    (half / "boat.toml").write_text("my own boat")
    assert mend(half) == (
        f"{half}: {STOPPED}; the files are as they were before it, but for boat.toml, changed "
        "since and left alone",
    )
    assert texts(half) == {"boat.toml": "my own boat", "loads.csv": "old loads"}


def test_what_was_removed_since_comes_back(half):
    (half / "boat.toml").unlink()
    assert len(mend(half)) == 1
    assert texts(half) == OLD


@pytest.mark.parametrize("spoilt", [b"", b"\xff\x00", b"[1]", b'{"../boat.toml": [null, null]}'])
def test_a_spoilt_journal_keeps_in_sight_what_it_was_to_bring_back(half, spoilt):
    (half / HIDDEN / "journal").write_bytes(spoilt)
    (half / RESCUED).mkdir()
    assert mend(half) == (
        f"{half}: {STOPPED}; its notes are spoilt, so that some files may be old and some new; "
        f"those that it was to replace are in {half / RESCUED}-2",
    )
    assert texts(half) == {"boat.toml": "new boat", "loads.csv": "old loads"}
    assert texts(half / f"{RESCUED}-2") == OLD
    assert not (half / HIDDEN).exists()


def test_a_journal_names_nothing_outside_its_folder(half, tmp_path):
    (tmp_path / "mine.txt").write_text("mine")
    entry = {"../mine.txt": [None, staging.digest_if_any(tmp_path / "mine.txt")]}
    (half / HIDDEN / "journal").write_text(json.dumps(entry))
    mend(half)
    assert (tmp_path / "mine.txt").read_text() == "mine"


def test_a_link_in_its_place_is_not_followed(half, tmp_path):
    os.rename(half / HIDDEN, tmp_path / "elsewhere")
    (half / HIDDEN).symlink_to(tmp_path / "elsewhere")
    assert mend(half) == ()
    assert (tmp_path / "elsewhere" / "journal").exists()


def test_a_link_in_the_place_of_the_lock_is_not_written_through(half, tmp_path):
    """A folder from somebody else could hold one; what it leads to must not be emptied."""
    (tmp_path / "mine.txt").write_text("mine")
    (half / HIDDEN / "lock").symlink_to(tmp_path / "mine.txt")
    assert len(mend(half)) == 1
    assert texts(half) == OLD
    assert (tmp_path / "mine.txt").read_text() == "mine"


def test_a_write_goes_not_through_a_link_either(tmp_path):
    for name in ("new", "old"):
        (tmp_path / "mine" / name).mkdir(parents=True)
    (tmp_path / "results").mkdir()
    (tmp_path / "results" / HIDDEN).symlink_to(tmp_path / "mine")
    write_all(tmp_path / "results", {"a.csv": "a"})
    assert sorted(path.name for path in (tmp_path / "mine").iterdir()) == ["new", "old"]
    assert not os.path.lexists(tmp_path / "results" / HIDDEN)


def test_a_file_in_the_place_of_the_hidden_folder_locks_nobody_out(tmp_path):
    (tmp_path / HIDDEN).write_text("none of ours")
    write_all(tmp_path, NEW)
    assert texts(tmp_path)["boat.toml"] == "new boat"
    assert not (tmp_path / HIDDEN).exists()


@pytest.mark.parametrize("number", [errno.EACCES, errno.EROFS])
def test_where_nothing_can_be_written_it_is_said_and_read_all_the_same(
    half, monkeypatch, capsys, number
):
    # Permissions do not bind the superuser, so the system's answer is put in its place.
    def refuse(path, *_, **__):
        raise OSError(number, os.strerror(number), str(path))

    for name, text in demo_files().items():
        (half / name).write_text(text, encoding="utf-8")
    monkeypatch.setattr(FileLock, "_taken", refuse)
    assert run(["check", str(half), "--quiet"]) == 0
    outcome = capsys.readouterr()
    assert outcome.out
    assert outcome.err == (
        f"powersim: {half}: {STOPPED}, and that cannot be put right here "
        f"({os.strerror(number)}); some files may be old and some new\n"
    )
    (half / HIDDEN / "journal").unlink()  # then nothing is wrong with the files themselves
    assert mend(half) == ()


def test_a_command_that_is_at_work_is_left_alone(half, monkeypatch):
    monkeypatch.setattr(mending, "READER_WAITS_s", 0.05)
    monkeypatch.setattr(staging, "WRITER_WAITS_s", 0.05)
    lock = FileLock(half / HIDDEN)
    assert lock.take(wait_s=0.0, make=False)
    who = f"another powersim (process {os.getpid()})"
    assert mend(half) == (f"{half}: {who} is writing here; it is read as it is now",)
    with pytest.raises(OutputError) as caught:
        write_all(half, NEW, force=True)
    assert str(caught.value) == (
        f"cannot write to {half}: {who} is writing there; run this again when it has ended; "
        "nothing was written"
    )
    assert texts(half)["boat.toml"] == "new boat"
    lock.let_go()
    assert len(mend(half)) == 1


def test_results_that_another_command_writes_do_not_concern_a_reader(half):
    half.rename(half.parent / "results")
    results = half.parent / "results"
    lock = FileLock(results / HIDDEN)
    assert lock.take(wait_s=0.0, make=False)
    assert mend(half.parent) == ()
    lock.let_go()
