"""A record of a reader's own, held against members: what is read, what is refused, what is said."""

import subprocess
import sys
from pathlib import Path

SCRIPT = Path(__file__).resolve().parents[2] / "docs" / "held_light.py"


def held(path, *options):
    """Run the script on a file as a reader does."""
    command = [sys.executable, SCRIPT, path, "--lat", "53.3", "--lon", "-9.9", "--members", "40"]
    return subprocess.run([*command, *options], capture_output=True, text=True, check=False)


def test_a_record_is_counted_day_by_day(tmp_path):
    path = tmp_path / "mine.csv"
    rows = [f"2023-06-{day:02d},{150 + 5 * day},9" for day in range(1, 31)]
    path.write_text("\n".join(["# invented", "date,light,other", "2023-07-01,,", *rows]) + "\n")
    ran = held(path, "--column", "light")
    assert ran.stderr == ""
    lines = ran.stdout.splitlines()
    assert lines[0] == "light: 30 days, 53.3 N 9.9 W"
    windows = [line.partition(" windows")[0].split() for line in lines[1:4]]
    # 1 June 2023 is day 19,509 since 1970: windows of ten begin on the 2nd, 12th and 22nd, the last
    # with nine days of ten; that of thirty which began in May has 21, too few.
    assert windows == [["1", "d:", "30"], ["10", "d:", "3"], ["30", "d:", "0"]]
    assert "years too few for an interval" in lines[1]
    assert lines[-1].endswith("of 1")


def test_what_cannot_be_read_is_told_by_its_line(tmp_path):
    path = tmp_path / "mine.csv"
    path.write_text("date,light\n2023-06-01,2l2\n31.6.2023,200\n2023-06-03,210\n")
    ran = held(path)
    assert ran.returncode == 1
    assert ran.stderr == (
        f"{path}:2: '2l2' is no light\n  expected  W/m2 over 24 hours, such as 212.5\n"
        f"{path}:3: date: '31.6.2023' is no date\n"
        "  expected  a day of UTC, for example 2024-07-31\n"
    )


def test_kilowatt_hours_in_the_wrong_place_are_seen(tmp_path):
    path = tmp_path / "mine.csv"
    path.write_text("date,light\n2023-12-01,212.5\n2023-12-02,20\n")
    ran = held(path)
    assert ran.returncode == 1
    assert "2023-12-01 has 212.5 W/m2, more than the" in ran.stderr
    assert "the place of the record" in ran.stderr
