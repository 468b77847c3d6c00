"""Whether a rule holds, how often it does not and what it leaves: the first lines of `plan`."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from powersim.defaults import MEMBERS
from powersim.planning.evaluation_cache import SLEEPS_THROUGH
from powersim.planning.rule_limits import (
    failing,
    fails_frac,
    keeps_full,
    longest_since_full_h,
    runs_dry,
)
from powersim.report import rounding
from powersim.report.rounding import percent
from powersim.simulation.bands import band, quantiles
from powersim.simulation.plant import has_charging_alternator

if TYPE_CHECKING:
    from powersim.planning.new_rule import NewRule
    from powersim.planning.plan import Plan
    from powersim.planning.policy_evaluation import PolicyEvaluation
    from powersim.records.arrays import Bools
    from powersim.simulation.bands import Chance

_BREAKS = {
    "floor": "charge falls below its floor",
    "reserve": "{fuel} falls below its reserve",
}


def verdict(plan: Plan | NewRule, *, simulated: bool = False) -> list[tuple[str, str]]:
    """Whether a rule holds, how often it fails and by what, and how low the bank goes.

    Parameters
    ----------
    plan : Plan or NewRule
        The rule, and what it was held against.
    simulated : bool
        Whether `simulate` shows the same members, the first of them.

    Returns
    -------
    list of tuple of str
        Pairs for `key_values`.
    """
    found, validated = plan.found, plan.found.validated
    floor, risk = rounding.soc(plan.limits.floor_soc), rounding.soc(plan.limits.risk_frac)
    charges = has_charging_alternator(plan.passage.boat)
    often = f"{_fails_in(plan)}. Your risk is {risk}"
    if found.holds:
        first, left = ("HOLDS", f"{often}{_how_sure(plan)}"), []
    else:
        first = ("FAILS", f"{'NO RULE HOLDS: by the nearest, ' if charges else ''}{often}")
        left = [("it leaves", harm_left(validated))]
    from_h = plan.limits.counted_from_h
    later = " from the second day on" if from_h else ""
    middle, low = quantiles(validated.lowest_soc[0], (0.5, plan.limits.risk_frac))
    between = (
        f"median {rounding.soc(float(middle))}, {one_in(plan)} below {rounding.soc(float(low))}"
    )
    return [
        first,
        *left,
        ("lowest", f"{between}{later}; floor {floor}"),
        *([("first day", _first_day(plan))] if from_h else []),
        *(_shown(plan) if simulated else []),
        *_moved(plan),
        *_full(plan),
        *_no_start(plan.passage.boat),
    ]


def one_in(plan: Plan | NewRule) -> str:
    """How few members may fail, in words.

    Examples
    --------
    At a risk of 5 % "in 1 of 20", at one of 7 % "in 7 % of them".
    """
    share = Fraction(plan.limits.risk_frac).limit_denominator(1000)
    if share.numerator == 1:
        return f"in 1 of {share.denominator}"
    return f"in {rounding.soc(plan.limits.risk_frac)} of them"


def _how_sure(plan) -> str:
    """What to make of a rule whose interval reaches across the risk."""
    if plan.found.verdict.sure:
        return ""
    return ": too close to call, as other passages may show it on either side"


def _fails_in(plan) -> str:
    """In how many of the passages a rule fails, by what, and how many it may be."""
    found, fuel = plan.found, plan.passage.boat.fuel_word
    told, validated = found.verdict, found.validated
    members = told.members

    def count(frac):
        return round(frac * members)

    kinds = (
        (told.dark.frac, "goes dark", "go dark"),
        (
            float(below_floor(validated, plan).mean()),
            *(f"{word} below the floor of {rounding.soc(plan.limits.floor_soc)}" for word in _GO),
        ),
        (
            float(runs_dry(validated, plan.limits).mean()),
            f"runs out of {fuel}",
            f"run out of {fuel}",
        ),
        (told.reserve.frac, *(f"{word} into the {fuel} reserve" for word in ("eats", "eat"))),
    )
    why = [
        f"{count(frac)} {one if count(frac) == 1 else many}" for frac, one, many in kinds if frac
    ]
    fails = count(told.fails.frac)
    head = f"of {members} simulated passages {fails or 'none'} {'fails' if fails == 1 else 'fail'}"
    return f"{head} ({bounds(told.fails)} of ever more){': ' if why else ''}{', '.join(why)}"


def bounds(chance: Chance) -> str:
    """How few and how many fail with ever more passages, 19 times in 20.

    Parameters
    ----------
    chance : Chance
        With its interval.
    """
    return f"{100.0 * chance.least_frac:.1f} to {100.0 * chance.most_frac:.1f} %"


_GO = ("goes", "go")


def _shown(plan) -> list[tuple[str, str]]:
    """The same in as many passages as `simulate` shows."""
    verdict_there = plan.found.verdict
    few = min(MEMBERS, verdict_there.members)
    if few == verdict_there.members:
        return []
    fails = int(failing(plan.found.validated.of_first(few), plan.limits).any.sum())
    return [("simulate", f"shows the first {few} of these: {fails} of them fail")]


def _moved(plan) -> list[tuple[str, str]]:
    """The same by a start a little lower and higher."""
    found, told = plan.found, list[tuple[str, str]]()
    if found.moved:
        members = found.verdict.members
        ways = [
            f"{round(one.fails.frac * members)} if you start {abs(points)} points "
            f"{'lower' if points < 0 else 'higher'}"
            for points, one in found.moved.items()
        ]
        if found.slept_through is not None:
            missed = round(found.slept_through.fails.frac * members)
            ways.append(f"{missed} if you sleep through one reading in {SLEEPS_THROUGH}")
        fails = round(found.fails_frac * members)
        told.append(("margin", f"{fails} of {members} fail; {', '.join(ways)}"))
    return told


def _full(plan) -> list[tuple[str, str]]:
    """How long the bank goes without a full charge, and why so long if that is too long."""
    days, found = plan.limits.full_every_days, plan.found
    boat = plan.passage.boat
    if days is None and (boat.battery.traits.habit.full_every_days is None or boat.engine is None):
        return []
    hours = found.validated.longest_since_full_h[0]
    longest_h = float(longest_since_full_h(found.validated, plan.limits)[0])
    went = (
        f"longest time without a full charge {rounding.days(float(hours.mean()) / 24.0)} on "
        f"average, {one_in(plan)} above {rounding.days(longest_h / 24.0)}"
    )
    if days is None:
        return [("full charge", f"{went}; no run asks for one: {_why_none(plan.passage)}")]
    went += f"; full_every is {rounding.days(days)}"
    if bool(keeps_full(found.validated, plan.limits)[0]) or not found.holds:
        return [("full charge", went)]
    fullest = found.fullest
    if fullest is None:
        return [("full charge", went)]
    more = [
        float(getattr(fullest, name).mean() - getattr(found.validated, name).mean())
        for name in ("charging_L", "charging_h")
    ]
    fuel = plan.passage.boat.fuel_word
    price = f"{rounding.litres(more[0])} more {fuel} and {rounding.hours(more[1])} more of engine"
    fails = percent(float(fails_frac(fullest, plan.limits)[0]))
    if bool(keeps_full(fullest, plan.limits)[0]):
        why = f"a rule that keeps to it takes {price}, and {fails} fail"
    elif fullest.rules[0] == found.rule:
        why = "of the rules that hold none fills the bank sooner"
    else:
        nearest_h = float(longest_since_full_h(fullest, plan.limits)[0])
        why = (
            f"no rule that holds comes nearer than {rounding.days(nearest_h / 24.0)}; that takes "
            f"{price}, and {fails} fail"
        )
    return [("full charge", f"{went}. Not kept: {why}")]


def _why_none(passage) -> str:
    """Why the engine is not to fill a bank that wants it: her regulator, or her boat.toml."""
    told = (one.reason for one in passage.assumptions if one.place.endswith("charging.full_every"))
    return next(told, "full_every in boat.toml is 'never'")


def below_floor(validated: PolicyEvaluation, plan: Plan | NewRule) -> Bools:
    """Where charge itself is below its floor: a bank may go dark by its voltage far above it."""
    return validated.lowest_soc < plan.limits.floor_soc


def harm_left(validated: PolicyEvaluation) -> str:
    """For how long all is dark, and charge below its floor, by a rule that does not hold.

    The mean of a passage, and what the worst tenth of them exceeds.
    """

    def told(hours, what):
        if not hours.any():
            return f"never {what}"
        worst_h = band(hours)["p90"]
        more = f" (1 in 10 above {rounding.hours(worst_h)})" if worst_h > 0.0 else ""
        return f"{what} for {rounding.hours(float(hours.mean()))} a passage{more}"

    dark = told(validated.dark_h[0], "dark")
    return f"{dark}; {told(validated.below_floor_h[0], 'below the floor')}"


def _first_day(plan) -> str:
    battery = plan.passage.boat.battery
    return (
        f"the bank begins at {rounding.soc(battery.soc_at_departure)}, and no rule keeps it above "
        "its floor so soon: the floor counts from the second day on, darkness from the first hour"
    )


def _no_start(boat) -> list[tuple[str, str]]:
    """What is left to somebody whose engine the bank cannot start as it begins."""
    begins = boat.battery.soc_at_departure
    if boat.engine is None or begins >= boat.engine.least_start_soc:
        return []
    least = rounding.soc(boat.engine.least_start_soc)
    lean = "sun, wind or water" if boat.panels or boat.chargers else "another source"
    return [
        (
            "start",
            f"the bank begins at {rounding.soc(begins)} and starts the engine from {least} on: "
            f"no run can begin before {lean} has brought it there; switch off all that can be "
            "spared, or start by a crank or another battery",
        )
    ]


def breaks(plan: Plan | NewRule, name: str) -> str:
    """One of the limits as the page says that it is broken."""
    return _BREAKS[name].format(fuel=plan.passage.boat.fuel_word)
