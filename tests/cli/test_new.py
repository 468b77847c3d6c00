"""`powersim new`."""

import pytest

from powersim.inputs.starter import STARTERS, starter_files


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def contents(folder):
    return {path.name: path.read_text(encoding="utf-8") for path in folder.iterdir()}


def test_new_writes_the_starter_and_says_what_is_next(call, here):
    assert call("new", "my passage") == (
        0,
        "Wrote boat.toml, loads.csv, route.csv to my passage.\n"
        "\n"
        "Next: change them to suit your boat and your passage, then\n"
        '  powersim check "my passage"\n'
        "or change them on a page, which shows what each value does:\n"
        '  powersim try "my passage"\n',
        "",
    )
    assert contents(here / "my passage") == starter_files()


def test_what_new_writes_passes_check(call, here):
    call("new", "passage")
    outcome = call("check", "passage")
    assert (outcome.code, outcome.err) == (0, "")


def test_new_into_an_empty_folder_that_is_there(call, here):
    (here / "passage").mkdir()
    assert call("new", "passage").code == 0
    assert contents(here / "passage") == starter_files()


def test_new_refuses_a_folder_that_is_not_empty(call, here):
    (here / "passage").mkdir()
    (here / "passage" / "loads.csv").write_text("mine")
    assert call("new", "passage") == (
        2,
        "",
        "powersim: passage is not empty; name another folder, or use --force\n",
    )
    assert contents(here / "passage") == {"loads.csv": "mine"}


def test_new_with_force_overwrites_its_own_names_and_no_others(call, here):
    (here / "passage").mkdir()
    (here / "passage" / "loads.csv").write_text("mine")
    (here / "passage" / "notes.txt").write_text("mine")
    assert call("new", "passage", "--force").code == 0
    assert contents(here / "passage") == starter_files() | {"notes.txt": "mine"}


def test_new_where_a_file_is(call, here):
    (here / "passage").write_text("mine")
    assert call("new", "passage") == (
        2,
        "",
        "powersim: cannot write to passage: a file of that name is in the way; "
        "name another folder\n",
    )
    assert (here / "passage").read_text() == "mine"


def test_new_like_another_starter(call, here):
    outcome = call("new", "stay", "--like", "anchorage")
    assert (outcome.code, outcome.err) == (0, "")
    assert contents(here / "stay") == starter_files("anchorage")
    told = call("check", "stay").out
    assert "route       Vathy, 1 waypoint\n" in told


def test_new_names_the_starters_where_one_is_not_known(call, here):
    outcome = call("new", "passage", "--like", "lithum")
    assert outcome.code == 2
    for like in STARTERS:
        assert f"'{like}'" in outcome.err
    assert not (here / "passage").exists()


def test_help_lists_every_starter_within_80_columns(call):
    told = call("new", "--help").out
    for like, words in STARTERS.items():
        assert f"    {like.ljust(15)}  {words}\n" in told
    assert max(map(len, told.splitlines())) <= 80


@pytest.mark.parametrize("like", STARTERS)
def test_every_starter_is_simulated_and_holds(call, here, like):
    call("new", "passage", "--like", like)
    quick = ("--members", "12", "--step", "60 min", "--no-figures")
    outcome = call("simulate", "passage", *quick)
    assert (outcome.code, outcome.err) == (0, "")
    assert "\nHOLDS " in outcome.out
    assert ("0.0 nm" in outcome.out) is False  # a stay has no miles to tell
    assert (" nm\n" in outcome.out) is (like != "anchorage")
