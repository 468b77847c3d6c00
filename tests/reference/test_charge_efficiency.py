"""Charge efficiency against published figures: plausibility only, 5 to 10 points."""

import numpy as np
import pytest
from published import read_published

from powersim.physics.bank import (
    bank_of,
    charge_resistance_ohm,
    coulombic_frac,
    discharge_resistance_ohm,
    emf_V,
)
from powersim.records import battery_of

ROWS = {row["kind"]: row for row in read_published("lead_acid_charge_efficiency.csv")}
LITHIUM = read_published("lithium_efficiency.csv")[0]


def share(row):
    return float(row["value_low_percent"]) / 100.0


def middles(low, high, count=20_000):
    return low + (high - low) * (np.arange(count) + 0.5) / count


def over(function, bank, socs, *given):
    """One of the kernel's functions of one charge, at many."""
    return np.array([function(bank, soc, *given) for soc in socs.tolist()])


def efficiency(bank, low, high):
    """Ah stored over Ah in from low to high."""
    return 1.0 / np.mean(1.0 / over(coulombic_frac, bank, middles(low, high)))


@pytest.fixture
def flooded():
    return bank_of(battery_of("flooded", capacity_Ah=220.0), step_h=0.25)


def test_a_flooded_cycle_from_floor_to_full_has_the_stated_efficiency(flooded):
    """88 % (common practice, no source) is solved for, on a grid of 2,000 points: that it comes out
    shows that the solving works, on a finer grid. What is compared with somebody else's figure is
    the second line: within 5 points of the 85 % of batterydesign.net/chemistry/efficiency."""
    found = efficiency(flooded, 0.5, 1.0)
    assert found == pytest.approx(0.88, abs=1e-5)
    assert found == pytest.approx(share(ROWS["typical cycle coulombic"]), abs=0.05)


def test_the_average_from_empty_lies_within_10_points_of_the_antimony_cell(flooded):
    """Stevens and Corey 1996 (from memory): 91 % on average from 0 to 84 %."""
    row = ROWS["average coulombic over the range"]
    found = efficiency(flooded, 0.0, float(row["soc_to_percent"]) / 100.0)
    assert found == pytest.approx(share(row), abs=0.10)


def test_near_full_it_is_far_better_than_the_antimony_cell(flooded):
    """Stevens and Corey 1996 (from memory): 55 % from 79 to 84 %, an old antimony cell and so a
    stress case, not the default: at least 20 points better."""
    row = ROWS["incremental coulombic"]
    low, high = (float(row[f"soc_{end}_percent"]) / 100.0 for end in ("from", "to"))
    assert efficiency(flooded, low, high) > share(row) + 0.2


def test_energy_out_over_energy_in(flooded):
    """batterydesign.net: 70 % energy over a typical cycle. Here floor to full at a fifth of the
    capacity or 14.4 V, whichever gives less, and back at the 20-hour rate: by hand, 0.88 times
    some 12.2 V out over some 14.2 V in. Within 10 points."""
    soc = middles(0.5, 1.0)
    emf = over(emf_V, flooded, soc)
    ohm_in = over(charge_resistance_ohm, flooded, soc, 25.0)
    ohm_out = over(discharge_resistance_ohm, flooded, soc, 25.0)
    amps_in = np.minimum(0.2 * flooded.capacity_Ah, (14.4 - emf) / ohm_in)
    volts_in = emf + ohm_in * amps_in
    volts_out = emf - ohm_out * flooded.capacity_Ah / 20.0
    found = volts_out.mean() / (volts_in / over(coulombic_frac, flooded, soc)).mean()
    assert found == pytest.approx(share(ROWS["typical cycle energy"]), abs=0.10)


def test_lithium_loses_a_hundredth():
    """batterydesign.net, citing Bobanac, Basic and Pandzic, EUROCON 2021: above 99 %. The default
    is that 99 %, and the bank is solved for it, as above."""
    battery = battery_of("lifepo4", capacity_Ah=100.0)
    bank = bank_of(battery, step_h=0.25)
    found = efficiency(bank, battery.floor_soc, 1.0)
    assert found == pytest.approx(float(LITHIUM["value_percent"]) / 100.0, abs=1e-5)
