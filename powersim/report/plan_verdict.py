"""Whether a rule holds, how often it does not and what it leaves: the first lines of `plan`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.planning.rule_limits import broken, runs_dry
from powersim.report import rounding
from powersim.report.kinds import SHARE, Band
from powersim.report.rounding import percent
from powersim.simulation.bands import band
from powersim.simulation.plant import has_charging_alternator

if TYPE_CHECKING:
    from powersim.planning.new_rule import NewRule
    from powersim.planning.plan import Plan
    from powersim.planning.policy_evaluation import PolicyEvaluation
    from powersim.records.arrays import Bools

_BREAKS = {
    "floor": "charge falls below its floor",
    "reserve": "{fuel} falls below its reserve",
    "full": "the bank waits too long for a full charge",
}


def verdict(plan: Plan | NewRule) -> list[tuple[str, str]]:
    """Whether a rule holds, how often it breaks each limit, and how low the bank goes.

    Pairs for `key_values`.
    """
    floor = rounding.soc(plan.limits.floor_soc)
    risk = rounding.soc(plan.limits.risk_frac)
    if plan.found.holds:
        first = ("HOLDS", f"{'; '.join(_shares(plan))}. Your risk is {risk} for each")
        left = []
    else:
        no_rule = "No rule holds: " if has_charging_alternator(plan.passage.boat) else ""
        first = ("FAILS", f"{no_rule}{_fails_in(plan)}. Your risk is {risk} for each")
        left = [("it leaves", harm_left(plan.found.validated))]
    lowest = band(plan.found.validated.lowest_soc[0])
    low, middle, high = (lowest[key] for key in ("p10", "p50", "p90"))
    between = f"median {SHARE(Band(middle, low, high))}"
    from_h = plan.limits.counted_from_h
    later = " from the second day on" if from_h else ""
    return [
        first,
        *left,
        ("lowest", f"{between}{later}; floor {floor}"),
        *([("first day", _first_day(plan))] if from_h else []),
        *_no_start(plan.passage.boat),
    ]


def _fails_in(plan) -> str:
    """How many of the passages the least bad rule fails in, and by what."""
    validated, fuel = plan.found.validated, plan.passage.boat.fuel_word
    where = broken(validated, plan.limits)
    kinds = (
        (validated.dark_h > 0.0, "go dark"),
        (
            below_floor(validated, plan),
            f"go below the floor of {rounding.soc(plan.limits.floor_soc)}",
        ),
        (runs_dry(validated, plan.limits), f"run out of {fuel}"),
        (where["reserve"], f"eat into the {fuel} reserve"),
        (where["full"], "wait too long for a full charge"),
    )
    told = [f"{int(happened.sum())} {words}" for happened, words in kinds if happened.any()]
    by = " by the least bad one" if has_charging_alternator(plan.passage.boat) else ""
    return f"of {plan.validation_members} simulated passages {', '.join(told)}{by}"


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


def _shares(plan) -> list[str]:
    """How often each limit that can be broken is."""
    asked = ["floor"]
    if plan.limits.burns:
        asked.append("reserve")
    if plan.passage.boat.charging.full_every_days is not None:
        asked.append("full")
    shares, validated = broken_fracs(plan), plan.found.validated
    told = {name: f"{breaks(plan, name)} in {percent(shares[name])} of them" for name in asked}
    dark = float((validated.dark_h > 0.0).mean())
    if dark:
        below = percent(float(below_floor(validated, plan).mean()))
        told["floor"] = (
            f"{_BREAKS['floor']} in {below} of them, and all goes dark in {percent(dark)}"
        )
    return list(told.values())


def breaks(plan: Plan | NewRule, name: str) -> str:
    """One of the limits as the page says that it is broken."""
    return _BREAKS[name].format(fuel=plan.passage.boat.fuel_word)


def broken_fracs(plan: Plan | NewRule) -> dict:
    """Share of the members in which the rule breaks each limit of `rule_limits.broken`. [-]"""
    where = broken(plan.found.validated, plan.limits)
    return {name: float(happened.mean()) for name, happened in where.items()}
