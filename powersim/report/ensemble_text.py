"""What `simulate --members` adds to its page: how the passage went in many members."""

from __future__ import annotations

from powersim.report import rounding
from powersim.report.kinds import SHARE, Band, percent
from powersim.report.text import paragraph, table

#: Columns of the table of risk by day, the last being landfall.
_MOST_DAYS = 8
#: Days between its columns: the least that fits.
_STRIDES_DAYS = (1, 2, 5, 10, 20, 50, 100)
BAND_HEADS = ("1 in 10 below", "median", "1 in 10 above")


def ensemble_verdict(summary) -> str:
    """Whether the passage holds in enough members, and in how many it does not.

    Parameters
    ----------
    summary : dict
        Of the simulation, with its members.

    Returns
    -------
    str
        One sentence.
    """
    ensemble = summary["ensemble"]
    fails, risk = ensemble["fails"], rounding.soc(ensemble["risk_frac"])
    tried = f"{ensemble['members']} weathers tried"
    if not fails["frac"]:
        fuel = summary["fuel"]
        beside = f", {fuel['kind']} above its reserve" if fuel["aboard_L"] else ""
        floor = rounding.soc(summary["charge"]["floor_soc"])
        return f"{tried}: charge stays above its floor of {floor}{beside} in all"
    count = round(fails["frac"] * ensemble["members"])
    verb = "fails" if count == 1 else "fail"
    share = _beside(fails["frac"], ensemble["risk_frac"])
    return f"{tried}, {count} {verb} ({share}; your risk is {risk}): {_reasons(summary)}"


def _beside(frac, risk_frac) -> str:
    """A chance, with a decimal where whole percents would hide on which side of the risk it is."""
    if frac != risk_frac and percent(frac) == percent(risk_frac):
        return f"{rounding.number(100.0 * frac, decimals=1)} %"
    return percent(frac)


def _reasons(summary) -> str:
    """What is broken, and in how many of the members."""
    ensemble = summary["ensemble"]
    kinds = (
        (
            f"charge below its floor of {rounding.soc(summary['charge']['floor_soc'])}",
            "floor_broken",
        ),
        ("everything dark", "flat"),
        (f"{summary['fuel']['kind']} reserve eaten into", "reserve_broken"),
    )
    told = [
        f"{what} {in_ensemble(ensemble[kind]['frac'])}"
        for what, kind in kinds
        if ensemble[kind]["frac"]
    ]
    charge = summary["charge"]
    if charge["soc_at_departure"] < charge["floor_soc"]:
        told[:1] = [
            f"{told[0]}, for she leaves at "
            f"{near_floor(charge['soc_at_departure'], charge['floor_soc'])}",
            "from the second day on charge below it "
            f"{in_ensemble(ensemble['floor_broken_later']['frac'])}",
        ]
    return f"{'; '.join(told)} weathers"


def near_floor(soc, floor_soc) -> str:
    """A charge in percent, with a decimal where whole ones would hide which side of the floor.

    Examples
    --------
    >>> near_floor(0.56, 0.5), near_floor(0.498, 0.5)
    ('56 %', '49.8 %')
    """
    whole = rounding.soc(soc)
    if soc == floor_soc or whole != rounding.soc(floor_soc):
        return whole
    return f"{rounding.number(100.0 * soc, decimals=1)} %"


def in_ensemble(frac) -> str:
    """A share of the members as it is said aloud.

    Parameters
    ----------
    frac : float
        [-]

    Returns
    -------
    str
        Without the word "members" after it.

    Examples
    --------
    >>> in_ensemble(0.05), in_ensemble(0.32), in_ensemble(0.97), in_ensemble(1.0)
    ('in 1 of 20', 'in 3 of 10', 'in 97 of 100', 'in all')
    """
    if frac <= 0.0 or frac >= 1.0:
        return "in no" if frac <= 0.0 else "in all"
    if frac <= 0.25:
        return f"in 1 of {round(1.0 / frac)}"
    if frac > 0.95:
        return f"in {min(round(100.0 * frac), 99)} of 100"
    return f"in {min(round(10.0 * frac), 9)} of 10"


def lowest_line(summary, *, mean_sky: str) -> str:
    """The lowest charge, over the members and in the mean sky.

    Parameters
    ----------
    summary : dict
        Of the simulation, with its members.
    mean_sky : str
        What the page says of the mean sky alone.

    Returns
    -------
    str
    """
    low, middle, high = _three(summary["ensemble"]["lowest_soc"], float)
    lowest = f"median {SHARE.text(Band(middle, low, high))}"
    return f"{lowest}; in the mean sky {mean_sky}"


def engine_line(summary, *, now: str) -> str:
    """What charging takes, over the members.

    Parameters
    ----------
    summary : dict
        Of the simulation, with its members.
    now : str
        How long a day in the first week, in the mean sky.

    Returns
    -------
    str
    """
    ensemble = summary["ensemble"]
    if not ensemble["charging_h"]["p90"] and not ensemble["charging_runs"]["p90"]:
        return "hardly ever run for charging: in no more than 1 of 10 weathers"
    low_h, middle_h, high_h = _three(ensemble["charging_h"], float)
    low_L, middle_L, high_L = _three(ensemble["charging_L"], float)
    return (
        f"median {rounding.within(middle_h, low_h, high_h, rounding.hours)} and "
        f"{rounding.within(middle_L, low_L, high_L, rounding.litres)} for charging; {now}"
    )


def landfall_line(summary) -> str:
    """Fuel at landfall against the reserve, over the members.

    Parameters
    ----------
    summary : dict
        Of the simulation, with its members.

    Returns
    -------
    str
    """
    fuel, ensemble = summary["fuel"], summary["ensemble"]
    if not fuel["aboard_L"]:
        return "none aboard"
    low, middle, high = _three(ensemble["fuel_left_L"], float)
    left = rounding.within(middle, low, high, rounding.litres, what=" left at landfall")
    broken = ensemble["reserve_broken"]["frac"]
    side, share = ("BELOW", in_ensemble(broken)) if broken else ("above", in_ensemble(1.0))
    return (
        f"median {left}; {side} the reserve of "
        f"{rounding.litres(fuel['reserve_L'])} {share} weathers"
    )


def ensemble_block(summary) -> str:
    """Bands of charge, engine and fuel, the risk by day, and how sure it is.

    Parameters
    ----------
    summary : dict
        Of the simulation, with its members.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    ensemble = summary["ensemble"]
    head = f"{ensemble['members']} weathers"
    return "\n".join(
        [
            table(band_rows(summary), aligns="lrrr", header=(head, *BAND_HEADS)),
            "",
            _risk(summary),
            paragraph(how_sure(ensemble)),
        ]
    )


def band_rows(summary) -> list[tuple[str, ...]]:
    """One line for each amount that is not nothing in all members.

    Parameters
    ----------
    summary : dict
        Of the simulation, with its members.

    Returns
    -------
    list of tuple of str
        Name, then 1 in 10 below, median, and 1 in 10 above.
    """
    ensemble, fuel = summary["ensemble"], summary["fuel"]["kind"]
    rows = [("lowest charge", *_three(ensemble["lowest_soc"], rounding.soc))]
    kinds = [("engine, charging", "charging_h", rounding.hours)]
    kinds += [("engine, motoring", "motoring_h", rounding.hours)]
    kinds += [(f"{fuel}, charging runs", "charging_L", rounding.litres)]
    kinds += [(f"{fuel}, motoring", "motoring_L", rounding.litres)]
    kinds += [
        (f"{fuel}, alternator while motoring", "alternator_motoring_L", rounding.litres),
        (f"{fuel or 'fuel'}, heater", "heater_L", rounding.litres),
        (f"{fuel} wanted and not there", "fuel_short_L", rounding.litres),
    ]
    if summary["fuel"]["aboard_L"]:
        kinds.append((f"{fuel} left at landfall", "fuel_left_L", rounding.litres))
    kinds.append(("loads went without", "unserved_Ah", rounding.ah))
    rows += [
        (name, *_three(ensemble[key], form)) for name, key, form in kinds if _any(ensemble[key])
    ]
    return rows


def _any(band) -> bool:
    return any(band.values())


def _three(band, form) -> tuple[str, str, str]:
    return form(band["p10"]), form(band["p50"]), form(band["p90"])


def _risk(summary) -> str:
    """Share of the members that have met with something by some days."""
    days = told_days(summary["ensemble"]["by_day"])
    floor = rounding.soc(summary["charge"]["floor_soc"])
    kinds = [(f"below the floor, {floor}", "floor_frac"), ("gone flat", "flat_frac")]
    if summary["fuel"]["aboard_L"]:
        kinds.append((f"{summary['fuel']['kind']} below its reserve", "reserve_frac"))
    heads = [rounding.number(day["days"]) for day in days[:-1]]
    rows = [(name, *(percent(day[key]) for day in days)) for name, key in kinds]
    return table(rows, aligns="l" + "r" * len(days), header=("by day", *heads, "landfall"))


def told_days(by_day) -> list[dict]:
    """Every so many days, and landfall.

    Parameters
    ----------
    by_day : list of dict
        Of the summary.

    Returns
    -------
    list of dict
    """
    landfall_days = by_day[-1]["days"]
    fitting = [stride for stride in _STRIDES_DAYS if landfall_days <= stride * (_MOST_DAYS - 1)]
    # A passage of years is told by its end alone.
    stride = fitting[0] if fitting else len(by_day)
    return [*by_day[stride - 1 : -1 : stride], by_day[-1]]


def how_sure(ensemble) -> str:
    """What the number of members leaves open.

    Parameters
    ----------
    ensemble : dict
        Of the summary.

    Returns
    -------
    str
        One sentence.
    """
    fails = ensemble["fails"]
    between = rounding.span(fails["least_frac"], fails["most_frac"], percent)
    return (
        f"Fails in {percent(fails['frac'])} of {ensemble['members']} weathers; with ever more of "
        f"them it would come to {between} (19 times in 20)."
    )
