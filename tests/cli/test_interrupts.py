"""Ctrl-C at the moments at which Python or a library would lose it, and at random ones."""

import signal
import sys

import pytest
import stop_at_random

pytestmark = pytest.mark.skipif(
    sys.platform == "win32", reason="a process sends itself Ctrl-C as a POSIX system does"
)
STOPPED = (130, "powersim: stopped\n")
#: A made-up command, started as from the shell, with BODY for what it does.
MADE_UP = (
    "import os, signal, sys, types\n"
    "def ctrl_c():\n"
    "    os.kill(os.getpid(), signal.SIGINT)\n"
    "import powersim.cli.start\n"
    "import click\n"
    "from powersim.cli import main\n"
    "module = types.ModuleType('made_up_command')\n"
    "sys.modules['made_up_command'] = module\n"
    "@click.command()\n"
    "def made_up():\n"
    "{body}"
    "module.made_up = made_up\n"
    "main.COMMANDS['made-up'] = ('made_up_command:made_up', 'Made up.')\n"
    "sys.argv = ['powersim', 'made-up']\n"
    "powersim.cli.start.main()\n"
)
CLEANED = "    finally:\n        sys.stdout.write('put in order\\n')\n"


@pytest.fixture
def ended(python, tmp_path):
    """How a made-up command ends that does something."""

    stop_at_random.heed_ctrl_c()

    def run(*lines, module=""):
        (tmp_path / "a_library.py").write_text(module, encoding="utf-8")
        body = "".join(f"    {line}\n" for line in lines)
        given = f"import sys\nsys.path.append({str(tmp_path)!r})\n"
        outcome = python(given + MADE_UP.format(body=body))
        return outcome.code, outcome.err, outcome.out

    return run


def test_in_the_midst_of_work_things_are_put_in_order(ended):
    code, said, out = ended(
        "try:",
        "    ctrl_c()",
        "    import time",
        "    time.sleep(30)",
        "finally:",
        "    click.echo('put in order')",
    )
    assert (code, said, out) == (*STOPPED, "put in order\n")


def test_in_an_import_that_makes_another_error_of_it(ended):
    """As numpy's and others' do: Ctrl-C waits until the import has come to its end."""
    module = (
        "import __main__, builtins, time\n"
        "try:\n"
        "    __main__.ctrl_c()\n"
        "    time.sleep(0.1)\n"
        "except KeyboardInterrupt as error:\n"
        "    raise ImportError('cannot be imported') from error\n"
        "whole = True\n"
    )
    code, said, out = ended(
        "try:",
        "    import a_library",
        "except ImportError:",
        "    click.echo('goes on without it')",
        "click.echo(f'whole: {a_library.whole}')",
        "import time",
        "time.sleep(30)",
        module=module,
    )
    assert (code, said) == STOPPED
    assert out in ("whole: True\n", "")


def test_where_python_cannot_raise_it_and_drops_it(ended):
    code, said, _ = ended(
        "class Dropping:",
        "    def __del__(self):",
        "        ctrl_c()",
        "        for _ in range(1000): pass",
        "Dropping()",
        "import time",
        "time.sleep(30)",
    )
    assert (code, said) == STOPPED


def test_where_a_library_lets_it_pass(ended):
    code, said, out = ended(
        "try:",
        "    ctrl_c()",
        "    for _ in range(1000): pass",
        "except KeyboardInterrupt:",
        "    pass",
        "click.echo('the answer')",
    )
    assert (code, said, out) == (*STOPPED, "the answer\n")


def test_where_a_library_makes_a_fault_of_it(ended):
    code, said, _ = ended(
        "try:",
        "    ctrl_c()",
        "    for _ in range(1000): pass",
        "except KeyboardInterrupt:",
        "    raise ZeroDivisionError('something else')",
    )
    assert (code, said) == STOPPED


def test_before_the_work_and_after_it(ended, python):
    before = python(
        "import os, signal, sys\n"
        "import powersim.cli.start as start\n"
        "os.kill(os.getpid(), signal.SIGINT)\n"
        "for _ in range(1000): pass\n"
    )
    assert (before.code, before.err) == STOPPED
    code, said, out = ended("import atexit", "atexit.register(ctrl_c)", "click.echo('the answer')")
    assert (code, said, out) == (*STOPPED, "the answer\n")


def test_pressed_twice_it_says_it_once(ended):
    code, said, _ = ended(
        "try:",
        "    ctrl_c()",
        "    for _ in range(1000): pass",
        "finally:",
        "    import atexit",
        "    atexit.register(ctrl_c)",
    )
    assert (code, said) == STOPPED


def test_a_caller_that_has_other_plans_for_it_keeps_them(python):
    """As nohup and a shell's background job, which have it ignored."""
    script = (
        "import os, signal\n"
        "signal.signal(signal.SIGINT, signal.SIG_IGN)\n"
        "import powersim.cli.start as start, sys\n"
        "os.kill(os.getpid(), signal.SIGINT)\n"
        "sys.argv = ['powersim', '--version']\n"
        "start.main()\n"
    )
    outcome = python(script)
    assert (outcome.code, outcome.err) == (0, "")


@pytest.mark.slow
def test_at_random_moments():
    """A few here; `python tests/stop_at_random.py --tries 200` takes as many as you like."""
    ends = [*stop_at_random.tries(4, seed=1, names=("check", "forecast"))]
    wrong = [one for one in ends if one.end == stop_at_random.WRONG]
    assert wrong == []
    assert len(ends) == 4


def test_the_judge_of_random_moments_knows_a_wrong_end():
    """A check that could not fail would say nothing."""
    judged = stop_at_random._judged
    assert judged("plan", 130, "", "powersim: stopped\n") == stop_at_random.CLEAN
    assert judged("plan", -signal.SIGINT, "", "") == stop_at_random.EARLIER
    for code, out, errors in [
        (0, "HOLDS", ""),
        (1, "", "powersim: stopped\n"),
        (130, "", "Traceback ...\npowersim: stopped\n"),
        (-signal.SIGINT, "HOLDS", ""),
        (-signal.SIGINT, "", "  File powersim/cli/exits.py\nKeyboardInterrupt\n"),
    ]:
        errors = errors.replace("powersim/cli", f"{stop_at_random.ROOT}/powersim/cli")
        assert judged("plan", code, out, errors) == stop_at_random.WRONG
