"""What `plan` prints: the rule, whether it holds, what it costs, how good it is, the timetable."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from powersim.planning.rule_limits import fails_frac
from powersim.records.care import care_in_short
from powersim.records.set_value import WHAT_IF
from powersim.records.units_aboard import aboard
from powersim.report import rounding, when_where
from powersim.report.changed_told import changed_sections
from powersim.report.cold_text import WARM_IT, cold_told, too_cold
from powersim.report.engine_hour_view import engine_hours_told
from powersim.report.engine_runs import engine_runs, ship_offset_h
from powersim.report.kinds import BAND_HEADS
from powersim.report.light_load_text import light_load_told
from powersim.report.names import headed
from powersim.report.plan_offers import offers_text
from powersim.report.plan_verdict import breaks, verdict
from powersim.report.plan_weeks import weeks_text
from powersim.report.rounding import percent
from powersim.report.rule_lines import rule_lines
from powersim.report.screen_text import screen_text
from powersim.report.text import bullets, join, key_values, paragraph, table, title
from powersim.simulation.bands import band
from powersim.simulation.plant import has_charging_alternator

if TYPE_CHECKING:
    from powersim.planning.new_rule import NewRule
    from powersim.planning.plan import LowerBound, Plan

#: A usual size of can. [L]
JERRYCAN_L = 20.0
_NO_PROMISE = (
    "The rule rests on the files and on the weather that such months bring: it is no promise. What "
    "the log says counts more."
)


def plan_text(plan: Plan, *, keep: str = "", written: str = "", brief: bool = False) -> str:
    """The plan for a reader.

    Parameters
    ----------
    plan : Plan
        As the search found it.
    keep : str
        The rule as lines of boat.toml.
    written : str
        Where the files are, in one sentence.
    brief : bool
        Verdict and rule alone.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    first = join(
        screen_text(changed_sections(plan.passage)),
        paragraph(_head(plan)),
        key_values(verdict(plan, simulated=True)),
        _before_leaving(plan),
        _cold(plan, brief=brief),
        rule(plan),
    )
    if brief:
        return first
    return join(
        first,
        _help(plan),
        offers_text(plan),
        weeks_text(plan),
        costs(plan),
        screen_text(engine_hours_told(plan.engine_hours)),
        _how_good(plan),
        _timetable(plan),
        bullets(one.sentence for one in light_load_told(plan.result)),
        kept(keep) if has_charging_alternator(plan.passage.boat) else "",
        paragraph(care_in_short(plan.passage.boat)),
        paragraph(f"{written} {_NO_PROMISE}"),
    )


def _cold(plan, *, brief) -> str:
    """What the cold does to the bank, unless `_help` is going to say it."""
    later = not brief and plan.help is not None and plan.help.warm_bank is not None
    return "" if later else bullets(one.sentence for one in cold_told(plan.result.summary["cold"]))


def _before_leaving(plan) -> str:
    """What to do about a bank that begins below its floor, while there is a quay."""
    battery = plan.passage.boat.battery
    if battery.soc_at_departure >= battery.floor_soc:
        return ""
    return paragraph(
        "She leaves below her floor: charge before you go. 'powersim simulate' counts the first "
        "day too, and says FAILS by any rule."
    )


def _head(plan) -> str:
    where = plan.passage.waypoints
    named = headed(plan.passage.name, where[0].name, where[-1].name)
    if not has_charging_alternator(plan.passage.boat):
        return (
            f"{named}. No charging rule to plan; as she is, in "
            f"{plan.validation_members} simulated passages."
        )
    return (
        f"{named}. When to charge by engine, searched in {plan.members} simulated passages and "
        f"checked in {plan.validation_members} others."
    )


def rule(plan: Plan | NewRule) -> str:
    """A rule in words, with its heading."""
    name = "The rule" if plan.found.holds else "No rule holds; the nearest, which fails"
    charges = has_charging_alternator(plan.passage.boat)
    head = f"{name}, in ship's time" if charges else "What is left to you"
    told = rule_lines(plan.rule, plan.panel, plan.passage.boat, plan.keep_V)
    lines = [str(line) for line in told]
    return f"{title(head)}\n{_numbered(lines)}"


def _numbered(lines) -> str:
    if len(lines) == 1:
        return paragraph(lines[0])
    return "\n".join(
        paragraph(line, bullet=f"{place}. ") for place, line in enumerate(lines, start=1)
    )


def _help(plan) -> str:
    found, fuel = plan.help, plan.passage.boat.fuel_word
    charges = has_charging_alternator(plan.passage.boat)
    if found is None:
        return ""
    changes = []
    if found.more_L is not None:
        cans = rounding.plural(math.ceil(found.more_L / JERRYCAN_L), "jerrycan")
        changes.append(
            f"{rounding.litres(found.more_L)} more {fuel} aboard ({cans} of "
            f"{aboard().volume.said(JERRYCAN_L)})"
        )
    if found.monitor:
        changes.append("a battery monitor to read the bank by, in place of volts")
    if found.own_volts:
        changes.append("two points of your own rested volts, read in harbour ('rested')")
    if found.more_W is not None:
        changes.append(f"{rounding.watts(found.more_W)} more panel")
    if found.more_Ah is not None:
        changes.append(f"{rounding.ah(found.more_Ah)} more battery")
    if found.leave_off:
        changes.append(f"without these loads: {', '.join(found.leave_off)}")
    head, way = title("What would help"), _in_the_way(plan)
    if found.warm_bank:
        changes.insert(0, f"{WARM_IT} (what a heater draws is not counted)")
    if not changes:
        more = f", not more {fuel}" if charges else ""
        none = (
            f"{way} No single change helps: not six times the panels or the battery{more}, "
            "nor leaving off all that may be left off. Put several together, or sail in "
            "another month; do not count on this bank as it is."
        )
        return f"{head}\n{paragraph(none)}"
    each = f"{way} The smallest change that would help, each by itself (about):"
    again = "run 'powersim plan' again with the change."
    if charges:
        again = f"It then takes another rule than the one above: {again}"
    again = again[:1].upper() + again[1:]
    return "\n".join([head, paragraph(each), bullets(changes), paragraph(again)])


def _in_the_way(plan) -> str:
    found = plan.help
    if found.warm_bank:
        return f"In the way: {too_cold(plan.result.summary['cold'])}."
    way = breaks(plan, found.in_the_way)
    if found.in_the_way == "floor" and plan.found.validated.dark_h.any():
        way = f"all goes dark, or {way},"
    head = f"In the way: {way} too often."
    if found.warm_bank is None:
        return head
    first = too_cold(plan.result.summary["cold"])
    return (
        f"{first[:1].upper()}{first[1:]}. {WARM_IT[:1].upper()}{WARM_IT[1:]}: by itself that is "
        f"not enough. {head}"
    )


def costs(plan: Plan | NewRule) -> str:
    """Engine hours and litres with their bands, beside those of the boat's own rule."""
    if plan.passage.boat.engine is None:
        return ""
    if not has_charging_alternator(plan.passage.boat):
        return "There is no alternator that the engine could charge with."
    validated, own = plan.found.validated, plan.own
    fuel = plan.passage.boat.fuel_word
    kinds = [
        ("engine, charging", "charging_h", rounding.hours),
        ("runs", "charging_runs", rounding.number),
        (f"{fuel} for charging", "charging_L", rounding.litres),
    ]
    harms = [("all dark", "dark_h"), ("below the floor", "below_floor_h")]
    if not plan.found.holds:
        kinds = [(name, key, rounding.hours) for name, key in harms] + kinds
    if plan.limits.burns:
        kinds.append((f"{fuel} left at landfall", "fuel_left_L", rounding.litres))
    rows = []
    for name, key, form in kinds:
        bands = band(getattr(validated, key)[0])
        mean, own_mean = float(getattr(validated, key).mean()), float(getattr(own, key).mean())
        rows.append(
            (
                name,
                *(form(bands[part]) for part in ("p10", "p50", "p90")),
                form(mean),
                form(own_mean),
            )
        )
    own_frac = float(fails_frac(own, plan.limits)[0])
    return join(
        table(
            rows,
            aligns="lrrrrr",
            header=(
                f"{plan.validation_members} simulated passages",
                *BAND_HEADS,
                "mean",
                "own rule",
            ),
        ),
        paragraph(f"By boat.toml's own rule {percent(own_frac)} of these passages fail."),
    )


def _how_good(plan) -> str:
    if plan.lower_bound is None:
        return ""
    bound, best, planned = figures(plan.lower_bound)
    rows = [
        ("perfect foresight, the least possible", rounding.litres(bound), ""),
        (
            "the best rule for this weather alone",
            rounding.litres(best),
            _beside(best, bound),
        ),
        ("this rule, in this weather", rounding.litres(planned), _beside(planned, bound)),
        ("price of caution", rounding.litres(planned - best), "and of reading at set times"),
    ]
    broke = (
        ""
        if plan.lower_bound.bound.feasible
        else (" Not even foresight keeps all limits in this weather; the first figure says little.")
    )
    return (
        f"{title('How good it is')}\n"
        + paragraph(
            f"{plan.passage.boat.fuel_word.capitalize()} for charging in the same average "
            f"weather, with all loads kept on and the bank as full at the end.{broke}"
        )
        + "\n"
        + table(rows, aligns="lrl")
    )


def figures(lower_bound: LowerBound) -> tuple[float, float, float]:
    """Litres for charging in average weather, with all loads kept on. [L]

    By perfect foresight, by the best rule for this sky, by the rule of the plan.
    """
    best, planned = (
        float(evaluation.charging_L[0, 0]) for evaluation in (lower_bound.best, lower_bound.planned)
    )
    return lower_bound.bound.charging_L, best, planned


def _beside(litres, bound_L) -> str:
    more = f"{rounding.litres(max(litres - bound_L, 0.0))} more"
    if bound_L < 0.05:
        return more
    return f"{more}, {rounding.number(litres / bound_L, decimals=2)} times as much"


def _timetable(plan) -> str:
    runs, fuel = plan.runs, plan.passage.boat.fuel_word
    head = title("Expected timetable, in average weather")
    if plan.panel is None:
        return ""
    if not len(runs):
        return f"{head}\n" + paragraph("No run is expected; grey weeks may ask for some.")
    rows = [
        (
            when_where.ship_time(run.start_utc, ship_offset_h=ship_offset_h(run)),
            f"{run.start_utc:%H:%M}",
            when_where.position(run.lat_deg, run.lon_deg),
            rounding.minutes(run.run_h),
            rounding.litres(run.fuel_L),
            rounding.soc(run.soc_before),
            rounding.soc(run.soc_after),
        )
        for run in engine_runs(runs)
    ]
    total = (
        f"{rounding.plural(len(runs), 'run')}, {rounding.hours(runs['run_h'].sum())}, "
        f"{rounding.litres(runs['fuel_L'].sum())}. Grey weeks take more, bright ones less: go by "
        "the rule, not by this table."
    )
    columns = ("ship's time", "UTC", "place", "run", fuel, "before", "after")
    return "\n".join([head, table(rows, aligns="lllrrrr", header=columns), paragraph(total)])


def kept(keep: str) -> str:
    """What to write into boat.toml to keep a rule, from its lines; empty for none.

    Lines of a rule for changed files say so above.
    """
    if not keep:
        return ""
    whose = "the rule of a boat that was changed so" if WHAT_IF in keep else "the boat's rule"
    return paragraph(f"To make it {whose}, put this into boat.toml:") + f"\n\n{keep}"
