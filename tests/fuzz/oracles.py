"""What must be so of every command, whatever it was given."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator

from fuzz.commands import FOLDER
from fuzz.running import Outcome
from fuzz.trying import EDIT, TRY

#: docs/reference/commands.md, but for 70, a fault of the program's own, and 130, Ctrl-C.
DOCUMENTED = (0, 1, 2)
#: Commands that answer 1 where a passage fails what was asked; the others only know 0 and 2.
MAY_FAIL = ("ladder", "simulate", "plan", "compare", "size", "report", "demo")
WIDTH = 80
#: What Python calls no number; "None of them is adequate" is English.
NO_NUMBER = re.compile(r"(?<![\w.])[-+]?(?:nan|NaN|inf|Infinity|None(?! [a-z]))(?![\w])")
#: What a message may name in place of a file: a quantity on the command line.
_ARGUMENTS = (
    "depth",
    "from",
    "--cans",
    "--battery",
    "--solar",
    "--alternator",
    "--depart",
    "--now",
    "size",
    "depart",
    "set",
    "without",
    "line",
    "compare",
)
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\u2028\u2029]")
_PLACE = re.compile(r"^(?:Set aside: |Left out, average weather instead: )?"
                    r"(?P<file>[^:\n]+?)(?::(?P<line>\d+))?(?::\d+)?: \S")  # fmt: skip


def breaches(outcome: Outcome) -> Iterator[str]:
    """Each promise that a command has broken, in words."""
    if outcome.trouble:
        yield outcome.trouble
        return
    if outcome.code not in DOCUMENTED:
        yield f"exit code {outcome.code}"
    if outcome.code == 1 and outcome.command not in MAY_FAIL:
        yield f"exit code 1 from {outcome.command}"
    if "Traceback" in outcome.err + outcome.out:
        yield "a traceback is shown"
    if _CONTROL.search(outcome.out + outcome.err):
        yield "a control character is printed"
    yield from _kept(outcome)
    yield from (_refused(outcome) if outcome.code == 2 else _answered(outcome))


def _kept(outcome) -> Iterator[str]:
    """Files of the passage are read, not written; log.csv is never written at all."""
    for path, digest in outcome.before.items():
        ours = path.startswith(f"{FOLDER}/") or path.endswith("/log.csv")
        if ours and outcome.after.get(path) != digest:
            yield f"{path} was changed or deleted"
    for path in outcome.after.keys() - outcome.before.keys():
        if path.startswith(f"{FOLDER}/"):
            yield f"{path} was put into the passage folder"
        if "/.powersim-writing" in f"/{path}":
            yield f"{path} is litter"
    if outcome.code == 2 and outcome.after != outcome.before and outcome.command != "demo":
        yield "refused, and yet files were written"


def _answered(outcome) -> Iterator[str]:
    if "--json" in outcome.arguments or outcome.command in (EDIT, TRY):
        yield from _strict(outcome.out)
        return
    if not outcome.out.strip():
        yield "nothing was said"
    for line in outcome.out.splitlines():
        if len(line) > WIDTH:
            yield f"a line of {len(line)} columns: {line!r}"
        found = NO_NUMBER.search(line)
        if found:
            yield f"{found[0]!r} in the answer: {line!r}"


def _strict(text: str) -> Iterator[str]:
    bad = []
    try:
        json.loads(text, parse_constant=bad.append)
    except ValueError as error:
        yield f"not JSON: {error}: {text[:80]!r}"
    yield from (f"{name} in JSON" for name in bad)


def _refused(outcome) -> Iterator[str]:
    """A message in the house's form: file and line of each problem, or usage in one sentence."""
    if outcome.command == "check" and "--json" in outcome.arguments:
        yield from _strict(outcome.out)  # the problems are its answer
        return
    # An answer is given whether or not it can be written back.
    answered_first = outcome.command in ("demo", "new") or "--write-back" in outcome.arguments
    if outcome.out.strip() and not answered_first:
        yield f"refused, and yet something was answered: {outcome.out[:80]!r}"
    if not outcome.err.strip():
        yield "refused without a word"
    if outcome.err.startswith(("Usage: ", "powersim: ")):
        return
    for line in outcome.err.splitlines():
        plain = line.startswith("  ") or re.fullmatch(r"\d+ problems?|", line)
        if plain or line.startswith("To use average weather in place of"):
            continue
        found = _PLACE.match(line)
        if not found:
            yield f"a message without a file: {line!r}"
        elif "holds neither" in line:
            continue  # of two files that are not there the folder is all that can be named
        elif found["file"].startswith(("--set ", "--without ")):
            continue  # a value as it was asked for
        elif "/" not in found["file"] and found["file"] not in _ARGUMENTS:
            yield f"a message that names no file of the folder: {line!r}"
