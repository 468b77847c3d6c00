"""`powersim underway --forecast`: what is to come, never what has been."""

import json

import pytest
from grib_made import CLOUD, message
from logged import LOG, NOW, ROUTE, write_logged

pytest.importorskip("eccodes", reason="forecast files need the extra 'forecast'")

QUICK = ("--no-plan", "--members", "20", "--step", "60 min", "--now", NOW)
#: Hours after 00:00 on 5 September: from before the departure until some hours before landfall.
FIRST, LAST = 0, 72
HERE, FAR_EAST = (60.0, -40.0, 30.0, 10.0), (60.0, 40.0, 30.0, 90.0)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """The log until 18:00 on 6 September, and forty hours to go."""
    monkeypatch.chdir(tmp_path)
    folder = write_logged(tmp_path / "short")
    (folder / "log.csv").write_text("".join(LOG.splitlines(keepends=True)[:4]), encoding="utf-8")
    (folder / "route.csv").write_text(ROUTE.replace("40 00.0 N", "46 00.0 N"), encoding="utf-8")
    return folder


@pytest.fixture
def forecast(tmp_path):
    """Write a forecast with as much cloud everywhere, every six hours; invented. Its name."""

    def write(cloud_percent, *, first=FIRST, last=LAST, area=HERE):
        numbers = CLOUD | {"dataDate": 20260905}
        fields = (
            message([[cloud_percent] * 5] * 4, numbers=numbers, area=area, window_h=hour)
            for hour in range(first, last + 1, 6)
        )
        (tmp_path / "sky.grib").write_bytes(b"".join(fields))
        return "sky.grib"

    return write


def test_it_changes_what_comes_and_nothing_that_has_been(call, folder, forecast):
    """All covered against no cloud at all, for thirty hours of the forty that are left."""

    def answered(cloud_percent):
        name = forecast(cloud_percent)
        outcome = call("underway", "short", *QUICK, "--json", "--forecast", name)
        assert (outcome.code, outcome.err) == (0, "")
        return json.loads(outcome.out)

    grey, clear = answered(100.0), answered(0.0)
    assert {**grey, "ahead": None} == {**clear, "ahead": None}
    for answer in (grey, clear):
        [file] = answer["ahead"]["sky"]["files"]
        assert file["file"] == "sky.grib"
        assert file["from_utc"] == "2026-09-06T18:00:00+00:00"  # not before the last entry
        assert file["until_utc"] == "2026-09-08T00:00:00+00:00"
    # The sun gives what the engine then need not.
    assert clear["ahead"]["lowest_soc"]["p50"] > grey["ahead"]["lowest_soc"]["p50"]
    # Runs are of two hours, so a median may stand still where the others move.
    hours = [sum(answer["ahead"]["charging_h"].values()) for answer in (clear, grey)]
    assert hours[0] < hours[1]


def test_the_page_says_which_forecast_and_until_when(call, folder, forecast):
    outcome = call("underway", "short", *QUICK, "--forecast", forecast(50.0))
    assert (outcome.code, outcome.err) == (0, "")
    said = " ".join(outcome.out.split())
    assert "forecast sky.grib, Sun 6 Sep 18:00 to Tue 8 Sep 00:00 UTC, then fades into" in said
    assert max(map(len, outcome.out.splitlines())) <= 80


@pytest.mark.parametrize(
    ("cover", "message"),
    [
        ({"area": FAR_EAST}, "sky.grib: does not cover the boat's place: it covers "),
        ({"last": 36}, "sky.grib: is for other days: it covers 2026-09-05 00:00 UTC to "),
    ],
)
def test_one_that_does_not_cover_the_boat_says_so(call, folder, forecast, cover, message):
    """Even where it covers the days or the place that lie behind her."""
    name = forecast(50.0, **cover)
    outcome = call("underway", "short", *QUICK, "--forecast", name)
    assert (outcome.code, outcome.out) == (2, "")
    assert message in outcome.err
    assert "add --or-climatology" in outcome.err


def test_one_that_is_of_no_use_is_left_out_when_told(call, folder, forecast):
    name = forecast(50.0, area=FAR_EAST)
    outcome = call("underway", "short", *QUICK, "--forecast", name, "--or-climatology")
    assert outcome.code == 0
    message = "sky.grib: does not cover the boat's place: "
    assert outcome.err.startswith(f"Left out, average weather instead: {message}")
    assert f"left out {message}" in " ".join(outcome.out.split())


def test_one_that_cannot_be_read_is_left_out_when_told(call, folder):
    (folder / "sky.grib").write_text("not a forecast", encoding="utf-8")
    asked = ("underway", "short", *QUICK, "--forecast", "short/sky.grib")
    outcome = call(*asked)
    assert outcome.code == 2
    assert "sky.grib: is not GRIB" in outcome.err
    outcome = call(*asked, "--or-climatology")
    assert outcome.code == 0
    assert "Left out, average weather instead: short/sky.grib: is not GRIB" in outcome.err
    assert "Set aside" not in outcome.err
