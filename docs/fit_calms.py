"""Fits the two time scales of the wind to calm hours measured at sea: python docs/fit_calms.py.

It prints the constants of powersim/sky/wind.py and the tables of docs/model/wind_and_calms.md.
"""

from __future__ import annotations

import sys
from itertools import product
from pathlib import Path

import numpy as np
from scipy.signal import lfilter

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "reference"))

from calm_spells import (
    MOORING,
    SHIP,
    calm_hours_band,
    calmest,
    figures_of,
    means_band,
    measured_wind,
    over_the_table,
    roughness_of_the_table,
    share_at_the_mooring,
    table,
)

from powersim.sky.wind import SLOW_SHARE, FAST_h, SLOW_h

SHARES = (0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9)
SLOW = (24.0, 48.0, 96.0, 168.0, 336.0, 720.0)
FAST = (1.5, 2.0, 2.5, 3.0, 4.0, 6.0)
RECORDS = 200


def follows(memory_h: float, hours: int, rng: np.random.Generator) -> np.ndarray:
    """Standard normal hours that forget by exp(-1 h / memory_h) an hour, shape (hours, records)."""
    keeps = np.exp(-1.0 / memory_h)
    new = np.sqrt(1.0 - keeps**2) * rng.standard_normal((hours, RECORDS))
    new[0] = rng.standard_normal(RECORDS)
    return lfilter([1.0], [1.0, -keeps], new, axis=0)


def from_midnight_to_midnight(memory_h: float, hours: int, rng: np.random.Generator) -> np.ndarray:
    """The same of whole days, in straight lines between them that are stretched to one spread."""
    days = hours // 24 + 2
    at = follows(memory_h / 24.0, days, rng)
    day, after = np.divmod(np.arange(hours) + 0.5, 24.0)
    day, after = day.astype(int), after[:, None] / 24.0
    keeps = np.exp(-24.0 / memory_h)
    spread = np.sqrt((1.0 - after) ** 2 + after**2 + 2.0 * after * (1.0 - after) * keeps)
    return (at[day] * (1.0 - after) + at[day + 1] * after) / spread


def fitted(platform: str, share: float) -> list[tuple[float, tuple[float, float, float]]]:
    """All choices of constants with how far from the measured figures they are, best first."""
    hour, wind_m_s = measured_wind(platform)
    measured = figures_of(hour, calmest(wind_m_s, share))
    rng = np.random.default_rng(1)
    seen = hour - hour[0]
    slow = {memory: from_midnight_to_midnight(memory, seen[-1] + 1, rng)[seen] for memory in SLOW}
    fast = {memory: follows(memory, seen[-1] + 1, rng)[seen] for memory in FAST}
    found = []
    for part, slow_h, fast_h in product(SHARES, SLOW, FAST):
        latent = np.sqrt(part) * slow[slow_h] + np.sqrt(1.0 - part) * fast[fast_h]
        model = figures_of(hour, calmest(latent, share))
        found.append((model.apart(measured), (part, slow_h, fast_h)))
    return sorted(found)


def main() -> None:
    """Print constants and tables; about a minute."""
    share = share_at_the_mooring()
    platforms = (MOORING, SHIP)
    print(f"wind.py: SLOW_SHARE {SLOW_SHARE}, SLOW_h {SLOW_h}, FAST_h {FAST_h}")
    found = {platform: fitted(platform, share) for platform in platforms}
    for platform, other in zip(platforms, reversed(platforms), strict=True):
        print(f"\n{platform}: rms from measured, slow share, slow h, fast h")
        for apart, constants in found[platform][:8]:
            print(f"  {apart:.3f}", *constants)
        by_constants = {constants: apart for apart, constants in found[platform]}
        for name, constants in (
            ("of wind.py", (SLOW_SHARE, SLOW_h, FAST_h)),
            ("best at the other", found[other][0][1]),
        ):
            print(f"  {by_constants[constants]:.3f}", *constants, name)
    for platform in platforms:
        print(f"\n{platform}, calm being the calmest {100.0 * share:.0f} % of its hours\n")
        print("\n".join(table(platform)))
    print("\nMean wind at 10 m over the climatology's")
    for platform in platforms:
        print(f"  {platform}: {over_the_table(platform)[0]:.2f}; of ten days each", end=" ")
        print(*(f"{one:.2f}" for one in over_the_table(platform, 240)))
    for days in (10, 30, 53):
        low, high = means_band(days)
        print(f"  8 in 10 of the model's means over {days} days: {low:.2f} to {high:.2f}")
    for days in (1, 5, 30):
        low, mean, high = calm_hours_band(days)
        print(f"  calm hours of {days} days, 10 % being calm: {mean:.1f}, {low:.0f} to {high:.0f}")
    print(f"  months of the table about a smooth year: {roughness_of_the_table():.3f}")


if __name__ == "__main__":
    main()
