"""Files of light: no input gives anything but an Irradiance or an InputError fit to be shown."""

import math

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from test_irradiance_formats import SAMPLES

from powersim.errors import InputError
from powersim.inputs.irradiance import read_irradiance
from powersim.records import Irradiance, Waypoint
from powersim.sky.measured import known_from_irradiance
from powersim.voyage.track import track_of

# Invented, as are the samples of published formats.
GOOD = (
    "# invented\ntime,ghi_W_m2,dni_W_m2,dhi_W_m2,air_C,wind_kn\n"
    "2026-09-05 12:00,350,420.5,80,21.5,12\n2026-09-05 13:00,500,,90,22,\n"
    '2026-09-05T14:00Z,"512",600,95,,14\n2026-09-05 16:00+01:00,-3,0,0,22.5,15\n'
)
TRACK = track_of(
    (
        Waypoint(name="here", lat_deg=38.5, lon_deg=-28.6, speed_kn=5.0, stop_h=48.0),
        Waypoint(name="there", lat_deg=38.5, lon_deg=-28.7),
    ),
    depart_utc_s=1788566400.0,  # 5 September 2026, 00:00 UTC
    step_h=1.0,
)
busy = {
    "suppress_health_check": [HealthCheck.function_scoped_fixture],  # each example writes anew
}
# Signs that mean something in such files come up more often than others.
pieces = st.sampled_from(
    ["", ",", ";", "\t", '"', "\n", "\r", "#", "-", "−", "nan", "inf", "1e999", "1e308", "0",
     "9" * 400, "3O0", "4,5", "-9999", "\ufeff", "\u2028", "\x0b", "time", "time_end", "ghi_W_m2",
     "ghi_J_m2", "2026-09-05", "2026-09-05 12:00", "9999-12-31", "0001-01-01T00:00+14:00", "Z",
     "UTC", "24:00", "2026-W36-6", "20260905T12"]
)  # fmt: skip


def read_or_refused(path):
    try:
        irradiance = read_irradiance(path)
    except InputError as error:
        shown_or_fail(error, path)
        return
    assert isinstance(irradiance, Irradiance)
    light = [value for value in irradiance.ghi_W_m2 if not math.isnan(value)]
    assert all(0.0 <= value <= 1600.0 for value in light)
    try:
        known = known_from_irradiance(irradiance, TRACK)
    except InputError as error:
        shown_or_fail(error, path)
        return
    assert known.clear_frac.shape == (TRACK.n_steps,)


def shown_or_fail(error, path):
    assert error.problems
    for problem in error.problems:
        assert problem.file == str(path)
        assert problem.text
        assert problem.line is None or problem.line >= 1
        assert len(problem.text) < 500


@settings(max_examples=100, **busy)
@given(st.text(max_size=200) | st.lists(pieces, max_size=40).map("".join))
@example("\n#\n\x0b\n,\n")
def test_arbitrary_text_is_read_or_refused(write_file, text):
    content = text.encode("utf-8", "surrogatepass")
    read_or_refused(write_file("light.csv", content))
    read_or_refused(write_file("light.csv", b"time,ghi_W_m2,air_C\n" + content))


@settings(max_examples=100, **busy)
@given(st.binary(max_size=200))
def test_arbitrary_bytes_are_read_or_refused(write_file, content):
    read_or_refused(write_file("light.csv", content))


@settings(max_examples=200, **busy)
@given(st.integers(0, len(GOOD)), st.integers(0, 30), pieces | st.text(max_size=4))
def test_a_good_file_with_a_wound_is_read_or_refused(write_file, at, cut, put):
    read_or_refused(
        write_file(
            "light.csv", (GOOD[:at] + put + GOOD[at + cut :]).encode("utf-8", "surrogatepass")
        )
    )


@settings(max_examples=100, **busy)
@given(
    st.lists(
        st.tuples(
            st.datetimes() | pieces,
            st.floats() | st.integers() | pieces,
            st.floats(-1e3, 1e3) | pieces,
        ),
        max_size=8,
    ),
    st.sampled_from(["ghi_W_m2", "ghi_kW_m2", "ghi_J_m2", "ghi_MJ_m2", "ghi_Wh_m2"]),
)
def test_rows_of_anything_are_read_or_refused(write_file, rows, unit):
    lines = [f"{time},{light},{air}" for time, light, air in rows]
    text = "\n".join([f"time,{unit},air_C", *lines])
    read_or_refused(write_file("light.csv", text.encode("utf-8", "surrogatepass")))


@pytest.mark.slow
@pytest.mark.parametrize("name", SAMPLES)
@settings(max_examples=25, **busy)
@given(
    where=st.floats(0, 1)
    | st.integers(0, 600).map(lambda at: -at - 1),  # by share, or from the top
    cut=st.integers(0, 60),
    put=pieces | st.text(max_size=4),
)
def test_a_published_format_with_a_wound_is_read_or_refused(write_file, name, where, cut, put):
    text = SAMPLES[name]
    at = int(where * len(text)) if where >= 0 else -int(where) - 1
    wounded = text[:at] + put + text[at + cut :]
    read_or_refused(write_file("light.csv", wounded.encode("utf-8", "surrogatepass")))


@pytest.mark.parametrize("name", SAMPLES)
@settings(max_examples=15, **busy)
@given(share=st.floats(0, 1))
def test_a_published_format_cut_short_is_read_or_refused(write_file, name, share):
    text = SAMPLES[name]
    read_or_refused(write_file("light.csv", text[: int(share * len(text))]))
