"""The day's advice as one line of a short message: the answer of `underway`, and no other words.

Where it does not fit, what comes last in worth is told shorter or left out. Whether she holds, what
was not used of the readings, and how old they are is never left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from powersim.records.gsm import MOST_LETTERS, as_gsm
from powersim.report import rounding

#: Shares of the simulated passages from which on a run is told as what will be, or will not.
_SURELY, _HARDLY = 0.8, 0.2
_LONGEST_NAME = 12
#: Readings that are older than this say little of the bank today. [h]
_OLD_h = 72.0
#: What gets room first: a part, and which of its forms, the longest being 0.
_WORTH = (
    *(("verdict", 0), ("run", 0), ("not_used", 0), ("drop", 0), ("charge", 1), ("fuel", 1)),
    *(("landfall", 1), ("from", 0), ("charge", 0), ("fuel", 0), ("landfall", 0)),
)
_MONTHS = ("JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC")


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A run of the engine in the course of the day.

    Attributes
    ----------
    frac : float
        Share of the simulated passages that have it. [-]
    run_h : float
        How long, of those. [h]
    ship_h : float
        When, in ship's time. [h]
    level : str
        What the bank reads, at most, where it does.
    """

    frac: float
    run_h: float
    ship_h: float
    level: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DayAdvice:
    """What is said of a day.

    Attributes
    ----------
    holds : bool
        Whether the passage holds by the rule that is followed.
    none_holds : bool
        Whether none was found that does.
    fails_frac, dark_frac : float
        In what share of the simulated passages it fails, and everything goes dark. [-]
    soc : tuple of float
        Charge at the last entry: one in ten below, median, one in ten above. [-]
    runs : tuple of Run or None
        In order; None where no engine charges.
    is_new : bool
        Whether they are by another rule than that of boat.toml.
    drop : tuple of str or None
        What to switch off tonight, in order; None where all may stay on.
    fuel : str
        What she burns.
    fuel_L, landfall_L : float or None
        Left at the last entry, and usable at landfall; medians. [L]
    landfall_days : float or None
        From the last entry; None where she has arrived. [days]
    read_utc : datetime
        The last entry.
    age_h : float
        How long ago it was. [h]
    fix : tuple of (datetime, float, float) or None
        The last fix that counts; None without any. [deg]
    not_used : tuple of str
        What of the readings that were sent could not be used.
    reads_lower : bool
        Whether such a one says that the bank holds less than all others do.
    """

    holds: bool
    none_holds: bool
    fails_frac: float
    dark_frac: float
    soc: tuple[float, float, float]
    runs: tuple[Run, ...] | None
    is_new: bool
    drop: tuple[str, ...] | None
    fuel: str
    fuel_L: float | None
    landfall_L: float | None
    landfall_days: float | None
    read_utc: datetime
    age_h: float
    fix: tuple[datetime, float, float] | None
    not_used: tuple[str, ...] = ()
    reads_lower: bool = False


def advice_line(day: DayAdvice) -> str:
    """The line, of at most MOST_LETTERS letters of a phone's alphabet.

    Parameters
    ----------
    day : DayAdvice
        What is to be said.

    Returns
    -------
    str
        In capitals; with a check of its digits where there is room.
    """
    # The forms of each part, the longest first.
    parts: dict[str, list[str]] = {
        "verdict": _verdict(day),
        "not_used": _not_used(day),
        "run": _run(day),
        "drop": _drop(day),
        "charge": _charge(day),
        "fuel": _fuel(day),
        "landfall": _landfall(day),
        "from": _from(day),
    }
    chosen = {name: forms[-1] for name, forms in parts.items()}
    first = (("not_used", 0),) * day.reads_lower + (("from", 1),) * (day.age_h >= _OLD_h)
    for name, longest in first + _WORTH:
        for form in parts[name][longest:]:
            if len(_joined(chosen | {name: form})) <= MOST_LETTERS:
                chosen[name] = form
                break
    line = _joined(chosen)
    check = f" CK{sum(int(sign) for sign in line if sign.isdigit())}"
    return line + check if len(line + check) <= MOST_LETTERS else line


def _joined(parts: dict[str, str]) -> str:
    return as_gsm(". ".join(part for part in parts.values() if part))


def _percent(frac: float) -> str:
    return rounding.percent(frac).replace(" ", "")


def _verdict(day: DayAdvice) -> list[str]:
    if day.landfall_days is None:
        return ["SHE HAS ARRIVED"]
    often = _percent(day.fails_frac)
    if day.holds:
        return [f"HOLDS, {often} FAIL", "HOLDS"]
    short = f"NO RULE HOLDS, {often} FAIL" if day.none_holds else f"FAILS IN {often}"
    return [f"{short}, DARK IN {_percent(day.dark_frac)}", short]


def _not_used(day: DayAdvice) -> list[str]:
    if day.reads_lower:
        # Whoever reads HOLDS beside a bank that is nearly flat must not believe it.
        again = "CHARGE LOW? READ AGAIN, IF SO CHARGE NOW"
        said = ", ".join(day.not_used) or "A LOW READING"
        return [f"NOT USED: {said}. {again}", f"NOT USED: {said}, IF LOW CHARGE", "LOW NOT USED"]
    if not day.not_used:
        return [""]
    count = len(day.not_used)
    return [f"NOT USED: {', '.join(day.not_used)}", f"{count} NOT USED"]


def _run(day: DayAdvice) -> list[str]:
    if day.runs is None or day.landfall_days is None:
        return [""]
    by = " BY THE NEW RULE" if day.is_new else ""
    told = [run for run in day.runs if run.frac > _HARDLY]
    if not told:
        return [f"NO RUN TODAY{by}", "NO RUN TODAY"]
    first, *later = (_one_run(run, zone=" SHIP" * (place == 0)) for place, run in enumerate(told))
    if not later:
        return [f"{first}{by}", first]
    short = f"{first}, AGAIN {_clock(told[1].ship_h)}"
    return [f"{first}, {later[0]}{by}", f"{first}, {later[0]}", short]


def _one_run(run: Run, *, zone: str) -> str:
    minutes = f"{max(round(60.0 * run.run_h / 5.0) * 5, 5)} MIN"
    if run.frac >= _SURELY:
        return f"RUN {minutes} AT {_clock(run.ship_h)}{zone}"
    return f"AT {_clock(run.ship_h)}{zone} RUN {minutes} IF {run.level} OR LESS"


def _clock(ship_h: float) -> str:
    hour, minute = divmod(round(60.0 * ship_h), 60)
    return f"{hour % 24:02d}{minute:02d}"


def _drop(day: DayAdvice) -> list[str]:
    if day.landfall_days is None:
        return [""]
    if day.drop is None and day.reads_lower:
        return [""]
    if day.drop is None:
        return ["KEEP ALL ON", "ALL ON"]
    if not day.drop:
        return ["DROP NOTHING YET", "DROP NOTHING"]
    forms = [f"DROP {', '.join(as_gsm(name).replace(',', '') for name in day.drop)}"]
    names = [_short(as_gsm(name)) for name in day.drop]
    for count in range(len(names), 0, -1):
        more = f" +{len(names) - count} MORE" if count < len(names) else ""
        forms.append(f"DROP {', '.join(names[:count])}{more}")
    return forms


def _short(name: str) -> str:
    """As many whole words of a name as have room; of one long word its beginning.

    Examples
    --------
    >>> _short("HEADLAMP AND HANDHELD RECEIVER"), _short("LEDERSESSELBELEUCHTUNG")
    ('HEADLAMP', 'LEDERSESSELB')
    """
    words = name.replace(",", "").split() or ["A LOAD"]
    kept = words[0][:_LONGEST_NAME]
    for word in words[1:]:
        if len(f"{kept} {word}") > _LONGEST_NAME:
            break
        kept = f"{kept} {word}"
    return kept.removesuffix(" AND").removesuffix(" OF")


def _charge(day: DayAdvice) -> list[str]:
    low, middle, high = (round(100.0 * soc) for soc in day.soc)
    return [f"CHARGE {middle}% ({low}-{high})", f"CHARGE {middle}%", ""]


def _fuel(day: DayAdvice) -> list[str]:
    if day.fuel_L is None:
        return ["", ""]
    now = f"{day.fuel} {_litres(day.fuel_L)}".upper()
    if day.landfall_L is None:
        return [now, now, ""]
    return [f"{now}, {_litres(day.landfall_L)} AT LANDFALL", now, ""]


def _litres(volume_L: float) -> str:
    return rounding.litres(volume_L).upper().replace(" L", "L")


def _landfall(day: DayAdvice) -> list[str]:
    if day.landfall_days is None:
        return ["", ""]
    days = rounding.days(day.landfall_days).upper()
    return [f"LANDFALL IN {days}", f"LANDFALL {days.replace(' DAYS', 'D')}", ""]


def _from(day: DayAdvice) -> list[str]:
    in_days = day.age_h >= 48.0
    age = f"{day.age_h / 24.0:.0f} DAYS OLD" if in_days else f"{day.age_h:.0f}H OLD"
    short = age.replace(" DAYS", "D")
    new = ", SEND NEW" if day.age_h >= _OLD_h else ""
    age += new
    if day.fix is None:
        return [f"FROM {_moment(day.read_utc)} WITHOUT A FIX, {age}", f"NO FIX, {short}{new}"]
    fix_utc, lat_deg, lon_deg = day.fix
    exact, plain = (_place(lat_deg, lon_deg, decimals) for decimals in (1, 0))
    if (day.read_utc - fix_utc).total_seconds() > 60.0:
        fix = _moment(fix_utc)
        return [
            f"FROM {_moment(day.read_utc)}, {age}, FIX {fix} {exact}",
            f"{short}{new}, FIX {fix.split()[0]} {plain}",
            f"{short}, FIX {fix.split()[0]} {plain}",
        ]
    return [
        *(f"FROM {_moment(day.read_utc)} {exact}, {age}", f"{plain}, {short}{new}"),
        f"{plain}, {short}",
    ]


def _moment(when: datetime) -> str:
    return f"{when.day}{_MONTHS[when.month - 1]} {when:%H%M}Z"


def _place(lat_deg: float, lon_deg: float, decimals: int) -> str:
    return f"{_angle(lat_deg, 'NS', 2, decimals)} {_angle(lon_deg, 'EW', 3, decimals)}"


def _angle(angle_deg: float, letters: Sequence[str], digits: int, decimals: int) -> str:
    scale = 10**decimals
    degrees, parts = divmod(round(abs(angle_deg) * 60.0 * scale), 60 * scale)
    width = 2 + (decimals + 1 if decimals else 0)
    return f"{degrees:0{digits}d}-{parts / scale:0{width}.{decimals}f}{letters[angle_deg < 0]}"
