"""Ranges of sizes as they are typed, and the whole message for each that is wrong."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from powersim.errors import InputError
from powersim.inputs.ranges import (
    ALTERNATOR,
    BATTERY,
    SOLAR,
    refuse_too_many,
    sizes_of,
    words_of,
)

BATTERIES = "  expected  capacities at the 20-hour rate, for example --battery 150:400:50Ah"


@pytest.mark.parametrize(
    ("text", "kind", "sizes"),
    [
        ("150:400:50Ah", BATTERY, (150.0, 200.0, 250.0, 300.0, 350.0, 400.0)),
        ("100:400:50W", SOLAR, (100.0, 150.0, 200.0, 250.0, 300.0, 350.0, 400.0)),
        ("45A,90A", ALTERNATOR, (45.0, 90.0)),
        # A range ends at its last step that is not beyond its end.
        ("150:240:50 Ah", BATTERY, (150.0, 200.0)),
        ("200:200:50Ah", BATTERY, (200.0,)),
        # Each with a unit of its own, and single sizes beside ranges.
        ("0.15kW:300W:50W, 1 kW", SOLAR, (150.0, 200.0, 250.0, 300.0, 1000.0)),
        # No panels and no alternator are choices; no battery is none.
        ("0:100:100W", SOLAR, (0.0, 100.0)),
        ("0A", ALTERNATOR, (0.0,)),
        # Ten steps of a tenth come out at one whole.
        ("0.1:1:0.1kW", SOLAR, tuple(100.0 * place for place in range(1, 11))),
    ],
)
def test_sizes_as_they_are_typed(text, kind, sizes):
    assert sizes_of(text, kind) == pytest.approx(sizes, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "is empty, or has nothing on one side of a comma"),
        ("150Ah,", "is empty, or has nothing on one side of a comma"),
        ("400:150:50Ah", "'400:150:50Ah' runs backwards"),
        ("150:400:0Ah", "'150:400:0Ah' has a step that is not above 0 Ah"),
        ("150:400:-50Ah", "'150:400:-50Ah' has a step that is not above 0 Ah"),
        ("150:400Ah", "'150:400Ah' is not a range; write from:to:step"),
        ("150::50Ah", "'150::50Ah' is not a range; write from:to:step"),
        ("150", "'150' has no unit"),
        ("150:400:50W", "'150:400:50W' is a power"),
        ("0Ah", "'0Ah' has a size that is not above 0 Ah"),
        ("0.01:400:50Ah", "'0.01:400:50Ah' has a size that is below 0.1 Ah"),
        ("150Ah,100:200:50Ah", "'150Ah,100:200:50Ah' has 150 Ah twice"),
        ("1:100000:1Ah", "'1:100000:1Ah' has more than 10,000 sizes"),
        ("200000Ah", "'200000Ah' goes beyond 100000 Ah"),
        ("many", "cannot read 'many'"),
        ("nan:400:50Ah", "'nan:400:50Ah' is not a finite number"),
        ("150,5Ah", "'150' has no unit"),
    ],
)
def test_what_is_wrong_with_a_range(text, reason):
    with pytest.raises(InputError) as caught:
        sizes_of(text, BATTERY)
    assert str(caught.value) == f"battery: {reason}\n{BATTERIES}"


@pytest.mark.parametrize(
    ("kind", "text", "message"),
    [
        (
            SOLAR,
            "100:400:50Ah",
            "solar: '100:400:50Ah' is a charge\n"
            "  expected  watts of all panels together, for example --solar 100:400:100W",
        ),
        (
            ALTERNATOR,
            "-45A",
            "alternator: '-45A' has a size that is below 0\n"
            "  expected  hot output at charging revs, for example --alternator 45A,90A",
        ),
    ],
)
def test_each_option_has_its_own_example(kind, text, message):
    with pytest.raises(InputError) as caught:
        sizes_of(text, kind)
    assert str(caught.value) == message


@pytest.mark.parametrize("kind", [BATTERY, SOLAR, ALTERNATOR])
def test_every_example_can_be_read(kind):
    assert sizes_of(kind.example, kind)


@given(text=st.text(alphabet="0123456789:,.-+eEAhWk nif%", max_size=24))
def test_whatever_is_typed_gives_sizes_or_a_message(text):
    sizes, message = (), ""
    try:
        sizes = sizes_of(text, BATTERY)
    except InputError as error:
        message = str(error)
    assert bool(sizes) != bool(message)
    assert all(0.1 <= size <= BATTERY.most for size in sizes)
    assert len(set(sizes)) == len(sizes)
    if message:
        assert message.startswith("battery: ")
        assert message.endswith("for example --battery 150:400:50Ah")


def test_more_choices_than_anybody_means():
    refuse_too_many(10_000)
    with pytest.raises(InputError) as caught:
        refuse_too_many(10_001)
    assert str(caught.value) == (
        "size: these ranges make 10,001 choices\n"
        "  expected  at most 10,000; take longer steps, for example 150:400:50Ah"
    )


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("lifepo", "'lifepo' is not known here; did you mean 'lifepo4'?"),
        ("agm,agm", "'agm,agm' has agm twice"),
        ("agm,,gel", "'agm,,gel' has nothing on one side of a comma"),
        ("", "is empty"),
    ],
)
def test_what_is_wrong_with_a_list_of_words(text, reason):
    known = ("flooded", "gel", "agm", "lifepo4")
    with pytest.raises(InputError) as caught:
        words_of(text, known, option="chemistry", expected="one of them")
    assert str(caught.value) == f"chemistry: {reason}\n  expected  one of them"
