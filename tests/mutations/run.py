"""Break the code on purpose, one slip at a time, and see that a test notices each.

    python tests/mutations/run.py --jobs 2
    python tests/mutations/run.py --only 7 --only 12     # numbers as it prints them
    python tests/mutations/run.py --list

The slips stand in list.toml. Each is made in a copy of the tree in a temporary folder, never in
the working tree, and the test files that the list names for it are run there. It counts as noticed
where one of their tests fails that passes without it; an error before any test has run does not
count. Exit code 0 if all were noticed, 1 if one was not, 2 if the list or the tests are wrong.
"""

from __future__ import annotations

import argparse
import compileall
import gc
import multiprocessing
import os
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Iterable, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "tests")]

from mutations.listed import LIST, Mutation, mutations  # noqa: E402

#: What tests need of a tree.
PARTS = ("powersim", "loads", "docs", "tests", "pyproject.toml", "README.md", "DEVELOPERS.md")
#: Where the copies are made; None for where the system has such things.
TEMPORARY = None
#: A slip may make a loop endless. [s]
LONGEST_s = 300.0
_LOOK_EVERY_s = 0.05
_FAILED = 1  # pytest's exit code where tests have run and some failed
#: What most tests import, and nothing of ours: loaded once, and every trial is a fork of that. No
#: slip could stand in it, and it takes a second, half of what most trials take.
_LOADED_ONCE = ["pytest", "hypothesis", "pandas", "pvlib", "numba", "pint", "click"]
#: What the kernel is compiled of. It is compiled from functions as they are in memory, so that no
#: slip could hide behind code of before; but that takes seconds, and plain they say as much.
_COMPILED = ("powersim/kernel/", "powersim/physics/")


def main(argv: Sequence[str] | None = None) -> int:
    """Start from the shell."""
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # ends as by Ctrl-C: nothing is left
    listed = mutations(LIST)
    given = _given(argv, count=len(listed))
    chosen = {n: one for n, one in enumerate(listed, 1) if not given.only or n in given.only}
    if given.list:
        for number, one in chosen.items():
            print(f"{number:3}  {one.breaks} ({one.file})")
        return 0
    try:
        return tried(chosen, root=ROOT, parts=PARTS, jobs=given.jobs)
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return 130


def _given(argv, *, count):
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--jobs", type=int, default=1, help="how many are tried at once")
    parser.add_argument(
        "--only", type=int, action="append", help="the number of one; may be given again"
    )
    parser.add_argument("--list", action="store_true", help="say what there is, and try nothing")
    given = parser.parse_args(argv)
    if given.jobs < 1:
        parser.error("--jobs: 1 or more")
    if given.only and not all(1 <= number <= count for number in given.only):
        parser.error(f"--only: there are 1 to {count}")
    return given


def tried(chosen: dict[int, Mutation], *, root: Path, parts: Iterable[str], jobs: int = 1) -> int:
    """Try mutations on copies of a tree, and print what came of each.

    Parameters
    ----------
    chosen : dict of int to Mutation
        By number.
    root : Path
        The tree; nothing is written there.
    parts : iterable of str
        Its files and folders that are copied.
    jobs : int
        How many at once.

    Returns
    -------
    int
        Exit code.
    """
    began_s = time.monotonic()
    wrong = [f"{n}: {problem}" for n, one in chosen.items() if (problem := one.problem(root))]
    if wrong:
        print("The list is wrong.", *wrong, sep="\n")
        return 2
    with tempfile.TemporaryDirectory(prefix="powersim-mutations-", dir=TEMPORARY) as folder:
        trees = [Path(folder, str(place)) for place in range(jobs)]
        _copy(root, trees[0], parts)
        for tree in trees[1:]:
            shutil.copytree(trees[0], tree)
        noticed_by = _all(chosen, trees)
        fails = _without_any(trees[0], sorted(set(noticed_by.values())))
    took = f"{(time.monotonic() - began_s) / 60.0:.1f} min"
    print(f"{len(noticed_by)} of {len(chosen)} noticed, in {took}")
    if fails:
        print(fails, "A test that noticed fails as the code stands: mend that first.", sep="\n")
        return 2
    unnoticed = sorted(chosen.keys() - noticed_by.keys())
    if unnoticed:
        print("not noticed:", *unnoticed)
    return 1 if unnoticed else 0


def _copy(root, tree, parts):
    tree.mkdir()
    ignore = shutil.ignore_patterns("__pycache__", "results", ".*_cache")
    for part in parts:
        if (root / part).is_dir():
            shutil.copytree(root / part, tree / part, ignore=ignore)
        else:
            shutil.copy2(root / part, tree / part)
    compileall.compile_dir(tree / "powersim", quiet=1)


def _all(chosen, trees) -> dict[int, str]:
    """The test that noticed, by the number of each that one did; every tree has one at a time."""
    waiting, running, noticed_by = list(chosen.items()), {}, {}
    free = list(trees)
    try:
        while waiting or running:
            while waiting and free:
                number, one = waiting.pop(0)
                running[number] = _Trial(one, free.pop())
            time.sleep(_LOOK_EVERY_s)
            for number, trial in list(running.items()):
                if not trial.is_over():
                    continue
                del running[number]
                trial.put_back()
                free.append(trial.run.tree)
                print(f"{number:3}  {trial.told()}", flush=True)
                if trial.noticed_by:
                    noticed_by[number] = trial.noticed_by
    finally:
        for trial in running.values():
            trial.run.end()
    return noticed_by


def _without_any(tree, tests) -> str:
    """What pytest says of tests without any mutation; empty if all pass."""
    if not tests:
        return ""
    run = _Run(tree, tests, plain=False)
    try:
        run.process.join()
    finally:
        run.end()
    return "" if run.exit_code == 0 else run.said()


class _Run:
    """pytest at work in a tree, until the first failure."""

    def __init__(self, tree, tests, *, plain):
        self.tree, self.output = tree, tree / "said-by-pytest"
        self.began_s = time.monotonic()
        self.process = _starts().Process(
            target=_pytest, args=(tree, self.output, tests), kwargs={"plain": plain}
        )
        self.process.start()

    @property
    def exit_code(self) -> int | None:
        """pytest's own; None while it is at work."""
        return self.process.exitcode

    def said(self) -> str:
        return self.output.read_text(encoding="utf-8", errors="replace")

    def end(self) -> None:
        if self.process.is_alive():
            self.process.kill()
        self.process.join()


def _starts():
    """How processes start: as forks of one that has nothing of ours, where that can be had."""
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    starts = multiprocessing.get_context("forkserver")
    starts.set_forkserver_preload(_LOADED_ONCE)
    return starts


def _pytest(tree, output, tests, *, plain):
    """Run tests of a tree in this process, which ends with pytest's exit code."""
    with output.open("wb") as file:
        for stream in (1, 2):
            os.dup2(file.fileno(), stream)
    # Code of this tree comes first; and no module is kept that the next slip is not in.
    for name in [name for name in os.environ if name.startswith("PYTEST_")]:
        del os.environ[name]
    os.environ |= {"PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "slips"}
    if plain:
        os.environ["POWERSIM_COMPILE"] = "no"
    sys.dont_write_bytecode = True
    sys.path[:] = [
        str(tree),
        *(part for part in sys.path if not Path(part).is_relative_to(ROOT / "tests")),
    ]
    for name in [name for name in sys.modules if name.partition(".")[0] == "mutations"]:
        del sys.modules[name]
    os.chdir(tree)

    import pytest

    own = ["-p", "no:cacheprovider", f"--basetemp={tree / 'temporary'}"]
    own += ["-W", "ignore:Module already imported so cannot be rewritten"]  # of libraries
    gc.freeze()  # what was there before is looked through no more
    sys.exit(int(pytest.main(["-x", "-q", "--tb=short", *own, *tests])))


class _Trial:
    """One mutation made in a tree, and the tests that should notice it at work there."""

    def __init__(self, mutation, tree):
        self.mutation, self.path = mutation, tree / mutation.file
        self.text, self.times = self.path.read_bytes(), self.path.stat()
        plain = self.text.decode("utf-8")
        self.path.write_bytes(plain.replace(mutation.old, mutation.new).encode("utf-8"))
        self.hangs = False
        self.run = _Run(tree, mutation.tests, plain=mutation.file.startswith(_COMPILED))

    def is_over(self) -> bool:
        if self.run.exit_code is None and time.monotonic() - self.run.began_s > LONGEST_s:
            self.hangs = True
            self.run.end()
        return self.run.exit_code is not None

    def put_back(self) -> None:
        """With the times of before, so that what Python keeps of it is good again."""
        self.path.write_bytes(self.text)
        os.utime(self.path, ns=(self.times.st_atime_ns, self.times.st_mtime_ns))

    @property
    def noticed_by(self) -> str:
        """The test that failed; empty where none did."""
        if self.run.exit_code != _FAILED:
            return ""
        for line in self.run.said().splitlines():
            kind, _, rest = line.partition(" ")
            if kind in ("FAILED", "ERROR"):  # in the test, or in what it is given
                return rest.partition(" - ")[0]
        return ""

    def told(self) -> str:
        if self.noticed_by:
            return f"noticed   {self.mutation.breaks} {self.noticed_by}"
        if self.hangs:
            return f"HANGS     {self.mutation.breaks}"
        if self.run.exit_code == 0:
            return f"SURVIVES  {self.mutation.breaks} ({self.mutation.file})"
        return f"NO TEST RAN  {self.mutation.breaks}\n{self.run.said()}"


if __name__ == "__main__":
    sys.exit(main())
