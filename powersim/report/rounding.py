"""Every number format that a sailor sees, one function a kind.

Each takes one plain number in the unit its parameter names and gives text. What is not known
(None or nan) reads "–", what has no end (infinity) reads "no limit", and no zero has a minus sign.
"""

from __future__ import annotations

import math
from datetime import UTC, timedelta

UNKNOWN = "–"
UNLIMITED = "no limit"
#: A time shorter than this many days is told in hours.
HOURS_BELOW_DAYS = 2.0
# Spelled out here since strftime follows the machine's language.
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def number(value, *, decimals: int = 0) -> str:
    """A bare number with that many decimals.

    Examples
    --------
    >>> number(-0.004, decimals=2), number(float("nan"))
    ('0.00', '–')
    """
    return _with_unit(value, "", decimals=decimals)


def signed(value, *, decimals: int = 0, unit: str = "") -> str:
    """A difference, with its sign; zero has none.

    Examples
    --------
    >>> signed(3.26, decimals=1, unit="Ah"), signed(-0.01, decimals=1, unit="Ah")
    ('+3.3 Ah', '0.0 Ah')
    """
    text = _with_unit(value, unit, decimals=decimals)
    return f"+{text}" if _is_number(value) and round(value, decimals) > 0 else text


def plural(count: int, thing: str, things: str | None = None) -> str:
    """A count with its noun.

    Examples
    --------
    >>> plural(1, "problem"), plural(3, "problem"), plural(2, "battery", "batteries")
    ('1 problem', '3 problems', '2 batteries')
    """
    return f"{count} {thing if count == 1 else things or thing + 's'}"


def span(least, most, form) -> str:
    """From one figure to another; the figure alone where both read alike.

    Parameters
    ----------
    least, most : float
        In whatever unit `form` takes.
    form : callable
        How they are written.

    Returns
    -------
    str

    Examples
    --------
    >>> span(0.52, 0.61, soc), span(134.8, 135.3, hours)
    ('52 % to 61 %', '135 h')
    """
    first, last = form(least), form(most)
    return first if first == last else f"{first} to {last}"


def within(middle, least, most, form, *, what: str = "", inside: str = "") -> str:
    """A figure, and in brackets between which it lies; alone where both read as it does.

    Parameters
    ----------
    middle, least, most : float
        In whatever unit `form` takes.
    form : callable
        How they are written.
    what : str
        What it is, before the brackets.
    inside : str
        What is said in the brackets first.

    Returns
    -------
    str

    Examples
    --------
    >>> within(135.0, 120.0, 151.0, hours), within(135.0, 134.8, 135.3, hours)
    ('135 h (120 h to 151 h)', '135 h')
    """
    text, between = form(middle), span(least, most, form)
    return f"{text}{what}" if between == text else f"{text}{what} ({inside}{between})"


def in_eight_of_ten(middle, least, most, form) -> str:
    """A median over weathers, and the eight tenths about it.

    Parameters
    ----------
    middle, least, most : float
        In whatever unit `form` takes.
    form : callable
        How they are written.

    Returns
    -------
    str

    Examples
    --------
    >>> in_eight_of_ten(0.56, 0.52, 0.61, soc), in_eight_of_ten(0.561, 0.559, 0.563, soc)
    ('median 56 %, in 8 of 10 weathers 52 % to 61 %', 'median 56 %, the same in 8 of 10 weathers')
    """
    text, between = form(middle), span(least, most, form)
    if between == text:
        return f"median {text}, the same in 8 of 10 weathers"
    return f"median {text}, in 8 of 10 weathers {between}"


def ah(charge_Ah) -> str:
    """Charge: one decimal below 10.

    Examples
    --------
    >>> ah(12.34), ah(0.25), ah(9.96)
    ('12 Ah', '0.2 Ah', '10 Ah')
    """
    return _with_unit(charge_Ah, "Ah", decimals=_few(charge_Ah))


def wh(energy_Wh) -> str:
    """Energy: kilowatt-hours from 10 of them up.

    Examples
    --------
    >>> wh(430.4), wh(12_345.0)
    ('430 Wh', '12.3 kWh')
    """
    if _is_number(energy_Wh) and abs(round(energy_Wh)) >= 10_000:
        return _with_unit(energy_Wh / 1000, "kWh", decimals=1)
    return _with_unit(energy_Wh, "Wh", decimals=_few(energy_Wh))


def watts(power_W) -> str:
    """Power: one decimal below 10.

    Examples
    --------
    >>> watts(36.2), watts(2.5)
    ('36 W', '2.5 W')
    """
    return _with_unit(power_W, "W", decimals=_few(power_W))


def amps(current_A) -> str:
    """Current: one decimal, two below 1 A, since standing loads are small.

    Examples
    --------
    >>> amps(12.34), amps(0.03)
    ('12.3 A', '0.03 A')
    """
    small = _is_number(current_A) and abs(round(current_A, 2)) < 1
    return _with_unit(current_A, "A", decimals=2 if small else 1)


def volts(voltage_V) -> str:
    """Voltage: two decimals, as a panel meter shows.

    Examples
    --------
    >>> volts(12.449)
    '12.45 V'
    """
    return _with_unit(voltage_V, "V", decimals=2)


def soc(charge_frac) -> str:
    """State of charge, or any share, in whole percent.

    Examples
    --------
    >>> soc(0.571)
    '57 %'
    """
    return _with_unit(charge_frac * 100 if _is_number(charge_frac) else charge_frac, "%")


def litres(volume_L) -> str:
    """Diesel: one decimal below 100.

    Examples
    --------
    >>> litres(7.04), litres(131.2)
    ('7.0 L', '131 L')
    """
    small = _is_number(volume_L) and abs(round(volume_L, 1)) < 100
    return _with_unit(volume_L, "L", decimals=1 if small else 0)


def litres_per_hour(burn_L_per_h) -> str:
    """Burn: two decimals.

    Examples
    --------
    >>> litres_per_hour(0.7)
    '0.70 L/h'
    """
    return _with_unit(burn_L_per_h, "L/h", decimals=2)


def hours(time_h) -> str:
    """Time as on an hour meter: one decimal below 100.

    Examples
    --------
    >>> hours(1.26), hours(250.4)
    ('1.3 h', '250 h')
    """
    small = _is_number(time_h) and abs(round(time_h, 1)) < 100
    return _with_unit(time_h, "h", decimals=1 if small else 0)


def hours_minutes(time_h) -> str:
    """Time as it is kept on a watch.

    Examples
    --------
    >>> hours_minutes(2.25), hours_minutes(0.75), hours_minutes(3.0)
    ('2 h 15 min', '45 min', '3 h')
    """
    if not _is_number(time_h):
        return _with_unit(time_h, "h")
    whole_h, rest_min = divmod(round(abs(time_h) * 60), 60)
    sign = "-" if time_h < 0 and (whole_h or rest_min) else ""
    parts = [f"{whole_h} h"] if whole_h else []
    if rest_min or not whole_h:
        parts.append(f"{rest_min} min")
    return sign + " ".join(parts)


def minutes(time_h) -> str:
    """A short time in minutes.

    Examples
    --------
    >>> minutes(1.5)
    '90 min'
    """
    return _with_unit(time_h * 60 if _is_number(time_h) else time_h, "min")


def days(time_days) -> str:
    """Days: hours below two of them, which a tired head need not multiply; one decimal below 10.

    Examples
    --------
    >>> days(12.3), days(2.6), days(1.5), days(float("inf"))
    ('12 days', '2.6 days', '36 h', 'no limit')
    >>> days(0.01), days(0.0)
    ('14 min', '0 h')
    """
    if not _is_number(time_days) or abs(time_days) >= HOURS_BELOW_DAYS:
        return _with_unit(time_days, "days", decimals=_few(time_days))
    time_h = 24.0 * time_days
    short = abs(round(time_h)) < 1 and round(60.0 * time_h) != 0
    return minutes(time_h) if short else _with_unit(time_h, "h")


def bare_days(time_days) -> str:
    """Days in a column that is headed so: the number alone, with its unit where it is in hours.

    Examples
    --------
    >>> bare_days(12.3), bare_days(1.5)
    ('12', '36 h')
    """
    return days(time_days).removesuffix(" days")


def miles(distance_nm) -> str:
    """Distance in nautical miles: one decimal below 10.

    Examples
    --------
    >>> miles(1741.6)
    '1742 nm'
    """
    return _with_unit(distance_nm, "nm", decimals=_few(distance_nm))


def knots(speed_kn) -> str:
    """Speed: one decimal.

    Examples
    --------
    >>> knots(4.5)
    '4.5 kn'
    """
    return _with_unit(speed_kn, "kn", decimals=1)


def degrees(angle_deg) -> str:
    """An angle in whole degrees.

    Examples
    --------
    >>> degrees(14.6)
    '15°'
    """
    return _with_unit(angle_deg, "°").replace(" °", "°")


def latitude(lat_deg) -> str:
    """A parallel in whole degrees.

    Examples
    --------
    >>> latitude(64.15), latitude(-30.0)
    ('64°N', '30°S')
    """
    return degrees(abs(lat_deg)) + ("N" if lat_deg >= 0 else "S")


def celsius(temperature_C) -> str:
    """Temperature in whole degrees.

    Examples
    --------
    >>> celsius(-0.3)
    '0 °C'
    """
    return _with_unit(temperature_C, "°C")


def position(lat_deg, lon_deg) -> str:
    """A position as on a chart, to the minute.

    Examples
    --------
    >>> position(38.5333, -28.6333)
    "38°32'N 028°38'W"
    >>> position(-0.9999, 181.0)
    "01°00'S 179°00'W"
    """
    if not (_is_number(lat_deg) and _is_number(lon_deg)):
        return UNKNOWN
    if not -180 <= lon_deg <= 180:
        lon_deg = (lon_deg + 180) % 360 - 180
    return f"{_arc(lat_deg, 2, 'NS')} {_arc(lon_deg, 3, 'EW')}"


def plain_position(lat_deg, lon_deg) -> str:
    """A position without signs, as route.csv takes it: a spreadsheet may garble a degree sign.

    Examples
    --------
    >>> plain_position(38.5333, -28.6333)
    '38 32 N 028 38 W'
    """
    signed = position(lat_deg, lon_deg)
    return signed.replace("°", " ").replace("'", " ")


def date(when_utc, *, ship_offset_h: float = 0.0) -> str:
    """A day on the ship's calendar.

    Examples
    --------
    >>> from datetime import datetime
    >>> date(datetime(2026, 9, 5, 23, 30, tzinfo=UTC), ship_offset_h=1.0)
    'Sun 6 Sep 2026'
    """
    when = _at_ship(when_utc, ship_offset_h)
    return f"{_day(when)} {when.year}"


def short_date(when_utc, *, ship_offset_h: float = 0.0) -> str:
    """A day on the ship's calendar without its weekday and year.

    Examples
    --------
    >>> from datetime import datetime
    >>> short_date(datetime(2026, 9, 5, 23, 30, tzinfo=UTC), ship_offset_h=1.0)
    '6 Sep'
    """
    when = _at_ship(when_utc, ship_offset_h)
    return f"{when.day} {_MONTHS[when.month - 1]}"


def ship_time(when_utc, *, ship_offset_h: float = 0.0) -> str:
    """A moment in ship's time alone.

    Examples
    --------
    >>> from datetime import datetime
    >>> ship_time(datetime(2026, 9, 5, 10, 0, tzinfo=UTC), ship_offset_h=-1.0)
    'Sat 5 Sep 09:00'
    """
    when = _at_ship(when_utc, ship_offset_h)
    return f"{_day(when)} {when:%H:%M}"


def moment(when_utc, *, ship_offset_h: float = 0.0) -> str:
    """A moment in ship's time with UTC beside it, and UTC's own day where that differs.

    Examples
    --------
    >>> from datetime import datetime
    >>> moment(datetime(2026, 9, 5, 10, 0, tzinfo=UTC), ship_offset_h=-1.0)
    'Sat 5 Sep 09:00 (10:00 UTC)'
    >>> moment(datetime(2026, 9, 6, 0, 30, tzinfo=UTC), ship_offset_h=-2.0)
    'Sat 5 Sep 22:30 (Sun 00:30 UTC)'
    """
    ship, utc = _at_ship(when_utc, ship_offset_h), _at_ship(when_utc, 0.0)
    other_day = "" if ship.date() == utc.date() else f"{_DAYS[utc.weekday()]} "
    return f"{_day(ship)} {ship:%H:%M} ({other_day}{utc:%H:%M} UTC)"


def _is_number(value) -> bool:
    return value is not None and math.isfinite(value)


def _few(value) -> int:
    """One decimal for what still rounds to less than 10."""
    return 1 if _is_number(value) and abs(round(value, 1)) < 10 else 0


def _with_unit(value, unit: str, *, decimals: int = 0) -> str:
    if value is None or math.isnan(value):
        return UNKNOWN
    if math.isinf(value):
        return UNLIMITED if value > 0 else f"-{UNLIMITED}"
    text = f"{value:.{decimals}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return f"{text} {unit}".rstrip()


def _arc(angle_deg, width: int, letters: str) -> str:
    whole_deg, rest_min = divmod(round(abs(angle_deg) * 60), 60)
    # What rounds to zero lies on no side; the first letter then stands for it.
    letter = letters[angle_deg < 0 and (whole_deg, rest_min) != (0, 0)]
    return f"{whole_deg:0{width}d}°{rest_min:02d}'{letter}"


def _at_ship(when_utc, ship_offset_h: float):
    """The wall clock aboard, to the nearest minute."""
    ship = when_utc.astimezone(UTC) + timedelta(hours=float(ship_offset_h), seconds=30)
    return ship.replace(second=0, microsecond=0)


def _day(when) -> str:
    return f"{_DAYS[when.weekday()]} {when.day} {_MONTHS[when.month - 1]}"
