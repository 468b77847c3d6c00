"""What a record shows at a prompt, and what it is the same as."""

import dataclasses
from dataclasses import dataclass, replace
from pathlib import PurePosixPath

import numpy as np
import pytest
from builders import passage_of

import powersim
from powersim.inputs.starter import demo_files
from powersim.records.brief import MOST_LINES, WIDTH, brief


@pytest.fixture(scope="module")
def asked(tmp_path_factory):
    """Every kind of thing that a notebook is given; the passage is the demo's, which is long."""
    folder = tmp_path_factory.mktemp("demo")
    for name, text in demo_files().items():
        (folder / name).write_text(text, encoding="utf-8")
    ready = powersim.prepare(passage_of(days=1.0), members=3, step_h=1.0)
    return {
        "passage": powersim.load(folder),
        "prepared": ready,
        "result": ready.simulate(),
        "budget": powersim.budget(ready),
        "endurance": powersim.endurance(ready, members=3),
        "ladder": powersim.ladder(ready, members=20),
    }


def records_in(thing, seen):
    """All records that can be reached from one."""
    if id(thing) in seen:
        return
    seen.add(id(thing))
    if dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        yield thing
        for field in dataclasses.fields(thing):
            yield from records_in(getattr(thing, field.name), seen)
    elif isinstance(thing, list | tuple):
        for part in thing:
            yield from records_in(part, seen)


def lines_of(text):
    """How many lines it takes where lines are cut at 80 columns."""
    return sum(max(1, -(-len(line) // WIDTH)) for line in text.split("\n"))


def test_every_record_that_a_notebook_meets_shows_itself_in_ten_lines(asked):
    met = [record for thing in asked.values() for record in records_in(thing, set())]
    kinds = {type(record).__name__ for record in met}
    assert {"Passage", "Result", "Prepared", "Track", "Sky", "Signals", "EnduranceTable"} <= kinds
    long = {type(record).__name__ for record in met if lines_of(repr(record)) > MOST_LINES}
    assert long == set()


def test_a_result_says_of_what_it_is(asked):
    assert repr(asked["result"]) == (
        "Result('a passage for tests', 1.0 days from 2026-09-05 09:00 UTC\n"
        f"  in steps of 60 min, 3 members, lowest_soc={asked['result'].flow.soc.min():.3f})"
    )
    assert repr(asked["passage"]).startswith(
        "Passage(name='Iceland to Cabo Verde', depart_utc=2026-09-05 09:00+00:00,\n"
        "  waypoints=(10*Waypoint), boat=Boat('an invented 9 m sloop', ...),\n"
    )


def test_what_holds_arrays_is_the_same_as_itself_alone(asked):
    """Else == would ask numpy for one truth of many numbers, and raise."""
    result, table = asked["result"], asked["endurance"]
    for record in (result, result.prepared, result.ensemble, table, *table.lines):
        again = replace(record)
        assert record == record
        assert record != again
        assert len({record, again}) == 2


def test_a_passage_is_the_same_as_one_of_the_same_values(asked):
    passage = asked["passage"]
    assert passage == powersim.load(passage.folder)
    assert passage != passage.with_("battery.capacity", "300 Ah")


@dataclass(frozen=True)
class Sample:
    first: object = None
    second: object = None

    __repr__ = brief


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (1.5, "1.5"),
        (np.zeros((2, 3)), "float64[2, 3]"),
        (np.float64(1.5), "1.5"),
        (np.array(2), "2"),
        ((1, 2), "(1, 2)"),
        ((1,), "(1,)"),
        ((), "()"),
        ((1, 2, 3, 4, 5), "(5*int)"),
        ((1, "a", 3, 4, 5), "(5*parts)"),
        ({"a": 1}, "{1 keys}"),
        (PurePosixPath("/a/boat"), "'/a/boat'"),
        ("x" * 50, repr("x" * 37 + "...")),
        (Sample(), "Sample(...)"),
        (slice(10**30, 10**30), "<slice>"),
    ],
    ids=str,
)
def test_one_field(value, told):
    assert repr(Sample(first=value)) == f"Sample(first={told}, second=None)"


def test_what_would_be_longer_is_cut():
    many = dataclasses.make_dataclass(
        "Many", [(f"field_number_{number}", float, 1.0) for number in range(100)], frozen=True
    )
    lines = brief(many()).split("\n")
    assert len(lines) == MOST_LINES
    assert lines[-1] == "  ...)"
    assert max(map(len, lines)) <= WIDTH
