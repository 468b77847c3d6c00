"""The list of mutations: one slip of the pen in the code, and the tests that should notice it."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

LIST = Path(__file__).with_name("list.toml")
#: Of tests below these folders nobody learns whether a change is wrong: what they hold the code
#: against is its own output of an earlier day, or made with it.
NO_EVIDENCE = ("tests/golden/", "tests/docs/", "tests/benchmarks/", "tests/mutations/")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mutation:
    """One slip.

    Attributes
    ----------
    breaks : str
        What it does, in plain words.
    file : str
        The file that it is in, from the root.
    old, new : str
        What stands there once, and what takes its place.
    tests : tuple of str
        Test files, from the root, of which one must fail.
    """

    breaks: str
    file: str
    old: str
    new: str
    tests: tuple[str, ...]

    def problem(self, root: Path) -> str | None:
        """Why it cannot be tried on a tree, or None."""
        path = root / self.file
        if not path.is_file():
            return f"there is no {self.file}"
        count = path.read_text(encoding="utf-8").count(self.old)
        if count != 1:
            return f"{self.file} has {self.old!r} {count} times, not once"
        if self.old == self.new:
            return f"it changes nothing in {self.file}"
        if not self.tests:
            return "no test is named"
        for test in self.tests:
            if not (root / test).is_file():
                return f"there is no {test}"
            if test.startswith(NO_EVIDENCE):
                return f"{test} is no evidence: it holds the code against its own output"
        return None


def mutations(path: Path = LIST) -> tuple[Mutation, ...]:
    """All of a list, in its order."""
    with path.open("rb") as file:
        rows = tomllib.load(file)["mutation"]
    return tuple(Mutation(**row | {"tests": tuple(row["tests"])}) for row in rows)
