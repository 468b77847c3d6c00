"""Broken forecast files: a forecast or an InputError, no traceback, no hang, no dead process."""

import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

pytest.importorskip("eccodes")  # the optional extra [forecast]

from powersim.errors import InputError
from powersim.inputs.grib import read_forecast
from powersim.inputs.grib_decode import decode
from powersim.records import Forecast

DATA = Path(__file__).parents[1] / "reference" / "data"
FILES = {
    name: (DATA / name).read_bytes()
    for name in (
        "gfs_20111008_00z_f072_2p5deg_surface.grib2",
        "ncep_flux_20060331_00z_f024_t62.grib1",
    )
}
# Where each message begins; its head, within some 200 bytes, is where damage hurts most.
STARTS = {
    name: [at for at in range(len(content)) if content.startswith(b"GRIB", at)]
    for name, content in FILES.items()
}
busy = {
    "suppress_health_check": [HealthCheck.function_scoped_fixture],  # each example writes anew
}


def forecast_or_refused(read, path):
    """The forecast, or None where the file is refused with a message."""
    try:
        forecast, refused = read(path), None
    except InputError as error:
        forecast, refused = None, error
    if refused is None:
        assert isinstance(forecast, Forecast)
    else:
        assert str(refused).startswith(str(path))
        assert all(problem.text for problem in refused.problems)
    return forecast


@pytest.mark.parametrize("name", FILES)
@settings(max_examples=40, **busy)
@given(data=st.data())
def test_a_file_cut_anywhere_is_refused_unless_cut_between_messages(name, data, write_file):
    """In this process: what is cut has killed no decoder, and a process each would take long."""
    content = FILES[name]
    length = data.draw(st.integers(1, len(content) - 1) | st.sampled_from(STARTS[name][1:]))
    path = write_file("cut.grib", content[:length])
    forecast = forecast_or_refused(lambda cut: decode(cut, file=str(cut)), path)
    assert forecast is None or length in STARTS[name]


# Message, place in its head, and what stands there then.
FLIP = st.tuples(st.integers(0, 6), st.integers(0, 220), st.integers(0, 255))


@pytest.mark.slow
@settings(max_examples=20, **busy)
@given(name=st.sampled_from(sorted(FILES)), flips=st.lists(FLIP, min_size=1, max_size=3))
@example(name="ncep_flux_20060331_00z_f024_t62.grib1", flips=[(0, 7, 9)])  # no such edition
def test_bytes_turned_over_in_the_heads_of_messages(name, flips, write_file):
    damaged = bytearray(FILES[name])
    for message, offset, value in flips:
        start = STARTS[name][message % len(STARTS[name])]
        damaged[start + offset] = value
    forecast_or_refused(read_forecast, write_file("damaged.grib", bytes(damaged)))


@pytest.mark.parametrize("ending", ["import os; os.abort()", "raise MemoryError"])
def test_a_decoder_that_dies_is_a_damaged_file(ending, write_file, monkeypatch, tmp_path):
    """In place of Python one that dies as soon as it is asked to decode."""
    dying = write_file("dying", f"#!{sys.executable}\n{ending}\n")
    dying.chmod(0o755)
    monkeypatch.setattr(sys, "executable", str(dying))
    path = write_file("whole.grib", next(iter(FILES.values())))
    with pytest.raises(InputError) as caught:
        read_forecast(path)
    text = {
        "import os; os.abort()": "is damaged: decoding it ended without an answer",
        "raise MemoryError": "cannot be decoded (MemoryError)",
    }[ending]
    assert str(caught.value) == f"{path}: {text}\n  expected  a whole file; ask for it again"
