"""Headings of a file of light: units however they are written, and what is said of others."""

import pytest

from powersim.inputs.irradiance_headings import TITLES, read_heading


def told(cells):
    return "\n".join(map(str, read_heading("light.csv", cells, line=1).problems))


@pytest.mark.parametrize(
    ("written", "title"),
    [
        ("ghi_W_m2", "ghi_W_m2"),
        ("GHI [W/m^2]", "ghi_W_m2"),
        ("ghi (W m-2)", "ghi_W_m2"),
        ("ghi W·m⁻²", "ghi_W_m2"),
        ("ghi (kWh/m²)", "ghi_kWh_m2"),
        ("dni MJ/m2", "dni_MJ_m2"),
        ("air (°C)", "air_C"),
        ("air degC", "air_C"),
        ("Air [°F]", "air_degF"),
        ("wind m/s", "wind_m_s"),
        ("wind (km/h)", "wind_km_h"),
        ("Wind_kn", "wind_kn"),
    ],
)
def test_a_unit_may_be_written_as_people_write_it(written, title):
    heading = read_heading("light.csv", ["time", "ghi_Wh_m2", written], line=1)
    assert heading.fields[title] == 3
    assert title in TITLES


def test_a_heading_is_understood():
    heading = read_heading("light.csv", ["time_end", "ghi_W_m2", "wind_kn"], line=4)
    assert heading.problems == []
    assert heading.stamp == "time_end"
    assert heading.title_of == {"ghi_W_m2": "ghi_W_m2", "wind_m_s": "wind_kn"}


@pytest.mark.parametrize(
    ("cells", "text"),
    [
        (
            ["time", "ghi"],
            "light.csv:1:2: heading 'ghi' (column B): it names no unit\n"
            "  expected  ghi_W_m2 for a mean, ghi_Wh_m2 or ghi_MJ_m2 for the energy of an interval",
        ),
        (
            ["time", "ghi_MJ"],
            "light.csv:1:2: heading 'ghi_MJ' (column B): unknown unit 'MJ'\n"
            "  expected  ghi_W_m2 for a mean, ghi_Wh_m2 or ghi_MJ_m2 for the energy of an interval",
        ),
        (
            ["time", "ghi_W_m2", "wind (mph)"],
            "light.csv:1:3: heading 'wind (mph)' (column C): unknown unit 'mph'\n"
            "  expected  one of wind_m_s, wind_kn, wind_km_h",
        ),
        (
            ["time", "ghi_W_m2", "humidity"],
            "light.csv:1:3: unknown column 'humidity' (column C)\n"
            "  expected  columns time, ghi and perhaps dni, dhi, air and wind, each with its unit "
            "as in ghi_W_m2; take other columns out",
        ),
        (
            ["ghi_W_m2", "air_C"],
            "light.csv:1: no column 'time'; found: ghi_W_m2, air_C\n"
            "  expected  one of time, time_end, time_mid",
        ),
        (
            ["Date/Time (UTC)", "ghi_W_m2"],
            "light.csv:1:1: no column 'time'; column A is 'Date/Time (UTC)'\n"
            "  expected  rename 'Date/Time (UTC)' to time if it marks an interval's start, else to "
            "time_end or time_mid",
        ),
        (
            ["time", "date", "ghi_W_m2"],
            "light.csv:1:2: unknown column 'date' (column B)\n"
            "  expected  columns time, ghi and perhaps dni, dhi, air and wind, each with its unit "
            "as in ghi_W_m2; take other columns out",
        ),
        (
            ["time", "dni_W_m2"],
            "light.csv:1: no column 'ghi_W_m2'; found: time, dni_W_m2\n"
            "  expected  ghi_W_m2 for a mean, ghi_Wh_m2 or ghi_MJ_m2 for the energy of an interval",
        ),
        (
            ["time", "ghi_W_m2", "GHI (W/m2)"],
            "light.csv:1:3: column 'ghi_W_m2' is there twice (columns B and C)\n"
            "  expected  one of them",
        ),
        (
            ["time", "ghi_W_m2", "ghi_Wh_m2"],
            "light.csv:1: columns ghi_W_m2 and ghi_Wh_m2 say the same\n  expected  one of them",
        ),
    ],
)
def test_one_mistake_is_one_message(cells, text):
    assert told(cells) == text
