"""Every number format that a sailor sees, one function a kind.

Each takes one plain number and gives text: litres, depths, distances and temperatures in the units
aboard (`records.units_aboard`), with as many digits as litres have. What is not known (None or nan)
reads "–", what has no end (infinity) reads "no limit", and no zero has a minus sign.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TypeGuard, TypeVar

from powersim.records.units_aboard import INCHES, LITRES, UnitAboard, aboard

T = TypeVar("T")
UNKNOWN = "–"
UNLIMITED = "no limit"
#: A time shorter than this many days is told in hours.
HOURS_BELOW_DAYS = 2.0
#: Between the marks of a stick. [cm], [in]
_STEPS_CM = (1, 2, 5, 10, 20, 50, 100)
_STEPS_INCHES = (0.5, 1, 2, 4, 6, 12, 24, 48)


def number(value: float | None, *, decimals: int = 0) -> str:
    """A bare number with that many decimals.

    Examples
    --------
    >>> number(-0.004, decimals=2), number(float("nan"))
    ('0.00', '–')
    """
    return _with_unit(value, "", decimals=decimals)


def signed(value: float | None, *, decimals: int = 0, unit: str = "") -> str:
    """A difference, with its sign; zero has none.

    Examples
    --------
    >>> signed(3.26, decimals=1, unit="Ah"), signed(-0.01, decimals=1, unit="Ah")
    ('+3.3 Ah', '0.0 Ah')
    """
    text = _with_unit(value, unit, decimals=decimals)
    return f"+{text}" if is_number(value) and round(value, decimals) > 0 else text


def plural(count: int, thing: str, things: str | None = None) -> str:
    """A count with its noun.

    Parameters
    ----------
    count : int
        How many there are.
    thing, things : str
        The noun of one and of several; without the latter it is that of one and an s.

    Examples
    --------
    >>> plural(1, "problem"), plural(3, "problem"), plural(2, "battery", "batteries")
    ('1 problem', '3 problems', '2 batteries')
    """
    return f"{count} {thing if count == 1 else things or thing + 's'}"


def _in(
    unit: str, *, decimals: int = 0, below: float = 0.0, times: float = 1.0
) -> Callable[[float | None], str]:
    """A format with so many decimals, and one more for what still rounds to less than `below`."""

    def form(value: float | None) -> str:
        value = value * times if is_number(value) else value
        more = is_number(value) and abs(round(value, decimals + 1)) < below
        return _with_unit(value, unit, decimals=decimals + more)

    return form


def _aboard(
    of: str, *, decimals: int = 0, below: float = 0.0, finer_below: float = 0.0, per: str = ""
) -> Callable[[float | None], str]:
    """The same in a unit aboard. What is counted in a larger unit has one more decimal below
    `finer_below`: 2.64 US gal say what 10.0 L do.
    """

    def form(value: float | None) -> str:
        unit: UnitAboard = getattr(aboard(), of)
        value = unit.of(value) if is_number(value) else value
        more = 0
        if is_number(value):
            more += abs(round(value, decimals + 1)) < below
            more += unit.more > 0 and abs(round(value, decimals + 2)) < finer_below
        return _with_unit(value, unit.symbol + per, decimals=decimals + more)

    return form


ah = _in("Ah", below=10)
#: What one use of something takes: a tenth would be all of it.
charge_each = _in("Ah", decimals=2)
watts = _in("W", below=10)
miles = _aboard("distance", below=10)
#: Two decimals below 1 A, since standing loads are small.
amps = _in("A", decimals=1, below=1)
#: As a panel meter shows it.
volts = _in("V", decimals=2)
litres = _aboard("volume", below=100, finer_below=10)
litres_per_hour = _aboard("volume", decimals=2, finer_below=1, per="/h")
#: As on an hour meter.
hours = _in("h", below=100)
knots = _in("kn", decimals=1)
celsius = _aboard("temperature")
#: State of charge, or any share.
soc = _in("%", times=100)
#: A short time, given in hours.
minutes = _in("min", times=60)
_whole_hours, _days = _in("h"), _in("days", below=10)
_wh, _kwh = _in("Wh", below=10), _in("kWh", decimals=1, times=1e-3)


def span(least: T, most: T, form: Callable[[T], str]) -> str:
    """From one figure to another, as `form` writes them; one alone where both read alike.

    Examples
    --------
    >>> span(0.52, 0.61, soc), span(134.8, 135.3, hours)
    ('52 % to 61 %', '135 h')
    """
    first, last = form(least), form(most)
    return first if first == last else f"{first} to {last}"


def within(middle: float, least: float, most: float, form: Callable[[float], str]) -> str:
    """A figure, and in brackets between which it lies; alone where both read as it does.

    Examples
    --------
    >>> within(135.0, 120.0, 151.0, hours), within(135.0, 134.8, 135.3, hours)
    ('135 h (120 h to 151 h)', '135 h')
    """
    text, between = form(middle), span(least, most, form)
    return text if between == text else f"{text} ({between})"


def wh(energy_Wh: float | None) -> str:
    """Energy: kilowatt-hours from 10 of them up.

    Examples
    --------
    >>> wh(430.4), wh(12_345.0)
    ('430 Wh', '12.3 kWh')
    """
    many = is_number(energy_Wh) and abs(round(energy_Wh)) >= 10_000
    return (_kwh if many else _wh)(energy_Wh)


def percent(frac: float) -> str:
    """A chance in whole percent, what is rare or nearly sure told from none and all.

    Examples
    --------
    >>> percent(0.0), percent(0.005), percent(0.054), percent(0.998)
    ('0 %', '<1 %', '5 %', '>99 %')
    """
    whole = soc(frac)
    if frac > 0.0 and whole == soc(0.0):
        return "<1 %"
    return ">99 %" if frac < 1.0 and whole == soc(1.0) else whole


def tenths_of_percent(frac: float) -> str:
    """A chance to a tenth of a per cent.

    Examples
    --------
    >>> tenths_of_percent(0.0238), tenths_of_percent(0.0)
    ('2.4 %', '0.0 %')
    """
    return f"{number(100.0 * frac, decimals=1)} %"


def one_in(frac: float) -> str:
    """A share as it is said: one in so many, or so many in a hundred.

    Examples
    --------
    >>> one_in(0.05), one_in(0.1), one_in(0.03), one_in(0.0)
    ('1 in 20', '1 in 10', '3 in 100', 'none')
    """
    if frac <= 0.0:
        return "none"
    tried = 1.0 / frac
    if abs(tried - round(tried)) < 1e-6 * tried:
        return "all" if round(tried) == 1 else f"1 in {round(tried)}"
    return f"{100.0 * frac:.3g} in 100"


def apart(frac: float, limit_frac: float, *, form: Callable[[float], str] = soc) -> str:
    """A share, with a decimal where whole percents would hide on which side of a limit it is.

    Examples
    --------
    >>> apart(0.56, 0.5), apart(0.498, 0.5), apart(0.5, 0.5)
    ('56 %', '49.8 %', '50 %')
    """
    if frac == limit_frac or form(frac) != form(limit_frac):
        return form(frac)
    return f"{number(100.0 * frac, decimals=1)} %"


def hours_minutes(time_h: float | None) -> str:
    """Time as it is kept on a watch.

    Examples
    --------
    >>> hours_minutes(2.25), hours_minutes(0.75), hours_minutes(3.0)
    ('2 h 15 min', '45 min', '3 h')
    """
    if not is_number(time_h):
        return _whole_hours(time_h)
    whole_h, rest_min = divmod(round(abs(time_h) * 60), 60)
    sign = "-" if time_h < 0 and (whole_h or rest_min) else ""
    parts = [f"{whole_h} h"] if whole_h else []
    if rest_min or not whole_h:
        parts.append(f"{rest_min} min")
    return sign + " ".join(parts)


def days(time_days: float | None) -> str:
    """Days: hours below two of them, which a tired head need not multiply; one decimal below 10.

    Examples
    --------
    >>> days(12.3), days(2.6), days(1.5), days(float("inf"))
    ('12 days', '2.6 days', '36 h', 'no limit')
    >>> days(0.01), days(0.0)
    ('14 min', '0 h')
    """
    if not is_number(time_days) or abs(time_days) >= HOURS_BELOW_DAYS:
        return _days(time_days)
    time_h = 24.0 * time_days
    short = abs(round(time_h)) < 1 and round(60.0 * time_h) != 0
    return minutes(time_h) if short else _whole_hours(time_h)


def bare_days(time_days: float | None) -> str:
    """Days in a column that is headed so: the number alone, with its unit where it is in hours.

    Examples
    --------
    >>> bare_days(12.3), bare_days(1.5)
    ('12', '36 h')
    """
    return days(time_days).removesuffix(" days")


def bare_litres(volume_L: float | None) -> str:
    """A volume in a column that is headed by its unit.

    Examples
    --------
    >>> bare_litres(31.0), bare_litres(145.2)
    ('31.0', '145')
    """
    return litres(volume_L).removesuffix(f" {aboard().volume.symbol}")


def tenth_litres(volume_L: float | None) -> str:
    """A term of a sum in a column or a line that names its unit, to a tenth of a litre.

    Examples
    --------
    >>> tenth_litres(145.23)
    '145.2'
    """
    unit = aboard().volume
    value = unit.of(volume_L) if is_number(volume_L) else volume_L
    return number(value, decimals=1 + unit.more)


def whole_litres(volume_L: float) -> str:
    """A volume in a row that is headed by its unit, to a litre.

    Examples
    --------
    >>> whole_litres(31.4)
    '31'
    """
    unit = aboard().volume
    return number(unit.of(volume_L), decimals=unit.more)


def litres_within(middle_L: float, least_L: float, most_L: float) -> str:
    """A volume, and between which it lies; a long unit is not said three times.

    Examples
    --------
    >>> litres_within(26.2, 19.8, 30.0)
    '26.2 L (19.8 L to 30.0 L)'
    """
    if aboard().volume is LITRES:
        return f"{litres(middle_L)} ({litres(least_L)} to {litres(most_L)})"
    return f"{litres(middle_L)} ({bare_litres(least_L)} to {bare_litres(most_L)})"


def more_litres(volume_L: float) -> str:
    """A difference of volumes, with its sign.

    Examples
    --------
    >>> more_litres(3.26), more_litres(-0.01)
    ('+3.3 L', '0.0 L')
    """
    unit = aboard().volume
    return signed(unit.of(volume_L), decimals=1 + unit.more, unit=unit.symbol)


def depth(depth_m: float) -> str:
    """A depth on the stick, to a millimetre or a sixteenth of an inch.

    Examples
    --------
    >>> depth(0.235), depth(0.24)
    ('23.5 cm', '24 cm')
    """
    if aboard().depth is INCHES:
        return inches(depth_m)
    return f"{100.0 * depth_m:.1f} cm".replace(".0 cm", " cm")


def stick_marks(top_m: float, most: float | None = None) -> float:
    """Between the marks of a stick, centimetres or half inches, fewer than `most` of them. [m]

    Examples
    --------
    >>> stick_marks(0.27), stick_marks(0.27, most=8)
    (0.01, 0.05)
    """
    in_inches = aboard().depth is INCHES
    top = INCHES.of(top_m) if in_inches else 100.0 * top_m
    steps = _STEPS_INCHES if in_inches else _STEPS_CM
    step = next((one for one in steps if most is None or top / one <= most), steps[-1])
    return step * INCHES.size if in_inches else step / 100.0


def inches(depth_m: float) -> str:
    """A depth in inches and sixteenths, as on a rule.

    Examples
    --------
    >>> inches(0.23495), inches(0.2032), inches(0.0016)
    ('9 1/4 in', '8 in', '1/16 in')
    """
    whole, rest = divmod(round(16.0 * INCHES.of(depth_m)), 16)
    if not rest:
        return f"{whole} {INCHES.symbol}"
    down = rest & -rest  # the largest power of two in it
    parts = [*([f"{whole}"] if whole else []), f"{rest // down}/{16 // down}", INCHES.symbol]
    return " ".join(parts)


def degrees(angle_deg: float | None) -> str:
    """An angle in whole degrees.

    Examples
    --------
    >>> degrees(14.6)
    '15°'
    """
    return _with_unit(angle_deg, "°").replace(" °", "°")


def is_number(value: float | None) -> TypeGuard[float]:
    """Whether it is known and has an end."""
    return value is not None and math.isfinite(value)


def _with_unit(value: float | None, unit: str, *, decimals: int = 0) -> str:
    if value is None or math.isnan(value):
        return UNKNOWN
    if math.isinf(value):
        return UNLIMITED if value > 0 else f"-{UNLIMITED}"
    text = f"{value:.{decimals}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return f"{text} {unit}".rstrip()
