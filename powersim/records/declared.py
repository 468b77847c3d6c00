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
#: What holds where a field is left out of which nothing else is said.
BY_THE_REST = "by the rest of the boat"
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
    field, name : str
        Its name in the record, and in boat.toml.
    holds : type
        float, int, bool or str; object for what has a way of its own to be written.
    unit : str or None
        Of a number, as inputs.units knows it; "frac" is written in percent. None without one.
    meaning, example : str
        What it is, for the sailor, and a value that works; no example where the words say it all.
    says : str
        What a message says instead of both; empty for both.
    bounds : Bounds or None
        Of what a sailor may write; None for what is no number.
    derived : Bounds or None
        Of what a record may hold. The same, unless we make something else of what is written.
    usual : tuple of (float, float) or None
        As such boats have it; beyond it `check` asks. Our judgement; None where all is usual.
    one_of : tuple of str
        The words that it may be; empty for what is no choice.
    default, reason : object, str
        Of the record, and why; None and empty where it has none, or where other fields decide.
    without : str
        What holds where it is left out, if that is no default with a reason: mostly that it
        follows from other fields.
    required, optional : bool
        It cannot be left out of boat.toml; the record may have None.
    """

    field: str
    name: str
    holds: type = object
    unit: str | None = None
    meaning: str = ""
    example: str = ""
    says: str = ""
    bounds: Bounds | None = None
    derived: Bounds | None = None
    usual: tuple[float, float] | None = None
    one_of: tuple[str, ...] = ()
    default: Any = None
    reason: str = ""
    without: str = BY_THE_REST
    required: bool = False
    optional: bool = False

    @property
    def expected(self) -> str:
        """What it should hold, with an example that works."""
        if self.says:
            return self.says
        if self.one_of:
            few = len(self.one_of) < 3
            return " or ".join(self.one_of) if few else f"one of {', '.join(self.one_of)}"
        return f"{self.meaning}, for example {self.example}" if self.example else self.meaning

    def check(self, value: Any) -> None:
        """Raise FieldError for what the field cannot hold."""
        if value is None and self.optional:
            return
        if self.one_of:
            fits, wanted = value in self.one_of, " or ".join(self.one_of)
        elif self.derived is not None:
            number = isinstance(value, Real) and not isinstance(value, bool)
            fits = number and value in self.derived and (self.holds is not int or value % 1 == 0)
            wanted = ("a whole number, " if self.holds is int else "") + str(self.derived)
        elif self.holds is bool:
            fits, wanted = isinstance(value, bool), "True or False"
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
        `usual`, `one_of`, `says`, `reason`, `without` and `required` as in Declared; `name` and
        `unit`, where the field's name does not say them.
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
AS_THE_BANK = "as the bank wants it"
_SETPOINT: dict[str, Any] = {"above": (0.0, 120.0), "without": AS_THE_BANK}
ABSORPTION = given("its absorption voltage at 25 degC", "14.4 V", **_SETPOINT)
FLOAT = given("its float voltage at 25 degC", "13.5 V", **_SETPOINT)
SENSOR = given(
    "change of its voltages with the bank's temperature; 0 without a sensor",
    says="-30 mV/degC on 12 V for lead-acid with a sensor, 0 mV/degC for none",
    within=(-1.0, 1.0),
    without=AS_THE_BANK,
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
    >>> standby.name, standby.unit, str(standby.bounds)
    ('standby', 'A', '0 to 5')
    """
    return {one.name: _declared(one) for one in fields(record) if "meaning" in one.metadata}


def bounds_of(record: type, field: str) -> Bounds:
    """What a sailor may write of a number.

    Parameters
    ----------
    record : dataclass
        The class of a record.
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
        One that has just been built.
    """
    kind: Any = type(record)
    for name, one in declared(kind).items():
        one.check(getattr(record, name))


def _declared(one: Any) -> Declared:
    suffix, unit = next((pair for pair in _SUFFIXES if one.name.endswith(pair[0])), ("", None))
    holds = {"float": float, "int": int, "bool": bool, "str": str}
    from_name = {
        "name": one.name.removesuffix(suffix),
        "unit": unit if "bounds" in one.metadata else None,
        "holds": holds.get(one.type.partition(" | ")[0], object),
        "default": None if one.default is MISSING else one.default,
        "optional": one.type.endswith("| None"),
    }
    return Declared(field=one.name, **(from_name | one.metadata))
