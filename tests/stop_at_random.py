"""Ctrl-C at random moments of whole commands; anyone can run it for as long as they like.

    python tests/stop_at_random.py --tries 200 --seed 1

Each try starts a command in a folder of its own, sends SIGINT at a random moment to it and to all
that it has started, as a terminal does, and looks how it ended. Wanted are exit code 130, the one
line on standard error, no process at work and no half-written file. Until Python has come to our
first line nothing of ours can answer: those tries are counted by themselves, and only if nothing of
ours had run by then.
"""

import argparse
import collections
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[1]
PASSAGE = ROOT / "loads" / "iceland-to-cabo-verde"
FORECAST = ROOT / "tests/reference/data/gfs_20111008_00z_f072_2p5deg_surface.grib2"
STOPPED = "powersim: stopped\n"
#: As short as they can be and still import, reckon, draw and write all that they ever do.
COMMANDS = {
    "help": ["--help"],
    "check": ["check", "p"],
    "simulate": ["simulate", "p", "--step", "60 min", "--quiet"],
    "members": ["simulate", "p", "--step", "60 min", "--members", "20", "--quiet", "--no-figures"],
    "forecast": [
        *("simulate", "p", "--step", "60 min", "--quiet", "--no-figures"),
        *("--depart", "2011-10-10 00:00", "--forecast", "f.grib2"),
    ],
    "report": ["report", "p", "--step", "60 min", "--card", "--quiet"],
    "endurance": ["endurance", "p", "--step", "60 min"],
    "ladder": ["ladder", "p", "--step", "60 min", "--members", "20"],
    "plan": ["plan", "p", "--step", "60 min", "--members", "20", "--quiet"],
    "size": [
        *("size", "p", "--battery", "200:300:50Ah", "--step", "60 min", "--members", "20"),
        *("--jobs", "2", "--no-figures", "--quiet"),
    ],
    # It works out the first answer as soon as it serves, whether or not a page is open.
    "try": ["try", "p", "--step", "60 min", "--no-browser"],
}
#: Those that go on until they are stopped, and how long they are let. [s]
UNTIL_STOPPED = {"try": 4.0}
CLEAN, EARLIER, ENDED, WRONG = "130 and one line", "before our first line", "had ended", "WRONG"
_LONGEST_s = 60.0
_GONE_WITHIN_s = 10.0
#: PF_EXITING in Linux's flags of a process, the 9th field of /proc/PID/stat (proc(5)).
_EXITING = 0x4


class Try(NamedTuple):
    command: str
    after_s: float
    end: str
    seen: str


def powersim():
    """The command as it is installed beside this interpreter, or straight from its code."""
    script = Path(sys.executable).with_name("powersim")
    if script.exists():
        return [str(script)]
    return [sys.executable, "-c", "from powersim.cli.start import main; main()"]


def heed_ctrl_c():
    """Have what is started heed Ctrl-C, though a shell may have started us in the background."""
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)


def folder_for(where):
    """A passage folder `p` and a forecast to run the commands on."""
    shutil.copytree(PASSAGE, where / "p")
    shutil.copy(FORECAST, where / "f.grib2")


def begun(name, where):
    return subprocess.Popen(
        [*powersim(), *COMMANDS[name]],
        cwd=where,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        start_new_session=True,
    )


def how_long(name):
    """How long a command takes that is left alone. [s]"""
    if name in UNTIL_STOPPED:
        return UNTIL_STOPPED[name]
    with tempfile.TemporaryDirectory() as where:
        folder_for(Path(where))
        begin_s = time.monotonic()
        with begun(name, where) as process:
            _, errors = process.communicate(timeout=_LONGEST_s)
        assert process.returncode in (0, 1), errors
        return time.monotonic() - begin_s


def stopped(name, after_s):
    """Start a command, press Ctrl-C after a while, and see how it ends."""
    with tempfile.TemporaryDirectory() as where:
        folder_for(Path(where))
        with begun(name, where) as process:
            time.sleep(after_s)
            if process.poll() is not None:
                process.communicate()
                return Try(name, after_s, ENDED, "")
            os.killpg(process.pid, signal.SIGINT)
            too_late = _is_being_cleared_away(process.pid)
            try:
                out, errors = process.communicate(timeout=_LONGEST_s)
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, signal.SIGKILL)
                return Try(name, after_s, WRONG, f"does not end within {_LONGEST_s:.0f} s")
        if too_late and process.returncode in (0, 1):
            return Try(name, after_s, ENDED, "")
        wrong = [*_left_at_work(process.pid), *_half_written(Path(where))]
        end = _judged(name, process.returncode, out, errors)
        seen = f"exit {process.returncode}; {out[-100:]!r}; {errors!r}; {wrong}"
        return Try(name, after_s, WRONG if wrong else end, seen)


def _is_being_cleared_away(pid):
    """Whether a process has ended itself, and the system is taking it apart: tenths of a second."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()
    except OSError:  # no such place on this system
        return False
    state, flags = fields[0], int(fields[6])
    return state in "ZX" or bool(flags & _EXITING)


def _judged(name, code, out, errors):
    # `size` says what it has kept before it says that it has stopped.
    kept = errors.removesuffix(STOPPED)
    only = not kept or (name == "size" and kept.count("\n") == 1 and " kept in " in kept)
    if code == 130 and errors.endswith(STOPPED) and only:
        return CLEAN
    ours = out or any(f"{ROOT.name}/powersim/{part}" in errors for part in ("cli", "report"))
    by_python = code == -signal.SIGINT or "Fatal Python error: init_import_site" in errors
    return EARLIER if by_python and not ours else WRONG


def _left_at_work(group):
    begin_s = time.monotonic()
    while time.monotonic() - begin_s < _GONE_WITHIN_s:
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return []
        time.sleep(0.05)
    os.killpg(group, signal.SIGKILL)
    return ["processes left at work"]


def _half_written(where):
    """What a command that has been let put things in order would have cleared away."""
    return [path.name for path in where.rglob(".powersim-writing*")]


def tries(count, seed, names=tuple(COMMANDS)):
    """So many tries, their moments spread evenly over each command and a little beyond."""
    heed_ctrl_c()
    chance = random.Random(seed)
    lengths_s = {name: how_long(name) for name in names}
    for number in range(count):
        name = names[number % len(names)]
        yield stopped(name, chance.uniform(0.0, 1.02) * lengths_s[name])


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--tries", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default=",".join(COMMANDS), help="names, with commas between")
    given = parser.parse_args()
    ends = collections.Counter()
    for number, one in enumerate(tries(given.tries, given.seed, tuple(given.only.split(","))), 1):
        ends[one.end] += 1
        if one.end in (WRONG, EARLIER):
            print(f"{one.end}: {one.command} after {one.after_s:.3f} s: {one.seen}", flush=True)
        if number % 20 == 0:
            print(f"{number} tries: {dict(ends)}", flush=True)
    for end, number in ends.most_common():
        print(f"{number:5d} {end}")
    return int(ends[WRONG] > 0)


if __name__ == "__main__":
    sys.exit(main())
