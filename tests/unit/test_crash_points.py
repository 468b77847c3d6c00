"""Death at any moment: whatever step of a write is the last, the next command finds a whole set.

Every call by which a write touches names or the disk is in turn the last of its process, as after
kill -9 or a flat battery. What the system has not yet put on the disk cannot be taken away here;
that it is asked to in the right order is what `test_the_disk_is_waited_for` looks at.
"""

import os
import shutil

import pytest
from dying import DIED, dying_at, every_death

from powersim.cli.main import run
from powersim.inputs.starter import demo_files
from powersim.report.mending import mend
from powersim.report.new_folder import new_folder
from powersim.report.staging import HIDDEN
from powersim.report.writing import MARKER, write_all

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not hasattr(os, "fork"), reason="a child is made to die by fork"),
]
OLD = {"a.csv": "old a", "b.csv": "old b", "gone.json": "old gone"}
NEW = {"a.csv": "new a", "b.csv": "new b", "c.csv": "new c"}


@pytest.fixture(autouse=True)
def quick_disk(monkeypatch):
    """Nobody pulls the plug of this computer: only the order of waiting counts, not the wait."""
    monkeypatch.setattr(os, "fsync", lambda descriptor: None)


def contents(folder):
    return {
        str(path.relative_to(folder)): path.read_text()
        for path in folder.rglob("*")
        if path.is_file()
    }


def hidden_in(folder):
    return list(folder.rglob(f"{HIDDEN}*"))


def test_a_set_over_an_older_one(tmp_path):
    """Two files replaced, one added, one removed, with the list that vouches for them."""
    folder = tmp_path / "results"

    def prepare():
        shutil.rmtree(folder, ignore_errors=True)
        write_all(folder, OLD)

    write_all(folder, OLD)
    before = contents(folder)
    write_all(folder, NEW, removed=["gone.json"])
    after = contents(folder)
    assert set(after) == {*NEW, MARKER}
    seen = []
    for step in every_death(lambda: write_all(folder, NEW, removed=["gone.json"]), prepare):
        said = mend(folder)
        now = contents(folder)
        assert now in (before, after), step
        assert hidden_in(tmp_path) == [], step
        assert len(said) <= 1, step
        seen.append("old" if now == before else "new")
        for sentence in said:
            end = {"old": "the files are as they were before it", "new": "is in place"}[seen[-1]]
            assert sentence.startswith(f"{folder}: a command was stopped while it wrote here; ")
            assert sentence.endswith(end)
        write_all(folder, NEW)  # and it is not locked
    # Once it is new it is never old again.
    assert seen == sorted(seen, reverse=True)
    assert {"old", "new"} == set(seen)


def test_the_next_write_puts_it_right_too(tmp_path):
    folder = tmp_path / "results"

    def prepare():
        shutil.rmtree(folder, ignore_errors=True)
        write_all(folder, OLD)

    for step in every_death(lambda: write_all(folder, NEW), prepare):
        write_all(folder, {"d.csv": "later"})
        now = contents(folder)
        assert {now["a.csv"], now["b.csv"]} in ({"old a", "old b"}, {"new a", "new b"}), step
        assert hidden_in(tmp_path) == [], step


def test_a_set_in_a_folder_that_was_not_there(tmp_path):
    folder = tmp_path / "deep" / "results"

    def prepare():
        shutil.rmtree(tmp_path / "deep", ignore_errors=True)

    for step in every_death(lambda: write_all(folder, NEW), prepare):
        mend(folder)
        # A folder that was made and never written to may stay; it holds nothing.
        assert not folder.exists() or set(contents(folder)) in (set(), {*NEW, MARKER}), step
        assert hidden_in(tmp_path) == [], step


def test_a_death_while_it_is_mended_is_mended_too(tmp_path):
    folder = tmp_path / "results"
    write_all(folder, OLD)
    before = contents(folder)

    def interrupted():
        """Both files replaced, and the journal still open."""
        real, count = os.replace, [0]

        def replace(*names):
            count[0] += 1
            if count[0] == 4:  # the journal's own is the first
                os._exit(DIED)
            real(*names)

        os.replace = replace
        write_all(folder, NEW)

    def prepare():
        shutil.rmtree(folder, ignore_errors=True)
        write_all(folder, OLD)
        assert dying_at(10_000, interrupted)
        assert contents(folder)["b.csv"] == "new b"

    for step in every_death(lambda: mend(folder), prepare):
        mend(folder)
        assert contents(folder) == before, step
        assert hidden_in(tmp_path) == [], step


def test_a_new_folder(tmp_path):
    target = tmp_path / "copy"

    def fill():
        with new_folder(target) as part:
            (part / "in").mkdir()
            (part / "boat.toml").write_text("boat")
            (part / "in" / "curve.csv").write_text("curve")

    whole = {"boat.toml": "boat", os.path.join("in", "curve.csv"): "curve"}
    for step in every_death(fill, lambda: shutil.rmtree(target, ignore_errors=True)):
        said = mend(tmp_path / "another")  # which needs not be there
        assert hidden_in(tmp_path) == [], step
        assert not target.exists() or contents(target) == whole, step
        if said and not target.exists():
            assert said == (
                f"{target}: a command was stopped before this copy was whole; it is gone",
            )


def test_whole_commands(tmp_path, monkeypatch, capsys):
    """`new --force` over files of the sailor's, then `check`, which says so in one line."""
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "mine"
    mine = {name: f"{text}\n# mine\n" for name, text in demo_files().items()}

    def prepare():
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir()
        for name, text in mine.items():
            (folder / name).write_text(text, encoding="utf-8")

    for step in every_death(lambda: run(["new", "mine", "--force"]), prepare):
        capsys.readouterr()
        assert run(["check", "mine", "--json"]) == 0, step
        lines = capsys.readouterr().err.splitlines()
        now = contents(folder)
        assert now == mine or "# mine" not in "".join(now.values()), step
        assert hidden_in(tmp_path) == [], step
        assert len(lines) <= 1
        assert all(line.startswith("powersim: mine: a command was stopped ") for line in lines)


@pytest.mark.skipif(not os.path.isdir("/proc/self/fd"), reason="needs the names of open files")
def test_the_disk_is_waited_for(tmp_path, monkeypatch):
    """Files before the journal, the journal before the renames, the renames before it is closed."""
    write_all(tmp_path, {"a.csv": "old"})
    real_replace, order = os.replace, []

    def fsync(descriptor):
        order.append(f"fsync {os.path.basename(os.readlink(f'/proc/self/fd/{descriptor}'))}")

    def replace(source, target):
        order.append(f"replace {os.path.basename(target)}")
        real_replace(source, target)

    monkeypatch.setattr(os, "fsync", fsync)
    monkeypatch.setattr(os, "replace", replace)
    write_all(tmp_path, {"a.csv": "new"})
    assert order == [
        "fsync a.csv",
        f"fsync {MARKER}",
        "fsync journal.part",
        "fsync new",
        "fsync old",
        f"fsync {HIDDEN}",
        "replace journal",
        f"fsync {HIDDEN}",
        "replace a.csv",
        f"replace {MARKER}",
        f"fsync {tmp_path.name}",
        "replace closed",
        f"fsync {HIDDEN}",
    ]
