"""The command as a whole: help, usage, and every way in which it can end."""

import re
import signal
import subprocess
import sys
import types

import click
import pytest

import powersim
from powersim.cli import exits
from powersim.cli.main import COMMANDS
from powersim.errors import BalanceError, InputError, OutputError, PowersimError, Problem


@pytest.fixture
def command_that(monkeypatch):
    """Put a made-up command named "made-up" in the table."""

    def put(body):
        module = types.ModuleType("made_up_command")
        module.made_up = click.command("made-up")(body)
        monkeypatch.setitem(sys.modules, "made_up_command", module)
        monkeypatch.setitem(COMMANDS, "made-up", ("made_up_command:made_up", "Made up."))

    return put


def raising(error):
    def body():
        raise error

    return body


def test_help_lists_every_command_with_its_line(call):
    outcome = call("--help")
    assert (outcome.code, outcome.err) == (0, "")
    assert outcome.out.startswith("Usage: powersim [OPTIONS] COMMAND [ARGS]...\n")
    for name, (_, line) in COMMANDS.items():
        assert f"  {name}" in outcome.out
        assert line in outcome.out
    assert outcome.out.endswith("  Example:\n    powersim demo\n")
    assert max(map(len, outcome.out.splitlines())) <= 80


def test_no_arguments_print_the_help(call):
    assert call() == call("--help")


@pytest.mark.parametrize("name", COMMANDS)
def test_each_help_ends_with_an_example_to_paste(call, name):
    outcome = call(name, "--help")
    assert (outcome.code, outcome.err) == (0, "")
    assert outcome.out.startswith(f"Usage: powersim {name} ")
    _, plural, examples = re.split(r"\n  Example(s?):\n", outcome.out)
    lines = examples.splitlines()
    assert len(lines) == 1 or plural
    assert all(line.startswith(f"    powersim {name}") for line in lines)
    assert max(map(len, outcome.out.splitlines())) <= 80


@pytest.mark.parametrize("name", COMMANDS)
def test_the_line_in_the_table_is_the_first_of_the_command_itself_or_as_short(name):
    assert len(f"  {name}  {COMMANDS[name][1]}") <= 80
    assert COMMANDS[name][1].endswith(".")


def test_the_version_is_the_package_s(call):
    # pyproject.toml takes it from there (tests/unit/test_package.py).
    assert call("--version") == (0, f"powersim {powersim.__version__}\n", "")


def test_an_unknown_command_is_answered_with_the_nearest(call):
    assert call("chek") == (
        2,
        "",
        "Usage: powersim [OPTIONS] COMMAND [ARGS]...\n"
        "Try 'powersim --help' for help.\n\n"
        "Error: no command 'chek'; did you mean 'check'?\n",
    )
    assert call("zzz").err.endswith(f"Error: no command 'zzz'; there are {', '.join(COMMANDS)}\n")


@pytest.mark.parametrize("arguments", [("--nonsense",), ("check",), ("new", "a", "b")])
def test_bad_usage_is_exit_code_2(call, arguments):
    outcome = call(*arguments)
    assert (outcome.code, outcome.out) == (2, "")
    assert outcome.err.startswith("Usage: powersim ")


def test_a_command_that_ends_well(call, command_that):
    command_that(lambda: click.echo("fine"))
    assert call("made-up") == (0, "fine\n", "")


def test_a_passage_that_fails_what_was_asked(call, command_that):
    command_that(raising(click.exceptions.Exit(exits.FAILS)))
    assert call("made-up") == (1, "", "")


def test_bad_input_is_told_in_full(call, command_that):
    problems = [
        Problem(file="loads.csv", line=4, field=2, text="draw (column B): cannot read '3O W'"),
        Problem(file="boat.toml", line=3, text="battery.capacity: '220 W' is a power\x07"),
    ]
    command_that(raising(InputError(problems)))
    assert call("made-up") == (
        2,
        "",
        "loads.csv:4:2: draw (column B): cannot read '3O W'\n"
        "boat.toml:3: battery.capacity: '220 W' is a power?\n"
        "\n"
        "2 problems\n",
    )


@pytest.mark.parametrize("kind", [OutputError, PowersimError])
def test_what_cannot_be_written_is_exit_code_2(call, command_that, kind):
    command_that(raising(kind("cannot write to results: no permission")))
    assert call("made-up") == (2, "", "powersim: cannot write to results: no permission\n")


def test_an_error_of_click_is_never_taken_for_a_failed_passage(call, command_that):
    command_that(raising(click.FileError("boat.toml", "gone")))
    assert call("made-up") == (2, "", "Error: Could not open file 'boat.toml': gone\n")


@pytest.mark.parametrize(
    ("error", "what"),
    [
        (BalanceError("step 7: in 3.0 Ah,\nout 2.0 Ah"), "step 7: in 3.0 Ah, out 2.0 Ah"),
        (ZeroDivisionError("division by zero"), "division by zero"),
    ],
)
def test_a_fault_of_our_own_is_one_line(call, command_that, monkeypatch, error, what):
    monkeypatch.delenv("POWERSIM_TRACEBACK", raising=False)
    command_that(raising(error))
    line = (
        f"powersim: a fault of its own ({type(error).__name__}: {what}); for the details run "
        "'powersim --traceback ...' or set POWERSIM_TRACEBACK=1\n"
    )
    assert call("made-up") == (70, "", line)


def test_the_details_of_a_fault_are_there_for_the_asking(call, command_that, monkeypatch):
    command_that(raising(ZeroDivisionError("division by zero")))
    by_option = call("--traceback", "made-up")
    monkeypatch.setenv("POWERSIM_TRACEBACK", "1")
    by_variable = call("made-up")
    for outcome in (by_option, by_variable):
        assert outcome.code == 70
        assert outcome.err.startswith("Traceback (most recent call last):\n")
        assert outcome.err.endswith("ZeroDivisionError: division by zero\n")


@pytest.mark.parametrize("error", [KeyboardInterrupt(), click.Abort()])
def test_ctrl_c_is_a_short_line(call, command_that, error):
    command_that(raising(error))
    assert call("made-up") == (130, "", "powersim: stopped\n")


MADE_UP = (
    "import sys, types, click\n"
    "from powersim.cli import main\n"
    "module = types.ModuleType('made_up_command')\n"
    "sys.modules['made_up_command'] = module\n"
    "@click.command()\n"
    "def made_up():\n"
    "    {body}\n"
    "module.made_up = made_up\n"
    "main.COMMANDS['made-up'] = ('made_up_command:made_up', 'Made up.')\n"
    "sys.argv = ['powersim', 'made-up']\n"
    "main.main()\n"
)


def test_ctrl_c_in_a_process_of_its_own(environment):
    script = MADE_UP.format(body="import time; click.echo('here'); time.sleep(60)")
    with subprocess.Popen(
        [sys.executable, "-c", script],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment,
    ) as process:
        assert process.stdout.readline() == b"here\n"
        process.send_signal(signal.SIGINT)
        _, errors = process.communicate(timeout=10)
    assert (process.returncode, errors) == (130, b"powersim: stopped\n")


@pytest.mark.parametrize("more", [1000, 1])
def test_a_reader_that_has_had_enough_ends_it_quietly(environment, more):
    """As with `powersim ... | head -1`, when more is written than a pipe holds and when not."""
    body = (
        "click.echo('x' * 1000); sys.stdout.flush(); sys.stdin.read(); "
        f"[sys.stdout.write('x' * 1000) for _ in range({more})]; raise click.exceptions.Exit(1)"
    )
    script = MADE_UP.format(body=body)
    with subprocess.Popen(
        [sys.executable, "-c", script],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment,
    ) as process:
        assert process.stdout.readline() == b"x" * 1000 + b"\n"
        process.stdout.close()
        process.stdin.close()
        errors = process.stderr.read()
        process.wait(timeout=10)
    assert (process.returncode, errors) == (141, b"")


def test_a_terminal_without_the_sign_for_degrees_still_gets_its_answer(python):
    script = MADE_UP.format(body="click.echo('38°32')")
    assert python(script, PYTHONIOENCODING="iso8859-5").out == "38d32\n"


def test_python_dash_m_is_the_same_command(call, python):
    script = (
        "import runpy, sys\n"
        "sys.argv = ['powersim', '--help']\n"
        "runpy.run_module('powersim', run_name='__main__')\n"
    )
    assert python(script) == call("--help")


def completed(python, words):
    """What the shell is told that a command line may go on with."""
    ended = python(
        "from powersim.cli.start import main; main()",
        _POWERSIM_COMPLETE="bash_complete",
        COMP_WORDS=words,
        COMP_CWORD=str(len(words.split(" ")) - 1),
    )
    assert (ended.code, ended.err) == (0, "")
    return ended.out.splitlines()


def test_the_shell_completes_commands_and_options(python):
    assert "plain,simulate" in completed(python, "powersim sim")
    assert "plain,--members" in completed(python, "powersim simulate --mem")
