"""Holds members' light against a record of your own: days of light measured at one place.

    python docs/held_light.py record.csv --lat 53.33 --lon -9.90 --column mace_head

The file has a line of names, a column `date` (of UTC, 2024-07-31) and columns of mean light on the
horizontal over 24 hours, in W/m2 (divide kWh/m2 a day by 0.024, J/cm2 by 8.64). Lines that start
with # are passed over, and so are days without a figure. Printed are, for sums of 1, 10 and 30
days, the share inside the band that holds 8 in 10 members (with an interval, years drawn anew) and
the score CRPS, whose smaller values are better; and members' mean over the measured one by month.
"""

from __future__ import annotations

import argparse
import csv
import math
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "reference"))

from light_sites import day_of_year, extra_days, members_days, site_of, table
from published import unix_s


def read(path, column):
    """Rows of the file that have a figure, and the column; SystemExit tells what is wrong."""
    with path.open(encoding="utf-8-sig", newline="") as lines:
        numbered = [(n, text) for n, text in enumerate(lines, 1) if not text.startswith("#")]
    names = next(csv.reader([numbered[0][1]])) if numbered else []
    others = [name for name in names if name != "date"]
    column = column or (others[0] if len(others) == 1 else None)
    if "date" not in names or column not in names:
        sys.exit(
            f"{path}: columns are {', '.join(names) or 'none'}\n"
            "  expected  date, and one of light; name it with --column where there are several"
        )
    rows, faults = [], []
    for line, text in numbered[1:]:
        row = dict(zip(names, next(csv.reader([text]), []), strict=False))
        value = (row.get(column) or "").strip()
        if not value:
            continue
        fault = _fault(row["date"], value)
        if fault:
            faults.append(f"{path}:{line}: {fault}")
        rows.append({"date": row["date"], column: value})
    if faults or not rows:
        sys.exit("\n".join(faults[:20]) or f"{path}: no day has a figure of {column!r}")
    return rows, column


def _fault(date, value):
    try:
        unix_s(date)
    except ValueError:
        return f"date: {date!r} is no date\n  expected  a day of UTC, for example 2024-07-31"
    try:
        good = 0.0 <= float(value) < math.inf
    except ValueError:
        good = False
    return None if good else f"{value!r} is no light\n  expected  W/m2 over 24 hours, such as 212.5"


def main() -> None:
    """Read, count, print."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("file", type=Path)
    parser.add_argument("--lat", type=float, required=True, help="degrees, north positive")
    parser.add_argument("--lon", type=float, required=True, help="degrees, east positive")
    parser.add_argument("--column", help="of light, where there are several")
    parser.add_argument("--members", type=int, default=400)
    given = parser.parse_args()
    rows, column = read(given.file, given.column)
    place = {"lat_deg": given.lat, "lon_deg": given.lon}
    site = site_of(rows, name=column, region=column, column=column, **place)
    above = extra_days(site)[day_of_year(site.day)]
    if (site.ghi_W_m2 > above).any():
        worst = (site.ghi_W_m2 - above).argmax()
        sys.exit(
            f"{given.file}: {site.day[worst].astype('datetime64[D]')} has {site.ghi_W_m2[worst]:g} "
            f"W/m2, more than the {above[worst]:.0f} above the atmosphere there\n"
            "  expected  means over 24 hours in W/m2, and the place of the record"
        )
    print("\n".join(table(site, members_days(site, members=given.members))))


if __name__ == "__main__":
    main()
