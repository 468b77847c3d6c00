"""What `check` warns of: all that shows in the files themselves, without sun or bank."""

from __future__ import annotations

import re
from itertools import pairwise

from powersim.inputs.odd_figures import odd_figures
from powersim.inputs.off_land import OFF_LAND_NM, is_off_land
from powersim.inputs.route_limits import is_same_place
from powersim.inputs.toml_keys import written
from powersim.records import BOAT_STATES, STATES, Caution, Passage
from powersim.records.belt import charging_W, driven, motoring_W, wanted_W
from powersim.records.lights import LIGHT_RULES, lights_missing, lights_not_allowed
from powersim.records.units_aboard import aboard

#: What the warnings of a missing light and of an idle load have in common.
NO_LIGHT, NEVER_RUNS = "no light that shines all night", "never runs"


def cautions_of(passage: Passage) -> tuple[Caution, ...]:
    """Every warning that a passage's files deserve by themselves.

    Parameters
    ----------
    passage : Passage
        As its files were understood.

    Returns
    -------
    tuple of Caution
        Figures that may be slips first, then lights, loads, fuel, engine, battery, other chargers.
    """
    states = states_planned(passage)
    # Without an engine `_no_engine` says it all of motoring.
    no_engine = passage.boat.engine is None
    lit = tuple(state for state in states if not (no_engine and state == "motoring"))
    return (
        *odd_figures(passage, states),
        *_dark(passage.loads, lit),
        *_wrong_lights(passage.loads, lit),
        *_no_lookout_role(passage.loads),
        *_anchored_off_land(passage.waypoints),
        *_never_on(passage.loads, states),
        *_leaves_low(passage.boat.battery),
        *_other_fuel(passage),
        *_fuel_short(passage),
        *_no_reserve(passage.boat),
        *_no_engine(passage),
        *_heeled(passage),
        *_only_rests(passage.boat),
        *_beyond_the_engine(passage.boat),
        *_tireless_bank(passage.boat),
        *_shared_start(passage.boat),
        *_unregulated(passage.boat),
        *_idle_chargers(passage),
    )


def states_planned(passage: Passage) -> tuple[str, ...]:
    """Boat states that the route brings, in the order of BOAT_STATES.

    Returns
    -------
    tuple of str
        Motoring is among them when any is planned, calms included, and how she lies to in bad
        weather.
    """
    legs = passage.waypoints[:-1]
    under_engine = any(
        leg.motoring_start_h or leg.motoring_end_h or leg.motoring_calm_frac for leg in legs
    )
    stops = {waypoint.stop_state for waypoint in passage.waypoints if waypoint.stop_h > 0}
    moves = any(not is_same_place(*ends) for ends in pairwise(passage.waypoints))
    planned = {
        *(["sailing"] if moves or not stops else []),
        *(["motoring"] if under_engine else []),
        *stops,
    }
    if "sailing" in planned and passage.boat.heavy_weather.lying is not None:
        planned.add(passage.boat.heavy_weather.lying)
    return tuple(state for state in BOAT_STATES if state in planned)


def motoring_planned_h(passage: Passage) -> float:
    """Hours under power that the route names; calms come on top."""
    return sum(leg.motoring_start_h + leg.motoring_end_h for leg in passage.waypoints[:-1])


def _dark(loads, states):
    dark = {state: lights_missing(loads, state=state) for state in states}
    for state, rule in dark.items():
        told_already = dark.get(STATES[state].as_if) is not None  # the light for both is missing
        if rule is not None and not told_already:
            yield Caution(
                text=f"{NO_LIGHT} {STATES[state].words}: {rule.rules} of the "
                f"collision regulations ask for {rule.shows}",
                advice=f"add a line with role '{rule.role}', when '{state}', window 'night', "
                "on '100 %'",
            )


def _wrong_lights(loads, states):
    for state in states:
        for load in lights_not_allowed(loads, state=state):
            yield Caution(
                text=f"{load.name}: {load.role} on while {state}",
                advice=_instead(load, state),
            )


def _instead(load, state):
    if load.role == "sailing lights" and state == "motoring":
        return (
            "the lantern at the masthead is for sailing only: under engine the boat is "
            f"power-driven, {LIGHT_RULES['motoring'].rules}; list deck-level lights that also "
            "shine then in a line of their own with role 'power lights'"
        )
    return f"leave '{state}' out of its column when, or give it another role"


#: What a lookout is called in load lists. A lamp on the arch that carries the radar is none.
_LOOKOUT = re.compile(r"\b(ais|transponder|target enhancer)\b|\bradar\b(?! (arch|mast|pole))", re.I)


def _no_lookout_role(loads):
    """Loads that are a lookout by their name, and may be switched off by their role."""
    known = any(load.role == "lookout" and load.count for load in loads)
    for load in loads:
        # With a lookout in the list, another role was the sailor's own choice.
        chosen = load.role is not None and known
        if load.count and not load.protected and not chosen and _LOOKOUT.search(load.name):
            yield Caution(
                text=f"{load.name}: by its name it keeps watch while you sleep, and without the "
                "role 'lookout' it is among the loads that may be switched off",
                advice="give it the role 'lookout', or the role 'navigation' if another keeps "
                "watch",
            )


def _anchored_off_land(waypoints):
    for waypoint in waypoints:
        if (
            waypoint.stop_h > 0
            and waypoint.stop_state == "anchored"
            and is_off_land(lat_deg=waypoint.lat_deg, lon_deg=waypoint.lon_deg)
        ):
            yield Caution(
                text=f"{waypoint.name}: the stop counts as at anchor, and no land is known within "
                f"{aboard().distance.text(OFF_LAND_NM)}",
                advice="if she waits at sea write it as '36 h hove-to' or '12 h drifting': then "
                "the loads of sailing go on, and she shows the lights of a vessel under way; "
                "leave it if there is ground to anchor on",
            )


def _never_on(loads, states):
    for load in loads:
        reason = _why_never(load, states)
        if reason is not None:
            yield Caution(
                text=f"{load.name} {NEVER_RUNS} on this route: {reason}",
                advice="its standby draw is still counted"
                if _stands_by(load, states)
                else "leave it as it is if so meant: it takes nothing from the bank",
            )


def _why_never(load, states):
    if load.count == 0:
        return "its count is 0"
    if 0 in (load.on_frac, load.on_h_per_day):
        return "its time on is 0"
    if not load.states & set(states):
        return f"the boat is never {' or '.join(sorted(load.states)) or 'in any of its states'}"
    return None


def _stands_by(load, states):
    return bool(load.count and load.states & set(states) and (load.standby_A or load.standby_W))


def _other_fuel(passage):
    """A heater that hardly ever burns what the engine does."""
    boat = passage.boat
    burns = [load.name for load in passage.loads if load.fuel_L_per_h and load.count]
    if boat.engine is not None and boat.fuel_word == "petrol" and burns:
        yield Caution(
            text=f"{', '.join(burns)}: what it burns is counted from the tank of petrol",
            advice="if it burns diesel or gas of its own, leave its column fuel empty and count "
            "that by itself",
        )


def _fuel_short(passage):
    engine, fuel = passage.boat.engine, passage.boat.fuel
    if engine is None:
        return
    planned_h = motoring_planned_h(passage)
    needed_L = planned_h * engine.motoring_L_per_h
    beyond_reserve_L = fuel.usable_L - fuel.reserve_L
    if needed_L <= beyond_reserve_L:
        return
    litres = aboard().volume.text
    there_is = (
        f"{litres(fuel.usable_L)} aboard that can be burnt"
        if needed_L > fuel.usable_L
        else f"{litres(max(beyond_reserve_L, 0.0))} above the reserve"
    )
    yield Caution(
        text=f"the {planned_h:.0f} h of motoring on the route burn {litres(needed_L)}, more than "
        f"the {there_is}",
        advice="plan fewer hours or take more; calms, charging and a heater's fuel come on top",
    )


def _no_reserve(boat):
    if boat.fuel is not None and boat.fuel.reserve_L == 0:
        yield Caution(
            text="no fuel is held in reserve",
            advice="set fuel.reserve: hours of motoring for a landfall in a calm or a foul tide",
        )


def _no_engine(passage):
    if passage.boat.engine is None and "motoring" in states_planned(passage):
        yield Caution(
            text="the route has motoring in it and boat.toml has no engine",
            advice="take the motoring out of the route, or add [engine] and [fuel]",
        )


def _heeled(passage):
    boat = passage.boat
    if boat.alternator is None or not boat.charging.by_engine:
        return
    limit_deg = boat.engine.max_heel_deg
    legs = [leg for leg in passage.waypoints[:-1] if leg.heel_deg > limit_deg]
    if legs:
        most_deg = max(leg.heel_deg for leg in legs)
        yield Caution(
            text=f"the engine charges at up to {most_deg:.0f} degrees of heel, above its limit of "
            f"{limit_deg:.0f}, from {', '.join(leg.name for leg in legs)}",
            advice="bring her upright for the run, or ask the maker: an oil pump that sucks air "
            "ends the engine",
        )


def _only_rests(boat):
    """Bad weather in which she lies to and nothing else is said of it: that is half of it."""
    heavy = boat.heavy_weather
    if heavy.lying is None:
        return
    charges = boat.alternator is not None and boat.charging.by_engine
    left_out = [
        *(["no_engine_above"] if charges and heavy.no_engine_above_kn is None else []),
        *(["spray_above"] if boat.panels and heavy.spray_above_kn is None else []),
    ]
    if left_out:
        yield Caution(
            text="heavy_weather: lying to rests the pilot, so by itself it makes the answer "
            "easier than a gale is",
            advice=f"give {' and '.join(left_out)} too",
        )


def _beyond_the_engine(boat):
    alternator, engine, battery = boat.alternator, boat.engine, boat.battery
    if alternator is None:
        return
    counted = driven(alternator, engine, battery)

    def beyond(revs, wanted_A, counted_A, has_W, why, advice):
        if counted_A < wanted_A:
            wanted_kW = wanted_W(alternator, battery, wanted_A) / 1000.0
            yield Caution(
                text=f"at {revs} the alternator's {wanted_A:.0f} A take {wanted_kW:.1f} kW from "
                f"the shaft, and the engine has {has_W / 1000.0:.1f} kW for it ({why}); "
                f"powersim counts on {counted_A:.0f} A",
                advice=advice,
            )

    rated = f"{engine.rated_kW:.4g} kW"
    litres = aboard().volume.text(engine.motoring_L_per_h, decimals=1)
    revs, belt = written(engine.rev_share_frac, "frac"), written(engine.belt_share_frac, "frac")
    yield from beyond(
        "charging revs",
        alternator.charging_A,
        counted.charging_A,
        charging_W(engine),
        f"{rated} at {revs} of its revs, {belt} of that",
        "charge at higher revs and say so in engine.rev_share, or have the regulator limit the "
        "output: an engine that labours smokes and runs hot, and a belt that slips burns",
    )
    yield from beyond(
        "cruising revs",
        alternator.motoring_A,
        counted.motoring_A,
        motoring_W(engine),
        f"{rated}, less what the propeller takes at {litres}/h",
        "motor more slowly while the bank is low, or have the regulator limit the output",
    )


def _tireless_bank(boat):
    """An alternator counted on for more than it stands into a bank that never takes less."""
    alternator, traits = boat.alternator, boat.battery.traits
    if alternator is None or traits.alternator_frac is None:
        return
    if alternator.temperature_controlled or alternator.nameplate_A is None:
        return
    most_A = traits.alternator_frac * alternator.nameplate_A
    if max(alternator.charging_A, alternator.motoring_A) > most_A:
        share = _share_in_words(traits.alternator_frac)
        yield Caution(
            text=f"the alternator is to give more than {share} of its nameplate into "
            f"{traits.word}, which takes all it is given for hours",
            advice=f"fit control by the alternator's temperature, or limit it to {share}",
        )


def _share_in_words(frac) -> str:
    return "half" if frac == 0.5 else written(frac, "frac")


def _shared_start(boat):
    if boat.engine is None or boat.engine.start_battery != "shared":
        return
    needed_soc, floor_soc = boat.engine.shared_start_soc, boat.battery.floor_soc
    if floor_soc < needed_soc:
        needed, floor = written(needed_soc, "frac"), written(floor_soc, "frac")
        yield Caution(
            text=f"the bank also starts the engine, which needs {needed} in it, and its floor is "
            f"{floor}",
            advice="fit a separate starting battery, or raise battery.floor",
        )


def _leaves_low(battery):
    if battery.soc_at_departure < battery.floor_soc:
        yield Caution(
            text=f"the bank leaves at {100.0 * battery.soc_at_departure:.3g} %, below its floor of "
            f"{100.0 * battery.floor_soc:.3g} %",
            advice="charge it before you go: else a grey first day leaves nothing to fall back on",
        )


def _unregulated(boat):
    for charger in boat.chargers:
        if not charger.regulated:
            yield Caution(
                text=f"{charger.name}: it has no regulator, so it goes on charging a full bank, "
                f"which {boat.battery.traits.harm_when_overcharged}",
                advice="fit a regulator with a dump load, which takes what the bank does not; "
                "until then stop it by hand before the bank is full",
            )


def _idle_chargers(passage):
    """Other chargers that give nothing on this route, as far as the files alone can tell."""
    speeds_kn = [leg.speed_kn for leg in passage.waypoints[:-1]]
    for charger in passage.boat.chargers:
        idle = charger.idle_on(speeds_kn, states_planned(passage))
        if idle is not None:
            text, advice = idle
            yield Caution(text=f"{charger.name}: {text}", advice=advice)
