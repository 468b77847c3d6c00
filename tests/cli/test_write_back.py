"""`powersim underway --write-back`: what the log shows, in a copy or in the folder itself."""

import errno
import json
import os
import shutil
import stat
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from dying import every_death

from powersim.cli.write_back import WriteBack
from powersim.errors import InputError, NotWrittenError, OutputError
from powersim.inputs.folder import load_folder
from powersim.inputs.starter import demo_files
from powersim.logbook.load_shares import loads_found, loads_prior
from powersim.report import rewriting, writing
from powersim.report.mending import mend
from powersim.report.written_text import written_text
from powersim.simulation.factors import Factors
from powersim.simulation.prepare import prepare

ROUTE = "waypoint,position,speed\nStart,52 00.0 N 020 00.0 W,5 kn\nEnd,40 00.0 N 020 00.0 W,\n"
LOG = """\
time,voltage,resting_h,engine_h,solar_Ah
2026-09-05 10:00,12.70 V,,812.3,100
2026-09-06 06:00,12.50 V,3 h,812.3,118
2026-09-07 06:00,12.36 V,3 h,813.9,140
2026-09-08 06:00,12.31 V,3 h,815.4,166
"""
QUICK = ("--no-plan", "--members", "20", "--step", "60 min", "--now", "2026-09-08 08:00")
NOW = datetime(2026, 9, 8, 8, tzinfo=UTC)
NAMES = ["boat.toml", "loads.csv", "log.csv", "route.csv"]


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "short").mkdir()
    for name, text in (demo_files() | {"route.csv": ROUTE, "log.csv": LOG}).items():
        (tmp_path / "short" / name).write_bytes(text.encode())
    return tmp_path / "short"


def posterior(folder, *, told=(0.9, 0.5, 0.1, 0.4, 0.4), factors=(1.2, 0.9, 0.8, 1.1, 1.001)):
    """As much of a reckoning as a write-back looks at."""
    passage = load_folder(folder)
    prior = loads_prior(passage, prepare(passage, step_h=1.0))
    return SimpleNamespace(
        passage=passage,
        factors=Factors(*factors),
        estimate=SimpleNamespace(told_frac=np.array(told)[:, None]),
        loads=loads_found(prior, log_factor=np.log(factors[0]), sd=0.03),
    )


def contents(folder):
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def nothing_but(folder, *names):
    """Whether a folder holds these and no leftovers."""
    return sorted(path.name for path in folder.iterdir()) == sorted(names)


def test_the_command_makes_a_copy_and_says_every_value(call, folder):
    before = contents(folder)
    outcome = call("underway", "short", *QUICK, "--write-back", "as-she-is")
    assert (outcome.code, outcome.err) == (0, "")
    assert max(map(len, outcome.out.splitlines())) <= 80
    said = outcome.out.partition("Written into the files")[2]
    assert "Into as-she-is, a new copy of short, which is as it was." in said
    assert "loads.csv  draw (tiller pilot under sail)" in said
    assert "draw (masthead tricolour)" not in said
    assert "- what the alternator gives: the log says little about it" in said
    assert contents(folder) == before
    after = contents(folder.parent / "as-she-is")
    assert sorted(after) == NAMES
    assert {name for name in NAMES if after[name] != before[name]} == {"loads.csv"}
    assert nothing_but(folder.parent, "short", "as-she-is")
    again = call("underway", "short", *QUICK, "--write-back", "as-she-is")
    assert (again.code, again.out) == (2, "")
    assert again.err == (
        "powersim: as-she-is is not empty; name a folder that does not exist yet\n"
    )


def test_json_lists_what_was_written_into_the_folder_itself(call, folder):
    before = contents(folder)
    answer = json.loads(call("underway", "short", *QUICK, "--json", "--write-back", "short").out)
    after = contents(folder)
    assert answer["backups"] == ["loads.csv.2026-09-08-0800"]
    assert sorted(after) == sorted([*NAMES, *answer["backups"]])
    assert after["loads.csv.2026-09-08-0800"] == before["loads.csv"] != after["loads.csv"]
    assert after["boat.toml"] == before["boat.toml"]
    assert after["log.csv"] == before["log.csv"]
    pilot = next(one for one in answer["written"] if "pilot under sail" in one["place"])
    assert pilot["old"] == "2 A"
    amps = float(pilot["new"].removesuffix(" A"))
    (found,) = (one for one in load_folder(folder).loads if one.name == "tiller pilot under sail")
    assert found.draw_A == amps != 2.0


def test_the_answer_is_printed_where_it_cannot_be_written_back(call, folder, monkeypatch):
    def full(*_, **__):
        raise NotWrittenError("cannot write to short: No space left on device; nothing was written")

    monkeypatch.setattr(rewriting, "write_all", full)
    outcome = call("underway", "short", *QUICK, "--json", "--write-back", "short")
    assert outcome.code == 74
    assert outcome.err == (
        "powersim: cannot write to short: No space left on device; nothing was written\n"
    )
    answer = json.loads(outcome.out)
    assert answer["factors"]
    assert answer["written"] is None


def test_only_what_the_log_tells_is_written(folder):
    back = WriteBack(folder, folder.parent / "new")
    written = back.write(posterior(folder), now_utc=NOW)
    assert {one.place.split(" ")[0] for one in written.changes} == {
        *("panel.yield", "engine.charging_burn", "engine.slope"),
        *("draw", "standby"),
    }
    assert written.left == (
        "what the bank holds: the log says little about it",
        "what the alternator gives: the log bears out what the files say",
    )


def test_a_log_that_tells_nothing_writes_nothing(folder):
    before = contents(folder)
    for into in (folder, folder.parent / "new"):
        written = WriteBack(folder, into).write(posterior(folder, told=[0.1] * 5), now_utc=NOW)
        assert written.changes == written.backups == ()
        assert "Nothing: the log shows nothing" in written_text(written)
    assert contents(folder) == before
    assert nothing_but(folder.parent, "short")


def test_the_copy_has_all_of_the_sailors_and_nothing_of_old_results(folder):
    (folder / "curves").mkdir()
    (folder / "curves" / "mine.csv").write_text("wind_kn,power_W\n5,0\n30,200\n", encoding="utf-8")
    writing.write_all(folder / "results", {"hourly.csv": "old"})
    writing.write_all(folder, {"card.html": "old"})
    back = WriteBack(folder, folder.parent / "new")
    back.write(posterior(folder), now_utc=NOW)
    copied = contents(folder.parent / "new")
    assert sorted(copied) == sorted([*NAMES, os.path.join("curves", "mine.csv")])
    assert not (folder.parent / "new" / "results").exists()


def test_two_backups_of_one_minute_are_both_kept(folder):
    first = contents(folder)
    for _ in range(2):
        written = WriteBack(folder, folder).write(posterior(folder), now_utc=NOW)
    assert written.backups == ("boat.toml.2026-09-08-0800-2", "loads.csv.2026-09-08-0800-2")
    assert contents(folder)["boat.toml.2026-09-08-0800"] == first["boat.toml"]
    assert contents(folder)["loads.csv.2026-09-08-0800-2"] != first["loads.csv"]


def test_the_mark_of_a_spreadsheet_stays(folder):
    path = folder / "loads.csv"
    lines = path.read_bytes().count(b"\n")
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    WriteBack(folder, folder).write(posterior(folder), now_utc=NOW)
    raw = path.read_bytes()
    assert raw.startswith(b"\xef\xbb\xbf")
    assert raw.count(b"\xef\xbb\xbf") == 1
    assert raw.count(b"\n") == raw.count(b"\r\n") == lines + 1  # and what the list lacks


@pytest.mark.parametrize(
    ("into", "said"),
    [
        ("short/log.csv", "is a file; name a folder that does not exist yet"),
        ("short/new", "lies within short; name a folder beside it"),
        (".", "is not empty"),
    ],
)
def test_a_folder_that_cannot_be_a_new_one_is_refused_before_the_work(folder, into, said):
    with pytest.raises(OutputError, match=said):
        WriteBack(folder.relative_to(folder.parent), folder.parent.joinpath(into).relative_to(
            folder.parent))  # fmt: skip


def test_an_empty_folder_is_taken(folder):
    (folder.parent / "new").mkdir()
    WriteBack(folder, folder.parent / "new").write(posterior(folder), now_utc=NOW)
    assert nothing_but(folder.parent / "new", *NAMES)


@pytest.mark.parametrize("stop", [KeyboardInterrupt, OSError])
@pytest.mark.parametrize("here", [False, True])
def test_a_writing_that_is_cut_short_leaves_nothing(folder, monkeypatch, here, stop):
    before = contents(folder)
    into = folder if here else folder.parent / "deep" / "new"
    back, found = WriteBack(folder, into), posterior(folder)

    def cut(*_):
        raise stop("no space left")

    monkeypatch.setattr(os, "fsync", cut)
    with pytest.raises(KeyboardInterrupt if stop is KeyboardInterrupt else OutputError):
        back.write(found, now_utc=NOW)
    assert contents(folder) == before
    assert nothing_but(folder.parent, "short")


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="a child is made to die by fork")
@pytest.mark.parametrize("here", [False, True])
def test_a_death_at_any_moment_loses_nothing(folder, monkeypatch, here):
    """Each step of the writing is in turn the last; the next command puts right what it left."""
    monkeypatch.setattr(os, "fsync", lambda descriptor: None)
    before, found = contents(folder), posterior(folder)
    into = folder if here else folder.parent / "new"
    kept = folder.parent / "kept"
    shutil.copytree(folder, kept)

    def prepare():
        for path in (folder, folder.parent / "new"):
            shutil.rmtree(path, ignore_errors=True)
        shutil.copytree(kept, folder)

    WriteBack(folder, into).write(found, now_utc=NOW)
    after = contents(into)
    assert before != after
    for step in every_death(lambda: WriteBack(folder, into).write(found, now_utc=NOW), prepare):
        said = mend(folder)
        assert len(said) <= 1, step
        assert not any("writing" in path.name for path in folder.parent.rglob(".*")), step
        assert contents(into) in ((before, after) if here else ({}, after)), step
        assert here or contents(folder) == before


@pytest.mark.parametrize("here", [False, True])
def test_a_value_out_of_range_leaves_nothing(folder, here):
    before = contents(folder)
    back = WriteBack(folder, folder if here else folder.parent / "new")
    found = posterior(folder, told=[0.9] * 5, factors=(1.2, 0.9, 1.5, 1.1, 1.0))
    with pytest.raises(InputError, match=r"battery.health: 85 % times 1\.5 would be too much"):
        back.write(found, now_utc=NOW)
    assert contents(folder) == before
    assert nothing_but(folder.parent, "short")


@pytest.mark.parametrize("here", [False, True])
def test_what_cannot_be_read_back_is_not_left(folder, monkeypatch, here):
    """A curve that is found from the folder, and is gone when the work is done."""
    with (folder / "boat.toml").open("a", encoding="utf-8") as file:
        file.write('\n[[charger]]\nkind = "wind"\ncurve = "mine.csv"\n')
    (folder / "mine.csv").write_text("wind_kn,power_W\n5,0\n30,200\n", encoding="utf-8")
    back, found = WriteBack(folder, folder if here else folder.parent / "new"), posterior(folder)
    (folder / "mine.csv").unlink()
    before = contents(folder)
    with pytest.raises(InputError) as caught:
        back.write(found, now_utc=NOW)
    assert str(caught.value).startswith("boat.toml:")
    assert "(as it would be) charger.curve: 'mine.csv': no such file" in str(caught.value)
    assert contents(folder) == before
    assert nothing_but(folder.parent, "short")


def test_a_copy_of_the_demo_has_its_files_too(call, folder, monkeypatch):
    """`demo` lists what it wrote as its own; in a passage folder that is the sailor's."""
    monkeypatch.setattr("powersim.cli.simulate.simulated", lambda *_, **__: 1 / 0)
    assert call("demo", "shown", "--no-figures").code == 70  # its files are written by then
    shown = folder.parent / "shown"
    (shown / "log.csv").write_text(LOG, encoding="utf-8")
    writing.write_all(shown / "results", {"hourly.csv": "old"})
    WriteBack(shown, folder.parent / "new").write(posterior(shown), now_utc=NOW)
    assert nothing_but(folder.parent / "new", *NAMES)
    assert load_folder(folder.parent / "new").waypoints


def test_a_copy_of_protected_files_can_be_written(folder, monkeypatch):
    """As they come from a disc or a shared folder. Permissions do not bind the superuser, so that
    they are looked at where the copy is written."""
    (folder / "curves").mkdir()
    (folder / "curves" / "mine.csv").write_text("wind_kn,power_W\n5,0\n30,200\n", encoding="utf-8")
    for path in folder.rglob("*"):
        path.chmod(0o555 if path.is_dir() else 0o444)
    real = Path.write_bytes

    def write_bytes(path, content):
        if path.exists() and not path.stat().st_mode & stat.S_IWUSR:
            raise PermissionError(errno.EACCES, "Permission denied", str(path))
        return real(path, content)

    monkeypatch.setattr(Path, "write_bytes", write_bytes)
    new = folder.parent / "new"
    WriteBack(folder, new).write(posterior(folder), now_utc=NOW)
    assert all(path.stat().st_mode & stat.S_IWUSR for path in [new, *new.rglob("*")])
    assert contents(new)["boat.toml"] != contents(folder)["boat.toml"]
    assert (folder / "boat.toml").stat().st_mode & 0o777 == 0o444


def test_a_copy_follows_no_link_to_a_folder_and_writes_through_none(folder):
    outside = folder.parent / "outside"
    outside.mkdir()
    shutil.move(folder / "boat.toml", outside)
    links = {"boat.toml": "../outside/boat.toml", "back": ".", "charts": "../outside"}
    for name, target in (links | {"gone": "nowhere"}).items():
        (folder / name).symlink_to(target)
    if hasattr(os, "mkfifo"):  # reading one would wait for ever
        os.mkfifo(folder / "pipe")
    before = (outside / "boat.toml").read_bytes()
    new = folder.parent / "new"
    WriteBack(folder, new).write(posterior(folder), now_utc=NOW)
    names = {path.name for path in new.iterdir()}
    assert names == {path.name for path in folder.iterdir()} - {"gone", "pipe"}
    assert not (new / "boat.toml").is_symlink()
    assert (new / "boat.toml").read_bytes() != before == (outside / "boat.toml").read_bytes()
    assert {name: os.readlink(new / name) for name in ("back", "charts")} == {
        "back": ".",
        "charts": "../outside",
    }


@pytest.mark.parametrize("here", ["tern", "."])
@pytest.mark.parametrize("what", ["a file that may not be read", "a full disk"])
def test_a_copy_that_fails_is_told_without_the_name_it_has_for_now(
    folder, monkeypatch, tmp_path, here, what
):
    """Permissions do not bind the superuser, so the system's answers are put in their place."""

    def copy2(source, target):
        if what == "a full disk":  # as shutil has it of the system
            raise OSError(errno.ENOSPC, "No space left on device", str(source), None, str(target))
        raise PermissionError(errno.EACCES, "Permission denied", str(source))

    folder = folder.rename(tmp_path / "tern")
    monkeypatch.chdir(tmp_path if here == "tern" else folder)
    new = Path("new" if here == "tern" else "../new")
    back = WriteBack(here, new)
    monkeypatch.setattr(shutil, "copy2", copy2)
    with pytest.raises(OutputError) as caught:
        back.write(posterior(Path(here)), now_utc=NOW)
    assert str(caught.value) == (
        f"cannot write to {new}: No space left on device; nothing was written"
        if what == "a full disk"
        else f"cannot copy {Path(here, 'boat.toml')}: Permission denied; nothing was written"
    )
    assert [path.name for path in tmp_path.iterdir()] == ["tern"]


def test_files_that_change_while_it_works_are_not_overwritten(folder):
    back, found = WriteBack(folder, folder), posterior(folder)
    with (folder / "loads.csv").open("a", encoding="utf-8") as file:
        file.write("kettle,50 A,,1,any,always,1 min/day,,,,comfort,dc,10 %,\n")
    before = contents(folder)
    with pytest.raises(OutputError, match="were changed meanwhile; nothing was written"):
        back.write(found, now_utc=NOW)
    assert contents(folder) == before
