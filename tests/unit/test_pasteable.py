"""Paths in printed commands, as the shell would take them."""

import shlex

import pytest

from powersim.errors import InputError
from powersim.inputs.folder import load_folder
from powersim.inputs.pasteable import pasteable


def test_a_path_that_can_be_pasted():
    """In double quotes where it needs any: cmd.exe knows no others."""
    assert pasteable("my-boat") == "my-boat"
    assert pasteable("my boat/passage") == '"my boat/passage"'
    assert pasteable("Ærø") == '"Ærø"'
    assert pasteable("C:\\boats\\mine") == r"'C:\boats\mine'"


def test_a_path_that_double_quotes_would_not_keep():
    for hostile in ("$HOME", "`id`", 'a "boat"', "fast!"):
        assert shlex.split(pasteable(hostile)) == [hostile]
        assert pasteable(hostile).startswith("'")


def test_on_windows_a_path_is_quoted_in_the_only_way_there_is(monkeypatch):
    monkeypatch.setattr("powersim.inputs.pasteable._ON_WINDOWS", True)
    assert pasteable(r"C:\boats\mine") == r"C:\boats\mine"
    assert pasteable(r"C:\my boats") == r'"C:\my boats"'


def test_a_path_that_would_be_an_option():
    assert pasteable("-tern") == "./-tern"
    assert pasteable("-my tern") == '"./-my tern"'


def test_the_command_that_makes_a_folder_can_be_pasted(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name in ("my tern", "-tern", "it's $5", "Ærø"):
        with pytest.raises(InputError) as caught:
            load_folder(name)
        command = str(caught.value).split("; ")[1].removesuffix(" makes one to fill in")
        assert shlex.split(command) in (["powersim", "new", name], ["powersim", "new", f"./{name}"])
        assert not shlex.split(command)[2].startswith("-")
