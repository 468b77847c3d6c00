"""Devices with batteries of their own: what they hold beside the bank, and which run empty."""

from __future__ import annotations

from typing import Any

from powersim.report.kinds import AH, COUNT, DAYS, LASTS, SHARE, WH, Text, count_of, joined, say
from powersim.report.view import Column, Paragraph, Section, Table, Title

TITLE = "Devices with batteries of their own"


def devices_told(summary: dict[str, Any], *, nominal_V: float) -> list[Section]:
    """The table, with its title and what it means for the bank.

    Parameters
    ----------
    summary : dict
        What `summary.json` holds.
    nominal_V : float
        Of the bank. [V]

    Returns
    -------
    list of Section
        Empty for a boat without any.
    """
    if "devices" not in summary:
        return []
    found, members = summary["devices"], summary["verdict"]["members"]
    rows = []
    for place, one in enumerate(found["each"]):
        key = f"devices.each.{place}"
        rows.append(
            (
                one["name"],
                WH(one["battery_Wh"], f"{key}.battery_Wh"),
                WH(one["use_Wh_per_day"], f"{key}.use_Wh_per_day"),
                LASTS(one["lasts_days"], f"{key}.lasts_days"),
                _charged(one),
                _runs_empty(one, members),
                DAYS(one["empty_days"], f"{key}.empty_days"),
            )
        )
    return [
        Title(TITLE),
        Table(
            caption="What each holds, and whether it runs empty",
            columns=(
                Column("device", words=True),
                Column("holds"),
                Column("gives\na day"),
                Column("lasts by\nitself"),
                Column("is charged", words=True),
                Column("runs\nempty", words=True),
                Column("1 in 10\nbefore" if members > 1 else "after"),
            ),
            rows=tuple(rows),
        ),
        Paragraph(devices_in_short(summary, nominal_V=nominal_V)),
        Paragraph(_meaning(found)),
    ]


def devices_in_short(summary: dict[str, Any], *, nominal_V: float) -> Text:
    """What they hold, and which run empty, in a few sentences.

    Parameters
    ----------
    summary : dict
        What `summary.json` holds; with devices.
    nominal_V : float
        Of the bank. [V]
    """
    found, members = summary["devices"], summary["verdict"]["members"]
    reserve_Wh = found["reserve_Wh"]
    empty = [one for one in found["each"] if one["empty_frac"] > 0.0]
    holds = say(
        "Devices with batteries of their own hold {} when full, {} that the bank need not hold.",
        *(WH(reserve_Wh, "devices.reserve_Wh"), AH(reserve_Wh / nominal_V)),
    )
    if not empty:
        return joined([holds, "None of them runs empty."])
    weather = (
        say("of {} simulated passages", COUNT(members)) if members > 1 else "in average weather"
    )
    runs = [
        say("{} in {}", one["name"], _runs_empty(one, members)) if members > 1 else one["name"]
        for one in empty
    ]
    surplus = any(one["from_surplus"] for one in empty)
    advice = "Charge what you count on before the bank is full too: see when in boat.toml."
    return joined(
        [holds, say("Empty, {}: {}.", weather, joined(runs, ", ")), advice if surplus else ""]
    )


def _charged(one: dict[str, Any]) -> Text:
    if one["from_surplus"]:
        return "from surplus"
    return say("from {}", SHARE(one["when_soc"]))


def _runs_empty(one: dict[str, Any], members: int) -> Text:
    if members == 1:
        return "yes" if one["empty_frac"] > 0.0 else "no"
    return count_of(members)(one["empty_frac"])


def _meaning(found: dict[str, Any]) -> Text:
    pack = [one for one in found["each"] if not one["from_surplus"]]
    surplus = "What takes surplus changes nothing in the bank."
    bank: Text = surplus
    if pack:
        bank = say(
            "What is charged before the bank is full took {} on the mean. {}",
            *(WH(sum(one["taken_Wh"] for one in pack)), surplus),
        )
    return joined(
        [
            "If one is lost, the bank lasts no shorter, and what it gave is gone. If all charging "
            "is lost, each lasts by itself as told, from full.",
            bank,
        ]
    )
