"""Options that mean the same in every command."""

import click
import pytest
from click.testing import CliRunner

from powersim.cli import options, screen


@click.command()
@options.step
def stepped(step_h):
    click.echo(repr(step_h))


@pytest.mark.parametrize(
    ("typed", "step_h"),
    [("5 min", 5 / 60), ("15min", 0.25), ("60 MIN", 1.0)],
)
def test_a_step_is_read_as_hours(typed, step_h):
    assert CliRunner().invoke(stepped, ["--step", typed]).output == f"{step_h!r}\n"


def test_the_step_is_15_minutes_if_left_out():
    assert CliRunner().invoke(stepped, []).output == "0.25\n"


@pytest.mark.parametrize("typed", ["15", "7 min", "1 h", "", "nan min"])
def test_another_step_is_refused(typed):
    result = CliRunner().invoke(stepped, ["--step", typed])
    assert result.exit_code == 2
    assert result.stderr.splitlines()[-1] == (
        f"Error: Invalid value for '--step': {typed!r} is not 5, 10, 15, 20, 30, 60 min; "
        'for example --step "15 min"'
    )


@click.command()
@options.members
@options.seed
def tried(members, seed):
    click.echo(f"{members} {seed}")


def test_whole_numbers_are_read():
    typed = ["--members", "7", "--seed", str(options.LARGEST_SEED)]
    assert CliRunner().invoke(tried, typed).output == f"7 {options.LARGEST_SEED}\n"
    assert CliRunner().invoke(tried, []).output == "200 1\n"


@pytest.mark.parametrize("typed", ["0", "20001", "-5", "2.5", "2e3", "many", "", "9" * 400, "1_0"])
def test_other_numbers_of_members_are_refused(typed):
    result = CliRunner().invoke(tried, ["--members", typed])
    assert result.exit_code == 2
    assert result.stderr.splitlines()[-1] == (
        f"Error: Invalid value for '--members': {typed!r} is not a whole number from 1 to 20,000, "
        "such as 200"
    )


class Terminal:
    """Standard output that says it is a terminal."""

    def isatty(self):
        return True


TEXT = "No mistakes.\n\nFuel\n----\n\nload    Ah\n-----  ---\npilot    1"


def test_headings_are_bold_on_a_terminal_only(monkeypatch):
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert screen.emphasised(TEXT) == TEXT
    monkeypatch.setattr("sys.stdout", Terminal())
    assert screen.emphasised(TEXT) == TEXT.replace("Fuel", "\x1b[1mFuel\x1b[0m")


@pytest.mark.parametrize(("variable", "value"), [("NO_COLOR", "1"), ("TERM", "dumb")])
def test_a_terminal_that_may_not_have_bold(monkeypatch, variable, value):
    monkeypatch.setattr("sys.stdout", Terminal())
    monkeypatch.setenv(variable, value)
    assert screen.emphasised(TEXT) == TEXT


def test_json_is_plain_ascii_whatever_the_terminal(capsys):
    screen.print_json({"position": "38°32'N"})
    assert capsys.readouterr().out == '{\n  "position": "38\\u00b032\'N"\n}\n'
