"""What `simulate` prints: the passage for a tired sailor, in under 40 lines of 80 columns."""

from __future__ import annotations

import math
from datetime import UTC, datetime

from powersim.report import rounding, when_where
from powersim.report.ensemble_text import (
    engine_line,
    ensemble_block,
    ensemble_verdict,
    landfall_line,
    lowest_line,
    near_floor,
)
from powersim.report.files import answer
from powersim.report.kinds import LASTS
from powersim.report.names import headed
from powersim.report.parts_text import chargers_lines, parts_block
from powersim.report.plan_text import ship_offset_h
from powersim.report.sky_text import sky_lines
from powersim.report.text import join, key_values, paragraph, table
from powersim.report.warnings import long_without_full

MOST_LINES = 39
#: Loads named, one more place being for the rest; the fewer if warnings need the room.
_MOST_LOADS = (7, 3, 1)
_MOST_RUNS = 4  # charging runs written out
MEAN_SKY = "In the month's mean sky alone:"
CARE = "A forecast is no promise. Standing cautions: 'powersim check'."

_NO_GREY_WEEK = "A mean sky has no grey week and no calm: try '--members 200' too."


def simulated_text(result, *, brief: bool = False, written: str = "") -> str:
    """The passage for a reader.

    Parameters
    ----------
    result : Result
        Of the simulation.
    brief : bool
        The first five lines alone.
    written : str
        Where the files of results are, in one sentence.

    Returns
    -------
    str
        At most 80 columns wide and 39 lines long, or longer by what members and weather files
        add; what then has no place is in `summary.json`.
    """
    summary = answer(result)
    if brief:
        return _five(summary)
    ensemble = ensemble_block(summary) if "ensemble" in summary else ""
    trusted = summary["holds"] and not ensemble
    last = paragraph(f"{written} {CARE} {_NO_GREY_WEEK if trusted else ''}")
    for most_loads in _MOST_LOADS:
        blocks = [
            _headed(summary),
            parts_block(summary),
            _loads(summary, most=most_loads),
            _more(result, summary),
        ]
        room = MOST_LINES - sum(1 + _lines(block) for block in (*blocks, last))
        warned, all_told = _warned(summary["warnings"], room=room)
        if all_told:
            break
    headed, *mean_sky = blocks
    named = MEAN_SKY if ensemble else ""
    return join(headed, ensemble, named, *mean_sky, key_values(sky_lines(summary)), warned, last)


def _lines(block: str) -> int:
    return block.count("\n") + 1


def _headed(summary) -> str:
    passage = summary["passage"]
    head = (
        f"{headed(passage['name'], passage['from'], passage['to'])}, "
        f"{rounding.days(passage['days'])}, {rounding.miles(passage['distance_nm'])}"
    )
    return paragraph(head) + "\n\n" + _five(summary)


def _five(summary) -> str:
    return key_values(answers(summary))


def answers(summary) -> list[tuple[str, str]]:
    """The things that are looked for first: five of them, three on a boat without an engine.

    Parameters
    ----------
    summary : dict
        Of the simulation.

    Returns
    -------
    list of (str, str)
        What, and the answer to it; the first is HOLDS or FAILS, and why.
    """
    found = _in_ensemble(summary) if "ensemble" in summary else _in_the_mean_sky(summary)
    fuel = summary["fuel"]["kind"]
    names = ("HOLDS" if summary["holds"] else "FAILS", "lowest", "engine", fuel, "bank")
    first, *rest = found
    texts = (f"{first}{_too_cold(summary)}", *rest, _endurance(summary))
    told = zip(names, texts, strict=True)
    return [each for each in told if fuel is not None or each[0] not in ("engine", None)]


def _too_cold(summary) -> str:
    """Where the passage fails and the bank cannot be charged for cold, that too."""
    too_cold_h = summary["cold"]["too_cold_h"]
    if summary["holds"] or not too_cold_h:
        return ""
    return f"; the bank is too cold to be charged for {rounding.hours(too_cold_h)}"


def _in_the_mean_sky(summary) -> tuple[str, str, str, str]:
    return verdict(summary), _lowest(summary), _engine(summary), _landfall(summary)


def _in_ensemble(summary) -> tuple[str, str, str, str]:
    return (
        ensemble_verdict(summary),
        lowest_line(summary, mean_sky=_lowest(summary)),
        engine_line(summary, now=_now(summary)),
        landfall_line(summary),
    )


def verdict(summary) -> str:
    """Whether the passage holds, and if not why not.

    Parameters
    ----------
    summary : dict
        Of the simulation.

    Returns
    -------
    str
        One sentence.
    """
    charge, fuel = summary["charge"], summary["fuel"]
    floor = rounding.soc(charge["floor_soc"])
    if summary["holds"]:
        beside = f", {fuel['kind']} above its reserve" if fuel["aboard_L"] else ""
        return f"charge above its floor of {floor}{beside} in the mean sky"
    reasons = []
    if charge["floor_broken"]:
        when = (
            f"after {_spell(24.0 * charge['days_to_floor'])}"
            if charge["days_to_floor"]
            else f"as she leaves, at {near_floor(charge['soc_at_departure'], charge['floor_soc'])}"
        )
        below = _spell(charge["below_floor_h"])
        reasons.append(f"charge is below its floor of {floor} {when}, for {below} in all")
    if charge["dark_h"]:
        reasons.append(f"everything is dark for {rounding.hours(charge['dark_h'])}")
    if fuel["wanted_and_not_there_L"]:
        reasons.append(f"the {fuel['kind']} runs out")
    elif fuel["reserve_broken"]:
        reasons.append(f"the {fuel['kind']} reserve is eaten into")
    return "; ".join(reasons)


def _lowest(summary) -> str:
    charge = summary["charge"]
    at = charge["lowest_soc_at"]
    place = when_where.position(at["lat_deg"], at["lon_deg"])
    soc = near_floor(charge["lowest_soc"], charge["floor_soc"])
    return f"{soc} on {_moment(at)}, {place}; {rounding.volts(charge['lowest_V'])}"


def _spell(time_h) -> str:
    """A time that is never told as nothing."""
    return rounding.days(max(time_h, 1.0 / 60.0) / 24.0)


def _engine(summary) -> str:
    engine = summary["engine"]
    if not engine["charging_runs"]:
        return "never run for charging"
    return (
        f"{rounding.hours(engine['charging_h'])} and {rounding.litres(engine['charging_L'])} for "
        f"charging; {_now(summary)}"
    )


def _now(summary) -> str:
    """How long the engine charges a day in the first week."""
    now_h = summary["engine"]["charging_min_per_day_now"] / 60.0
    if not now_h:
        return "none in the first week"
    return f"now, in the first week, {rounding.minutes(now_h)} a day"


def _landfall(summary) -> str:
    fuel = summary["fuel"]
    if not fuel["aboard_L"]:
        return "none aboard"
    above_L = fuel["left_above_reserve_L"]
    side = "above" if above_L >= 0 else "BELOW"
    return (
        f"{rounding.litres(fuel['left_L'])} left at landfall, {rounding.litres(abs(above_L))} "
        f"{side} the reserve of {rounding.litres(fuel['reserve_L'])}"
    )


def _endurance(summary) -> str:
    left = summary["without_charging"]
    to_floor, to_flat = (
        math.inf if left[key] is None else left[key] for key in ("days_to_floor", "days_to_flat")
    )
    if to_floor == to_flat == math.inf:
        lasts = "lasts to landfall"
    else:
        floor = f"at its floor after {LASTS(to_floor)}" if to_floor else "already below its floor"
        lasts = f"{floor}, flat after {LASTS(to_flat)}"
    return f"{lasts} with all charging lost"


def _moment(at) -> str:
    return when_where.moment(_utc(at["time_utc"]), ship_offset_h=at["ship_offset_h"])


def _utc(text: str) -> datetime:
    return datetime.fromisoformat(text).astimezone(UTC)


def _loads(summary, *, most: int) -> str:
    """The largest loads in two columns, the small ones summed."""
    loads = [load for load in summary["loads"] if load["Ah_per_day"] > 0]
    named, rest = loads[:most], loads[most:]
    if len(rest) == 1:  # its line is taken in any case
        named, rest = loads, []
    entries = [(load["load"], load["Ah_per_day"], load["Wh_per_day"]) for load in named]
    if rest:
        sums = (sum(load[key] for load in rest) for key in ("Ah_per_day", "Wh_per_day"))
        entries.append((f"{len(rest)} smaller ones", *sums))
    total_Ah = sum(load["Ah_per_day"] for load in loads)
    total_Wh = sum(load["Wh_per_day"] for load in loads)
    head = f"Loads take {rounding.ah(total_Ah)} ({rounding.wh(total_Wh)}) a day on average:"
    cells = [(name, rounding.ah(ah), rounding.wh(wh)) for name, ah, wh in entries]
    if not cells:
        return "Loads take nothing."
    return f"{head}\n{_in_two_columns(cells)}"


def _more(result, summary) -> str:
    charge, engine, fuel = summary["charge"], summary["engine"], summary["fuel"]
    lines = [("wear", _wear(charge, gap_told=long_without_full(result)))]
    lines += chargers_lines(summary)
    if engine["motoring_h"]:
        litres = rounding.litres(fuel["motoring_L"] + fuel["alternator_motoring_L"])
        lines.append(("motoring", f"{rounding.hours(engine['motoring_h'])}, {litres}"))
    if fuel["aboard_L"]:
        lines.append((f"{fuel['kind']}, L", ledger(fuel)))
    charging = result.engine[result.engine["kind"] == "charging"]
    runs = f"{_runs(charging)}\n" if len(charging) else ""
    return runs + key_values(lines)


def _wear(charge, *, gap_told: bool) -> str:
    """How much of the bank's cycle life goes, to a tenth of a per cent, and how often it is full.

    The latter only where no warning tells it.
    """
    percent = 100.0 * charge["cycle_life_used_frac"]
    little = 0 < percent < 0.05
    used = "less than 0.1" if little else rounding.number(percent, decimals=1)
    deepest = rounding.soc(charge["deepest_cycle_frac"])
    text = f"{used} % of cycle life, deepest cycle {deepest} of the label"
    gap = rounding.days(charge["longest_gap_between_full_days"])
    return text if gap_told else f"{text}; {gap} at most between full charges"


def _runs(charging) -> str:
    """The first charging runs in two columns, and how many more there are."""
    cells = [
        (
            when_where.ship_time(run.start_utc, ship_offset_h=ship_offset_h(run)),
            rounding.hours_minutes(run.run_h),
            rounding.litres(run.fuel_L),
        )
        for run in charging.iloc[:_MOST_RUNS].itertuples()
    ]
    more = len(charging) - len(cells)
    first = f", the first {len(cells)} of them here" if more else ""
    head = f"{rounding.plural(len(charging), 'charging run')}{first} (all: engine.csv):"
    return f"{head}\n{_in_two_columns(cells)}"


def _in_two_columns(cells) -> str:
    half = -(-len(cells) // 2)
    cells = [*cells, *[("", "", "")] * (2 * half - len(cells))]
    rows = [left + right for left, right in zip(cells[:half], cells[half:], strict=True)]
    return table(rows, aligns="lrrlrr")


def ledger(fuel) -> str:
    """Where the fuel goes, as a sum that can be checked.

    Parameters
    ----------
    fuel : dict
        The summary's ledgers.

    Returns
    -------
    str
    """
    spent = [
        ("unusable_L", "out of reach"),
        ("motoring_L", "motoring"),
        ("charging_L", "charging runs"),
        ("alternator_motoring_L", "alternator while motoring"),
        ("heater_L", "heater"),
    ]
    terms = [f"- {_litres(fuel[key])} {what}" for key, what in spent if _told(fuel[key])]
    short_L = fuel["wanted_and_not_there_L"]
    missing = [f"+ {_litres(short_L)} wanted and not there"] if _told(short_L) else []
    left = f"= {_litres(fuel['left_L'])} left"
    return " ".join([f"{_litres(fuel['aboard_L'])} aboard", *terms, *missing, left])


def _told(volume_L) -> bool:
    """Whether it is more than nothing as printed."""
    return volume_L >= 0.05


def _litres(volume_L) -> str:
    return rounding.number(volume_L, decimals=1)


def _warned(warnings, *, room: int) -> tuple[str, bool]:
    """As many warnings as there is room for, the gravest first, and whether these are all.

    What to do about the gravest is the last to go, after all the others.
    """
    whole = [paragraph(f"{w['text']}; {w['advice']}", bullet="! ") for w in warnings]
    if sum(map(_lines, whole)) <= room:
        return "\n".join(whole), True
    short = [paragraph(w["text"], bullet="! ") for w in warnings]
    count = len(warnings)
    kept = [
        (told, with_advice) for told in range(count, 0, -1) for with_advice in range(told, 0, -1)
    ]
    for told, with_advice in [*kept, *((told, 0) for told in range(count, 0, -1)), (0, 0)]:
        blocks = [*whole[:with_advice], *short[with_advice:told]]
        if sum(map(_lines, blocks)) + 1 <= room:
            break
    left = count - told
    kind = "more warning" if told else "warning"
    rest = "What to do about the rest is" if with_advice else "What to do is"
    more = f"{rounding.plural(left, kind)}, and what to do," if left else rest
    return "\n".join([*blocks, f"! {more} in summary.json"]), False
