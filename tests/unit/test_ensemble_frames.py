"""An ensemble in pandas and in xarray: its numbers, its times and its members."""

import sys
from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest
from builders import passage_of
from made_ensemble import ensemble_of

import powersim

MEMBERS = 3


@pytest.fixture(scope="module")
def result():
    return powersim.simulate(passage_of(days=2.0), members=MEMBERS, step_h=1.0)


def test_a_frame_goes_hour_by_hour_beside_the_hourly_table(result):
    frame = result.ensemble.to_dataframe()
    assert frame.index.equals(result.hourly.index)
    assert frame.index.name == "time_utc"
    assert frame.index[0] == pd.Timestamp("2026-09-05 09:00", tz="UTC")
    assert frame.columns.names == ["quantity", "member"]
    assert list(frame["soc"].columns) == list(frame["fuel_left_L"].columns) == [1, 2, 3]
    assert np.array_equal(frame["soc"], result.ensemble.hour_soc)
    assert np.array_equal(frame["fuel_left_L"], result.ensemble.hour_fuel_left_L)


def test_a_frame_is_taken_apart_by_member_and_by_day():
    """By hand: the second of two members holds 10 % less, all of both days."""
    made = ensemble_of(
        hours=48,
        members=2,
        start_utc_s=datetime(2026, 9, 5, tzinfo=UTC).timestamp(),
        hour_soc=[0.9, 0.8],
    )
    frame = made.to_dataframe()
    assert frame["soc"].quantile(0.5, axis=1).to_numpy() == pytest.approx(0.85)
    daily = frame["soc"].resample("D").min()
    assert daily.index.strftime("%Y-%m-%d").tolist() == ["2026-09-05", "2026-09-06"]
    assert daily[2].tolist() == [0.8, 0.8]


def test_a_dataset_has_every_array_over_its_dimensions_with_its_unit(result):
    pytest.importorskip("xarray", reason="wants the extra 'xarray'")
    made = result.ensemble.to_xarray()
    assert dict(made.sizes) == {"time_utc": len(result.hourly), "member": MEMBERS}
    assert made["time_utc"].to_index().tz_localize("UTC").equals(result.hourly.index)
    assert made["member"].values.tolist() == [1, 2, 3]
    assert made["soc"].sel(member=2).values == pytest.approx(result.ensemble.hour_soc[:, 1])
    arrays = {
        name
        for name in result.ensemble.__dataclass_fields__
        if isinstance(getattr(result.ensemble, name), np.ndarray)
    }
    together = {"hour_charging_frac", "hour_motoring_frac"}
    renamed = {"hour_soc", "hour_fuel_left_L", "fuel_left_L", *together}
    given = {"soc", "fuel_left_L", "fuel_left_at_landfall_L", "charging_frac", "motoring_frac"}
    assert set(made.data_vars) == arrays - renamed | given
    for name in arrays - renamed:
        assert made[name].dims == ("member",)
        assert np.array_equal(made[name], getattr(result.ensemble, name))
    for name in together:
        assert made[name.removeprefix("hour_")].dims == ("time_utc",)
        assert np.array_equal(made[name.removeprefix("hour_")], getattr(result.ensemble, name))
    assert np.array_equal(made["fuel_left_at_landfall_L"], made["fuel_left_L"][-1])
    units = {name: made[name].attrs.get("units") for name in made.data_vars}
    assert units.pop("charging_runs") is None  # a count
    assert units["soc"] == units["lowest_soc"] == "1"
    assert (units["loads_Ah"], units["fuel_left_L"], units["flat_h"]) == ("A h", "L", "h")
    assert None not in units.values()
    assert made.attrs == {"seed": 1, "step_h": 1.0}


def test_without_xarray_it_says_what_brings_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "xarray", None)  # as if it were not installed
    with pytest.raises(ImportError) as caught:
        ensemble_of().to_xarray()
    assert str(caught.value) == (
        'to_xarray needs xarray, which python -m pip install "powersim[xarray]" brings'
    )
