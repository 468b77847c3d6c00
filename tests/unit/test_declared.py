"""What is known of each field of the boat holds for boat.toml and for Python alike.

Every number of every record is given what nobody can mean: nan, infinity, a billion below zero, and
what lies just beyond each of its bounds. Both ways must refuse it.
"""

import doctest
import json
import math
import re
from dataclasses import fields, is_dataclass, replace
from pathlib import Path

import pytest

from powersim.inputs.boat import KEYS_BY_TABLE, collect_boat
from powersim.inputs.boat_charging import COST_KEYS
from powersim.inputs.boat_solar import SHADE_KEYS
from powersim.inputs.boat_tank import PART_KEYS, TANK_KEYS
from powersim.inputs.text import ReadingError
from powersim.records import (
    Alternator,
    Battery,
    Boat,
    ChargingRule,
    Controller,
    Device,
    Engine,
    FieldError,
    Fuel,
    Panel,
    RuleCosts,
    ShadeSector,
    Shedding,
    ShorePower,
    Supply,
    Tank,
    TankPart,
    WaterGenerator,
    WindGenerator,
    declared,
)

#: A boat with one of everything, as TOML has it: each table a list of tables. Invented.
SECTOR = {"from": "200 deg", "to": "320 deg", "below": "60 deg"}
BOX = {"shape": "wedge", "length": "90 cm", "width": "60 cm", "height": "35 cm", "bottom": "9 cm"}
TABLES = {
    "boat": [{"name": "Tern"}],
    "battery": [
        {
            "chemistry": "flooded",
            "capacity": "220 Ah",
            "capacity_10h": "200 Ah",
            "capacity_5h": "180 Ah",
            "cycle_life": "1200 at 30 %; 700 at 50 %",
            "temperature": "bilge, at least 5 degC",
            "weight": "58 kg",
        }
    ],
    "panel": [{"power": "100 W", "weight": "8 kg", "mount": "hand", "shade": [SECTOR]}],
    "controller": [{"kind": "pwm", "rated": "20 A"}],
    "charger": [
        {"kind": "wind", "diameter": "1.15 m"},
        {"kind": "towed", "diameter": "30 cm"},
        {"kind": "shore", "rated": "20 A", "hours": "18:00-08:00"},
    ],
    "alternator": [{"nameplate": "75 A", "regulator": "multi-stage", "weight": "6 kg"}],
    "engine": [{"rated": "14 kW"}],
    "fuel": [{"tank": {"part": [BOX]}, "jerrycans": "20 L"}],
    "charging": [
        {
            "full_every": "14 days",
            "daily": ["1 h at 08:00 north of 50 N"],
            "costs": {"engine_hour": "0.4 L"},
        }
    ],
    "shedding": [{"comfort_below": "60 %", "useful_below": "45 %"}],
    "supply": [{"name": "inverter"}],
    "device": [{"name": "phone", "battery": "15 Wh", "use": "8 Wh/day"}],
}
SEVERAL = ("panel", "controller", "charger", "supply", "device")


def toml(value):
    """A value, a list or an inline table."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{name} = {toml(one)}" for name, one in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    return value if isinstance(value, Bare) else json.dumps(value)


class Bare(str):
    """A value that stands without quotes."""


def boat_toml(tables):
    head = {name: f"[[{name}]]" if name in SEVERAL else f"[{name}]" for name in tables}
    return "".join(
        "\n".join([head[name], *(f"{key} = {toml(value)}" for key, value in one.items()), ""])
        for name, several in tables.items()
        for one in several
    )


def read(tables, tmp_path):
    return collect_boat(tmp_path / "boat.toml", text=boat_toml(tables))


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    found = read(TABLES, tmp_path_factory.mktemp("whole"))
    assert found.problems == ()
    return found.boat


#: Where each record stands in the file, from TABLES inward.
PLACES = {
    Battery: ("battery", 0),
    Panel: ("panel", 0),
    ShadeSector: ("panel", 0, "shade", 0),
    Controller: ("controller", 0),
    WindGenerator: ("charger", 0),
    WaterGenerator: ("charger", 1),
    ShorePower: ("charger", 2),
    Alternator: ("alternator", 0),
    Engine: ("engine", 0),
    Fuel: ("fuel", 0),
    Tank: ("fuel", 0, "tank"),
    TankPart: ("fuel", 0, "tank", "part", 0),
    ChargingRule: ("charging", 0),
    RuleCosts: ("charging", 0, "costs"),
    Shedding: ("shedding", 0),
    Supply: ("supply", 0),
    Device: ("device", 0),
}
NUMBERS = [
    pytest.param(record, one, id=f"{record.__name__}.{name}")
    for record in PLACES
    for name, one in declared(record).items()
    if one.bounds is not None
]


def with_key(tables, place, key, value):
    """The tables with one value put in, and nothing else touched."""
    if not place:
        return tables | {key: value}
    first, *rest = place
    inner = with_key(tables[first], rest, key, value)
    if isinstance(tables, list):
        return [inner if number == first else one for number, one in enumerate(tables)]
    return tables | {first: inner}


def beyond(bounds):
    """What lies just outside, and what nobody means."""
    low = bounds.least if bounds.above else math.nextafter(bounds.least, -math.inf)
    return [low, math.nextafter(bounds.most, math.inf), math.nan, math.inf, -math.inf, -1e9]


def records_in(value):
    """Every record of a boat, the boat first."""
    if is_dataclass(value):
        yield value
        for one in fields(value):
            yield from records_in(getattr(value, one.name))
    elif isinstance(value, tuple):
        for one in value:
            yield from records_in(one)


def record_of(boat, record):
    return next(one for one in records_in(boat) if isinstance(one, record))


@pytest.mark.parametrize(("record", "one"), NUMBERS)
def test_python_refuses_what_lies_outside(whole, record, one):
    found = record_of(whole, record)
    for value in beyond(one.derived):
        with pytest.raises(FieldError) as caught:
            replace(found, **{one.field: value})
        assert str(caught.value).startswith(f"{one.field} must be ")
        assert str(one.derived) in str(caught.value)
        assert str(caught.value).endswith(f", got {value!r}")
    for value in ("1", True, 1j):
        with pytest.raises(FieldError):
            replace(found, **{one.field: value})


@pytest.mark.parametrize(("record", "one"), NUMBERS)
def test_python_takes_the_bounds_themselves(record, one):
    """Alone: with the rest of a boat the other end of a scale may not go."""
    for value in (one.derived.least, one.derived.most):
        if not (one.derived.above and value == one.derived.least):
            one.check(value)
    assert one.bounds.least in one.derived or one.bounds.above
    assert one.bounds.most in one.derived


#: How the file reads each of them.
KEYS = {
    (record, key.field): key
    for record, (table, *rest) in PLACES.items()
    for key in {
        RuleCosts: COST_KEYS,
        ShadeSector: SHADE_KEYS,
        Tank: TANK_KEYS,
        TankPart: PART_KEYS,
    }.get(record, KEYS_BY_TABLE[table])
}


@pytest.mark.parametrize(("record", "one"), NUMBERS)
def test_the_file_refuses_what_lies_outside(tmp_path, record, one):
    key, place = KEYS[record, one.field], PLACES[record]
    texts = [
        Bare(value) if one.unit is None else f"{value!r} {one.unit}" for value in beyond(one.bounds)
    ]
    for text in texts:
        with pytest.raises(ReadingError):
            key.kind.read(float(text) if isinstance(text, Bare) else text)
    tables = with_key(TABLES, place, one.name, texts[0])
    if (record, one.name) == (Fuel, "tank"):
        tables = TABLES | {"fuel": [{"tank": texts[0]}]}
    path = ".".join(part for part in (*place, one.name) if isinstance(part, str))
    problems = read(tables, tmp_path).problems
    assert any(problem.text.startswith(f"{path}: ") for problem in problems), problems


def numbers_in(value):
    """How many numbers a field holds, at any depth of tuples."""
    if isinstance(value, tuple):
        return sum(map(numbers_in, value))
    return int(isinstance(value, int | float) and not isinstance(value, bool))


def with_number(value, place, number):
    """The field with one of its numbers replaced."""
    if not isinstance(value, tuple):
        return number
    parts = []
    for part in value:
        count = numbers_in(part)
        parts.append(with_number(part, place, number) if 0 <= place < count else part)
        place -= count
    return tuple(parts)


def takes(record, field, value):
    try:
        replace(record, **{field: value})
    except ValueError:
        return False
    return True


def test_no_number_of_any_record_may_be_nonsense(whole):
    """Whether it is declared or not: every float and every int that the boat holds."""
    looked_at, taken = set(), []
    by_table = Tank(table=((0.0, 0.0), (0.1, 30.0), (0.35, 95.0)))
    for found in (*records_in(whole), by_table):
        for one in fields(found):
            value = getattr(found, one.name)
            for place in range(numbers_in(value)):
                taken += [
                    f"{type(found).__name__}.{one.name} took {wrong}"
                    for wrong in (math.nan, math.inf, -math.inf, -1e9)
                    if takes(found, one.name, with_number(value, place, wrong))
                ]
                looked_at.add((type(found), one.name))
    assert taken == []
    assert len(looked_at) > 80


def test_each_key_is_declared_or_stands_for_a_field_of_another_kind():
    """Only what fills no field by itself is left to the readers."""
    records = {}
    for record, (table, *rest) in PLACES.items():
        if not rest[1:]:
            records.setdefault(table, []).append(record)
    records["boat"] = [Boat]
    undeclared = [
        f"{table}.{key.name}"
        for table, found in records.items()
        for key in KEYS_BY_TABLE[table]
        if not any(key.field in declared(record) for record in found)
    ]
    assert undeclared == ["charger.kind", "charger.curve", "alternator.splitter"]


@pytest.mark.parametrize(
    ("record", "changes", "why"),
    [
        # 14 kW of a diesel: at most 0.45 L/h a kW, at least 0.01 at 45 % of its revs.
        (Engine, {"motoring_L_per_h": 6.31}, "motoring_L_per_h must be 0.063 to 6.3 at 14 kW"),
        (Engine, {"charging_L_per_h": 0.062}, "charging_L_per_h must be 0.063 to 6.3 at 14 kW"),
        (Alternator, {"charging_A": 150.1}, "charging_A must be at most 150 by its nameplate"),
        (Panel, {"power_W": 250.0}, "module_Vmp times module_Imp is 0.403 times power_W"),
        (Panel, {"module_Voc": 17.9}, "module_Vmp must lie below module_Voc"),
        (Battery, {"capacity_5h_Ah": 201.0}, "capacity_5h_Ah does not fit capacity_10h_Ah"),
        (Battery, {"nominal_V": 60.0}, "nominal_V must be 12, 24, 36 or 48, got 60.0"),
        (Battery, {"flat_soc": 0.5}, "flat_soc must lie below floor_soc"),
        (Shedding, {"useful_below_soc": 0.61}, "useful_below_soc 0.61 is above comfort_below_soc"),
        (WaterGenerator, {"from_kn": 10.0}, "from_kn must lie below to_kn"),
        (ChargingRule, {"shortest_h": 4.1}, "shortest_h must be above 0 and at most longest_h"),
        (Fuel, {"reserve_L": 400.0}, "reserve_L must be 0 to aboard_L"),
        (TankPart, {"bottom_m": 0.61}, "bottom_m must be 0 to width_m"),
    ],
)
def test_figures_that_do_not_go_together_are_refused_in_python_too(whole, record, changes, why):
    with pytest.raises(ValueError, match=f"^{re.escape(why)}"):
        replace(record_of(whole, record), **changes)


def test_the_page_on_the_records_tells_what_is_so(whole):
    page = Path(__file__).parents[2] / "docs" / "reference" / "records.md"
    found = doctest.testfile(str(page), module_relative=False)
    assert (found.failed, found.attempted) == (0, 3)
    with pytest.raises(FieldError) as caught:
        replace(whole.battery, capacity_Ah=math.nan)
    assert f"(`{caught.value}`)" in page.read_text(encoding="utf-8")
