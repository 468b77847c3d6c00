"""members.csv, bands.csv and risk.csv, of members made by hand around a passage of two days."""

from dataclasses import replace

import numpy as np
import pytest
from builders import in_average
from hand_worked import passage_of, without_engine
from made_ensemble import ensemble_of

from powersim.report.ensemble_files import bands_table, members_table, risk_table

NEVER = np.inf
MEMBERS = 11


@pytest.fixture(scope="module")
def alone():
    return in_average(passage_of(), step_h=1.0)


def tried(result, **given):
    given = {"members": MEMBERS, "hours": len(result.hourly)} | given
    return replace(result, ensemble=ensemble_of(**given))


def only(*members, value, others):
    """A value for some members, the first being 1."""
    return np.where(np.isin(np.arange(MEMBERS) + 1, members), value, others)


def test_a_row_a_member(alone):
    """The floor after 30 h is 1.25 days; hours and days of what never comes are empty."""
    table = members_table(
        tried(
            alone,
            floor_h=only(2, 5, value=30.0, others=NEVER),
            flat_h=only(5, value=36.0, others=NEVER),
            lowest_h=12.0,
            lowest_soc=only(5, value=0.05, others=0.4),
            charging_runs=2.0,
            motoring_L=6.0,
            fuel_left_L=only(7, value=19.9, others=50.0),
            longest_since_full_h=36.0,
        )
    )
    assert list(table["member"]) == list(range(1, MEMBERS + 1))
    # Two broke the floor, a third ate into the reserve of 20 L.
    assert list(table.loc[table["holds"] == "no", "member"]) == [2, 5, 7]
    assert table["days_to_floor"].dropna().to_dict() == {1: 1.25, 4: 1.25}
    assert table["days_to_flat"].dropna().to_dict() == {4: 1.5}
    assert set(table["days_to_lowest"]) == {0.5}
    assert table["lowest_soc"].tolist() == only(5, value=0.05, others=0.4).tolist()
    assert set(table["charging_runs"]) == {2}
    assert set(table["longest_gap_between_full_days"]) == {1.5}
    assert set(table["fuel_motoring_L"]) == {6.0}
    assert table["fuel_left_L"].tolist() == only(7, value=19.9, others=50.0).tolist()
    assert not [name for name in table if "wind" in name or "shore" in name]


def test_a_boat_with_other_chargers_has_their_columns(alone):
    result = tried(alone, others_Ah={"wind_Ah": np.full(MEMBERS, 12.0)})
    table = members_table(result)
    assert set(table["wind_Ah"]) == {12.0}
    assert "water_Ah" not in table


def test_a_row_an_hour_with_bands(alone):
    """Of 0, 10 ... 100 % one tenth lies below 10, half below 50, nine tenths below 90."""
    hours = len(alone.hourly)
    soc = np.tile(np.arange(MEMBERS) / 10.0, (hours, 1))
    table = bands_table(tried(alone, hour_soc=soc, hour_fuel_left_L=40.0 * soc))
    assert len(table) == hours
    assert list(table["time_utc"]) == list(alone.hourly.index)
    for name, expected in [("p10_soc", 0.1), ("p50_soc", 0.5), ("p90_soc", 0.9)]:
        assert table[name].to_numpy() == pytest.approx(np.full(hours, expected))
    assert set(table["lowest_soc"]) == {0.0}
    assert table["p90_fuel_left_L"].to_numpy() == pytest.approx(np.full(hours, 36.0))


def test_a_row_a_day_with_the_share_that_has_met_with_it(alone):
    """Two of eleven are below the floor from hour 30 on, one of them flat from hour 36 on."""
    result = tried(
        alone,
        floor_h=only(2, 5, value=30.0, others=NEVER),
        flat_h=only(5, value=36.0, others=NEVER),
    )
    table = risk_table(result)
    by_name = {name: table[name].tolist() for name in table}
    floor, flat = by_name["floor_frac"], by_name["flat_frac"]
    assert floor[0] == flat[0] == 0.0
    assert floor[1:] == pytest.approx([2 / 11] * (len(table) - 1))
    assert flat[1:] == pytest.approx([1 / 11] * (len(table) - 1))
    first_day = (table["end_utc"].iloc[0] - result.passage.depart_utc).total_seconds() / 86400.0
    assert first_day == 1.0


def test_without_diesel_none_is_missed():
    alone = in_average(passage_of(boat=without_engine()), step_h=1.0)
    result = tried(alone, fuel_left_L=0.0, hour_fuel_left_L=0.0)
    assert set(members_table(result)["holds"]) == {"yes"}
