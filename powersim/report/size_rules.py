"""Rules of their own for the marked choices of `size`: in words, and for a program."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from powersim.report import rounding
from powersim.report.plain import plain
from powersim.report.rounding import percent
from powersim.report.rule_lines import rule_lines
from powersim.report.text import join, paragraph, title

if TYPE_CHECKING:
    from powersim.planning.size_front import Sized
    from powersim.planning.size_replan import Replanned


def rules_text(sized: Sized, rules: Sequence[Replanned]) -> str:
    """What each marked choice comes to by a rule of its own; empty without rules.

    `rules` are of some of the marked choices, in their order.
    """
    if not rules:
        return ""
    places = {one.point.choice: place for place, one in enumerate(sized.front, 1)}
    was = {one.point.choice: one.point for one in sized.front}
    told = [
        paragraph(_told(one, was[one.choice]), bullet=f"{places[one.choice]}: ") for one in rules
    ]
    judged = (
        f"Searched as by 'powersim plan', and checked in {rules[0].validation_members} other "
        "simulated passages. Each of floor and reserve may be broken in the risk that you allow."
    )
    return join(f"{title('With a rule of its own')}\n{paragraph(judged)}", *told)


def _told(one, was) -> str:
    lines = " ".join(map(str, rule_lines(one.rule, one.panel, one.boat, one.keep_V)))
    verdict = (
        ""
        if one.holds
        else f"No rule holds; the least bad leaves all dark for {rounding.hours(one.dark_h)} and "
        f"charge below its floor for {rounding.hours(one.below_floor_h)} a passage: "
    )
    later = " from the second day on" if one.counted_from_h else ""
    return (
        f"{verdict}engine {rounding.hours(one.charging_h)} to charge and "
        f"{rounding.litres(one.charging_L)} (before {rounding.hours(was.charging_h)} and "
        f"{rounding.litres(was.charging_L)}); below the floor in {percent(one.floor_frac)}, fails "
        f"in {percent(one.fails_frac)}{later}. {lines}"
    )


def rules_dicts(sized: Sized, rules: Sequence[Replanned]) -> list[dict]:
    """The same for a program."""
    places = {one.point.choice: place for place, one in enumerate(sized.front, 1)}
    return [
        {
            "mark": places[one.choice],
            "holds": one.holds,
            "rule": plain(one.rule),
            "rule_in_words": [
                str(line) for line in rule_lines(one.rule, one.panel, one.boat, one.keep_V)
            ],
            "judged_in": one.validation_members,
            "fails_frac": one.fails_frac,
            "floor_frac": one.floor_frac,
            "floor_counts_from_h": one.counted_from_h,
            "dark_h": one.dark_h,
            "below_floor_h": one.below_floor_h,
            "charging_h": one.charging_h,
            "charging_L": one.charging_L,
        }
        for one in rules
    ]
