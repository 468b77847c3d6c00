"""What must be so of the figures in a folder of results: books, bounds, sums, order."""

from __future__ import annotations

import csv
import itertools
import json
import math
from collections.abc import Iterator
from pathlib import Path

#: Six significant digits are written, and sums have many terms.
REL = 2e-5
#: Of what a bank gains or loses in an hour: half of how much steeper the curve is on one side of a
#: bend than on the other, times the tenth of its charge that an hour may move, over its voltage.
#: Lithium below 10 % falls 2 V (of 12 V) in that tenth, and next to nothing above.
BEND_FRAC, LITHIUM_BEND_FRAC = 0.02, 0.09
#: Highest volts of a bank of 12 V: a stopped generator's 15.5 V (files.md), or a setpoint of 14.7 V
#: with 30 mV for each of 50 degrees below 25 degC, and some for what the bank does by itself.
#: Lowest: no cut-out that a file may have is set lower (files.md), and no bus stands below it.
HIGHEST_V, LOWEST_V = 16.5, 7.99
_AH = (("solar", "wind", "water", "shore", "alternator", "from_battery"), ("loads", "into_battery"))
_LOSSES = ("loads_Wh", "solar_path_loss_Wh", "alternator_cable_loss_Wh", "supply_loss_Wh",
           "resistance_loss_Wh", "gassing_loss_Wh", "self_discharge_loss_Wh",
           "controller_idle_Wh", "change_Wh")  # fmt: skip
_MAY_BE_NEGATIVE = ("change_", "sun_elevation", "lat_", "lon_", "ship_offset", "air_C", "bank_C")


def breaches(folder: Path, *, boat) -> Iterator[str]:
    """Each promise that the files of `simulate` break."""
    summary = json.loads((folder / "summary.json").read_text("utf-8"))
    hourly = _read(folder / "hourly.csv")
    scale = _nominal_V(boat) / 12.0
    lithium = boat.get("[battery]")["chemistry"] == '"lifepo4"'
    bend_frac = LITHIUM_BEND_FRAC if lithium else BEND_FRAC
    yield from _rows(hourly, scale, highest_V=_highest_V(boat, scale), bend_frac=bend_frac)
    if lithium:
        yield from _cold(hourly)
    yield from _books(hourly)
    yield from _fuel(hourly, summary["average"]["fuel"])
    yield from _sums(hourly, _read(folder / "daily.csv"), summary)
    yield from _engine(_read(folder / "engine.csv"), summary)
    yield from _verdict(summary, hourly)
    if (folder / "members.csv").exists() and "ensemble" in summary:
        yield from _forcing(folder, summary)
    yield from (f"{path.name} holds {bad}" for path, bad in _bad_cells(folder))


def _read(path: Path) -> list[dict]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return [{key: _value(cell) for key, cell in row.items()} for row in csv.DictReader(file)]


def _value(cell: str):
    try:
        return float(cell)
    except ValueError:
        return cell


def _bad_cells(folder) -> Iterator[tuple[Path, str]]:
    for path in folder.glob("*.csv"):
        if not path.read_bytes().isascii():  # a spreadsheet may take it for another encoding
            yield path, "a sign beyond ASCII"
        for row in _read(path):
            for key, value in row.items():
                wild = isinstance(value, float) and not math.isfinite(value)
                if wild or value in ("None", "NaT"):
                    yield path, f"{value} in {key}"


def _nominal_V(boat) -> float:
    return float(boat.get("[battery]")["nominal"].strip('"').split()[0])


def _highest_V(boat, scale) -> float:
    """The highest that anything aboard is set to, or what is usual."""
    named = [HIGHEST_V * scale]
    for _, keys in boat.tables:
        for key in ("absorption", "float", "voltage"):
            number, _, unit = keys.get(key, "").strip('"').partition(" ")
            if number and unit:
                named.append(float(number) * (0.001 if unit == "mV" else 1.0) + 1.8 * scale)
    return max(named)


def _rows(hourly, scale, *, highest_V, bend_frac) -> Iterator[str]:
    for row in hourly:
        where = row["time_utc"]
        for key in ("soc", "lowest_soc"):
            if not -1e-6 <= row[key] <= 1.0 + 1e-6:
                yield f"{where}: {key} {row[key]}"
        if row["lowest_soc"] > row["soc"] + 1e-5:
            yield f"{where}: lowest_soc {row['lowest_soc']} above soc {row['soc']}"
        for key in ("bank_V", "lowest_V"):
            if not LOWEST_V * scale <= row[key] <= highest_V:
                yield f"{where}: {key} {row[key]}, of a bank of {12 * scale:g} V"
        if row["lowest_V"] > row["bank_V"] * (1 + REL) + 1e-6:
            yield f"{where}: lowest_V {row['lowest_V']} above the mean of {row['bank_V']}"
        run_h = row["charging_h"] + row["motoring_h"]
        for key, value in [("engine", run_h), *((key, row[key]) for key in ("dark_h", "night_h"))]:
            if not -1e-9 <= value <= 1.0 + 1e-5:
                yield f"{where}: {key} {value} h of an hour"
        for key, value in row.items():
            least = -1e-5
            if key == "resistance_loss_Wh":
                # A bend of the voltage curve within one long step can hide so much of it
                # (docs/model/simulation.md).
                least -= bend_frac * abs(row["change_Wh"])
            negative = isinstance(value, float) and value < least
            if negative and not key.startswith(_MAY_BE_NEGATIVE):
                yield f"{where}: {key} {value} is negative"


def _cold(hourly) -> Iterator[str]:
    """A lithium bank in the frost is not charged, and no engine is run to do so."""
    for before, row, after in zip(hourly, hourly[1:], hourly[2:], strict=False):
        if max(one["bank_C"] for one in (before, row, after)) < 0.0:
            for key in ("charging_h", "into_battery_Ah"):
                if row[key] > 1e-3:
                    yield f"{row['time_utc']}: {key} {row[key]}, the bank at {row['bank_C']} degC"


def _close(a, b, scale=1.0) -> bool:
    return abs(a - b) <= REL * max(abs(a), abs(b), scale) + 1e-6


def _books(hourly) -> Iterator[str]:
    """The three sums of docs/reference/results.md, to the digits that are written."""
    for row in hourly:
        of = row.get
        where = row["time_utc"]
        into, out = (sum(of(f"{name}_Ah", 0.0) for name in names) for names in _AH)
        if not _close(into, out):
            yield f"{where}: {into} Ah come in and {out} Ah go out"
        gone = [
            of(f"{name}_Ah") for name in ("from_battery", "gassing", "self_discharge", "change")
        ]
        if not _close(of("into_battery_Ah"), sum(gone), scale=max(map(abs, gone))):
            yield f"{where}: into_battery_Ah {of('into_battery_Ah')} is not {sum(gone)}"
        given = sum(of(f"{name}_Wh", 0.0) for name in ("solar", "wind", "water", "shore",
                                                       "alternator"))  # fmt: skip
        spent = [of(name, 0.0) for name in _LOSSES]
        if not _close(given, sum(spent), scale=max(map(abs, spent))):
            yield f"{where}: {given} Wh given and {sum(spent)} Wh spent"


def _fuel(hourly, fuel) -> Iterator[str]:
    reach_L = fuel["aboard_L"] - fuel["unusable_L"]
    lefts = [row["fuel_left_L"] for row in hourly]
    if any(not -1e-6 <= left <= max(0.0, reach_L) * (1 + REL) + 1e-6 for left in lefts):
        yield f"fuel_left_L from {min(lefts)} to {max(lefts)}, of {reach_L} L within reach"
    if any(b > a * (1 + REL) + 1e-6 for a, b in itertools.pairwise(lefts)):
        yield "fuel_left_L rises at sea"
    burnt_L = sum(fuel[f"{name}_L"] for name in ("charging", "motoring", "alternator_motoring",
                                                 "heater"))  # fmt: skip
    left_L = max(0.0, reach_L) - burnt_L + fuel["wanted_and_not_there_L"]
    # A heater on a boat without [fuel] burns from a tank of its own.
    if fuel["aboard_L"] and not _close(left_L, fuel["left_L"], scale=fuel["aboard_L"]):
        yield f"the ledger of diesel gives {left_L} L, left are {fuel['left_L']} L"


def _sums(hourly, daily, summary) -> Iterator[str]:
    passage_h = 24.0 * summary["passage"]["days"]
    for key in hourly[0]:
        if key.endswith(("_Ah", "_Wh", "_L", "_h")) and key in daily[0] and key not in (
            "ship_offset_h", "fuel_left_L",
        ):  # fmt: skip
            by_hour, by_day = (sum(row[key] for row in rows) for rows in (hourly, daily))
            # Each row is rounded by itself, to six digits.
            largest = max(1.0, *(abs(row[key]) for row in hourly)) * len(hourly) ** 0.5
            if not _close(by_hour, by_day, scale=largest):
                yield f"{key}: {by_hour} by the hour, {by_day} by the day"
    for key, total in summary["totals"].items():
        if not _close(sum(row[key] for row in hourly), total,
                      scale=sum(abs(row[key]) for row in hourly)):  # fmt: skip
            yield f"totals.{key} is {total}"
    engine = summary["average"]["engine"]
    if engine["charging_h"] + engine["motoring_h"] > passage_h + 1.0:
        yield f"the engine runs {engine['charging_h'] + engine['motoring_h']} h of {passage_h} h"


def _engine(runs, summary) -> Iterator[str]:
    charging = [run for run in runs if run["kind"] == "charging"]
    engine = summary["average"]["engine"]
    if len(charging) != engine["charging_runs"]:
        yield f"{len(charging)} charging runs in engine.csv, {engine['charging_runs']} counted"
    if not _close(sum(run["run_h"] for run in charging), engine["charging_h"]):
        yield f"charging runs do not add up to {engine['charging_h']} h"
    for run in runs:
        if not (run["run_h"] > 0 and all(0 <= run[f"soc_{when}"] <= 1 + 1e-6
                                         for when in ("before", "after"))):  # fmt: skip
            yield f"a run {run}"


def _verdict(summary, hourly) -> Iterator[str]:
    charge, fuel = summary["average"]["charge"], summary["average"]["fuel"]
    lowest = min(row["lowest_soc"] for row in hourly)
    if not _close(lowest, charge["lowest_soc"]):
        yield f"lowest_soc {charge['lowest_soc']}, by the hour {lowest}"
    if charge["lowest_soc"] < charge["floor_soc"] - 1e-9 and not charge["floor_broken"]:
        yield f"lowest {charge['lowest_soc']} below the floor, and not broken"
    told, average = summary["verdict"], summary["average"]
    if not summary["holds"] == told["holds"] == (told["fails"]["frac"] <= told["risk_frac"]):
        yield f"holds {summary['holds']} does not follow from {told}"
    causes = [told[name]["frac"] for name in ("floor", "dark", "reserve")]
    if not max(causes) <= told["fails"]["frac"] <= sum(causes) + 1e-9:
        yield f"fails {told['fails']['frac']} cannot come of {causes}"
    for name in ("fails", "floor", "dark", "reserve"):
        chance = told[name]
        if not 0.0 <= chance["least_frac"] <= chance["frac"] <= chance["most_frac"] <= 1.0:
            yield f"{name} is no chance: {chance}"
    # Where the floor counts from departure on, average weather fails of just these.
    broken = charge["floor_broken"] or charge["dark_h"] > 0 or fuel["reserve_broken"]
    alone = "ensemble" not in summary
    if alone and (told["members"] != 1 or told["sure"] or told["holds"] != average["holds"]):
        yield f"average weather alone has the verdict {told}"
    if alone and not told["counted_from_h"] and average["holds"] == broken:
        yield f"average weather holds: {average['holds']}, with {charge} and {fuel}"
    if (
        fuel["aboard_L"]
        and fuel["left_L"] < fuel["reserve_L"] - 1e-9
        and not fuel["reserve_broken"]
    ):
        yield "the reserve is broken and not said to be"
    if (charge["days_to_flat"] is None) != (charge["dark_h"] == 0):
        yield f"dark for {charge['dark_h']} h, flat after {charge['days_to_flat']}"


def _forcing(folder, summary) -> Iterator[str]:
    members, ensemble = _read(folder / "members.csv"), summary["ensemble"]
    fails, told = sum(row["holds"] != "yes" for row in members), summary["verdict"]
    if len(members) != told["members"] or not _close(fails / len(members), told["fails"]["frac"]):
        yield f"{fails} of {len(members)} members fail, told {told['fails']['frac']}"
    at_last = ensemble["by_day"][-1]
    for name, cause in (("fails", "fails"), ("floor", "floor"), ("flat", "dark"),
                        ("reserve", "reserve")):  # fmt: skip
        if not _close(at_last[f"{name}_frac"], told[cause]["frac"]):
            yield f"{cause} by landfall {at_last[f'{name}_frac']}, told {told[cause]['frac']}"
    lowest = ensemble["lowest_soc"]
    if not lowest["least"] - 1e-9 <= lowest["at_risk"] or not (
        lowest["least"] <= lowest["mean"] + 1e-9
    ):
        yield f"lowest_soc is out of order: {lowest}"
    days, in_parts = (
        [one["days"] for one in each] for each in (ensemble["weeks"], summary["parts"])
    )
    if days != in_parts:
        yield f"weeks are {days} days long, parts {in_parts}"
    for name in ("charging_h", "charging_L", "runs"):
        total = sum(week[name]["mean"] for week in ensemble["weeks"])
        whole = ensemble["charging_runs" if name == "runs" else name]["mean"]
        if not _close(total, whole, scale=whole + 1.0):
            yield f"{name} by the week {total}, in all {whole}"
    for name, band in ensemble.items():
        if isinstance(band, dict) and "p10" in band:
            told = [math.inf if band[key] is None else band[key] for key in ("p10", "p50", "p90")]
            if sorted(told) != told:
                yield f"{name} is out of order: {told}"
    rows = _read(folder / "risk.csv")
    for key in ("fails_frac", "floor_frac", "flat_frac", "reserve_frac"):
        shares = [row[key] for row in rows]
        if any(b < a for a, b in itertools.pairwise(shares)) or not all(
            0 <= s <= 1 for s in shares
        ):
            yield f"{key} by day: {shares}"
    for row in _read(folder / "bands.csv"):
        if not -1e-6 <= row["lowest_soc"] <= row["p10_soc"] * (1 + REL) + 1e-6:
            yield f"{row['time_utc']}: lowest_soc {row['lowest_soc']}, p10_soc {row['p10_soc']}"
        if not row["p10_soc"] <= row["p50_soc"] <= row["p90_soc"] <= 1 + 1e-6:
            yield f"{row['time_utc']}: soc out of order"
