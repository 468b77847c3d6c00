"""Records say of each field, where they are asked for help, all that is declared of it."""

import inspect

import pytest
from test_declared import PLACES
from test_docstrings import entries_of, unit_faults

from powersim.records import BankPlace, Boat, Load, Waypoint, declared

RECORDS = [*PLACES, BankPlace, Boat, Load, Waypoint]


@pytest.mark.parametrize("record", RECORDS)
def test_every_declared_field_is_described_with_its_bounds_and_its_default(record):
    entries = entries_of(record.__doc__, "Attributes")
    for name, one in declared(record).items():
        _, words = entries[name]
        assert not words[0].islower(), words
        assert one.derived is None or f": {one.derived}" in words
        assert one.reason in words
        assert words.rstrip("]").rstrip("-").count("..") == 0, words
    assert list(unit_faults(record.__name__, entries, strict=True)) == []


@pytest.mark.parametrize("record", RECORDS)
def test_what_is_written_by_hand_stands_first(record):
    """And nothing of it is lost but the units, which are declared."""
    by_hand = inspect.getsource(record).split('"""')[1]
    said = " ".join(record.__doc__.split())
    for names in entries_of(by_hand, "Attributes").values():
        words = names[1].partition(" [")[0].rstrip(".")
        assert words in said


def test_fields_are_told_in_their_order():
    told = list(entries_of(Waypoint.__doc__, "Attributes"))
    assert told[:4] == ["name", "lat_deg", "lon_deg", "speed_kn"]
