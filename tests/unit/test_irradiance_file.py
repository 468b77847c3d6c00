"""Reading measured light from a CSV file."""

import math

import pytest

from powersim.errors import InputError
from powersim.inputs.irradiance import MOST_PROBLEMS, read_irradiance

NOON_S = 1788609600.0  # 5 September 2026, 12:00 UTC


@pytest.fixture
def light_file(tmp_path):
    def write(text):
        path = tmp_path / "light.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def message(path):
    with pytest.raises(InputError) as caught:
        read_irradiance(path)
    return str(caught.value)


def test_every_column_is_read_in_its_unit(light_file):
    read = read_irradiance(
        light_file(
            "# invented values\n"
            "time,ghi_kW_m2,dni_W_m2,dhi_W_m2,air_degF,wind_kn\n"
            "2026-09-05T12:00Z,0.5,600,100,50,10\n"
            "2026-09-05 15:00+02:00,0.25,,50,59,\n"
        )
    )
    assert (list(read.start_utc_s), read.step_s) == ([NOON_S, NOON_S + 3600.0], 3600.0)
    assert list(read.ghi_W_m2) == [500.0, 250.0]
    assert read.dni_W_m2[0] == 600.0
    assert math.isnan(read.dni_W_m2[1])
    assert list(read.air_C) == pytest.approx([10.0, 15.0])
    assert read.wind_m_s[0] == pytest.approx(10 * 1852 / 3600)
    assert math.isnan(read.wind_m_s[1])


@pytest.mark.parametrize(
    ("unit", "cell"),
    [("Wh_m2", "100"), ("kWh_m2", "0.1"), ("MJ_m2", "0.36"), ("kJ_m2", "360"), ("J_m2", "360000")],
)
def test_energy_over_the_interval_becomes_a_mean(light_file, unit, cell):
    path = light_file(f"time,ghi_{unit}\n2026-09-05 12:00,{cell}\n2026-09-05 12:15,0\n")
    assert read_irradiance(path).ghi_W_m2[0] == pytest.approx(400.0)


@pytest.mark.parametrize(
    ("heading", "early_s"), [("time", 0), ("time_mid", 450), ("time_end", 900)]
)
def test_the_heading_says_what_a_stamp_marks(light_file, heading, early_s):
    path = light_file(f"{heading},ghi_W_m2\n2026-09-05 12:00,1\n2026-09-05 12:15,0\n")
    assert read_irradiance(path).start_utc_s[0] == NOON_S - early_s


def test_days_gaps_and_night_noise_are_read(light_file):
    path = light_file("time;ghi_W_m2\n2026-09-05;200\n2026-09-06;-9.9\n2026-09-09;\n")
    read = read_irradiance(path)
    assert read.step_s == 86400.0
    assert [read.start_utc_s[2] - read.start_utc_s[1], read.ghi_W_m2[1]] == [3 * 86400.0, 0.0]
    assert math.isnan(read.ghi_W_m2[2])


def test_all_that_is_wrong_is_said_at_once(light_file):
    path = light_file(
        "time,ghi_W_m2,air_C\n"
        "2026-09-05 12:00,350,18\n"
        "2026-09-05 13:00,-99,18\n"
        "2026-09-05 13:00,3O0,180\n"
        "2026-09-05 14:00,3500,\n"
        "2026-09-05 14:40,350,\n"
        "5/9/2026,350,\n"
    )
    number = (
        "  expected  a number in the heading's unit, for example {}; "
        "an empty cell where it is missing\n"
    )
    times = "  expected  times 60 min apart; whole rows may be missing\n"
    assert message(path) == (
        f"{path}:3:2: ghi_W_m2 (column B): '-99' is further below 0 than noise at night\n"
        + number.format("350")
        + "  row       2026-09-05 13:00,-99,18\n"
        f"{path}:4:1: time (column A): '2026-09-05 13:00' is there twice\n"
        + times
        + "  row       2026-09-05 13:00,3O0,180\n"
        f"{path}:4:2: ghi_W_m2 (column B): cannot read '3O0' as a number\n"
        + number.format("350")
        + "  row       2026-09-05 13:00,3O0,180\n"
        f"{path}:4:3: air_C (column C): '180' is not possible weather\n"
        + number.format("18.5")
        + "  row       2026-09-05 13:00,3O0,180\n"
        f"{path}:5:2: ghi_W_m2 (column B): '3500' is 3,500 W/m2, brighter than the sun; "
        "is the heading's unit, W_m2, right?\n"
        + number.format("350")
        + "  row       2026-09-05 14:00,3500,\n"
        f"{path}:6:1: time (column A): '2026-09-05 14:40' comes 40 min after the row before\n"
        + times
        + "  row       2026-09-05 14:40,350,\n"
        f"{path}:7:1: time (column A): cannot read '5/9/2026' as a time\n"
        "  expected  date and time, UTC unless it has an offset, for example 2026-09-05 12:00\n"
        "  row       5/9/2026,350,"
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("time,ghi_W_m2\n", "has fewer than two rows"),
        ("time,ghi_W_m2\n2026-09-05,1\n", "has fewer than two rows"),
        ("ghi_W_m2\n1\n2\n", "no column 'time'"),
        ("time,time_end,ghi_W_m2\na,b,1\na,b,1\n", "columns time and time_end say the same"),
        ("time,ghi_W_m2\n2026-09-05,1\n2026-09-12,1\n", "its step of 7 days is longer than a day"),
        ("time,ghi_W_m2\n2026-09-06,1\n2026-09-05,1\n", "the times do not rise"),
        ('time,ghi_W_m2\n"2026-09-05,1\n2026-09-06,1\n', "quotation mark"),
        ("time,ghi_W_m2\n2026-09-05,1 W\n2026-09-06,1\n", "cannot read '1 W' as a number"),
    ],
)
def test_what_makes_no_record_is_refused(light_file, text, said):
    assert said in message(light_file(text))


@pytest.mark.parametrize("stamp", ["1949-12-31 23:00", "2101-01-01 01:00", "0001-01-01"])
def test_times_of_other_centuries_are_refused(light_file, stamp):
    said = message(light_file(f"time,ghi_W_m2\n{stamp},1\n2026-09-05,1\n2026-09-06,1\n"))
    assert f"'{stamp}' lies outside the years 1950 to 2100" in said


def test_a_wholly_wrong_file_does_not_fill_the_screen(light_file):
    rows = "".join(f"2026-09-05 {h:02}:{m:02},9999\n" for h in range(24) for m in range(0, 60, 5))
    said = message(light_file("time,ghi_W_m2\n" + rows))
    assert said.count("brighter than the sun") == MOST_PROBLEMS
    assert said.endswith("and 188 more of the kind")
