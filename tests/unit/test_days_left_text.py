"""How long the bank lasts, in one line, on days made up."""

from datetime import UTC, datetime

import numpy as np
import pytest
from builders import in_average
from hand_worked import passage_of

from powersim.planning.days_left import DaysLeft
from powersim.planning.endurance_table import DaysFrom, Endurance
from powersim.planning.failures import NO_CHARGING
from powersim.report.days_left_text import days_left_told


@pytest.fixture(scope="module")
def result():
    return in_average(passage_of(), step_h=1.0)


def told(result, *, floor, flat, worst, from_h=25.0):
    def moment(from_h, floor, flat):
        line = Endurance(
            loss=NO_CHARGING, loads="all loads", days_to_floor=floor, days_to_flat=flat
        )
        return DaysFrom(from_h=from_h, soc=1.0, days_to_landfall=2.0, lines=(line,))

    left = DaysLeft(departure=moment(0.0, floor, flat), worst=moment(from_h, floor, worst))
    return str(days_left_told(result, left.departure, left.worst))


def test_from_the_quay_and_from_the_worst_moment(result):
    """The passage leaves on 1 May at 00:00 UTC; 25 h later it is 2 May, 01:00."""
    assert result.passage.depart_utc == datetime(2026, 5, 1, tzinfo=UTC)
    said = told(result, floor=1.5, flat=2.6, worst=1.4)
    assert said.startswith(
        "all charging lost at departure: at its floor after 36 h, flat after 2.6 days; at the "
        "worst moment, Sat 2 May "
    )
    assert said.endswith(" (01:00 UTC): flat after 34 h")


def test_in_many_passages_the_tenth_that_comes_first(result):
    """Of eleven, the second: 1.1 days of 1.0, 1.1, ... 2.0, the middle one of which is 1.5."""
    many = np.linspace(1.0, 2.0, 11)
    same = np.full(11, 3.0)
    said = told(result, floor=many, flat=same, worst=many)
    assert "at its floor after 36 h (1 in 10 before 26 h), flat after 3.0 days; at the" in said
    assert said.endswith(": flat after 36 h (1 in 10 before 26 h)")


def test_the_tenth_that_is_dark_already(result):
    """Of eleven two have nothing left; the middle one has 14.4 h."""
    many = np.array([0.0, 0.0, *[0.6] * 9])
    assert told(result, floor=3.0, flat=3.0, worst=many).endswith(
        ": flat after 14 h (1 in 10 already)"
    )


def test_where_nothing_happens_or_has_happened_already(result):
    never = np.inf
    assert told(result, floor=never, flat=never, worst=never) == (
        "lasts to landfall with all charging lost at any moment"
    )
    assert told(result, floor=0.0, flat=0.5, worst=0.5, from_h=0.0) == (
        "all charging lost at departure, the worst moment: already below its floor, flat after 12 h"
    )
    assert ", flat after landfall; at the worst " in told(result, floor=1.0, flat=never, worst=1.0)
