"""Holds the model's bank against a record of your own: discharges, and charges, of one bank.

    python docs/held_bank.py record.csv --kind agm --capacity 19.8
    python docs/held_bank.py record.csv --kind agm --capacity 17 --label

The file has a line of names with columns of time, volts and amps, such as
time_h,volts,amps or time,voltage_V,current_A, and perhaps of a temperature in degC. Times are dates
(2017-03-25 07:00:06), or numbers under a heading that ends with _s, _min or _h; a column Ah may
stand in their place. Amperes are below 0 on discharge, or a column `what` has charge and discharge;
a file with neither is one discharge. Lines that begin with # are passed over.

Each stretch that moves a fifth of the capacity or more is held against the model by itself. A
discharge begins with a full bank unless --begins says otherwise. Printed are what it gave, what the
middle bank gives at that current, how far the middle bank's volts are off over the first 95 % (root
mean square of points evenly spaced in ampere-hours), and the share of them inside the band of 5 to
95 % of the members. For a charge: when the voltage comes within 0.1 V of what the charger holds,
and when the current falls to 2 % of the capacity, in ampere-hours put in.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "reference"))

import numpy as np
from bank_runs import (
    bank_of,
    charged_as,
    given_Ah,
    members_of,
    middle,
    moved_Ah,
    read_runs,
    rms_V,
    share_inside,
    tapers,
)

from powersim.records import CHEMISTRIES

#: Cells in series of a 12 V bank, whose volts the model has.
CELLS_OF_12_V = {"lifepo4": 4}


def discharge_line(battery, members, run, begins):
    """What a discharge says of the model."""
    amps = float(np.mean(run.amps))
    most_Ah = max(0.0, given_Ah(battery, amps) - (1.0 - begins) * battery.real_capacity_Ah)
    return (
        f"discharge, {amps:7.2f} A: gave {moved_Ah(run)[-1]:6.1f} Ah, model {most_Ah:6.1f} Ah; "
        f"off {rms_V(members[0], run, begins):.3f} V;\n"
        f"{'':22}inside the members' band {100.0 * share_inside(members[1], run, begins):.0f} %"
    )


def charge_line(battery, bank, run, begins):
    """The same of a charge."""
    measured, model = tapers(run, battery.real_capacity_Ah), charged_as(bank, run, soc=begins)
    return (
        f"charge, from {100.0 * begins:.0f} %: taper from {measured.taper_Ah:6.1f} Ah, "
        f"model {model.taper_Ah:6.1f} Ah;\n"
        f"{'':22}2 % at {measured.tail_Ah:6.1f} Ah, model {model.tail_Ah:6.1f} Ah"
    )


def main() -> None:
    """Read, simulate, print."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("file", type=Path)
    parser.add_argument("--kind", required=True, choices=tuple(CHEMISTRIES))
    parser.add_argument("--capacity", type=float, required=True, help="in 20 hours, 25 degC [Ah]")
    parser.add_argument(
        "--label",
        action="store_true",
        help="the capacity is the label's: members differ in what is really there",
    )
    parser.add_argument("--bank-temp", type=float, default=25.0, help="where no column has it [C]")
    parser.add_argument(
        "--begins", type=float, help="charge at first, 0 to 1; full or empty unless given"
    )
    parser.add_argument("--cells", type=int, help="in series; those of 12 V unless given")
    parser.add_argument("--members", type=int, default=1000)
    given = parser.parse_args()
    if not given.capacity > 0.0 or not 0.0 <= (given.begins or 0.0) <= 1.0:
        sys.exit("--capacity must be above 0 Ah, and --begins between 0 and 1")
    if not given.file.is_file():
        sys.exit(f"{given.file}: there is no such file")
    twelve = CELLS_OF_12_V.get(given.kind, 6)
    runs = read_runs(
        given.file,
        capacity_Ah=given.capacity,
        bank_C=given.bank_temp,
        volts_times=twelve / (given.cells or twelve),
    )
    if not runs:
        sys.exit(f"{given.file}: nothing in it moves a fifth of {given.capacity:g} Ah one way")
    battery = middle(given.kind, given.capacity)
    bank = bank_of(battery, step_h=1.0)
    members = members_of(battery, members=given.members, capacity_known=not given.label)
    soc = 1.0 if runs[0].what == "discharge" else 0.0
    if given.begins is not None:
        soc = given.begins
    for run in runs:
        if run.what == "discharge":
            print(discharge_line(battery, (bank, members), run, soc))
            soc = max(0.0, soc - moved_Ah(run)[-1] / given.capacity)
        else:
            print(charge_line(battery, bank, run, soc))
            soc = 1.0


if __name__ == "__main__":
    main()
