"""What must be so of the answers of the commands other than `simulate`."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from datetime import datetime

from powersim.records.gsm import MOST_LETTERS, strangers


def of_endurance(text, answer) -> Iterator[str]:
    """Flat comes no sooner than the floor; a lost charger never makes the bank last longer."""
    for line in answer["lines"]:
        floor, flat = (_bands(line[key]) for key in ("days_to_floor", "days_to_flat"))
        if any(a > b + 1e-9 for a, b in zip(floor, flat, strict=True)):
            yield f"{line['loss']}, {line['loads']}: floor {floor}, flat {flat}"
        if any(value < 0 for value in floor + flat):
            yield f"{line['loss']}: negative days"
        if not set(line["loss"].split()) <= set(text.out.split()):  # a cell may be wrapped
            yield f"the text does not name {line['loss']!r}"


def _bands(value) -> list[float]:
    values = value.values() if isinstance(value, dict) else [value]
    return [math.inf if one is None else one for one in values]


def of_plan(outcome, text, answer) -> Iterator[str]:
    """It holds if no more fail than may, of any cause; the word is the same everywhere."""
    holds = answer["holds"]
    if outcome.code != int(not holds) or text.code != outcome.code:
        yield f"plan ends with {text.code} and {outcome.code} where holds is {holds}"
    word = "HOLDS" if holds else "FAILS"
    if f"\n{word} " not in text.out:
        yield f"the text does not say {word}"
    yield from _verdict(answer)
    yield from _ordered(answer["bands"])
    for sentence in answer["rule_in_words"]:
        if " ".join(sentence.split()) not in " ".join(text.out.split()):
            yield f"the text lacks the rule's {sentence!r}"


def _verdict(rule) -> Iterator[str]:
    """Of any cause it fails no more often than of all together, and holds within the risk."""
    told, holds = rule["verdict"], rule["holds"]
    fails = told["fails"]["frac"]
    causes = [told[name]["frac"] for name in ("floor", "dark", "reserve")]
    if holds != (fails <= rule["risk_frac"] + 1e-12) or holds != told["holds"]:
        yield f"the rule holds {holds} where {fails} fail at a risk of {rule['risk_frac']}"
    if not max(causes) - 1e-12 <= fails <= sum(causes) + 1e-12:
        yield f"{fails} fail, and of their causes {causes}"


def _ordered(bands) -> Iterator[str]:
    for name, band in bands.items():
        told = _bands({key: band[key] for key in ("p10", "p50", "p90")})
        if sorted(told) != told:
            yield f"{name} is out of order: {told}"


def of_compare(outcome, answer) -> Iterator[str]:
    """A choice holds if it fails in no more members than the risk; none is offered that does not
    exist; and a difference that shows leaves out nothing."""
    if outcome.code != int(answer["hold"] == 0):
        yield f"compare ends with {outcome.code}, {answer['hold']} hold"
    choices = answer["choices"]
    least = min(choice["fails"]["frac"] for choice in choices)
    for choice in choices:
        if choice["holds"] != (choice["fails"]["frac"] <= answer["risk_frac"] + 1e-12):
            yield f"holds {choice['holds']} at {choice['fails']}"
        if (choice["fails"]["frac"] == least) != (choice["number"] in answer["fail_least"]):
            yield f"{choice['number']} fails in {choice['fails']}, least {answer['fail_least']}"
        for name, one in choice["differences"].items():
            if not one["least"] <= one["mean"] <= one["most"]:
                yield f"{name} out of order: {one}"
            if one["shows"] and one["least"] <= 0.0 <= one["most"]:
                yield f"{name} shows: {one}"
    if not set(answer["fail_least"]) <= set(answer["not_told_apart"]):
        yield f"{answer['fail_least']} not among {answer['not_told_apart']}"


def of_own_row(done, answer) -> Iterator[str]:
    """The row of the files as they are says what `simulate` says of them in the same members."""
    own = next((one for one in done if one.arguments[-1] == "r/compared"), None)
    row = answer["choices"][0]
    if own is None or not own.ran or row["changed"]:
        return
    summary = json.loads(own.out)
    departs = datetime.fromisoformat(summary["passage"]["depart_utc"])
    if datetime.fromisoformat(row["depart_utc"]) != departs:
        yield f"the first row departs {row['depart_utc']}, the files say {departs}"
    told = summary["verdict"]
    for name in ("fails", "floor", "dark", "reserve"):
        if row[name]["frac"] != told[name]["frac"]:
            yield f"{name}: {row[name]} in compare, {told[name]} in simulate"
    ensemble = summary["ensemble"]
    one, other = row["lowest_soc"], ensemble["lowest_soc"]
    if any(one[key] != other[key] for key in ("p10", "p50", "p90")):
        yield f"lowest_soc: {one} in compare, {other} in simulate"
    if "charging_L" in row:  # what the alternator takes under way included
        means = [ensemble[name]["mean"] for name in ("charging_L", "alternator_motoring_L")]
        if not math.isclose(row["charging_L"]["mean"], sum(means), rel_tol=1e-12, abs_tol=1e-12):
            yield f"charging_L: {row['charging_L']} in compare, {means} in simulate"


def of_size(outcome, answer) -> Iterator[str]:
    """A choice is adequate if it fails in no more members than the risk; marks are of these."""
    if outcome.code != int(answer["adequate"] == 0):
        yield f"size ends with {outcome.code}, {answer['adequate']} adequate"
    for choice in answer["choices"]:
        if choice["adequate"] != (choice["fails_frac"] <= answer["risk_frac"] + 1e-12):
            yield f"adequate {choice['adequate']} at {choice['fails_frac']}"
        if choice["mark"] and not choice["adequate"]:
            yield "a marked choice that is not adequate"
        for key, value in choice.items():
            if key.endswith("_frac") and not 0 <= value <= 1:
                yield f"{key} {value}"
        # An empty bank is so within rounding.
        if not -1e-12 <= choice["lowest_soc_p10"] <= choice["lowest_soc_p50"] <= 1 + 1e-6:
            yield f"lowest_soc out of order: {choice}"


def of_sounding(answer) -> Iterator[str]:
    """Litres within the tank, more of them at a higher mark."""
    if "strip" in answer:
        marks = [(one["depth_m"], one["litres"]) for one in answer["strip"]]
        litres = [volume for _, volume in sorted(marks)]
        if sorted(litres) != litres or litres[0] < 0 or litres[-1] > answer["tank_L"] * 1.0001:
            yield f"the strip: {marks}"
        return
    if not 0 <= answer["least_L"] <= answer["tank_L"] + 1e-6 <= answer["most_L"] + 2e-6:
        yield f"{answer['least_L']} to {answer['most_L']} L, most likely {answer['tank_L']} L"
    if answer["usable_L"] < 0 or answer["usable_L"] > answer["tank_L"] + 1e-9:
        yield f"usable {answer['usable_L']} L of {answer['tank_L']} L"


def of_underway(answer) -> Iterator[str]:
    """Factors and charge are what they can be, and bands are in order."""
    for name, factor in answer["factors"].items():
        if not 0 < factor["p10"] <= factor["factor"] <= factor["p90"] < math.inf:
            yield f"factor {name}: {factor}"
    soc = answer["now"]["soc"]
    if not 0 <= soc["p10"] <= soc["p50"] <= soc["p90"] <= 1:
        yield f"charge now: {soc}"
    if (answer["now"].get("fuel_left_L") or {}).get("p10", 0) < 0:
        yield f"diesel now: {answer['now']['fuel_left_L']}"
    bands = {
        key: band for key, band in (answer["ahead"] or {}).items()
        if isinstance(band, dict) and "p50" in band
    }  # fmt: skip
    yield from _ordered(bands)
    if answer["new_rule"]:
        rule = answer["new_rule"]
        yield from _ordered(rule["bands"])
        yield from _verdict(rule)
    line = answer.get("advice_line", "")
    if line and (len(line) > MOST_LETTERS or strangers(line) or " OLD" not in line):
        yield f"advice: {line}"
