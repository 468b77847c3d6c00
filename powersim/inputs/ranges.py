"""Ranges of sizes as they are typed after an option: `150:400:50Ah`, `45A,90A`."""

from __future__ import annotations

import math
from dataclasses import dataclass

from powersim.errors import InputError, refused
from powersim.inputs.text import ReadingError, did_you_mean, quoted
from powersim.inputs.toml_keys import written
from powersim.inputs.units import split, to_float

#: More choices than these are no search but a mistake.
MOST_CHOICES = 10_000
#: A size that is smaller, and not zero, is no size; in whichever unit. [Ah], [W] or [A]
LEAST = 0.1
#: Digits after the decimal point that a step may leave behind, so that 0.1 ten times is 1.
_DIGITS = 9


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """What one option of sizes takes.

    Attributes
    ----------
    option : str
        Its name, without dashes.
    unit : str
        What its numbers are wanted in.
    expected : str
        What it should hold, in words.
    example : str
        That works.
    most : float
        The largest size, in `unit`.
    zero : bool
        Whether none at all is a choice too.
    """

    option: str
    unit: str
    expected: str
    example: str
    most: float
    zero: bool = False

    def refused(self, text: str) -> InputError:
        """An error about what was typed."""
        expected = f"{self.expected}, for example --{self.option} {self.example}"
        return refused(self.option, text, expected)


BATTERY = Sizes(
    option="battery",
    unit="Ah",
    expected="capacities at the 20-hour rate",
    example="150:400:50Ah",
    most=100_000.0,
)
SOLAR = Sizes(
    option="solar",
    unit="W",
    expected="watts of all panels together",
    example="100:400:100W",
    most=100_000.0,
    zero=True,
)
ALTERNATOR = Sizes(
    option="alternator",
    unit="A",
    expected="hot output at charging revs",
    example="45A,90A",
    most=2_000.0,
    zero=True,
)


def sizes_of(text: str, kind: Sizes) -> tuple[float, ...]:
    """Sizes as typed: single ones and ranges `from:to:step`, with commas between them.

    Parameters
    ----------
    text : str
        As typed. In a range the unit of the last number is that of those without one.
    kind : Sizes
        What is asked for.

    Returns
    -------
    tuple of float
        In `kind.unit`, as they come. A range ends at its last step that is not beyond its end.

    Raises
    ------
    InputError
        If it cannot be read, is empty, or names a size twice.

    Examples
    --------
    >>> sizes_of("150:400:50Ah", BATTERY)
    (150.0, 200.0, 250.0, 300.0, 350.0, 400.0)
    >>> sizes_of("45 A, 90 A", ALTERNATOR)
    (45.0, 90.0)
    """
    found: list[float] = []
    for part in text.split(","):
        try:
            sizes = _one(part, kind)
        except ReadingError as error:
            raise kind.refused(error.reason) from None
        for size in sizes:
            if size in found:
                again = quoted(text) + f" has {written(size, kind.unit)} twice"
                raise kind.refused(again)
            found.append(size)
    return tuple(found)


def words_of(text: str, known: tuple[str, ...], *, option: str, expected: str) -> tuple[str, ...]:
    """Words as typed, with commas between them.

    Parameters
    ----------
    text : str
        As typed.
    known : tuple of str
        What there is.
    option : str
        Its name, without dashes.
    expected : str
        What it should hold, with an example.

    Raises
    ------
    InputError
        If one is not known, or there twice.

    Examples
    --------
    >>> words_of("Flooded, lifepo4", ("flooded", "lifepo4"), option="chemistry", expected="")
    ('flooded', 'lifepo4')
    """
    found: list[str] = []
    for part in text.split(","):
        word = part.strip().casefold()
        if not word:
            reason = (
                f"{quoted(text)} has nothing on one side of a comma" if text.strip() else "is empty"
            )
        elif word not in known:
            reason = f"{quoted(part.strip())} is not known here{did_you_mean(word, known)}"
        elif word in found:
            reason = f"{quoted(text)} has {word} twice"
        else:
            found.append(word)
            continue
        raise refused(option, reason, expected)
    return tuple(found)


def refuse_too_many(count: int) -> None:
    """Raise InputError where there are more choices than anybody can have meant.

    Parameters
    ----------
    count : int
        Of all combinations.
    """
    if count > MOST_CHOICES:
        text = f"these ranges make {count:,} choices"
        expected = f"at most {MOST_CHOICES:,}; take longer steps, for example 150:400:50Ah"
        raise refused("size", text, expected)


def _one(text: str, kind: Sizes) -> list[float]:
    """One size, or all of a range."""
    if not text.strip():
        raise ReadingError("is empty, or has nothing on one side of a comma")
    parts = text.split(":")
    if len(parts) == 1:
        return [_size(text, text, kind)]
    if len(parts) != 3:
        raise ReadingError(f"{quoted(text)} is not a range; write from:to:step")
    bare = _unit_of(parts[-1])
    start, end = (_size(part, text, kind, bare=bare) for part in parts[:2])
    step = _number(parts[2], text, kind, bare=bare)
    try:
        return stepped(
            start, end, step, zero=written(0.0, kind.unit), most=MOST_CHOICES, what="sizes"
        )
    except ReadingError as error:
        raise ReadingError(f"{quoted(text)} {error.reason}") from None


def stepped(
    first: float, last: float, step: float, *, zero: str = "0", most: int, what: str = "values"
) -> list[float]:
    """All values of a range, both ends included where the step meets them.

    Parameters
    ----------
    first, last, step : float
        In one unit.
    zero : str
        Nothing, as it would be typed.
    most : int
        How many steps there may be.
    what : str
        What they are of, in the plural.

    Raises
    ------
    ReadingError
        If it has no end, or too many values; the reason goes on from what was typed.
    """
    if not step > 0.0:
        raise ReadingError(f"has a step that is not above {zero}")
    if not last >= first:
        raise ReadingError("runs backwards")
    steps = (last - first) / step
    if steps > most:
        raise ReadingError(f"has more than {most:,} {what}")
    return [round(first + step * place, _DIGITS) for place in range(math.floor(steps + 1e-9) + 1)]


def _unit_of(text: str) -> str | None:
    return split(text)[1]


def _size(text: str, whole: str, kind: Sizes, *, bare: str | None = None) -> float:
    size = _number(text, whole, kind, bare=bare)
    if size < 0 or (size == 0 and not kind.zero):
        least = f"not above {written(0.0, kind.unit)}" if not kind.zero else "below 0"
        raise ReadingError(f"{quoted(whole)} has a size that is {least}")
    if 0 < size < LEAST:
        raise ReadingError(f"{quoted(whole)} has a size that is below {written(LEAST, kind.unit)}")
    if size > kind.most:
        raise ReadingError(f"{quoted(whole)} goes beyond {written(kind.most, kind.unit)}")
    return size


def _number(text: str, whole: str, kind: Sizes, *, bare: str | None) -> float:
    if not text.strip():
        raise ReadingError(f"{quoted(whole)} is not a range; write from:to:step")
    try:
        return to_float(text, kind.unit, bare=bare)
    except ReadingError as error:
        # A message names what was typed, and not a piece of it.
        raise ReadingError(error.reason.replace(quoted(text), quoted(whole), 1)) from None
