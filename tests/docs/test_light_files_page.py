"""What docs/reference/files.md says of measured light is what the reader does."""

import re

import pytest
from pages import ROOT, blocks

from powersim.errors import InputError
from powersim.inputs.irradiance import read_irradiance
from powersim.inputs.irradiance_formats import FORMATS
from powersim.inputs.irradiance_headings import TITLES

FILES = ROOT / "docs" / "reference" / "files.md"
SECTION = FILES.read_text(encoding="utf-8").split("## Measured light")[1].split("\n## ")[0]
MODEL = (ROOT / "docs" / "model" / "measured_light.md").read_text(encoding="utf-8")


def rows():
    """Cells of the table of columns."""
    lines = [line for line in SECTION.splitlines() if line.startswith("| `")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]


def words(cell):
    return [word for code in re.findall(r"`([^`]+)`", cell) for word in code.split(", ")]


def test_every_column_and_unit_is_named_and_none_besides():
    stamps, light, *others = rows()
    units = {"ghi": words(light[-1]), "dni": words(light[-1]), "dhi": words(light[-1])}
    units |= {words(row[0])[0].rstrip("._"): words(row[-1]) for row in others[2:]}
    named = words(stamps[0]) + [f"{name}_{unit}" for name in units for unit in units[name]]
    assert sorted(named) == sorted(TITLES)


@pytest.mark.parametrize("stamp", words(rows()[0][-1]))
def test_the_ways_to_write_a_time_are_one_moment(write_file, stamp):
    text = f"time,ghi_W_m2\n{stamp},1\n2026-09-05 13:00,1\n"
    assert read_irradiance(write_file("light.csv", text)).start_utc_s[0] == 1788609600.0


@pytest.mark.parametrize(
    ("heading", "least", "most"),
    [("ghi_W_m2", -10, 1600), ("dni_W_m2", -10, 1600), ("air_C", -70, 60), ("wind_m_s", 0, 100)],
)
def test_bounds_are_those_of_the_reader(write_file, heading, least, most):
    row = next(row for row in rows() if row[0].startswith(f"`{heading[:3]}"))
    if heading != "dni_W_m2":  # "the same"
        assert re.findall(r"-?\d[\d,]*", row[2].replace("W/m2", ""))[0] == str(least)
        assert f"{most:,}" in row[2]
    other = "" if heading == "ghi_W_m2" else "ghi_W_m2,"

    def read(value):
        cells = f"{'1,' if other else ''}{value}"
        text = f"time,{other}{heading}\n2026-09-05,{cells}\n2026-09-06,{cells}\n"
        return read_irradiance(write_file("light.csv", text))

    read(least)
    read(most)
    for beyond in (least - 0.01, most + 0.01):
        with pytest.raises(InputError):
            read(beyond)


def test_the_example_is_read(write_file):
    text = next(text for text in blocks(FILES, "csv") if "ghi_W_m2" in text)
    irradiance = read_irradiance(write_file("light.csv", text))
    assert irradiance.step_s == 3600.0
    assert list(irradiance.ghi_W_m2) == [310.0, 455.0, 602.0]


@pytest.mark.parametrize("form", FORMATS, ids=lambda form: form.name)
def test_every_published_format_is_on_both_pages(form):
    name = form.name.split(" ", 1)[1].removesuffix(" file").removesuffix(" hourly")
    assert f"| {name}" in MODEL
    assert name in SECTION
