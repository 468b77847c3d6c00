"""A bank in the cold: for how long it takes no charge, what is said of it, and what is not run."""

import html
import re
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from builders import boat_of, in_average, passage_of

from powersim.inputs.frost import LONGEST_DEG, MILD, WARMER_BELOW_C, may_see_frost
from powersim.physics.freezing import freezes_C
from powersim.planning.endurance import endurance
from powersim.records import CHEMISTRIES, BankPlace, PlannedRun, Waypoint
from powersim.records.chemistry.traits import COLD_SPELL_C
from powersim.report.card import card_of
from powersim.report.cold_text import cold_told
from powersim.report.endurance_view import endurance_from_departure
from powersim.report.files import answer
from powersim.report.page import report_html
from powersim.report.verdict_view import verdict_view
from powersim.report.warnings import warnings_of
from powersim.simulation.cold import cold_along, cold_of
from powersim.simulation.prepare import prepare
from powersim.simulation.run import run
from powersim.simulation.state import start_state
from powersim.sky.below_deck import CABIN_ABOVE_AIR_C
from powersim.sky.climatology import monthly_mean


def southern_winter(**given):
    """From 50 to 57 S in July, where the month's mean air falls from some 4 to -6 degC."""
    boat = boat_of(**{"chemistry": "lifepo4", "panel_W": ()} | given)
    waypoints = (
        Waypoint(name="A", lat_deg=-50.0, lon_deg=-20.0, speed_kn=5.0),
        Waypoint(name="B", lat_deg=-57.0, lon_deg=-20.0),
    )
    july = datetime(2026, 7, 5, 9, tzinfo=UTC)
    return passage_of(boat=boat, waypoints=waypoints, depart_utc=july)


def test_a_lithium_bank_below_freezing_is_counted_and_the_rest_is_not():
    prepared = prepare(southern_winter(), step_h=0.5)
    bank_C = prepared.sky.bank_C
    cold = cold_of(bank_C, battery=southern_winter().boat.battery, track=prepared.track)
    assert 0.0 < cold["too_cold_h"] < prepared.track.n_steps * 0.5
    assert cold["too_cold_h"] == pytest.approx(0.5 * sum(celsius < 0.0 for celsius in bank_C))
    first = next(step for step, celsius in enumerate(bank_C) if celsius < 0.0)
    at = datetime.fromisoformat(cold["too_cold_from"]["time_utc"]).timestamp()
    assert at == prepared.track.edge_utc_s[first]
    assert cold["lowest_bank_C"] == bank_C.min() < 0.0


def test_lead_acid_always_takes_charge():
    passage = southern_winter(chemistry="agm")
    cold = cold_along(passage)
    assert (cold["least_charge_C"], cold["too_cold_h"], cold["too_cold_from"]) == (None, 0.0, None)
    assert cold["lowest_bank_C"] < 0.0


def test_check_finds_the_hours_that_simulate_finds():
    """The same air and the same places, at steps of an hour."""
    passage = southern_winter()
    told = in_average(passage).summary["cold"]
    assert cold_along(passage)["too_cold_h"] == pytest.approx(told["too_cold_h"], abs=1.0)
    assert cold_along(passage)["lowest_bank_C"] == pytest.approx(told["lowest_bank_C"], abs=0.05)


def test_no_run_begins_that_cannot_charge_and_none_goes_on():
    """At 55 S the engine used to run for a day and more, for nothing but the loads."""
    prepared = prepare(southern_winter(charging={"start_soc": 0.95, "stop_soc": 0.99}), step_h=0.5)
    begin = start_state(prepared.plant, soc=0.5)
    flow, _ = run(prepared.signals, plant=prepared.plant, state=begin)
    warm = prepared.signals.takes_charge[:, 0] > 0.0
    assert flow.charging[warm].sum() > 0.0
    assert flow.charging[~warm].sum() == 0.0


def test_a_run_ends_when_the_bank_becomes_too_cold(one_step):
    boat = one_step(soc=0.3, chemistry="lifepo4", charging={"start_soc": 0.5, "stop_soc": 0.8})
    may = {"may_run": True}
    assert boat.take(**may).charging == 1.0
    assert boat.take(**may, takes_charge=0.0).charging == 0.0
    assert boat.take(**may).charging == 1.0


def test_a_timetable_does_not_run_the_engine_for_a_bank_that_is_too_cold():
    passage = southern_winter()
    runs = tuple(
        PlannedRun(
            start_utc_s=passage.depart_utc.timestamp() + 3600.0 * at_h,
            run_h=1.0,
        )
        for at_h in (2.0, 80.0)
    )
    result = in_average(replace(passage, engine_plan=runs), step_h=0.5)
    (done,) = result.engine[result.engine["kind"] == "charging"].itertuples()
    assert done.start_utc.timestamp() == runs[0].start_utc_s


def test_a_bank_that_is_too_cold_stores_nothing_and_sun_still_feeds_the_loads(one_step):
    """By hand: 100 W for loads of 60 W at some 14 V: 60 W are taken, 40 W are left."""
    from one_step import mppt

    boat = one_step(soc=0.5, chemistry="lifepo4")
    before_Ah = boat.state.total_Ah
    flow = boat.take(takes_charge=0.0, bank_C=-3.0, load_W=(60.0, 0, 0, 0), solar=[mppt(100.0)])
    # The bank loses its own standby and self-discharge, and gains less than a meter shows.
    assert before_Ah - 0.02 < boat.state.total_Ah <= before_Ah
    assert flow.in_A < 1e-5
    assert flow.solar_A * flow.bank_V == pytest.approx(60.0, abs=0.3)
    assert flow.solar_offered_A * flow.bank_V == pytest.approx(100.0)


def test_simulate_says_for_how_long_and_what_helps_before_all_else():
    result = in_average(southern_winter())
    first, *_ = warnings_of(result)
    hours = result.summary["cold"]["too_cold_h"]
    assert first.text.startswith(f"the bank is too cold to be charged for {hours:.1f} h, first on ")
    assert "below 0 °C it takes nothing" in first.text
    for helps in ("warm its space", "heat it", "lead-acid bank", "temperature in [battery]"):
        assert helps in first.advice


def test_a_warm_bank_hears_nothing_of_it():
    kept = southern_winter(battery={"place": BankPlace(least_C=5.0)})
    result = in_average(kept)
    assert result.summary["cold"]["too_cold_h"] == 0.0
    assert result.engine["kind"].isin(["charging", "motoring"]).all()
    assert [found for found in warnings_of(result) if "too cold" in found.text] == []


def test_a_cold_spell_is_spoken_of_before_it_comes():
    """In a cabin of 4 degrees all the way, and no longer in one of 5."""

    def told(cabin_C, **place):
        passage = southern_winter(battery={"place": BankPlace(place="cabin", **place)})
        legs = tuple(replace(waypoint, cabin_C=cabin_C) for waypoint in passage.waypoints)
        return list(cold_told(cold_along(replace(passage, waypoints=legs))))

    (cold,) = told(COLD_SPELL_C - 1.0)
    assert "the bank comes down to 4 °C in average weather" in cold.text
    assert "a cold spell takes it below 0 °C" in cold.text
    assert told(COLD_SPELL_C) == []
    assert told(COLD_SPELL_C - 1.0, least_C=2.0) == []  # a heater keeps it from any spell


def test_lead_acid_in_the_frost_hears_of_freezing_with_figures():
    told = list(cold_told(cold_along(southern_winter(chemistry="flooded")), mean_air=True))
    (cold,) = told
    assert "a flat bank freezes at about -10 °C, half full at -25 °C, full at -60 °C" in cold.text
    assert "never leave it flat" in cold.advice


def test_a_low_bank_near_freezing_is_named_with_its_moment():
    """By hand: at 25 % acid freezes at -16 degC; -8 is 8 degrees from it, and 8 is less than 10.

    At 50 % it freezes at -25 degC, 17 degrees away.
    """
    prepared = prepare(southern_winter(chemistry="agm"), step_h=1.0)
    battery, track = southern_winter(chemistry="agm").boat.battery, prepared.track
    steps = track.n_steps
    soc = np.full(steps, 0.5)
    frost_C = np.full(steps, -8.0)
    assert cold_of(frost_C, battery=battery, track=track, soc=soc)["near_freezing"] is None
    soc[7] = 0.25
    near = cold_of(frost_C, battery=battery, track=track, soc=soc)
    assert near["near_freezing"]["freezes_C"] == freezes_C(0.25) == -16.0
    (cold,) = cold_told(near)
    assert "the bank is at 25 % and -8 °C, and its acid freezes at about -16 °C" in cold.text
    assert "never charge a bank that is frozen" in cold.advice


def test_the_card_says_it_before_its_rule():
    result = in_average(southern_winter())
    verdict = card_of(result, endurance=endurance(result, members=1)).verdict
    (told,) = (line for line in map(str, verdict.chance) if line.startswith("Too cold to charge"))
    assert told.endswith("Warm the bank: no run below 0 °C.")
    assert any(
        " or less run the engine" in str(line) for line in (*verdict.largest, *verdict.lines)
    )


def test_the_first_line_names_the_cold_where_the_passage_fails():
    weak = southern_winter(battery={"soc_at_departure": 0.25}, charging={"by_engine": False})
    result = in_average(weak)
    verdict = verdict_view(answer(result))
    assert not verdict.holds
    assert str(verdict.why).endswith(
        f"the bank is too cold to be charged for {result.summary['cold']['too_cold_h']:.1f} h"
    )


def test_the_past_has_the_engine_run_as_the_log_says_however_cold(one_step):
    """What it burnt it burnt, though the bank took nothing of it."""
    boat = one_step(soc=0.3, chemistry="lifepo4")
    boat.plant = replace(boat.plant, runs_in_the_cold=True)
    flows = boat.take(ordered=True, takes_charge=0.0)
    assert (flows.charging, flows.in_A < 1e-5) == (1.0, True)
    assert flows.charging_L > 0.0


def test_no_frost_is_looked_for_where_no_month_is_cold_enough():
    """Every cell of the climatology between the parallels, and a great circle's bend beyond."""
    lon_deg = np.arange(-180.0, 180.0, 2.5)
    for needed_C, (south_deg, north_deg) in MILD:
        bends = [
            np.degrees(np.arctan(np.tan(np.radians(edge)) / np.cos(np.radians(LONGEST_DEG / 2))))
            for edge in (south_deg, north_deg)
        ]
        for lat_deg in np.arange(bends[0], bends[1], 0.5):
            for month in range(12):
                utc_s = datetime(2026, month + 1, 15, 12, tzinfo=UTC).timestamp()
                (air_C,) = monthly_mean(
                    "air_C",
                    lat_deg=np.full(lon_deg.size, lat_deg),
                    lon_deg=lon_deg,
                    utc_s=np.full(lon_deg.size, utc_s),
                )
                assert air_C.min() >= needed_C, (lat_deg, month)
    assert WARMER_BELOW_C == CABIN_ABOVE_AIR_C
    needed_C = {
        one.frost_C - warmer_C for one in CHEMISTRIES.values() for warmer_C in (0.0, WARMER_BELOW_C)
    }
    assert needed_C == {air_C for air_C, _ in MILD}


@pytest.mark.parametrize(
    ("passage", "asked"),
    [
        (passage_of(boat=boat_of(chemistry="lifepo4"), lat_deg=20.0), False),
        (passage_of(boat=boat_of(chemistry="lifepo4"), lat_deg=40.0), True),
        (passage_of(boat=boat_of(chemistry="lifepo4"), lat_deg=20.0, leg={"cabin_C": 2.0}), True),
        (passage_of(boat=boat_of(chemistry="agm"), lat_deg=-36.0), False),
        (southern_winter(battery={"place": BankPlace(fixed_C=12.0)}), False),
        (southern_winter(battery={"place": BankPlace(fixed_C=-1.0)}), True),
        (southern_winter(battery={"place": BankPlace(place="outside", least_C=5.0)}), False),
        (southern_winter(), True),
    ],
)
def test_whether_the_climatology_is_asked(passage, asked):
    assert may_see_frost(passage) is asked


@pytest.mark.slow
def test_the_page_says_once_what_the_cold_does():
    """The cautions of the passage say it, and what is said of days left says it no second time."""
    result = in_average(southern_winter(), step_h=1.0)
    told = [one.sentence for one in cold_told(answer(result)["cold"])]
    endurance = endurance_from_departure(result)
    assert told
    assert any(told[0] in getattr(section, "items", ()) for section in endurance.opening)
    text = report_html(result, endurance=endurance, cautions=(), standing=(), version="0")
    words = " ".join(html.unescape(re.sub(r"<[^>]*>", "", text)).split())
    for sentence in told:
        assert words.count(" ".join(sentence.split())) == 1
