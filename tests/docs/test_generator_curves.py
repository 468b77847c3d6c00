"""docs/model/chargers.md prints the invented power curves; they are those that are shipped."""

import csv
import re

import pytest
from pages import ROOT

PAGE = (ROOT / "docs" / "model" / "chargers.md").read_text(encoding="utf-8")
CURVES = ROOT / "powersim" / "inputs" / "curves"


def printed(name):
    """Points of a curve as the page has them: speeds head the table that its line is in."""
    table = next(part for part in PAGE.split("\n\n") if f"\n| {name} |" in part)
    speeds, _, *lines = [
        [cell.strip() for cell in re.split(r" *\| *", line.strip("| "))]
        for line in table.splitlines()
    ]
    (powers,) = (line for line in lines if line[0] == name)
    return [
        (float(speed), float(power))
        for speed, power in zip(speeds[1:], powers[1:], strict=True)
        if power
    ]


def shipped(name):
    lines = (CURVES / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    _, *points = csv.reader(line for line in lines if not line.startswith("#"))
    return [(float(speed), float(power)) for speed, power in points]


@pytest.mark.parametrize("name", sorted(path.stem for path in CURVES.glob("*.csv")))
def test_a_curve_on_the_page_is_the_one_that_is_shipped(name):
    assert printed(name) == shipped(name)
