"""Fits how days lie about their month and hours about their day, and holds them against records.

    python docs/fit_days.py

puts the tables of docs/model/synthetic_days.md into their page, and prints what else was tried:
the constants of the days with each region left out. A minute and a half.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "reference"))

import numpy as np
from coast_records import SEASONS, coast, coast_sites, of_season
from fronts_fit import fronts_constants, fronts_model, shares_and_cloud
from measured import put
from synthetic_days_tables import TABLES

from powersim.sky import daily_clearness

PAGE = Path(__file__).parent / "model" / "synthetic_days.md"
SPELLS = (0.5, 0.6, 0.7, 0.8, 0.9)


def left_out_spread():
    """Constants of the spread where fronts pass, by all regions and with each left out."""
    of_sites = shares_and_cloud()
    for out in (None, *dict.fromkeys(region for region, _, _ in of_sites)):
        fitted = fronts_constants([one for one in of_sites if one[0] != out])
        told = ", ".join(f"{of:.3f}" for of in fitted[:3]) + f", day {fitted[3]:.0f}"
        if out is None:
            yield f"broken, sheet, more in winter, deepest day: {told}"
            continue
        there = [np.log(fronts_model(fitted, c) / s).mean() for r, s, c in of_sites if r == out]
        ratio = np.exp(0.5 * np.mean(there))
        yield f"  without {out}: {told}; deviations there {100.0 * (ratio - 1.0):+.0f} %"


def left_out_spells():
    """A spell's share that gives means of ten days their deviation, with each region left out."""
    names = [(site.region, site.name) for site in coast_sites()]
    log_ratio = {}
    for spell in SPELLS:
        daily_clearness.BROKEN_SPELL = spell
        daily_clearness.kinds.cache_clear()
        coast.cache_clear()
        for _, name in names:
            measured, ours = coast(name).runs(10)
            log_ratio[spell, name] = np.mean(
                [np.log(of_season(ours, s).std() / of_season(measured, s).std()) for s in SEASONS]
            )
    for out in (None, *dict.fromkeys(region for region, _ in names)):
        kept = [name for region, name in names if region != out]
        best = min(SPELLS, key=lambda s: abs(np.mean([log_ratio[s, name] for name in kept])))
        there = [name for region, name in names if region == out] or kept
        errors = ", ".join(
            f"{name} {100.0 * (np.exp(log_ratio[best, name]) - 1.0):+.0f} %" for name in there
        )
        told = "a spell's share" if out is None else f"  without {out}"
        yield f"{told}: {best:.1f}; deviation of means of ten days there: {errors}"


def main() -> None:
    """Put the tables into their page, and print them and the constants left out."""
    for name, rows in TABLES.items():
        lines = list(rows())
        put(PAGE, name, lines)
        print("\n".join([f"{name}:", *lines]))
    print("\n".join(left_out_spread()))
    print("\n".join(left_out_spells()))


if __name__ == "__main__":
    main()
