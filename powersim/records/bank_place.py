"""How warm the bank is: where it stands, and how far it is kept from frost."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from powersim.records.declared import by_default, check_fields
from powersim.records.described import described

#: Where a bank stands: low in the boat, in the cabin itself, in a locker open to the air.
BANK_PLACES = ("bilge", "cabin", "outside")
#: Beyond is a slip of the pen; our judgement. [degC]
_DEGREES: dict[str, Any] = {"within": (-30.0, 60.0)}


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class BankPlace:
    """What the bank's temperature follows. How, is in sky/below_deck.py.

    Attributes
    ----------
    least_C : float or None
        A heated bank is never colder than this; None for one without a heater. [degC]
    fixed_C : float or None
        The bank is always as warm as this, wherever it stands; None if it follows its place. [degC]
    """

    place: str = by_default("bilge", "where it stands", one_of=BANK_PLACES)
    least_C: float | None = by_default(None, "never colder than this", "5 degC", **_DEGREES)
    fixed_C: float | None = by_default(None, "always as warm as this", "12 degC", **_DEGREES)

    def __post_init__(self) -> None:
        check_fields(self)
        if self.least_C is not None and self.fixed_C is not None:
            raise ValueError("a bank of a fixed temperature has no least one")


#: Where a bank stands unless it is said.
BILGE = BankPlace()
