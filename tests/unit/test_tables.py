"""Tables by hour, day, engine run and load: the same sums, whatever the step."""

from datetime import UTC, datetime

import pandas as pd
import pytest
from builders import LOADS, boat_of, passage_of

from powersim.records import Supply, Waypoint
from powersim.simulation.books_record import columns_of
from powersim.simulation.result import simulate
from powersim.simulation.tables import FUEL_COLUMNS, GROUP_COLUMNS

STEPS = (1 / 12, 0.25, 0.5, 1.0)


@pytest.fixture(scope="module", params=STEPS, ids=lambda step_h: f"{60 * step_h:.0f} min")
def stepped(request):
    """A passage with every kind of flow in it, by steps of 5, 15, 30 and 60 minutes."""
    boat = boat_of(
        battery={"soc_at_departure": 0.65},
        charging={"start_soc": 0.75, "stop_soc": 0.9},
        supplies=(Supply(name="inverter", idle_W=5.0),),
    )
    leg = {"motoring_start_h": 2.4, "motoring_end_h": 1.0}
    return simulate(passage_of(boat=boat, leg=leg, days=2.0), step_h=request.param)


def test_the_hours_are_whole_and_in_order(stepped):
    hourly = stepped.hourly
    assert len(hourly) == 48
    assert str(hourly.index[0]) == "2026-09-05 09:00:00+00:00"
    assert (hourly.index.to_series().diff().dropna() == pd.Timedelta(hours=1)).all()
    assert hourly.notna().all().all()
    assert hourly["soc"].iloc[-1] == stepped.flow.soc[-1, 0]


def test_hours_add_up_to_the_books(stepped):
    for name in columns_of(stepped.prepared.signals):
        total = stepped.books.column(name).sum()
        assert stepped.hourly[name].sum() == pytest.approx(total, abs=1e-9), name


def test_days_add_up_to_the_hours(stepped):
    daily, hourly = stepped.daily, stepped.hourly
    # Ship's time two hours behind: two whole days lie on three dates.
    assert daily["hours"].tolist() == [17, 24, 7]
    summed = [
        *columns_of(stepped.prepared.signals),
        *FUEL_COLUMNS,
        *GROUP_COLUMNS,
        "charging_h",
        "night_h",
        "dark_h",
    ]
    for name in summed:
        assert daily[name].sum() == pytest.approx(hourly[name].sum(), abs=1e-9), name
    assert daily["lowest_soc"].min() == hourly["lowest_soc"].min()
    assert daily["fuel_left_L"].iloc[-1] == hourly["fuel_left_L"].iloc[-1]


def test_groups_and_controllers_add_up_to_the_loads(stepped):
    hourly = stepped.hourly
    idle_Ah = hourly["loads_Ah"].sum() - hourly[list(GROUP_COLUMNS)].sum().sum()
    assert idle_Ah == pytest.approx(0.015 * 48.0, abs=1e-6)


def test_loads_add_up_to_the_books_less_the_controllers_own(stepped):
    loads, books = stepped.loads, stepped.books
    assert set(loads["load"]) == {load.name for load in LOADS}
    served_Ah = books.loads_Ah.sum() - 0.015 * 48.0
    assert loads["Ah_per_day"].sum() * 2.0 == pytest.approx(served_Ah, abs=1e-6)
    served_Wh = books.loads_Wh.sum() + books.supply_loss_Wh.sum()
    assert loads["Wh_per_day"].sum() * 2.0 == pytest.approx(served_Wh, abs=1e-6)
    unserved_Ah = books.unserved_Ah.sum()
    assert loads["unserved_Ah_per_day"].sum() * 2.0 == pytest.approx(unserved_Ah, abs=1e-6)
    assert loads["Ah_per_day"].is_monotonic_decreasing


def test_engine_runs_add_up_to_the_ledgers(stepped):
    """Hours, litres and ampere-hours of all runs, steps that both motor and charge included."""
    engine, hourly = stepped.engine, stepped.hourly
    for kind, litres in (
        ("charging", ("fuel_charging_L",)),
        ("motoring", ("fuel_motoring_L", "fuel_alternator_motoring_L")),
    ):
        runs = engine[engine["kind"] == kind]
        assert len(runs) >= 1
        hours = hourly[f"{kind}_h"].sum()
        assert runs["run_h"].sum() == pytest.approx(hours, abs=1e-9)
        assert runs["fuel_L"].sum() == pytest.approx(hourly[list(litres)].sum().sum(), abs=1e-9)
    alternator_Ah = hourly["alternator_Ah"].sum()
    assert engine["alternator_Ah"].sum() == pytest.approx(alternator_Ah, abs=1e-9)


def test_a_supply_that_idles_is_a_row_of_its_own():
    boat = boat_of(supplies=(Supply(name="inverter", idle_W=12.0, left_on=True),))
    loads = simulate(passage_of(boat=boat, days=1.0)).loads.set_index("load")
    assert loads.loc["inverter idle", "Wh_per_day"] == pytest.approx(12.0 * 24.0)
    assert loads.loc["inverter idle", "on_h_per_day"] == pytest.approx(24.0)


def test_a_passage_of_no_runs_and_no_loads_has_tables():
    result = simulate(passage_of(boat=boat_of(engine=None), loads=(), days=1.0))
    assert len(result.engine) == len(result.loads) == 0
    assert list(result.engine.columns)[:3] == ["start_utc", "ship_time", "kind"]
    assert result.summary["average"]["engine"]["longest_run_h"] == 0.0


def over_the_date_line(*, east):
    lon_deg = (179.0, -179.0) if east else (-179.0, 179.0)
    return simulate(
        passage_of(
            waypoints=[
                Waypoint(name=name, lat_deg=-20.0, lon_deg=lon, speed_kn=2.0)
                for name, lon in zip("AB", lon_deg, strict=True)
            ],
            depart_utc=datetime(2026, 12, 30, 18, tzinfo=UTC),
        )
    )


def test_eastward_over_the_date_line_a_date_comes_twice():
    """As aboard: the same dates again, in rows of their own, and the rows stay in order."""
    daily = over_the_date_line(east=True).daily
    dates = [str(date.date()) for date in daily.index]
    assert dates == ["2026-12-31", "2027-01-01", "2026-12-31", "2027-01-01"]
    assert daily["hours"].tolist() == [18, 11, 13, 15]
    assert daily["fuel_left_L"].is_monotonic_decreasing
    # Zone time is 12 h ahead, then 12 h behind: midnights aboard are noons in UTC. The line is
    # crossed 56 nm on, after 28 h of sailing at 2 kn: on 31 December at 23:00 UTC.
    assert [f"{when:%d %H}" for when in daily["start_utc"]] == ["30 18", "31 12", "31 23", "01 12"]


@pytest.mark.parametrize("east", [True, False])
def test_days_sort_by_their_first_moment_over_the_date_line(east):
    starts_utc = over_the_date_line(east=east).daily["start_utc"]
    assert starts_utc.is_monotonic_increasing
    assert starts_utc.is_unique


def test_westward_over_the_date_line_two_dates_share_a_day():
    """Between the last of the old reckoning and the first of the new lies no whole day."""
    daily = over_the_date_line(east=False).daily
    assert not daily.index.duplicated().any()
    assert daily["hours"].tolist() == [18, 11, 13, 15]


def test_the_year_ends_in_the_middle_of_a_passage():
    """By zone time two hours behind, the new year comes at 02:00 UTC."""
    result = simulate(passage_of(depart_utc=datetime(2026, 12, 30, 12, tzinfo=UTC), days=3.0))
    days = [str(day.date()) for day in result.daily.index]
    assert days == ["2026-12-30", "2026-12-31", "2027-01-01", "2027-01-02"]
    new_year = result.hourly[result.hourly["ship_time"] == pd.Timestamp("2027-01-01")]
    assert str(new_year.index[0]) == "2027-01-01 02:00:00+00:00"
