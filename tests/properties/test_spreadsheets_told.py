"""Numbers in the dress of several countries: each cell is read as it was meant, or set aside."""

import csv
import io
from datetime import UTC, datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from powersim.inputs.log import read_log

WHEN = datetime(2026, 9, 1, 6, 0, tzinfo=UTC).timestamp()
#: Between thousands, before decimals, and what stands between cells where that is usual.
COUNTRIES = {
    "plain": ("", ".", ",;\t"),
    "United States": (",", ".", ",\t"),
    "Germany": (".", ",", ";\t"),
    "Germany, plain": ("", ",", ",;\t"),
    "France": ("\u202f", ",", ";\t"),
}
numbers = st.builds(
    lambda whole, digits: (whole / 10**digits, digits),
    st.integers(0, 99_999_999),
    st.integers(0, 4),
).filter(lambda one: one[0] <= 99_999)
cells = st.tuples(numbers, st.booleans())
positions = st.tuples(
    st.integers(0, 89), st.integers(0, 59_999), st.integers(0, 179), st.integers(0, 59_999)
)


def dressed(number, digits, thousands, sign):
    """A number as a country's spreadsheet writes it."""
    return f"{number:,.{digits}f}".replace(",", "T").replace(".", sign).replace("T", thousands)


@settings(max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.sampled_from(sorted(COUNTRIES)),
    st.lists(st.tuples(cells, cells, positions, st.booleans()), min_size=1, max_size=4),
    st.data(),
)
def test_a_number_is_read_as_it_was_meant_or_set_aside(write_file, country, rows, data):
    thousands, sign, separators = COUNTRIES[country]
    separator = data.draw(st.sampled_from(separators))
    encoding = data.draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]))
    sheet = io.StringIO()
    writer = csv.writer(sheet, delimiter=separator, lineterminator="\r\n")
    writer.writerow(["time", "engine_h", "solar_Ah", "position"])
    meant = []
    for hour, ((engine, engine_unit), (sun, sun_unit), place, in_minutes) in enumerate(rows):
        engine_text, sun_text = (dressed(*one, thousands, sign) for one in (engine, sun))
        lat, lat_m, lon, lon_m = place
        if in_minutes:
            where = f"{lat} {lat_m / 1000:.3f} N {lon} {lon_m / 1000:.3f} W".replace(".", sign)
            lat_deg, lon_deg = lat + lat_m / 60_000, -(lon + lon_m / 60_000)
        else:
            where = f"{lat + lat_m / 1e5:.2f} N {lon + lon_m / 1e5:.2f} W".replace(".", sign)
            lat_deg, lon_deg = round(lat + lat_m / 1e5, 2), -round(lon + lon_m / 1e5, 2)
        writer.writerow(
            [
                f"2026-09-01 {6 + hour:02d}:00",
                engine_text + " h" * engine_unit,
                sun_text + " Ah" * sun_unit,
                where,
            ]
        )
        told = (float(f"{number:.{digits}f}") for number, digits in (engine, sun))
        meant.append((*told, lat_deg, lon_deg, in_minutes))
    log = read_log(write_file("log.csv", sheet.getvalue().encode(encoding)))
    for entry, (engine_h, solar_Ah, lat_deg, lon_deg, in_minutes) in zip(
        log.entries, meant, strict=True
    ):
        assert entry.engine_h in (None, engine_h)
        assert entry.solar_Ah in (None, solar_Ah)
        if entry.lat_deg is not None:
            # Two decimals of a degree, read off the same text: 0.005 at most.
            near = {"abs": 1e-6 if in_minutes else 0.006}
            assert entry.lat_deg == pytest.approx(lat_deg, **near)
            assert entry.lon_deg == pytest.approx(lon_deg, **near)
    unread = sum(
        (entry.engine_h is None) + (entry.solar_Ah is None) + (entry.lat_deg is None)
        for entry in log.entries
    )
    assert unread == len(log.set_aside)
