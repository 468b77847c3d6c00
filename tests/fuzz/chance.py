"""A seeded source of chance, with the draws that passages are made of."""

from __future__ import annotations

import random

#: Other ways to write a quantity: unit -> what its number is multiplied by.
SPELLINGS = {
    "Ah": {"Ah": 1.0, "mAh": 1000.0, "amp hours": 1.0},
    "A": {"A": 1.0, "mA": 1000.0, "amps": 1.0},
    "W": {"W": 1.0, "kW": 0.001, "watts": 1.0},
    "kW": {"kW": 1.0, "W": 1000.0, "PS": 1.35962},
    "V": {"V": 1.0, "mV": 1000.0, "volts": 1.0},
    "L": {"L": 1.0, "mL": 1000.0, "gal": 0.264172, "litres": 1.0},
    "L/h": {"L/h": 1.0, "mL/h": 1000.0, "gph": 0.264172},
    "h": {"h": 1.0, "min": 60.0, "hours": 1.0},
    "kn": {"kn": 1.0, "km/h": 1.852, "nm/day": 24.0, "knots": 1.0},
    "cm": {"cm": 1.0, "mm": 10.0, "in": 0.393701, "m": 0.01},
    "%": {"%": 1.0, "per cent": 1.0},
    "deg": {"deg": 1.0, "degrees": 1.0},
    "degC": {"degC": 1.0, "°C": 1.0},
}


class Chance(random.Random):
    """One stream of random numbers; the same seed draws the same passage on any machine."""

    def often(self, share: float) -> bool:
        """True in such a share of the draws."""
        return self.random() < share

    def number(self, least: float, most: float, digits: int = 1) -> str:
        """A number between two, as it would be typed."""
        return f"{self.uniform(least, most):.{digits}f}"

    def measure(self, least: float, most: float, unit: str, digits: int = 1) -> str:
        """A quantity between two, mostly in the unit named, now and then in another one."""
        return self.spelled(self.uniform(least, most), unit, digits)

    def spelled(self, value: float, unit: str, digits: int = 1) -> str:
        """One quantity, mostly in the unit named, now and then in another one of its kind."""
        if self.often(0.85):
            return f"{round(value, digits):g} {unit}"
        name, factor = self.choice(sorted(SPELLINGS[unit].items()))
        return f"{round(round(value, digits) * factor, 6):.10g} {name}"
