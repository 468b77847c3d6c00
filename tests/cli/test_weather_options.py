"""`--forecast`, `--irradiance` and `--or-climatology`, from the command line to the page."""

import json
from pathlib import Path

import pytest

from powersim.inputs.starter import demo_files

# A GFS forecast for 10 October 2011, 18 to 24 h UTC; tests/reference/data/README.md has its source.
GFS = (
    Path(__file__).resolve().parents[1]
    / "reference"
    / "data"
    / "gfs_20111008_00z_f072_2p5deg_surface.grib2"
)
#: Enough of both for what these tests look at.
FEW = ("--members", "20", "--step", "60 min")
ONE = ("--members", "1", "--step", "60 min")
LEFT_OUT = "Left out, average weather instead: "


@pytest.fixture
def demo(tmp_path, monkeypatch):
    """The demo passage in a folder "south" where the command is run."""
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "south"
    folder.mkdir()
    for name, text in demo_files().items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def in_october(call, *options):
    return call(
        *("simulate", "south", "--depart", "2011-10-09 09:00 UTC", "--no-figures", "--force"),
        *FEW,
        *options,
    )


def sky_of(folder, results="results"):
    return json.loads((folder / results / "summary.json").read_text(encoding="utf-8"))["sky"]


def test_a_forecast_is_used_and_named(call, demo):
    outcome = in_october(call, "--forecast", GFS)
    assert outcome.err == ""
    assert (
        "forecast  gfs_20111008_00z_f072_2p5deg_surface.grib2, Mon 10 Oct 18:00 to" in outcome.out
    )
    # Another departure is a "what if", with a folder of its own.
    [one] = sky_of(demo, "what-if")["files"]
    assert one["from_utc"] == "2011-10-10T18:00:00+00:00"
    assert one["until_utc"] == "2011-10-11T00:00:00+00:00"
    assert max(map(len, outcome.out.splitlines())) <= 80


def test_measured_light_is_used_and_named(call, demo):
    rows = [f"2026-09-05 {hour:02}:00,{max(0, 200 - 30 * abs(hour - 13))}" for hour in range(9, 24)]
    (demo / "light.csv").write_text("\n".join(["time,ghi_W_m2", *rows]), encoding="utf-8")
    outcome = call("simulate", "south", "--irradiance", "south/light.csv", "--no-figures", *FEW)
    assert outcome.err == ""
    assert (
        "measured  light.csv, Sat 5 Sep 09:00 to Sun 6 Sep 00:00 UTC, then gives way to"
        in outcome.out
    )


def test_endurance_takes_them_too(call, demo):
    (demo / "dark.csv").write_text(
        "\n".join(
            [
                "time,ghi_W_m2",
                *(f"2026-09-{day:02} {hour:02}:00,0" for day in range(5, 15) for hour in range(24)),
            ]
        ),
        encoding="utf-8",
    )
    quick = ("--members", "1", "--step", "60 min")
    usual = call("endurance", "south", "--json", *quick)
    dark = call("endurance", "south", "--json", *quick, "--irradiance", "south/dark.csv")
    assert usual.code == dark.code == 0
    assert usual.out != dark.out


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("monday.grib2", b"", "south/monday.grib2: is empty"),
        ("monday.grib2", b"not a forecast at all\n", "south/monday.grib2: is not GRIB"),
        ("monday.grib2", GFS.read_bytes()[:50_000], "south/monday.grib2: is cut short"),
        ("monday.grib2", None, "south/monday.grib2: no such file"),
        ("monday.grib2", GFS.read_bytes(), "south/monday.grib2: is for other days"),
    ],
    ids=["empty", "no GRIB", "cut short", "missing", "other days"],
)
def test_a_forecast_that_is_no_use_ends_the_run_unless_told_otherwise(
    call, demo, name, content, said
):
    if content is not None:
        (demo / name).write_bytes(content)
    command = ("simulate", "south", "--no-figures", *ONE, "--forecast", f"south/{name}")
    refused = call(*command)
    assert (refused.code, refused.out) == (2, "")
    assert refused.err.startswith(said)
    assert refused.err.endswith(
        "\n\n1 problem\nTo use average weather in place of a weather file, add --or-climatology.\n"
    )
    assert not (demo / "results").exists()
    told = call(*command, "--or-climatology")
    assert told.code == 0
    assert told.err.startswith(LEFT_OUT + said)
    assert "--or-climatology" not in told.err + told.out
    assert "\nleft out  south/monday.grib2: " in told.out
    assert sky_of(demo)["files"] == []
    assert len(sky_of(demo)["left_out"]) == 1


def test_both_files_are_complained_of_at_once(call, demo):
    (demo / "light.csv").write_text("time,ghi\n", encoding="utf-8")
    outcome = call(
        "simulate", "south", "--forecast", "south/none.grib2", "--irradiance", "south/light.csv"
    )
    assert outcome.code == 2
    assert "south/none.grib2: no such file" in outcome.err
    assert "south/light.csv" in outcome.err
