"""Days left from departure and from the worst moment, in words."""

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.planning.dropping import Dropping, LoadGain
from powersim.planning.endurance_table import DaysFrom, Endurance, EnduranceTable
from powersim.planning.worst_moment import WorstMoment
from powersim.report.endurance_moments import both_moments, moments_told
from powersim.report.screen_text import screen_text
from powersim.simulation.result import simulate

NEVER = math.inf
WORST = WorstMoment(step=12, from_h=12.0, judged_by="flat", apart_h=3.0)


@pytest.fixture(scope="module")
def result():
    return simulate(passage_of(boat=boat_of(), days=1.0), step_h=1.0)


def moment(flat_days, essential_days, *, worst=None, soc=0.9):
    """The lines without charging, to flat after so many days."""
    lines = tuple(
        Endurance(loss="all charging lost", loads=loads, days_to_floor=days, days_to_flat=days)
        for loads, days in (
            ("all loads", flat_days),
            ("without comfort", flat_days),
            ("essential only", essential_days),
        )
    )
    from_h = worst.from_h if worst else 0.0
    return DaysFrom(from_h=from_h, soc=soc, days_to_landfall=1.0, lines=lines, worst=worst)


def told(quay, worst, result):
    moments = (moment(*quay), moment(*worst, worst=WORST))
    return str(moments_told(moments, result, passages=1))


def test_in_average_weather(result):
    assert told((2.61, 7.2), (1.4, 3.3), result) == (
        "If all charging is lost, everything is dark after 2.6 days, counted from departure, and "
        "after 34 h, counted from the worst moment of the passage, Sat 5 Sep 19:00 (21:00 UTC). "
        "That is average weather alone: in a grey week there is less. With the essential loads "
        "only the bank lasts 7.2 days and 3.3 days."
    )


def test_the_cautious_end_is_said_first(result):
    """Of 11 passages from 1 to 11 days a tenth lies below 2 and half below 6, by counting."""
    days = np.arange(1.0, 12.0)
    moments = (
        moment(days + 10.0, days + 20.0, soc=np.full(11, 0.9)),
        moment(days, days + 10.0, worst=WORST, soc=np.full(11, 0.6)),
    )
    assert str(moments_told(moments, result, passages=11)) == (
        "If all charging is lost, everything is dark after 12 days, counted from departure, and "
        "after 2.0 days, counted from the worst moment of the passage, Sat 5 Sep 19:00 (21:00 "
        "UTC). 1 in 10 of 11 simulated passages has less; the median is 16 days and 6.0 days. "
        "With the essential loads only the bank lasts 22 days and 12 days."
    )


def test_where_landfall_comes_first_or_all_is_dark_already(result):
    assert told((NEVER, NEVER), (0.5, NEVER), result).startswith(
        "If all charging is lost, everything is dark not before landfall, counted from departure, "
        "and after 12 h, counted from the worst moment"
    )
    assert told((1.5, NEVER), (0.0, 0.0), result).startswith(
        "If all charging is lost, everything is dark after 36 h, counted from departure, and "
        "already at the worst moment of the passage, Sat 5 Sep 19:00 (21:00 UTC). "
    )
    assert told((1.5, NEVER), (0.0, 0.0), result).endswith(
        "With the essential loads only the bank lasts to landfall and 0 h."
    )
    assert told((NEVER, NEVER), (NEVER, NEVER), result).startswith(
        "If all charging is lost, the bank lasts to landfall, counted from departure as from the "
        "worst moment of the passage, Sat 5 Sep 19:00 (21:00 UTC). "
    )


def test_departure_comes_first_whichever_is_counted_from(result):
    quay, worst = moment(2.61, 7.2), moment(1.4, 3.3, worst=WORST)
    table = EnduranceTable(from_h=0.0, soc=0.9, days_to_landfall=1.0, lines=quay.lines)
    turned = EnduranceTable(
        from_h=12.0, soc=0.9, days_to_landfall=0.5, lines=worst.lines, worst=WORST, beside=quay
    )
    said = screen_text(both_moments(replace(table, beside=worst), result))
    assert said == screen_text(both_moments(turned, result))
    assert said.splitlines()[-3:] == [
        "until everything goes dark  from departure  from the worst moment",
        "--------------------------  --------------  ---------------------",
        "all charging lost                 2.6 days                   34 h",
    ]
    assert list(both_moments(table, result)) == []


def gain(load, group, days):
    return LoadGain(
        load=load,
        group=group,
        charge_Ah_per_day=1.0,
        days_to_floor=days,
        days_to_flat=days,
        beside_days_to_floor=days,
        beside_days_to_flat=days,
    )


def test_what_to_switch_off_goes_by_group_and_never_names_what_is_protected():
    """The order of the gains is kept within a group."""
    gains = (
        gain("ais", "protected", 0.9),
        gain("pilot", "essential", 0.8),
        gain("laptop", "useful", 0.7),
        gain("music", "comfort", 0.5),
        gain("heater", "useful", 0.4),
        gain("fan", "comfort", 0.2),
    )
    found = Dropping(beside="engine lost", gains=gains)
    order = ["music", "fan", "laptop", "heater", "pilot"]
    assert [one.load for one in found.switch_off] == order
    assert found.passages == 1
