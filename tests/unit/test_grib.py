"""GRIB files: which fields are taken, windows, order of scanning, and every message."""

import importlib.util
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("eccodes")  # the optional extra [forecast]

from grib_made import CLOUD, LIGHT, LIGHT_ECMWF, message

from powersim.errors import InputError
from powersim.inputs.grib import read_forecast
from powersim.inputs.grib_decode import decode
from powersim.inputs.grib_fields import PARAMETERS

DATA = Path(__file__).parents[1] / "reference" / "data"
GFS = (DATA / "gfs_20111008_00z_f072_2p5deg_surface.grib2").read_bytes()
RUN_S = datetime(2026, 7, 1, tzinfo=UTC).timestamp()
TABLE = np.array([[500.0, 510.0, 520.0], [300.0, 310.0, 320.0], [100.0, 110.0, 120.0]])


@pytest.fixture
def read(write_file):
    """What the decoder makes of messages, in this process: these do not end it."""

    def read_messages(*messages):
        path = write_file("made.grib", b"".join(messages))
        return decode(path, file=str(path))

    return read_messages


def _message_of(reader, path):
    with pytest.raises(InputError) as caught:
        reader(path)
    return str(caught.value).removeprefix(str(path))


@pytest.fixture
def refusal(write_file):
    """What the decoder says of a file, in this process."""
    return lambda content: _message_of(
        lambda path: decode(path, file=str(path)), write_file("made.grib", content)
    )


@pytest.fixture
def refused_by_reader(write_file):
    """What is said of a file that is read as a sailor's is, by a process of its own."""
    return lambda content: _message_of(read_forecast, write_file("made.grib", content))


def hours(fields):
    return [
        tuple((at_s - RUN_S) / 3600.0 for at_s in (one.from_utc_s, one.to_utc_s)) for one in fields
    ]


def test_means_that_begin_every_six_hours_become_means_of_three(read):
    """Of 0 to 3 and 0 to 6 h: (6 m2 - 3 m1) / 3; the next 6 hours begin anew."""
    means = [((0, 3), 100.0), ((0, 6), 250.0), ((6, 9), 600.0), ((6, 12), 500.0)]
    forecast = read(
        *(
            message(0.1 * TABLE + mean, numbers=LIGHT, window_h=window, mean_of="avg")
            for window, mean in means
        )
    )
    assert hours(forecast.light) == [(0, 3), (3, 6), (6, 9), (9, 12)]
    at_south_west = [float(field.values[0, 0]) for field in forecast.light]
    assert at_south_west == pytest.approx([110.0, 410.0, 610.0, 410.0], abs=0.01)


@pytest.mark.parametrize("edition", [1, 2])
def test_joules_since_the_start_of_the_run_become_watts(read, edition):
    """0, 1.08 MJ by 3 h, 5.40 MJ by 6 h, the same by 9 h: 100, 400 and 0 W/m2."""
    sums = {3: 1.08e6, 6: 5.40e6, 9: 5.40e6}
    if edition == 1:
        made = [
            message(np.full((3, 3), total), numbers=LIGHT_ECMWF, window_h=hour)
            for hour, total in {0: 0.0, **sums}.items()
        ]
    else:
        made = [
            message(
                np.full((3, 3), total),
                numbers=LIGHT | {"centre": 98},
                window_h=(0, hour),
                mean_of="accum",
            )
            for hour, total in sums.items()
        ]
    light = read(*made).light
    assert hours(light) == [(0, 3), (3, 6), (6, 9)]
    assert [float(field.values[1, 1]) for field in light] == pytest.approx([100, 400, 0], abs=1e-3)


def test_packing_may_make_a_difference_a_little_negative_and_no_more(read, refusal):
    def two_means(second):
        return [
            message(np.full((2, 2), mean), numbers=LIGHT, window_h=(0, end), mean_of="avg")
            for end, mean in ((3, 100.0), (6, second))
        ]

    assert read(*two_means(46.0)).light[1].values.max() == 0.0  # (6 x 46 - 3 x 100) / 3 = -8
    assert refusal(b"".join(two_means(40.0))) == (
        ": cannot be right: shortwave [W/m2] -20 at latitude 30.000, longitude 330.000\n"
        "  expected  0 to 1412; is the file damaged?"
    )


def test_of_overlapping_windows_the_shortest_counts_and_of_runs_the_newest(read):
    long = message(TABLE, numbers=LIGHT, window_h=(0, 6), mean_of="avg")
    short = message(TABLE + 100, numbers=LIGHT, window_h=(3, 6), mean_of="avg")
    light = read(long, short).light
    assert hours(light) == [(3, 6)]
    older = message(TABLE, numbers=CLOUD | {"centre": 7}, window_h=24, dataDate=20260630)
    newer = message(0.1 * TABLE, numbers=CLOUD, window_h=0)
    refused_if_older_counts = message(0.1 * TABLE, numbers=CLOUD, window_h=0)
    cloud = read(newer, refused_if_older_counts, older).cloud
    assert hours(cloud) == [(0, 0)]
    assert cloud[0].values[0, 0] == pytest.approx(0.1, abs=1e-4)


@pytest.mark.parametrize("westward", [0, 1])
@pytest.mark.parametrize("northward", [0, 1])
@pytest.mark.parametrize("by_column", [0, 1])
def test_every_order_of_scanning_gives_the_same_field(read, westward, northward, by_column):
    scanned = TABLE[:: -1 if northward else 1, :: -1 if westward else 1]
    scanned = scanned.T if by_column else scanned
    north, west, south, east = 50.0, -30.0, 30.0, 10.0
    if northward:
        north, south = south, north
    if westward:
        west, east = east, west
    made = message(
        scanned,
        numbers=LIGHT,
        area=(north, west, south, east),
        shape=(3, 3),
        scan={
            "iScansNegatively": westward,
            "jScansPositively": northward,
            "jPointsAreConsecutive": by_column,
        },
        iDirectionIncrementInDegrees=20.0,
    )
    (field,) = read(made).light
    assert field.grid.lat_deg.tolist() == [30.0, 40.0, 50.0]
    assert field.grid.lon_deg.tolist() == [330.0, 350.0, 370.0]
    assert field.values == pytest.approx(TABLE[::-1], abs=0.01)


def test_rows_that_run_back_and_forth(read):
    back = TABLE.copy()
    back[1] = back[1, ::-1]
    made = message(back, numbers=LIGHT, scan={"alternativeRowScanning": 1})
    assert read(made).light[0].values == pytest.approx(TABLE[::-1], abs=0.01)


def test_units_go_with_the_number(read):
    share = np.array([[0.0, 0.5], [0.75, 1.0]])
    ecmwf = {"discipline": 0, "parameterCategory": 6, "parameterNumber": 192, "centre": 98}
    older = {"edition": 1, "centre": 98, "table2Version": 128, "indicatorOfParameter": 164}
    for made in (
        message(100 * share, numbers=CLOUD),
        message(share, numbers=ecmwf),
        message(share, numbers=older),
    ):
        assert read(made).cloud[0].values == pytest.approx(share[::-1], abs=1e-4)


def test_a_local_number_of_another_centre_is_another_parameter(refusal):
    local = {"discipline": 0, "parameterCategory": 6, "parameterNumber": 192, "centre": 7}
    assert refusal(message([[0.5, 0.5], [0.5, 0.5]], numbers=local)) == (
        ": none of its 1 fields has light or cloud\n"
        "  expected  total cloud cover or downward shortwave at the surface, "
        "of a single run and not of an ensemble"
    )


def test_places_without_a_value_are_unknown(read):
    table = TABLE.copy()
    table[0, 0] = 9999.0
    made = message(table, numbers=LIGHT, bitmapPresent=1, missingValue=9999.0)
    values = read(made).light[0].values
    assert np.isnan(values[2, 0])
    assert np.isfinite(values).sum() == 8


def test_a_grid_round_the_world_ends_where_it_began(read):
    light = read(message(TABLE, numbers=LIGHT, area=(50.0, 0.0, 30.0, 240.0))).light
    assert light[0].grid.lon_deg.tolist() == [0.0, 120.0, 240.0, 360.0]
    assert light[0].values[:, 3].tolist() == light[0].values[:, 0].tolist()


def test_the_table_of_numbers_says_the_units_that_eccodes_does():
    """The factors against ecCodes' own tables, number by number, where they have the field."""
    from eccodes import codes_get, codes_grib_new_from_samples, codes_release, codes_set

    units = {"%": 0.01, "(0 - 1)": 1.0, "W m**-2": 1.0, "m s**-1": 1.0, "K": 1.0, "J m**-2": 1.0}
    checked = 0
    for numbers, parameter in PARAMETERS.items():
        handle = codes_grib_new_from_samples(f"regular_ll_sfc_grib{numbers[0]}")
        codes_set(handle, "centre", parameter.centre or 7)
        names = {
            1: ("table2Version", "indicatorOfParameter"),
            2: ("discipline", "parameterCategory", "parameterNumber"),
        }[numbers[0]]
        for name, number in zip(names, numbers[1:], strict=True):
            codes_set(handle, name, number)
        unit = codes_get(handle, "units")
        codes_release(handle)
        if unit in units:
            assert units[unit] == parameter.factor, numbers
            checked += 1
    assert checked >= 15


def test_a_file_that_is_no_grib(refusal):
    assert refusal(b"time,ghi\n2026-07-01,300\n") == (
        ": is not GRIB\n  expected  a GRIB file, edition 1 or 2, as forecast services send it"
    )


@pytest.mark.parametrize(("length", "whole"), [(84381, 6), (60000, 5), (20, 0), (8543, 1)])
def test_a_file_cut_short(refusal, refused_by_reader, length, whole):
    said = (
        f": is cut short: it ends within a message, after {whole} whole fields\n"
        "  expected  a whole file; ask for it again"
    )
    assert refusal(GFS[:length]) == said
    if whole == 1:
        assert refused_by_reader(GFS[:length]) == said


def test_an_empty_file_and_one_that_is_not_there(refused_by_reader, tmp_path):
    assert refused_by_reader(b"") == ": is empty\n  expected  a GRIB file, edition 1 or 2"
    with pytest.raises(InputError, match="no such file"):
        read_forecast(tmp_path / "none.grib")
    with pytest.raises(InputError, match="is a folder, not a file"):
        read_forecast(tmp_path)


def test_values_that_cannot_be(refusal):
    assert refusal(message([[10.0, 20.0], [30.0, 300.0]], numbers=CLOUD)) == (
        ": cannot be right: cloud 3 at latitude 30.000, longitude 370.000\n"
        "  expected  0 to 1; is the file damaged?"
    )


def test_a_grid_that_is_not_read(refusal):
    import eccodes

    handle = eccodes.codes_grib_new_from_samples("reduced_gg_pl_32_grib2")
    for key, value in {**LIGHT, "typeOfLevel": "surface"}.items():
        eccodes.codes_set(handle, key, value)
    made = eccodes.codes_get_message(handle)
    eccodes.codes_release(handle)
    assert refusal(made) == (
        ": field 1: its light is on a grid of the kind 'reduced_gg'\n"
        "  expected  a grid regular in latitude and longitude, or a regular Gaussian one"
    )


@pytest.mark.parametrize(
    "broken",
    [
        "raise RuntimeError('Cannot find the ecCodes library')",  # as its Python part says it
        "import ctypes; ctypes.CDLL('libeccodes-of-another-machine.so')",
        "import no_such_library_behind_it",
    ],
)
def test_eccodes_without_its_library_is_told_as_that(
    refused_by_reader, monkeypatch, tmp_path, broken
):
    (tmp_path / "eccodes.py").write_text(broken + "\n", encoding="utf-8")
    monkeypatch.syspath_prepend(tmp_path)
    said, expected = refused_by_reader(GFS).split("\n")
    assert said.startswith(": needs ecCodes to be read, which is installed but cannot be loaded (")
    assert expected == (
        "  expected  its library, which python -m pip install --force-reinstall "
        "\"powersim[forecast]\" brings; where it does not, your system's own, for example Debian's "
        "libeccodes-dev"
    )


def test_without_eccodes_it_says_how_to_install_it(refused_by_reader, monkeypatch):
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    assert refused_by_reader(GFS) == (
        ": needs ecCodes to be read, which is not installed\n"
        '  expected  python -m pip install "powersim[forecast]"'
    )
