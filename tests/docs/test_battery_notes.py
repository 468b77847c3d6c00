"""The table of misses in the battery's notes is what the model does."""

from pathlib import Path

import pytest

from powersim.physics.ratings import peukert_frac, wells_of
from powersim.physics.wells import available_after_Ah, delivered_frac, well_step
from powersim.records import battery_of

NOTES = Path(__file__).parents[2] / "docs" / "model" / "battery.md"


def table_after(words):
    """Cells of the first table after these words, its ruler left out."""
    rows = []
    for line in NOTES.read_text(encoding="utf-8").split(words, 1)[1].splitlines()[1:]:
        if line.startswith("|"):
            rows.append([cell.strip() for cell in line.strip("|").split("|")])
        elif rows:
            break
    return rows[0], rows[2:]


def runtime_h(exponent, hours):
    """What 100 Ah last at the current that by Peukert lasts these hours, to 1 in 10,000."""
    battery = battery_of("flooded", capacity_Ah=100.0, health_frac=1.0, peukert_exponent=exponent)
    current_A = 100.0 * peukert_frac(exponent, duration_h=hours) / hours
    wells = wells_of(battery)
    total = 100.0 / delivered_frac(wells, duration_h=20.0)
    full = total
    available = wells.available_frac * total
    step = well_step(wells, step_h=hours / 10_000)
    for count in range(20_000):
        available = available_after_Ah(
            step, total_Ah=total, available_Ah=available, current_A=current_A
        )
        total -= current_A * step.step_h
        if available < 0 or full - total > 100.0:
            return count * step.step_h
    raise AssertionError("the bank lasts for ever")


def test_misses_of_peukerts_law():
    head, rows = table_after("How far a runtime lies from Peukert's")
    assert len(rows) == 5
    for exponent, *misses in rows:
        for column, miss in zip(head[1:], misses, strict=True):
            hours = float(column.removesuffix(" h"))
            found = 100.0 * (runtime_h(float(exponent), hours) / hours - 1.0)
            # Printed to 0.1; a runtime is counted in steps of a ten-thousandth of it.
            assert found == pytest.approx(float(miss), abs=0.07)


def test_wells_of_each_chemistry():
    head, rows = table_after("The taper comes from the resistance alone.")
    shown = {row[0]: row[3:] for row in rows}
    assert head[3:] == ["flooded", "gel", "AGM", "LiFePO4"]
    for place, name in enumerate(head[3:]):
        battery = battery_of(name.lower(), capacity_Ah=100.0, health_frac=1.0)
        wells = wells_of(battery)
        hidden = 100.0 / delivered_frac(wells, duration_h=20.0) - 100.0
        assert battery.peukert_exponent == float(shown["p"][place])
        assert wells.available_frac == pytest.approx(float(shown["c"][place]), abs=5.1e-4)
        assert wells.rate_per_h == pytest.approx(float(shown["k'"][place]), abs=5.1e-4)
        assert hidden == pytest.approx(float(shown["hidden, of 100 Ah"][place]), abs=0.051)
