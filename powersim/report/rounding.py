"""Every number format that a sailor sees, one function a kind.

Each takes one plain number in the unit its parameter names and gives text. What is not known
(None or nan) reads "–", what has no end (infinity) reads "no limit", and no zero has a minus sign.
"""

from __future__ import annotations

import math

UNKNOWN = "–"
UNLIMITED = "no limit"
#: A time shorter than this many days is told in hours.
HOURS_BELOW_DAYS = 2.0


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
    return f"+{text}" if is_number(value) and round(value, decimals) > 0 else text


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
    if is_number(energy_Wh) and abs(round(energy_Wh)) >= 10_000:
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
    small = is_number(current_A) and abs(round(current_A, 2)) < 1
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
    return _with_unit(charge_frac * 100 if is_number(charge_frac) else charge_frac, "%")


def percent(frac) -> str:
    """A chance in whole percent, what is rare or nearly sure told from none and all.

    Parameters
    ----------
    frac : float
        [-]

    Returns
    -------
    str

    Examples
    --------
    >>> percent(0.0), percent(0.005), percent(0.054), percent(0.998)
    ('0 %', '<1 %', '5 %', '>99 %')
    """
    whole = soc(frac)
    if frac > 0.0 and whole == soc(0.0):
        return "<1 %"
    return ">99 %" if frac < 1.0 and whole == soc(1.0) else whole


def apart(frac, limit_frac, *, form=soc) -> str:
    """A share, with a decimal where whole percents would hide on which side of a limit it is.

    Examples
    --------
    >>> apart(0.56, 0.5), apart(0.498, 0.5), apart(0.5, 0.5)
    ('56 %', '49.8 %', '50 %')
    """
    if frac == limit_frac or form(frac) != form(limit_frac):
        return form(frac)
    return f"{number(100.0 * frac, decimals=1)} %"


def litres(volume_L) -> str:
    """Diesel: one decimal below 100.

    Examples
    --------
    >>> litres(7.04), litres(131.2)
    ('7.0 L', '131 L')
    """
    small = is_number(volume_L) and abs(round(volume_L, 1)) < 100
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
    small = is_number(time_h) and abs(round(time_h, 1)) < 100
    return _with_unit(time_h, "h", decimals=1 if small else 0)


def hours_minutes(time_h) -> str:
    """Time as it is kept on a watch.

    Examples
    --------
    >>> hours_minutes(2.25), hours_minutes(0.75), hours_minutes(3.0)
    ('2 h 15 min', '45 min', '3 h')
    """
    if not is_number(time_h):
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
    return _with_unit(time_h * 60 if is_number(time_h) else time_h, "min")


def days(time_days) -> str:
    """Days: hours below two of them, which a tired head need not multiply; one decimal below 10.

    Examples
    --------
    >>> days(12.3), days(2.6), days(1.5), days(float("inf"))
    ('12 days', '2.6 days', '36 h', 'no limit')
    >>> days(0.01), days(0.0)
    ('14 min', '0 h')
    """
    if not is_number(time_days) or abs(time_days) >= HOURS_BELOW_DAYS:
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


def celsius(temperature_C) -> str:
    """Temperature in whole degrees.

    Examples
    --------
    >>> celsius(-0.3)
    '0 °C'
    """
    return _with_unit(temperature_C, "°C")


def is_number(value) -> bool:
    """Whether it is known and has an end."""
    return value is not None and math.isfinite(value)


def _few(value) -> int:
    """One decimal for what still rounds to less than 10."""
    return 1 if is_number(value) and abs(round(value, 1)) < 10 else 0


def _with_unit(value, unit: str, *, decimals: int = 0) -> str:
    if value is None or math.isnan(value):
        return UNKNOWN
    if math.isinf(value):
        return UNLIMITED if value > 0 else f"-{UNLIMITED}"
    text = f"{value:.{decimals}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return f"{text} {unit}".rstrip()
