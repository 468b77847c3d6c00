"""What is known of a field of the boat: its unit, its bounds, what it means, why its default.

Each is declared once, where the record names the field: `field(metadata=given(...))`. From there
boat.toml is read, docs/reference is written, and a record made in Python is held to its bounds.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, dataclass, field, fields
from functools import cache
from numbers import Real
from typing import Any

#: How a field's name ends, and what that says of its unit; what is longer comes first.
_SUFFIXES = (
    ("_frac_per_month", "frac/month"),
    ("_V_per_C", "V/degC"),
    ("_L_per_kWh", "L/kWh"),
    ("_L_per_h", "L/h"),
    ("_m_s", "m/s"),
    *((f"_{unit}", unit) for unit in ("Ah", "A", "V", "W", "kW", "h", "kn", "deg", "L", "m", "kg")),
    ("_C", "degC"),
    ("_frac", "frac"),
    ("_soc", "frac"),
)
#: Bounds of anything that is weighed; `size` makes it larger and smaller. [kg]
WEIGHT: dict[str, Any] = {"above": (0.0, 10_000.0), "derived": (0.0, 1e6)}


class FieldError(ValueError):
    """A field of a record holds what it cannot.

    Attributes
    ----------
    field : str
        Its name.
    value : object
        What it was given.
    """

    def __init__(self, field: str, value: object, wanted: str):
        super().__init__(f"{field} must be {wanted}, got {value!r}")
        self.field, self.value = field, value


@dataclass(frozen=True, slots=True)
class Bounds:
    """The numbers that a field may hold, in its unit.

    Attributes
    ----------
    least, most : float
        The ends.
    above : bool
        Whether it must be above `least`, and not `least` itself.

    Examples
    --------
    >>> str(Bounds(0.0, 1.2, above=True)), str(Bounds(1.0, 20_000.0))
    ('above 0 and at most 1.2', '1 to 20000')
    """

    least: float
    most: float
    above: bool = False

    def __contains__(self, value: float) -> bool:
        """Whether a number lies within; nan does not."""
        return self.least <= value <= self.most and not (self.above and value == self.least)

    def __str__(self) -> str:
        if self.above:
            return f"above {self.least:.10g} and at most {self.most:.10g}"
        return f"{self.least:.10g} to {self.most:.10g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Declared:
    """What is known of one field.

    Attributes
    ----------
    field : str
        Its name in the record.
    key : str
        Its name in boat.toml.
    kind : type
        float, int, bool or str; object for what has a way of its own to be written.
    unit : str or None
        As inputs.units knows it; "frac" is written in percent. None where it has none.
    meaning : str
        What it is, for the sailor.
    example : str
        A value that works; empty where the words say it all.
    expected : str
        Both, as a message has them.
    bounds : Bounds or None
        Of what a sailor may write; None for what is no number.
    derived : Bounds or None
        Of what a record may hold. The same, unless we make something else of what is written.
    usual : tuple of (float, float) or None
        As such boats have it; beyond it `check` asks. Our judgement; None where all is usual.
    one_of : tuple of str
        The words that it may be; empty for what is no choice.
    default : object
        Of the record; None where it has none, or where it depends on other fields.
    reason : str
        Why that default.
    without : str
        What holds where it is left out, if that is no default with a reason.
    required : bool
        It cannot be left out of boat.toml.
    optional : bool
        The record may have None.
    """

    field: str
    key: str
    kind: type
    unit: str | None
    meaning: str
    example: str
    expected: str
    bounds: Bounds | None
    derived: Bounds | None
    usual: tuple[float, float] | None
    one_of: tuple[str, ...]
    default: Any
    reason: str
    without: str
    required: bool
    optional: bool

    def check(self, value: Any) -> None:
        """Raise FieldError for what the field cannot hold."""
        if value is None and self.optional:
            return
        if self.one_of:
            fits, wanted = value in self.one_of, " or ".join(self.one_of)
        elif self.derived is not None:
            number = isinstance(value, Real) and not isinstance(value, bool)
            fits = number and value in self.derived and (self.kind is not int or value % 1 == 0)
            wanted = ("a whole number, " if self.kind is int else "") + str(self.derived)
        elif self.kind is bool:
            fits, wanted = value in (True, False), "True or False"
        else:
            return
        if not fits:
            raise FieldError(self.field, value, wanted)


def given(
    meaning: str,
    example: str = "",
    *,
    within: tuple[float, float] | None = None,
    above: tuple[float, float] | None = None,
    derived: tuple[float, float] | None = None,
    **more: Any,
) -> dict[str, Any]:
    """The metadata of a field that boat.toml has a key for.

    Parameters
    ----------
    meaning, example : str
        As in Declared.
    within, above : tuple of (float, float) or None
        Bounds of a number; `above` where the lower one itself is too little.
    derived : tuple of (float, float) or None
        Bounds of the record, where they are wider.
    **more
        `usual`, `one_of`, `reason`, `without`, `required`, as in Declared; `key` and `unit`, where
        the field's name does not say them; `expected`, where meaning and example do not.
    """
    ends = within or above
    if ends:
        more["bounds"] = Bounds(*ends, above=within is None)
        low, high = derived or ends
        more["derived"] = Bounds(low, high, above=within is None and low == ends[0])
    return {"meaning": meaning, "example": example} | more


def by_default(default: Any, meaning: str, example: str = "", **more: Any) -> Any:
    """A field with a default that boat.toml has a key for; the rest as in `given`."""
    return field(default=default, metadata=given(meaning, example, **more))


#: The metadata of absorption_V, float_V and temp_comp_V_per_C of whatever charges the bank.
ABSORPTION = given("its absorption voltage at 25 degC", "14.4 V", above=(0.0, 120.0))
FLOAT = given("its float voltage at 25 degC", "13.5 V", above=(0.0, 120.0))
SENSOR = given(
    "change of its voltages with the bank's warmth; 0 without a sensor",
    expected="-30 mV/degC on 12 V for lead-acid with a sensor, 0 mV/degC for none",
    within=(-1.0, 1.0),
)


@cache
def declared(record: type) -> Mapping[str, Declared]:
    """What is known of each field of a record that boat.toml has a key for, by its name.

    Parameters
    ----------
    record : dataclass
        One of the boat, such as Battery.

    Examples
    --------
    >>> from powersim.records import Battery
    >>> standby = declared(Battery)["standby_A"]
    >>> standby.key, standby.unit, str(standby.bounds)
    ('standby', 'A', '0 to 5')
    """
    return {one.name: _declared(one) for one in fields(record) if "meaning" in one.metadata}


def bounds_of(record: type, field: str) -> Bounds:
    """What a sailor may write of a number.

    Parameters
    ----------
    record : dataclass
    field : str
        Of a number.
    """
    bounds = declared(record)[field].bounds
    assert bounds is not None
    return bounds


def check_fields(record: object) -> None:
    """Raise FieldError, a ValueError, for a field that holds what it cannot.

    Parameters
    ----------
    record : dataclass
    """
    kind: Any = type(record)
    for name, one in declared(kind).items():
        one.check(getattr(record, name))


_KINDS = {"float": float, "int": int, "bool": bool, "str": str}


def _declared(one) -> Declared:
    said, kind = one.metadata, one.type.partition(" | ")[0]
    suffix, unit = next((pair for pair in _SUFFIXES if one.name.endswith(pair[0])), ("", None))
    one_of, meaning, example = said.get("one_of", ()), said["meaning"], said["example"]
    expected = f"{meaning}, for example {example}" if example else meaning
    if one_of:
        expected = " or ".join(one_of) if len(one_of) < 3 else f"one of {', '.join(one_of)}"
    return Declared(
        field=one.name,
        key=said.get("key", one.name.removesuffix(suffix)),
        kind=_KINDS.get(kind, object),
        unit=said.get("unit", unit),
        meaning=meaning,
        example=example,
        expected=said.get("expected", expected),
        bounds=said.get("bounds"),
        derived=said.get("derived"),
        usual=said.get("usual"),
        one_of=one_of,
        default=None if one.default is MISSING else one.default,
        reason=said.get("reason", ""),
        without=said.get("without", ""),
        required=said.get("required", False),
        optional=one.type.endswith("| None"),
    )
