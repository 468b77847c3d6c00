"""The day's advice of `underway` as one line, for someone at sea whose computer stays off."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from powersim.defaults import MEMBERS, RISK_FRAC, SEED, STEP_h

if TYPE_CHECKING:
    from powersim.api.from_log import Underway
    from powersim.errors import Problem
    from powersim.records import ChargingRule
    from powersim.report.advice_line import DayAdvice, Run
    from powersim.simulation.verdict import Failing


def day_advice(
    found: Underway,
    *,
    now_utc: datetime,
    not_used: Iterable[Problem] = (),
    last_used: bool = True,
    seed: int = SEED,
    step_h: float = STEP_h,
    risk_frac: float = RISK_FRAC,
) -> DayAdvice:
    """What is said of the day that begins now.

    Parameters
    ----------
    found : Underway
        What the log shows, and what comes of it.
    now_utc : datetime
        Taken for now.
    not_used : iterable of Problem
        What of the readings that were sent could not be used.
    last_used : bool
        Whether anything of the last of them could be.
    seed : int
        As for `underway`.
    step_h : float
        As for `underway`. [h]
    risk_frac : float
        As for `underway`. [-]

    Returns
    -------
    DayAdvice
        For `report.advice_line`. It goes by the rule that `underway` says to go by: that of
        boat.toml if it holds.
    """
    import numpy as np

    from powersim.report.advice_line import DayAdvice
    from powersim.simulation.bands import quantiles
    from powersim.simulation.verdict import too_often

    posterior, to_come = found.posterior, found.forecast
    passage = posterior.passage
    read_utc = passage.depart_utc + timedelta(hours=posterior.until_h)
    low, middle, high = quantiles(posterior.now.soc)
    fails = dark = 0.0
    rule = passage.boat.charging
    if to_come is not None:
        rule, failing = _followed(found)
        fails, dark = float(failing.any.mean()), float(failing.dark.mean())
    holds = not too_often(fails, risk_frac)
    has_fuel = passage.boat.fuel is not None
    return DayAdvice(
        holds=holds,
        none_holds=found.new_rule is not None and not found.new_rule.found.holds,
        fails_frac=fails,
        dark_frac=dark,
        soc=(float(low), float(middle), float(high)),
        runs=_runs(found, rule, now_utc=now_utc, seed=seed, step_h=step_h),
        is_new=rule != passage.boat.charging,
        drop=None if holds else _given_up(found, seed=seed, step_h=step_h, risk_frac=risk_frac),
        fuel=passage.boat.fuel_word,
        fuel_L=float(np.median(posterior.now.left_L)) if has_fuel else None,
        landfall_L=float(np.median(to_come.left_L)) if has_fuel and to_come is not None else None,
        landfall_days=None if to_come is None else to_come.days_to_landfall,
        read_utc=read_utc,
        age_h=max((now_utc - read_utc).total_seconds() / 3600.0, 0.0),
        fix=_fix(found),
        not_used=tuple(dict.fromkeys(map(_what, not_used))) if last_used else ("THE LAST LINE",),
        reads_lower=posterior.reads_lower,
    )


def _followed(found: Underway) -> tuple[ChargingRule, Failing]:
    """The rule that she goes by, and where the passage fails by it."""
    import numpy as np

    from powersim.planning.rule_limits import failing, holds
    from powersim.simulation.verdict import failing_of

    new, to_come = found.new_rule, found.forecast
    assert to_come is not None, "asked at sea alone"
    own = to_come.passage.boat.charging
    if new is None:
        return own, failing_of(
            floor_h=to_come.floor_days,
            flat_h=to_come.flat_days,
            fuel_left_L=to_come.left_L,
            fuel_short_L=np.zeros_like(to_come.left_L),
            fuel=to_come.passage.boat.fuel,
        )
    if new.found.holds and bool(holds(new.own, new.limits)[0]):
        return own, failing(new.own, new.limits).only(0)
    return new.rule, failing(new.found.validated, new.limits).only(0)


def _runs(
    found: Underway, rule: ChargingRule, *, now_utc: datetime, seed: int, step_h: float
) -> tuple[Run, ...] | None:
    from powersim.logbook.day_ahead import day_ahead
    from powersim.logbook.forecast import forecast_forcing
    from powersim.report.advice_line import Run
    from powersim.simulation.plant import has_charging_alternator

    to_come, new = found.forecast, found.new_rule
    if to_come is None or not has_charging_alternator(to_come.passage.boat):
        return None
    boat, forcing = to_come.passage.boat, to_come.forcing
    start_V = None
    if rule != boat.charging:
        passage = replace(to_come.passage, boat=replace(boat, charging=rule))
        forcing = forecast_forcing(
            passage, found.posterior.now, members=forcing.members, seed=seed, step_h=step_h
        )
        start_V = new.panel.start_V if new is not None and new.panel is not None else None
    read_utc, track = to_come.passage.depart_utc, to_come.prepared.track
    age_h = max((now_utc - read_utc).total_seconds() / 3600.0, 0.0)
    level = _level(found, rule, start_V)
    told = []
    for run in day_ahead(forcing, floor_soc=boat.battery.floor_soc, from_h=age_h):
        at = min(int(run.starts_h / track.step_h), track.n_steps - 1)
        begins = read_utc + timedelta(hours=run.starts_h + float(track.ship_offset_h[at]))
        ship_h = begins.hour + begins.minute / 60.0
        told.append(Run(frac=run.frac, run_h=run.run_h, ship_h=ship_h, level=level))
    return tuple(told)


def _level(found: Underway, rule: ChargingRule, start_V: float | None) -> str:
    """What the bank reads where the rule starts the engine."""
    from powersim.planning.panel_values import shown_V

    assert found.forecast is not None, "asked at sea alone"
    battery = found.forecast.passage.boat.battery
    if not battery.volts_tell:
        return f"{100.0 * rule.start_soc:.0f}%"
    if start_V is None:
        start_V = shown_V(found.forecast.prepared, rule.start_soc)
    return f"{start_V:.2f}V"


def _given_up(
    found: Underway, *, seed: int, step_h: float, risk_frac: float
) -> tuple[str, ...] | None:
    """What the ladder asks to be given up tonight, with the loads and the bank of the log."""
    import numpy as np

    from powersim.api.from_log import ladder_now

    to_come, now = found.forecast, found.posterior.now
    assert to_come is not None, "asked at sea alone"
    made = found.ladder if to_come.passage.boat.engine is None else None
    if made is None:
        made = ladder_now(
            to_come.passage,
            now,
            lost=(),
            members=min(to_come.forcing.members, MEMBERS),
            seed=seed,
            step_h=step_h,
            risk_frac=risk_frac,
            tell=lambda done_frac: None,
        )
    soc = np.array([float(np.median(now.soc))])
    rung = made.table.rung(soc, to_go_days=made.to_landfall_days, before=np.array([0]))
    return tuple(
        f"{'half of ' if step.halved else ''}{step.load.name}"
        for step in made.steps.worth[: int(rung[0])]
    )


def _fix(found: Underway) -> tuple[datetime, float, float] | None:
    fixes = [
        (one.at_h, lat_deg, lon_deg)
        for one in found.log.readings
        if (lat_deg := one.entry.lat_deg) is not None and (lon_deg := one.entry.lon_deg) is not None
    ]
    if not fixes:
        return None
    at_h, lat_deg, lon_deg = fixes[-1]
    return found.posterior.passage.depart_utc + timedelta(hours=at_h), lat_deg, lon_deg


def _what(problem: Problem) -> str:
    """The reading that a problem is of, in a word or two."""
    word = problem.text.split(":")[0].split(" (")[0]
    known = word.replace("_", " ") if len(word) <= 14 and word[:1].isalpha() else "A PIECE"
    return known.upper()
