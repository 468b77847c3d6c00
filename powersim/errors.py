"""The errors powersim raises on purpose; everything else is a fault of its own."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path


class PowersimError(Exception):
    """Base of every error that powersim raises on purpose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing wrong with one place in one file.

    Attributes
    ----------
    file : str
        The file as the sailor named it.
    line : int or None
        Line in the file, the first being 1 and comments counted; None for the file as a whole.
    field : int or None
        Number of the cell in its row, the first being 1; None where there are no cells.
    text : str
        What is wrong, in one sentence, with the value as typed.
    expected : str or None
        What would have been right, with an example that works.
    row : str or None
        The row as it stands in the file.
    place : str or None
        The place as it was typed, where a value is wrong that was set in place of a file's.
    """

    file: str
    text: str
    line: int | None = None
    field: int | None = None
    expected: str | None = None
    row: str | None = None
    place: str | None = None

    @property
    def at(self) -> str:
        """Where it is, in short: the file without its folder; a value that was set as it was typed.

        Examples
        --------
        >>> Problem(file="passages/tern/boat.toml", line=7, text="...").at
        'boat.toml:7'
        """
        name = self.file if self.place is not None else Path(self.file).name
        parts = (name, self.line, self.field)
        return ":".join(str(part) for part in parts if part is not None)

    def __str__(self) -> str:
        place = ":".join(
            str(part) for part in (self.file, self.line, self.field) if part is not None
        )
        lines = [f"{place}: {self.text}"]
        if self.expected is not None:
            lines.append(f"  expected  {self.expected}")
        if self.row is not None:
            lines.append(f"  row       {self.row}")
        return "\n".join(lines)


class InputError(PowersimError):
    """Everything wrong with the sailor's files, reported at once.

    Parameters
    ----------
    problems : iterable of Problem
        At least one, in the order in which they should be read.
    or_climatology : bool
        Whether some of them are of weather files, which a passage can do without.
    """

    def __init__(self, problems: Iterable[Problem], *, or_climatology: bool = False) -> None:
        self.problems = tuple(problems)
        self.or_climatology = or_climatology
        super().__init__("\n".join(str(problem) for problem in self.problems))


def refused(
    file: str, text: str, expected: str | None = None, line: int | None = None
) -> InputError:
    """An InputError about one problem, ready to be raised.

    Parameters
    ----------
    file : str
        The file, or the option, as the sailor named it.
    text : str
        What is wrong, as in Problem.
    expected : str, optional
        What would have been right.
    line : int, optional
        Line in the file.
    """
    return InputError([Problem(file=file, line=line, text=text, expected=expected)])


class OutputError(PowersimError):
    """Results could not be written, or would overwrite a file of the sailor's."""


class NotWrittenError(OutputError):
    """The place was right, and the system could not write there: a full disk, a failing device."""


class BalanceError(PowersimError):
    """The books do not close: a fault of powersim's own, never of the sailor's."""
