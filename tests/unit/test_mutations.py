"""The list of mutations fits the code as it is, and the runner tells what no test notices.

It does not try the list itself: `python tests/mutations/run.py` does.
"""

import multiprocessing
from dataclasses import replace

import pytest
from mutations import run
from mutations.listed import Mutation, mutations
from pages import ROOT

LIST = mutations()


@pytest.mark.parametrize("mutation", LIST, ids=lambda one: one.breaks)
def test_what_is_to_be_changed_stands_there_once(mutation):
    """Who changes such a line changes it in tests/mutations/list.toml too."""
    assert mutation.problem(ROOT) is None


def test_each_is_another_and_says_what_it_breaks():
    assert len({one.breaks for one in LIST}) == len(LIST) >= 60
    assert len({(one.file, one.old, one.new) for one in LIST}) == len(LIST)
    assert all(one.breaks.endswith(".") for one in LIST)


def test_every_part_of_the_code_has_some():
    folders = {one.file.split("/")[1] for one in LIST}
    assert folders >= {
        *("physics", "kernel", "sky", "voyage", "simulation"),
        *("planning", "logbook", "inputs", "report"),
    }


TOTAL = "def total(first, second):\n    return first + second\n"
SLIP = Mutation(
    breaks="Takes off what should be added.",
    file="made/sums.py",
    old="first + second",
    new="first - second",
    tests=("tests/test_sums.py",),
)
#: Two and two are four whether they are added or multiplied.
TWO_AND_TWO = "from made.sums import total\n\n\ndef test_total():\n    assert total(2, 2) == 4\n"


@pytest.fixture
def tree(tmp_path):
    """A package of one function, with one test that is not sharp enough."""
    root = tmp_path / "tree"
    for name, text in (("made/sums.py", TOTAL), ("tests/test_sums.py", TWO_AND_TWO)):
        (root / name).parent.mkdir(parents=True)
        (root / name).write_text(text, encoding="utf-8")
    (root / "pyproject.toml").write_text("[tool.pytest.ini_options]\n", encoding="utf-8")
    return root


def tried(tree, *slips):
    chosen = dict(enumerate(slips, 1))
    return run.tried(chosen, root=tree, parts=("made", "tests", "pyproject.toml"), jobs=2)


@pytest.fixture(autouse=True)
def its_own_temporary_folder(tmp_path, monkeypatch):
    (tmp_path / "temporary").mkdir()
    monkeypatch.setattr(run, "TEMPORARY", tmp_path / "temporary")
    return tmp_path / "temporary"


@pytest.mark.slow
def test_what_no_test_notices_is_named(tree, its_own_temporary_folder, capsys):
    times = replace(SLIP, new="first * second", breaks="Multiplies.")
    unreadable = replace(SLIP, new="first +", breaks="Cannot be read.")
    assert tried(tree, SLIP, times, unreadable) == 1
    out = capsys.readouterr().out
    assert "  1  noticed   Takes off what should be added. tests/test_sums.py::test_total" in out
    assert "  2  SURVIVES  Multiplies. (made/sums.py)" in out
    assert "  3  NO TEST RAN  Cannot be read." in out
    assert "1 of 3 noticed" in out
    assert out.endswith("not noticed: 2 3\n")
    assert (tree / "made/sums.py").read_text(encoding="utf-8") == TOTAL
    assert not list(its_own_temporary_folder.iterdir())


@pytest.mark.slow
def test_a_test_that_fails_in_any_case_has_noticed_nothing(tree, capsys):
    (tree / "tests/test_sums.py").write_text(TWO_AND_TWO.replace("4", "5"), encoding="utf-8")
    assert tried(tree, SLIP) == 2
    assert "fails as the code stands" in capsys.readouterr().out


def test_ctrl_c_leaves_nothing_behind(tree, its_own_temporary_folder, monkeypatch):
    def interrupted(seconds):
        assert multiprocessing.active_children()
        raise KeyboardInterrupt

    monkeypatch.setattr(run.time, "sleep", interrupted)
    with pytest.raises(KeyboardInterrupt):
        tried(tree, SLIP)
    assert not multiprocessing.active_children()
    assert not list(its_own_temporary_folder.iterdir())
    assert (tree / "made/sums.py").read_text(encoding="utf-8") == TOTAL


@pytest.mark.parametrize(
    ("wrong", "problem"),
    [
        ({"old": "third"}, "made/sums.py has 'third' 0 times, not once"),
        ({"old": "first"}, "made/sums.py has 'first' 2 times, not once"),
        ({"new": SLIP.old}, "it changes nothing in made/sums.py"),
        ({"file": "made/other.py"}, "there is no made/other.py"),
        ({"tests": ()}, "no test is named"),
        ({"tests": ("tests/test_other.py",)}, "there is no tests/test_other.py"),
        (
            {"tests": ("tests/golden/test_run.py",)},
            "tests/golden/test_run.py is no evidence: it holds the code against its own output",
        ),
    ],
)
def test_a_list_that_does_not_fit_is_refused(tree, wrong, problem, capsys):
    (tree / "tests/golden").mkdir()
    (tree / "tests/golden/test_run.py").write_text(TWO_AND_TWO, encoding="utf-8")
    assert tried(tree, replace(SLIP, **wrong)) == 2
    assert capsys.readouterr().out == f"The list is wrong.\n1: {problem}\n"
