"""Prints how members' light holds against light measured day by day: python docs/fit_light.py."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "reference"))

from light_sites import measured_sites, members_days, table


def main() -> None:
    """Print the sums of every site beside those measured; about ten seconds."""
    for site in measured_sites():
        print("\n".join(table(site, members_days(site))))


if __name__ == "__main__":
    main()
