"""Work out what a reading of the bank is worth, and put the tables into docs/model/reading.md.

    .venv/bin/python docs/reading_figures.py

It takes a second. tests/docs/test_reading_page.py sees that the page has what this makes.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
from measured import put

from powersim.physics.bank import bank_of
from powersim.physics.rest import surface_V
from powersim.records import CHEMISTRIES, battery_of
from powersim.simulation.reading_parts import (
    SURFACE_MEAN_FRAC,
    SURFACE_SD_FRAC,
    counter_parts,
    shown_slope_V,
    total_soc,
    volts_parts,
)

PAGE = Path(__file__).parent / "model/reading.md"
#: The example of the page: a label, a usual load, and the charge at which a rule may start.
CAPACITY_Ah, LOAD_A, SOC, BANK_C = 200.0, 2.0, 0.6, 15.0
DAYS = (0.0, 3.0, 7.0, 10.0, 30.0)
POINTS = (0.5, 1.0)


def bank_and_battery(chemistry: str):
    """The example's bank of a kind."""
    battery = battery_of(chemistry, capacity_Ah=CAPACITY_Ah)
    return battery, bank_of(battery, step_h=1.0)


def by_volts(chemistry: str, **given):
    """Parts of a reading by volts before dawn."""
    battery, bank = bank_and_battery(chemistry)
    battery = replace(battery, **given)
    return volts_parts(battery, bank, soc=SOC, load_A=LOAD_A, bank_C=BANK_C)


def by_counter(chemistry: str, days: float):
    """Parts of a reading by a counter so long after a full charge."""
    battery, bank = bank_and_battery(chemistry)
    used = 24.0 * LOAD_A / bank.capacity_Ah
    return counter_parts(battery, soc=SOC, days=days, used_frac_per_day=used)


def own_points(chemistry: str):
    """The sailor's own points, as the middle bank has them."""
    socs, volts = zip(*CHEMISTRIES[chemistry].curves.emf_knots, strict=True)
    return {"rested": tuple((soc, float(np.interp(soc, socs, volts))) for soc in POINTS)}


def table_of(parts) -> list[str]:
    """The parts one by one, and their sums."""
    rows = ["| part | volts | points of charge | stays or new | from |", "|---|---|---|---|---|"]
    for one in parts:
        volts = "" if one.sd_V is None else f"{one.sd_V:.3f}"
        lasts = "stays" if one.lasts else "new"
        rows.append(f"| {one.what} | {volts} | {100 * one.sd_soc:.1f} | {lasts} | {one.source} |")
    for word, lasts in (("what stays", True), ("what is new", False), ("together", None)):
        rows.append(f"| **{word}** | | **{100 * total_soc(parts, lasts=lasts):.1f}** | | |")
    return rows


def kinds() -> list[str]:
    """One standard deviation by kind, meter and days since full."""
    heads = ["by volts", "with two points", *(f"counter, {days:g} days" for days in DAYS)]
    rows = [f"| kind | {' | '.join(heads)} |", f"|{'---|' * (len(heads) + 1)}"]
    for chemistry, traits in CHEMISTRIES.items():
        told = [total_soc(by_volts(chemistry))]
        own = None if traits.mute_soc else total_soc(by_volts(chemistry, **own_points(chemistry)))
        counted = [total_soc(by_counter(chemistry, days)) for days in DAYS]
        cells = [*told, own, *counted]
        said = ["-" if one is None else f"{100 * one:.0f} %" for one in cells]
        rows.append(f"| {chemistry} | {' | '.join(said)} |")
    return rows


def after_the_sun() -> list[str]:
    """How much fuller a flooded bank looks by the time since the panels last charged it."""
    _, bank = bank_and_battery("flooded")
    slope_V = shown_slope_V(bank, SOC, load_A=LOAD_A, bank_C=BANK_C)
    rows = [
        "| since the sun last charged it | drawn | looks fuller by | give or take |",
        "|---|---|---|---|",
    ]
    for rest_h in (0.2, 0.5, 1.0, 2.0, 3.0):
        drawn = LOAD_A * rest_h / bank.capacity_Ah
        soc = surface_V(rest_h, drawn_frac=drawn) / slope_V
        time = f"{60 * rest_h:.0f} min" if rest_h < 1.0 else f"{rest_h:g} h"
        rows.append(
            f"| {time} | {100 * drawn:.1f} % | {100 * SURFACE_MEAN_FRAC * soc:.1f} points | "
            f"{100 * SURFACE_SD_FRAC * soc:.1f} points |"
        )
    return rows


def tables() -> dict[str, list[str]]:
    """All tables of the page, by their marks."""
    return {
        "volts": table_of(by_volts("flooded")),
        "counter": table_of(by_counter("flooded", 7.0)),
        "kinds": kinds(),
        "sun": after_the_sun(),
    }


def main() -> None:
    """Put them into the page."""
    for name, rows in tables().items():
        put(PAGE, name, rows)
        print(*rows, sep="\n", end="\n\n")


if __name__ == "__main__":
    main()
