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
from day_records import (
    SEASONS,
    brightest_rows,
    coast,
    coast_sites,
    dark_rows,
    fronts_constants,
    mean_rows,
    memory_rows,
    of_season,
    papa_rows,
    papa_spread_share,
    spread_rows,
    spread_share,
    weeks_rows,
)
from hour_records import fifty_rows, hour_rows
from measured import put

from powersim.sky import daily_clearness

PAGE = Path(__file__).parent / "model" / "synthetic_days.md"
SLOPES = (1.0, 1.25, 1.5, 1.75, 2.0)


def left_out_spread():
    """Constants of the spread where fronts pass, by all regions and with each left out."""
    shares = [(site.region, spread_share(site)) for site in coast_sites()]
    shares.append(("50 N 145 W", papa_spread_share()))
    regions = [None, *dict.fromkeys(region for region, _ in shares)]
    for region in regions:
        fitted, model = fronts_constants([of for name, of in shares if name != region])
        told = ", ".join(f"{of:.3f}" for of in fitted[:2]) + f", day {fitted[2]:.0f}"
        if region is None:
            yield f"spread of fronts: {told}"
        else:
            there = np.concatenate([np.log(model / of) for name, of in shares if name == region])
            ratio = np.exp(0.5 * there.mean())
            yield f"  without {region}: {told}; deviations there {100.0 * (ratio - 1.0):+.0f} %"


def left_out_memory():
    """Slope of a spell's share that gives means of ten days their deviation, region left out."""
    names = [(site.region, site.name) for site in coast_sites()]
    log_ratio = {}
    for slope in SLOPES:
        daily_clearness.SPELL_SLOPE = slope
        daily_clearness.kinds.cache_clear()
        coast.cache_clear()
        for _, name in names:
            measured, ours = coast(name).runs(10)
            log_ratio[slope, name] = np.mean(
                [np.log(of_season(ours, s).std() / of_season(measured, s).std()) for s in SEASONS]
            )
    for out in (None, *dict.fromkeys(region for region, _ in names)):
        kept = [name for region, name in names if region != out]
        best = min(SLOPES, key=lambda s: abs(np.mean([log_ratio[s, name] for name in kept])))
        told = f"slope {best:.2f}" if out is None else f"  without {out}: slope {best:.2f}"
        there = [name for region, name in names if region == out] or kept
        errors = ", ".join(
            f"{name} {100.0 * (np.exp(log_ratio[best, name]) - 1.0):+.0f} %" for name in there
        )
        yield f"{told}; deviation of ten days' means there: {errors}"


def main() -> None:
    """Put the tables into their page, and print them and the constants left out."""
    for name, rows in (
        ("brightest", brightest_rows),
        ("spread", spread_rows),
        ("memory", memory_rows),
        ("dark", dark_rows),
        ("papa", papa_rows),
        ("mean", mean_rows),
        ("weeks", weeks_rows),
        ("hours", hour_rows),
        ("fifty", fifty_rows),
    ):
        lines = list(rows())
        put(PAGE, name, lines)
        print("\n".join([f"{name}:", *lines]))
    print("\n".join(left_out_spread()))
    print("\n".join(left_out_memory()))


if __name__ == "__main__":
    main()
