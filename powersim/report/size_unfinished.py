"""What is finished of a search for sizes, kept in a file in case it is stopped."""

from __future__ import annotations

import json
import math
import time
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path

from powersim import __version__
from powersim.errors import InputError, OutputError, Problem
from powersim.planning.digest import digest_of, digest_of_passage
from powersim.planning.size_choices import Choice
from powersim.planning.size_point import Point, Study
from powersim.report.writing import write_all

UNFINISHED = "size-unfinished.json"
#: Least time between two writes; what is done in between is lost if the power fails. [s]
_PACE_s = 2.0
_AGAIN = "--force in place of --resume to begin again"


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeQuestion:
    """What the finished points are answers to.

    Attributes
    ----------
    powersim : str
        Version that worked them out.
    members, seed : int
        How many simulated passages, and the seed they are drawn by.
    step_min : float
        Length of a step. [min]
    passage : str
        Its digest.
    boats : dict of str to str
        Digest of the boat with a bank of each chemistry.
    """

    powersim: str
    members: int
    seed: int
    step_min: float
    passage: str
    boats: dict[str, str]


#: How a question differs from another, in words.
_DIFFERS = {
    "powersim": "powersim {}",
    "members": "--members {}",
    "seed": "--seed {}",
    "step_min": '--step "{:g} min"',
}


def question_of(study: Study) -> SizeQuestion:
    """What a study asks, but for its choices: each is answered by itself."""
    return SizeQuestion(
        powersim=__version__,
        members=study.members,
        seed=study.seed,
        step_min=60.0 * study.step_h,
        passage=digest_of_passage(study.passage),
        boats={chemistry: digest_of(boat) for chemistry, boat in study.boats.items()},
    )


class Unfinished:
    """The file of finished points of one study.

    Parameters
    ----------
    folder : Path
        Of the results.
    study : Study
        What the points are tried on.
    """

    def __init__(self, folder: Path, study: Study) -> None:
        self.path = Path(folder) / UNFINISHED
        self.question = question_of(study)
        self.points: dict[Choice, Point] = {}
        self.trouble: OutputError | None = None
        self._written = 0
        self._due_s = time.monotonic() + _PACE_s

    def refuse_to_lose(self) -> None:
        """Raise OutputError if there is such a file already, whatever it answers."""
        if self.path.exists():
            raise OutputError(
                f"{self.path} holds what is finished of a search that was stopped; go on with it "
                "by --resume, or begin again with --force"
            )

    def resume(self) -> None:
        """Take over what is finished.

        Raises
        ------
        InputError
            If there is no such file, it cannot be read, or it answers another question.
        """
        self.points = {point.choice: point for point in self._read()}
        self._written = len(self.points)

    def keep(self, point: Point) -> None:
        """One more is finished; it is written soon, whole or not at all."""
        self.points[point.choice] = point
        if time.monotonic() >= self._due_s:
            self.write()

    def write(self) -> None:
        """Write all that is finished and not yet written; `trouble` says why it cannot be."""
        if len(self.points) == self._written:
            return
        content = {
            "question": asdict(self.question),
            "points": [asdict(point) for point in self.points.values()],
        }
        text = json.dumps(content, indent=1, allow_nan=False) + "\n"
        try:
            write_all(self.path.parent, {UNFINISHED: text}, force=True)
        except OutputError as error:
            # No reason to stop: the answer is still to be had.
            self.trouble = error
        else:
            self.trouble = None
            self._written = len(self.points)
        self._due_s = time.monotonic() + _PACE_s

    def _read(self) -> list[Point]:
        try:
            content = json.loads(self.path.read_text(encoding="utf-8"))
            question, points = content["question"], content["points"]
        except FileNotFoundError:
            raise self._refused(
                "no such file: there is nothing to go on with", "the same command without --resume"
            ) from None
        except OSError as error:
            raise self._refused(f"cannot be read: {error.strerror or error}", _AGAIN) from None
        except (ValueError, KeyError, TypeError, RecursionError):
            raise self._refused("cannot be read: not as powersim wrote it", _AGAIN) from None
        self._refuse_another(question)
        try:
            return [_point_of(row) for row in points]
        except (ValueError, KeyError, TypeError, OverflowError):
            raise self._refused("holds a choice that cannot be read", _AGAIN) from None

    def _refuse_another(self, question) -> None:
        own = asdict(self.question)
        if (
            not isinstance(question, dict)
            or question.keys() != own.keys()
            or not isinstance(question["boats"], dict)
        ):
            raise self._refused("cannot be read: not as powersim wrote it", _AGAIN)
        differs = [name for name in _DIFFERS if question[name] != own[name]]
        if differs:
            then = ", ".join(_told(name, question[name]) for name in differs)
            now = ", ".join(_told(name, own[name]) for name in differs)
            raise self._refused(
                f"answers another question: begun with {then}, and now it is {now}",
                f"what it was begun with; or {_AGAIN}",
            )
        # Other ranges are the same question: every choice is answered by itself.
        boats = question["boats"] | own["boats"]
        if question["passage"] != own["passage"] or boats != own["boats"] | question["boats"]:
            raise self._refused(
                "answers another question: the boat, her loads, her route, the departure or the "
                "weather files have changed since",
                f"the same passage as then; or {_AGAIN}",
            )
        self.question = replace(self.question, boats=boats)

    def _refused(self, text: str, expected: str) -> InputError:
        return InputError([Problem(file=str(self.path), text=text, expected=expected)])


def _told(name, value) -> str:
    try:
        return _DIFFERS[name].format(value)
    except ValueError:  # what stands there is no number
        return f"{name} {value!r}"


def _point_of(row) -> Point:
    """A finished point, checked field by field: the file may have been edited."""
    kinds = {field.name: str(field.type) for field in fields(Point)}
    if not isinstance(row, dict) or row.keys() != kinds.keys():
        raise ValueError("other fields")
    choice = row["choice"]
    checked = {name: _checked(row[name], kind) for name, kind in kinds.items() if name != "choice"}
    if not isinstance(choice, dict) or choice.keys() != {field.name for field in fields(Choice)}:
        raise ValueError("other sizes")
    sizes = {name: _checked(size, "float") for name, size in choice.items() if name != "chemistry"}
    chemistry = choice["chemistry"]
    if not isinstance(chemistry, str):
        raise TypeError("no chemistry")
    return Point(choice=Choice(chemistry=chemistry, **sizes), **checked)


def _checked(value, kind: str):
    if kind == "bool":
        fits = isinstance(value, bool)
    elif value is None:
        fits = "None" in kind
    else:
        number = isinstance(value, int | float) and not isinstance(value, bool)
        fits = number and math.isfinite(value)
    if not fits:
        raise TypeError(f"no {kind}")
    return value
