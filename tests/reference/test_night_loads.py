"""Loads in the night window, with the real track and sky, against printed sunsets and sunrises."""

import csv
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from powersim.physics.demand import demand_of
from powersim.records import Load, Waypoint, Window
from powersim.sky.sky import sky_of
from powersim.voyage.track import track_of

_FILE = Path(__file__).parent / "data" / "usno_nights_atlanta_2007.csv"
STEP_H = 0.25


def _rows():
    with _FILE.open(encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def _clock(row, column):
    zone = timezone(timedelta(hours=float(row["utc_offset_h"])))
    return datetime.fromisoformat(f"{row['date']} {row[column]}").replace(tzinfo=zone)


def _drawn_Ah(row, load):
    """What a load takes from noon to noon, the boat lying where the table holds."""
    here = {"lat_deg": float(row["latitude_deg"]), "lon_deg": float(row["longitude_deg_east"])}
    route = (
        Waypoint(name="here", stop_h=24.0, speed_kn=5.0, **here),
        Waypoint(name="near by", **(here | {"lat_deg": here["lat_deg"] + 0.01})),
    )
    noon = _clock(row, "sunset_local").replace(hour=12, minute=0)
    track = track_of(route, depart_utc_s=noon.timestamp(), step_h=STEP_H)
    asked = demand_of((load,), (), track=track, sky=sky_of(track))
    return asked.current_A[0, : round(24.0 / STEP_H)].sum() * STEP_H


@pytest.mark.parametrize("row", _rows(), ids=lambda row: row["date"])
def test_a_light_of_one_ampere_takes_the_printed_night_in_ampere_hours(row):
    """U.S. Naval Observatory, Rise and Set for the Sun, Atlanta 2007."""
    lamp = Load(name="lamp", draw_A=1.0, window=Window(kind="night"))
    night = _clock(row, "next_sunrise_local") + timedelta(days=1) - _clock(row, "sunset_local")
    # Two stamps printed to the minute are 1 minute apart at worst, and the steps' quarter hours are
    # cut where the sun passes its setting height: 0.92 minutes apart at worst.
    assert _drawn_Ah(row, lamp) == pytest.approx(night.total_seconds() / 3600.0, abs=1.1 / 60.0)


@pytest.mark.parametrize("row", _rows()[5::6], ids=lambda row: row["date"])
def test_two_hours_a_night_are_two_hours_whatever_the_nights_length(row):
    """The shortest and the longest nights of the same table; 1 minute for the night's length."""
    radio = Load(
        name="radio", draw_A=1.0, window=Window(kind="night"), on_frac=None, on_h_per_day=2.0
    )
    assert _drawn_Ah(row, radio) == pytest.approx(2.0, abs=1.0 / 60.0)
