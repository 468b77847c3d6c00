"""Send passages drawn at random through every command, and say what breaks.

    python tests/fuzz/run.py --seconds 600 --seed 7 --jobs 2
    python tests/fuzz/run.py --seconds 60 --only simulate,underway
    python tests/fuzz/run.py --seed 7 --case 1234        # one case again, all that it says

A case is a passage folder and a few commands, known by its seed and its number. Exit code 0 if
nothing broke, 1 if something did; the folders of broken cases are kept.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import shutil
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS.parent), str(TESTS)]

from fuzz.commands import ALL  # noqa: E402
from fuzz.one_case import Case, run_case  # noqa: E402

#: Broken cases that are written out in full, and letters of each.
MOST_SHOWN, MOST_LETTERS = 20, 700


def main() -> int:
    """Start from the shell."""
    given = _given()
    kept = Path(given.keep or tempfile.mkdtemp(prefix="powersim-fuzz-"))
    kept.mkdir(parents=True, exist_ok=True)
    if given.case is not None:
        return _again(given, kept)
    counts, cases, failed = _all(given, kept)
    _tell(counts, cases, failed, kept, given)
    return 1 if failed else 0


def _given():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=60.0, help="how long to go on")
    parser.add_argument("--seed", type=int, default=1, help="which passages")
    parser.add_argument("--jobs", type=int, default=1, help="processes at once")
    parser.add_argument("--only", default=",".join(ALL), help="commands, with commas between them")
    parser.add_argument("--case", type=int, help="run this one case again and show all of it")
    parser.add_argument("--keep", help="where folders of broken cases go; else a new one")
    given = parser.parse_args()
    given.only = tuple(given.only.split(","))
    if set(given.only) - set(ALL):
        parser.error(f"--only: there are {', '.join(ALL)}")
    return given


def _all(given, kept):
    """Every process takes each so-manieth case until the time is up."""
    work = [
        (given.seed, job, given.jobs, given.seconds, given.only, kept) for job in range(given.jobs)
    ]
    if given.jobs == 1:
        told = [_share(work[0])]
    else:
        with multiprocessing.get_context("spawn").Pool(given.jobs) as pool:
            told = pool.map(_share, work)
    counts, cases, failed = Counter(), 0, []
    for more, number, broken in told:
        counts += more
        cases += number
        failed += broken
    return counts, cases, sorted(failed)


def _share(work):
    """The cases of one process."""
    seed, first, stride, seconds, only, kept = work
    end, counts, cases, failed = time.monotonic() + seconds, Counter(), 0, []
    number = first
    while time.monotonic() < end:
        folder = kept / f"case-{seed}-{number}"
        shutil.rmtree(folder, ignore_errors=True)  # of an earlier run
        folder.mkdir()
        try:
            case = run_case(seed, number, folder, only=only)
        except Exception:  # noqa: BLE001 - a fault of the fuzz itself: told as one, and on it goes
            case = Case(number, "", failures=[(["?"], traceback.format_exc())])
        counts += case.counts
        cases += 1
        if case.failures:
            failed.append((number, case.spoilt, case.failures))
        else:
            shutil.rmtree(folder)
        number += stride
    return counts, cases, failed


def _again(given, kept) -> int:
    folder = Path(tempfile.mkdtemp(prefix=f"case-{given.seed}-{given.case}-", dir=kept))

    def say(outcome):
        print(f"\n$ powersim {_shell(outcome.arguments)}\nexit code {outcome.code}")
        print(outcome.out)
        print(outcome.err, outcome.trouble)

    case = run_case(given.seed, given.case, folder, only=given.only, say=say)
    print(f"\nin {folder}; spoilt: {case.spoilt or 'nothing'}")
    for arguments, breach in case.failures:
        print(f"BROKEN by powersim {_shell(arguments)}\n  {breach}")
    return 1 if case.failures else 0


def _tell(counts, cases, failed, kept, given) -> None:
    done = sum(count for (_, ending), count in counts.items() if ending != "seconds")
    print(f"{cases} cases of seed {given.seed}, {done} commands\n")
    print(f"{'command':<10}{'to the end':>12}{'refused':>10}{'broke':>8}{'CPU s':>9}")
    for name in ALL:
        row = [counts[name, ending] for ending in ("ran", "refused", "broke")]
        if any(row):
            spent = f"{counts[name, 'seconds']:>9.0f}"
            print(f"{name:<10}{row[0]:>12}{row[1]:>10}{row[2]:>8}{spent}")
    for number, spoilt, failures in failed[:MOST_SHOWN]:
        print(f"\ncase {number}, spoilt: {spoilt or 'nothing'}")
        for arguments, breach in failures[:3]:
            print(f"  powersim {_shell(arguments)}\n    {breach[-MOST_LETTERS:]}")
        only = "" if given.only == ALL else f" --only {','.join(given.only)}"
        print(f"  again: python tests/fuzz/run.py --seed {given.seed} --case {number}{only}")
    if failed:
        numbers = ", ".join(str(number) for number, *_ in failed)
        print(f"\n{len(failed)} cases broke something: {numbers}; their folders are in {kept}")
    else:
        print("\nnothing broke")
        if not given.keep:
            os.rmdir(kept)


def _shell(arguments) -> str:
    import shlex

    return shlex.join(arguments)


if __name__ == "__main__":
    sys.exit(main())
