"""How warm the bank is: where it stands, and how far it is kept from frost."""

from __future__ import annotations

from dataclasses import dataclass

#: Where a bank stands: low in the boat, in the cabin itself, in a locker open to the air.
BANK_PLACES = ("bilge", "cabin", "outside")


@dataclass(frozen=True, slots=True, kw_only=True)
class BankPlace:
    """What the bank's temperature follows. How, is in sky/below_deck.py.

    Attributes
    ----------
    place : str
        One of BANK_PLACES.
    least_C : float or None
        A heated bank is never colder than this; None for one without a heater. [degC]
    fixed_C : float or None
        The bank is always as warm as this, wherever it stands; None if it follows its place. [degC]
    """

    place: str = "bilge"
    least_C: float | None = None
    fixed_C: float | None = None

    def __post_init__(self):
        if self.place not in BANK_PLACES:
            raise ValueError(f"unknown place {self.place!r}")
        if self.least_C is not None and self.fixed_C is not None:
            raise ValueError("a bank of a fixed temperature has no least one")


#: Where a bank stands unless it is said.
BILGE = BankPlace()
