"""What is said of a leg or a stop, and why the rest is not understood."""

import pytest

from powersim.inputs import legs
from powersim.inputs.text import ReadingError


@pytest.mark.parametrize(
    ("text", "fields"),
    [
        ("2 h at start", {"motoring_start_h": 2.0}),
        ("90 min at the end", {"motoring_end_h": 1.5}),
        ("60 % of calms", {"motoring_calm_frac": 0.6}),
        ("100 % of the calm", {"motoring_calm_frac": 1.0}),
        ("3 h at end;2 h At Start", {"motoring_end_h": 3.0, "motoring_start_h": 2.0}),
        ("none", {}),
        ("0 h", {}),
        ("", {}),
    ],
)
def test_time_under_power(text, fields):
    assert legs.read_motoring(text) == fields


@pytest.mark.parametrize(
    ("read", "text", "reason"),
    [
        (legs.read_motoring, "2 h", "cannot read '2 h'"),
        (legs.read_motoring, "2 h at dawn", "cannot read '2 h at dawn'"),
        (legs.read_motoring, "2 kn at start", "'2 kn' is a speed"),
        (legs.read_motoring, "2 at start", "'2' has no unit"),
        (
            legs.read_motoring,
            "-1 h at end",
            "'-1 h' under power is not between 0 days and 366 days",
        ),
        (
            legs.read_motoring,
            "120 % of calms",
            "'120 %' of calms is not between 0 % and 100 %",
        ),
        (
            legs.read_motoring,
            "1 h at end; 2 h at end",
            "'1 h at end; 2 h at end' says one thing twice",
        ),
        (legs.read_speed, "-4 kn", "'-4 kn' never arrives"),
        (legs.read_speed, "0.1 kn", "'0.1 kn' is not between 0.2 kn and 40 kn"),
        (legs.read_stop, "400 days", "'400 days' is not between 0 days and 366 days"),
        (legs.read_stop, "berthed", "is empty"),
        (legs.read_stop, "4\ndays berthed", r"cannot read '4\ndays berthed'"),
        (legs.read_track, "loxodrome", "'loxodrome' is not known here"),
        (legs.read_tack, "starbord", "'starbord' is not known here; did you mean 'starboard'?"),
        (legs.read_heel, "61 deg", "'61 deg' is not between 0 deg and 60 deg"),
        (legs.read_wind, "-5 kn", "'-5 kn' is not between 0 m/s and 60 m/s"),
        (legs.read_cabin, "70 degC", "'70 degC' is not between -30 degC and 60 degC"),
        (legs.read_cloud, "9/8", "cannot read '9/8'"),
        (legs.read_cloud, "-1", "'-1' is not between 0 oktas and 8 oktas"),
    ],
)
def test_what_cannot_be_meant_says_why(read, text, reason):
    with pytest.raises(ReadingError) as caught:
        read(text)
    assert caught.value.reason == reason
