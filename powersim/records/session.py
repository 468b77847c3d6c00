"""How often a load is used and how long each time: messages, downloads, calls."""

from __future__ import annotations

from dataclasses import dataclass

from powersim.records.declared import by_default, check_fields
from powersim.records.described import described

#: Bounds that catch a slip of the pen; our judgement. [kB], [h]
_LARGEST_kB = 1e6
_LONGEST_H = 24.0
#: A link that fails more often than this is no link: one try in twenty gets through.
_MOST_FAILED = 0.95
_SECONDS = 3600.0


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """What a load is switched on for, so many times a day.

    Attributes
    ----------
    word, words : str
        What one of them is called, and several.
    per_day : float
        How many are to get through in a day.
    each_h : float
        Time that a try takes whatever is sent: all of it, or to get a link. [h]
    size_kB, rate_kB_per_s : float
        What is sent in a try, and how fast; both 0 where the time is all that is known.
        [kB], [kB/s]
    failed_frac : float
        Share of the tries that do not get through; each of them lasts as long as one that does. [-]
    beside : tuple of str
        Loads and supplies that are on meanwhile, beside their own hours.
    """

    word: str = "session"
    words: str = "sessions"
    per_day: float = by_default(
        1.0, "how many a day", "3", above=(0.0, 1_000.0), usual=(0.01, 100.0)
    )
    each_h: float = by_default(0.0, "time of a try", "4 min", within=(0.0, _LONGEST_H))
    size_kB: float = by_default(0.0, "what is sent in a try", "30 kB", within=(0.0, _LARGEST_kB))
    rate_kB_per_s: float = by_default(
        0.0, "how fast it is sent", "0.3 kB/s", within=(0.0, _LARGEST_kB)
    )
    failed_frac: float = by_default(
        0.0, "share of the tries that fail", "20 %", within=(0.0, _MOST_FAILED)
    )
    beside: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        check_fields(self)
        if bool(self.size_kB) != bool(self.rate_kB_per_s):
            raise ValueError("a size needs a rate, and a rate a size")
        if not self.try_h > 0.0:
            raise ValueError("a try takes time: give each_h, or size_kB and rate_kB_per_s")

    @property
    def try_h(self) -> float:
        """How long a try lasts, the link and what is sent over it. [h]"""
        sent_s = self.size_kB / self.rate_kB_per_s if self.rate_kB_per_s else 0.0
        return self.each_h + sent_s / _SECONDS

    @property
    def on_h(self) -> float:
        """How long the load is on until one has got through, failed tries among it. [h]"""
        return self.try_h / (1.0 - self.failed_frac)

    @property
    def on_h_per_day(self) -> float:
        """How long the load is on in a day. [h/day]"""
        return self.per_day * self.on_h
