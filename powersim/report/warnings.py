"""What `simulate` warns of: what only shows once sun, bank and engine have been worked out.

`powersim.inputs.cautions` has what shows in the files themselves.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from powersim.physics.wanted_share import wanted_share
from powersim.records import Caution, Companion
from powersim.report import rounding, when_where
from powersim.report.cold_text import cold_told
from powersim.report.light_load_text import light_load_told
from powersim.report.wiring_text import wiring_told_of
from powersim.simulation.plant import has_charging_alternator

if TYPE_CHECKING:
    from powersim.simulation.result import SimulationResult

_ROUNDING = 1e-9
_LESS_FUEL = "motor less, charge less by engine, or carry more {fuel}"
#: Where a fridge runs as long as its line says. [degC]
_FRIDGE_C = 25.0
_NAMED = 3  # loads named in one warning


def warnings_of(result: SimulationResult) -> tuple[Caution, ...]:
    """Every warning that a simulated passage deserves: slips, then the gravest first."""
    return (
        *_doubted(result),
        *cold_told(result.summary["cold"]),
        *_dark(result),
        *_no_start(result),
        *_shed(result),
        *_plan(result),
        *_fuel(result),
        *_never_full(result),
        *_heeled(result),
        *light_load_told(result),
        *wiring_told_of(result.prepared),
        *_hot_fridge(result),
        *_no_time_left(result),
        *_never_on(result),
    )


def _dark(result):
    hourly = result.hourly
    dark = hourly[hourly["dark_h"] > 0]
    if dark.empty:
        return
    without = rounding.ah(dark["unserved_Ah"].sum())
    sooner = "charge sooner, " if has_charging_alternator(result.passage.boat) else ""
    yield Caution(
        text=f"the bank is flat and everything dark for {rounding.hours(dark['dark_h'].sum())}, "
        f"first on {_when(dark.iloc[0])}; loads went without {without}: {_without(result)}",
        advice=f"{sooner}carry more panel, or switch off more loads; 'powersim endurance' says "
        "how long",
    )


def _no_start(result):
    """A bank that starts the engine too, and has not the charge for it."""
    engine = result.passage.boat.engine
    if engine is None:
        return
    low = result.hourly[result.hourly["lowest_soc"] < engine.least_start_soc - _ROUNDING]
    if low.empty:
        return
    yield Caution(
        text=f"the bank is below {rounding.soc(engine.least_start_soc)}, too little to start the "
        f"engine, in {rounding.plural(len(low), 'hour')}, first on {_when(low.iloc[0])}: no run "
        "can begin then",
        advice="charge before it comes so low, or have another way to start: a battery for it "
        "alone, or a crank",
    )


def _shed(result):
    """Loads switched off to save charge, where the bank never went dark."""
    hourly = result.hourly
    short_Ah = hourly["unserved_Ah"].sum()
    if hourly["dark_h"].any() or short_Ah <= 0:
        return
    yield Caution(
        text=f"loads switched off to save charge went without {rounding.ah(short_Ah)}: "
        f"{_without(result)}",
        advice="see that you can do without them",
    )


def _plan(result):
    """Runs of an engine plan that the passage has no time for."""
    plan, track = result.passage.engine_plan, result.prepared.track
    first_s, last_s = track.edge_utc_s[0], track.edge_utc_s[-1]
    outside = [run for run in plan or () if run.end_utc_s <= first_s or run.start_utc_s >= last_s]
    if outside:
        yield Caution(
            text="runs of the engine plan before departure or after landfall: "
            f"{len(outside)} of {len(plan)}",
            advice="make a new plan, or see that the departure is the one it was made for",
        )


def _without(result) -> str:
    """The loads that go without most, by name."""
    loads = result.loads[result.loads["unserved_Ah_per_day"] > 0]
    names = list(loads.sort_values("unserved_Ah_per_day", ascending=False, kind="stable")["load"])
    return _listed(names)


def _listed(names) -> str:
    more = len(names) - _NAMED
    return ", ".join(names[:_NAMED]) + (f" and {more} more" if more > 0 else "")


def _fuel(result):
    """Fuel that motoring or charging wanted and that was not there, and motoring not done."""
    fuel, engine = result.passage.boat.fuel, result.passage.boat.engine
    if fuel is None:
        return
    hourly, moving = result.hourly, result.summary["average"]["engine"]
    word = result.passage.boat.fuel_word
    missed_h = moving["motoring_missed_h"]
    planned_h = moving["motoring_h"] + missed_h
    planned_L = planned_h * engine.motoring_L_per_h
    if planned_L > fuel.usable_L:
        yield Caution(
            text=f"{rounding.hours(planned_h)} of motoring need {rounding.litres(planned_L)}, more "
            f"than the {rounding.litres(fuel.usable_L)} that can be burnt",
            advice=f"motor less, or carry more {word}",
        )
    elif missed_h > 0.0:
        yield Caution(
            text=f"{rounding.hours(missed_h)} of the motoring planned could not be done",
            advice=f"look at {word} and starting charge then; the legs are kept all the same",
        )
    short = hourly[hourly["fuel_short_L"] > 0]
    if not short.empty:
        yield Caution(
            text=f"the {word} is used up on {_when(short.iloc[0])}; from then on "
            f"{rounding.litres(short['fuel_short_L'].sum())} are missing",
            advice=_LESS_FUEL.format(fuel=word),
        )
    elif result.summary["average"]["fuel"]["reserve_broken"]:
        left_L = result.summary["average"]["fuel"]["left_L"]
        yield Caution(
            text=f"{rounding.litres(left_L)} of {word} are left at landfall, less than the reserve "
            f"of {rounding.litres(fuel.reserve_L)}",
            advice=_LESS_FUEL.format(fuel=word),
        )


def long_without_full(result: SimulationResult) -> bool:
    """Whether the bank is without a full charge for longer than its chemistry stands."""
    longest_days = result.passage.boat.battery.traits.longest_without_full_days
    gap_days = result.summary["average"]["charge"]["longest_gap_between_full_days"]
    return longest_days is not None and gap_days > longest_days


def _never_full(result):
    if not long_without_full(result):
        return
    hourly = result.hourly
    gap_days = result.summary["average"]["charge"]["longest_gap_between_full_days"]
    last = hourly.loc[hourly["days_since_full"].idxmax()]
    end_utc = last.name + timedelta(hours=1)
    start_utc = end_utc - timedelta(days=float(last["days_since_full"]))
    start = when_where.date(start_utc, ship_offset_h=last["ship_offset_h"])
    by_engine = ", by engine in the morning and the sun after it"
    how = by_engine if result.passage.boat.alternator else ""
    harm = result.passage.boat.battery.traits.harm_without_full
    yield Caution(
        text=f"not fully charged for {rounding.days(gap_days)} from {start}: {harm}",
        advice=f"fill it once a week{how}",
    )


def _heeled(result):
    engine, prepared = result.passage.boat.engine, result.prepared
    if engine is None:
        return
    charging = result.flow.charging[:, 0]
    steep_h = float(charging[prepared.track.heel_deg > engine.max_heel_deg].sum())
    steep_h *= prepared.track.step_h
    if steep_h > 0.0:
        yield Caution(
            text=f"{rounding.hours(steep_h)} of charging at more heel than the engine's limit of "
            f"{rounding.degrees(engine.max_heel_deg)}",
            advice="ease her or heave to while it runs: its oil pump may suck air",
        )


def _hot_fridge(result):
    """Fridges that run all the while and no longer keep cold."""
    sky, step_h = result.prepared.sky, result.prepared.track.step_h
    for load in result.passage.loads:
        if load.temperature_rule != "fridge" or load.count == 0:
            continue
        hot = wanted_share(load, sky) > 1.0 + _ROUNDING
        if hot.any():
            yield Caution(
                text=f"{load.name} would have to run more than all the time for "
                f"{rounding.hours(hot.sum() * step_h)}, in a cabin of up to "
                f"{rounding.celsius(sky.cabin_C.max())}: it draws no more, and its box gets warm",
                advice="air the cabin, or look at its line in loads.csv: draw while it runs, and "
                f"share of the time at {rounding.celsius(_FRIDGE_C)}",
            )


def _no_time_left(result):
    """Loads that are on all the while by their own hours and by sessions, and more is wanted."""
    prepared = result.prepared
    on, step_h = prepared.demand.on_frac, prepared.track.step_h
    rows = result.passage.drawn
    for own, load in enumerate(result.passage.loads):
        beside = [
            row
            for row, one in enumerate(rows)
            if isinstance(one, Companion) and one.base == load.known_as
        ]
        with_them = on[own] + on[beside].sum(axis=0)
        filled = (on[own] < 1.0 - _ROUNDING) & (with_them > 1.0 - _ROUNDING)
        if filled.any():
            yield Caution(
                text=f"{load.name} is on all the while for "
                f"{rounding.hours(filled.sum() * step_h)}, by its own hours and for the sessions "
                "that name it: what these want beyond that is not counted",
                advice="look again at its hours, and at how long the sessions take, in loads.csv",
            )


def _never_on(result):
    demand, track = result.prepared.demand, result.prepared.track
    # What is on in the minutes between landfall and the end of its hour is not what she carries.
    under_way = int(track.arrival_h / track.step_h)
    aboard = {load.name for load in result.passage.loads if load.count > 0}
    idle = [
        name
        for name, on in zip(demand.names, demand.on_frac, strict=True)
        if name in aboard and not on[:under_way].any()
    ]
    if idle:
        yield Caution(
            text=f"never used on this route: {_listed(idle)}",
            advice="if that is not meant, see loads.csv",
        )


def _doubted(result):
    """Figures in the files that may be slips: where there are some, the answer rests on them."""
    doubts = result.passage.doubts
    if doubts:
        first = doubts[0]
        more = f", and {rounding.plural(len(doubts) - 1, 'more figure')}" if doubts[1:] else ""
        yield Caution(
            text=f"{first.at} may be a slip{more}: {first.text}",
            advice="'powersim check' says what would be usual",
        )


def _when(row) -> str:
    return when_where.ship_time(row.name, ship_offset_h=row["ship_offset_h"])
