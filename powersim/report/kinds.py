"""Numbers that an answer holds raw, each with its kind: how it is written, on every form alike.

A kind knows the words for nothing, for no end, and for a median with what lies about it. Called
with a raw value it makes a `Quantity`, which prints as that kind is written.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import Any, NamedTuple

from powersim.report import rounding, when_where

#: Heads of a median, and of what one in ten lies below and above.
BAND_HEADS = ("1 in 10\nbelow", "median", "1 in 10\nabove")
#: What stands for a time that is longer than the passage.
LANDFALL = "landfall"


class Band(NamedTuple):
    """A median over simulated passages, and what 8 in 10 of them lie between."""

    middle: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Kind:
    """How numbers of one kind are written.

    Attributes
    ----------
    form : callable
        From a raw value to text.
    zero : str or None
        What stands for nothing; None where the number itself does.
    least : float
        No more than this is nothing, in the raw value's unit.
    never, always : str or None
        What stands for infinity, and for minus infinity.
    """

    form: Callable[..., str]
    zero: str | None = None
    least: float = 0.0
    never: str | None = None
    always: str | None = None

    def __call__(self, value: object, key: str = "") -> Quantity:
        """A value of this kind, and its dotted place in `summary.json` if it has one."""
        return Quantity(value, self, key)

    def text(self, value: object) -> str:
        """A raw value as it is written.

        Examples
        --------
        >>> LASTS.text(2.6), LASTS.text(0.0), LASTS.text(math.inf), DAYS.text(None)
        ('2.6 days', 'already', 'landfall', '–')
        """
        if isinstance(value, float | int):
            if self.zero is not None and abs(value) <= self.least:
                return self.zero
            word = self.never if value > 0 else self.always
            if math.isinf(value) and word is not None:
                return word
        return self.form(value)


@dataclass(frozen=True, slots=True)
class Quantity:
    """One raw value of an answer, with its kind.

    Attributes
    ----------
    value : object
        A number in the unit of its kind, a `Band`, or what the kind's form takes.
    kind : Kind
        How it is written.
    key : str
        Its dotted place in `summary.json`; empty where it has none.
    """

    value: Any
    kind: Kind
    key: str = ""

    def __str__(self) -> str:
        return str(self.spread()) if isinstance(self.value, Band) else self.kind.text(self.value)

    def spread(self) -> Words:
        """A band in words: the median alone where all of it reads as that does.

        Examples
        --------
        >>> str(SHARE(Band(0.56, 0.41, 0.65))), str(SHARE(Band(0.561, 0.559, 0.563)))
        ('56 % (8 in 10 lie between 41 % and 65 %)', '56 %')
        """
        middle, low, high = (
            self.kind(value, self.key and f"{self.key}.{name}")
            for value, name in zip(self.value, ("p50", "p10", "p90"), strict=True)
        )
        if str(middle) == str(low) == str(high):
            return say("{}", middle)
        return say("{} (8 in 10 lie between {} and {})", middle, low, high)


class Words:
    """Running text with quantities in it, made by `say`."""

    __slots__ = ("parts", "template")

    def __init__(self, template: str, parts: tuple[Text, ...]) -> None:
        self.template, self.parts = template, parts

    def __str__(self) -> str:
        return self.template.format(*self.parts)


#: What stands in a cell or a sentence.
Text = str | Words | Quantity


def say(template: str, *parts: Text) -> Words:
    """A sentence, or a piece of one: the template has {} for each part.

    Examples
    --------
    >>> str(say("{} left at landfall", LITRES(96.1)))
    '96.1 L left at landfall'
    """
    return Words(template, parts)


def joined(pieces: Iterable[Text], between: str = " ") -> Words:
    """Pieces of text one after the other, empty ones left out.

    Examples
    --------
    >>> str(joined(["of", "", say("{}", DAYS(3.0))], "; "))
    'of; 3.0 days'
    """
    kept = [piece for piece in pieces if not isinstance(piece, str) or piece]
    return Words(between.join(["{}"] * len(kept)), tuple(kept))


def quantities_in(text: Text) -> Iterator[Quantity]:
    """Every quantity of a piece of text, in order."""
    if isinstance(text, Quantity):
        yield text
    elif isinstance(text, Words):
        for part in text.parts:
            yield from quantities_in(part)


def charge_beside(floor_soc: float) -> Kind:
    """State of charge, told from a floor that it is near to."""
    return Kind(partial(rounding.apart, limit_frac=floor_soc))


def count_of(members: int) -> Kind:
    """A share of so many simulated passages, counted.

    Examples
    --------
    >>> count_of(200).text(0.325), count_of(200).text(0.0), count_of(200).text(1.0)
    ('65', 'none', 'all')
    """
    return Kind(partial(_counted, members=members), zero="none")


def _counted(frac, *, members) -> str:
    count = round(frac * members)
    return "all" if count == members else f"{count}"


def of_passages(members: int, frac: float, does: str, do: str, key: str = "") -> Words:
    """How many of the simulated passages do something, from the share of them that does.

    `does` is said of one, `do` of several; `key` is the share's place in `summary.json`.

    Examples
    --------
    >>> str(of_passages(200, 0.31, "fails", "fail")), str(of_passages(20, 0.05, "fails", "fail"))
    ('of 200 simulated passages, 62 fail', 'of 20 simulated passages, 1 fails')
    """
    count = count_of(members)(frac, key)
    return say("of {} simulated passages, {} {}", COUNT(members), count, verb(count, does, do))


def verb(count: Quantity, does: str, do: str) -> str:
    """What is said of one, or of several."""
    return does if str(count) == "1" else do


def _at_a_moment(at, form=when_where.moment) -> str:
    when_utc, ship_offset_h = at
    return form(when_utc, ship_offset_h=ship_offset_h)


def _at_a_place(at) -> str:
    lat_deg, lon_deg = at
    return when_where.position(lat_deg, lon_deg)


AH, WH, VOLTS = Kind(rounding.ah), Kind(rounding.wh), Kind(rounding.volts)
AMPS = Kind(rounding.amps)
#: What one use of something takes.
AH_EACH = Kind(rounding.charge_each)
#: Charge in a column that is headed by its unit.
AH_A_DAY = Kind(lambda charge_Ah: rounding.ah(charge_Ah).removesuffix(" Ah"))
SHARE, CHANCE = Kind(rounding.soc), Kind(rounding.percent)
#: A chance beside a limit that is near. [-]
TENTHS_OF_PERCENT = Kind(rounding.tenths_of_percent)
LITRES_PER_HOUR = Kind(rounding.litres_per_hour)
LITRES, HOURS, DAYS = Kind(rounding.litres), Kind(rounding.hours), Kind(rounding.days)
#: A time by a watch. [h]
BY_WATCH = Kind(rounding.hours_minutes)
MINUTES = Kind(lambda minutes: f"{rounding.number(minutes)} min")
COUNT, TENTHS = Kind(rounding.number), Kind(partial(rounding.number, decimals=1))
#: A volume in a column that is headed by its unit.
BARE_LITRES = Kind(rounding.bare_litres)
#: A term of a sum that names its unit.
TENTH_LITRES = Kind(rounding.tenth_litres)
#: On the stick. [m]
DEPTH = Kind(rounding.depth)
MILES, KNOTS, CELSIUS = Kind(rounding.miles), Kind(rounding.knots), Kind(rounding.celsius)
LATITUDE = Kind(when_where.latitude)
#: How long something lasts from a moment on. [days]
LASTS = Kind(rounding.days, zero="already", never=LANDFALL)
#: Of (lat_deg, lon_deg).
POSITION = Kind(_at_a_place)
#: Of (when_utc, ship_offset_h).
MOMENT = Kind(_at_a_moment)
SHIP_TIME = Kind(partial(_at_a_moment, form=when_where.ship_time))
SHORT_DATE = Kind(partial(_at_a_moment, form=when_where.short_date))
