"""Twins of a passage: boats with hidden factors in members of their own, and the logs they keep.

Twice a day they read meter, dip stick and counter, at dawn a rested bank or at both a monitor; now
and then the amperes at absorption. The truth comes from the simulation, by the boat's own rule; the
log sees it through readings that err as docs/model/underway.md says they do, and through nothing
else: hours by an hour meter, no times of running. Every log goes through a file and the reader, as
a sailor's does.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from functools import partial
from pathlib import Path

import numpy as np

from powersim.inputs.folder import load_folder
from powersim.inputs.log import read_log
from powersim.logbook.charge_readings import counter_doubt, used_frac_per_day
from powersim.logbook.contradictions import checked
from powersim.logbook.estimate import Z_80
from powersim.logbook.hindcast import Hindcast, simulated
from powersim.logbook.observations import (
    ABSORB_SD_FRAC,
    COMMON_SHARE,
    COUNTER_SD_FRAC,
    DIP_SD_FRAC,
    COUNTER_SD_Ah,
)
from powersim.logbook.priors import priors_of
from powersim.logbook.reading_errors import ABOARD_SD, OTHER_BURN_SD
from powersim.physics.bank import bank_of
from powersim.physics.rest import surface_V
from powersim.physics.voltage import charge_current_A
from powersim.simulation.ensemble import blocks
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.factors import Factors
from powersim.simulation.plant import without_engine_rule
from powersim.simulation.prepare import prepare
from powersim.simulation.reading_parts import (
    COUNTER_GAIN_SD_FRAC,
    COUNTER_ZERO_SD_A,
    COUNTER_LOOK_SD_Ah,
    efficiency_sd_frac,
    total_soc,
    volts_parts,
)

SHIPPED = Path(__file__).resolve().parents[1] / "loads"
#: A log is kept for so long, and a forecast is held against so much after it. [days]
LOG_DAYS, AHEAD_DAYS = 10, 10
#: Amperes at absorption are read so often, if the engine happens to charge then. [days]
ABSORB_EVERY_DAYS = 2
#: For so long the bank had been at rest when its volts were read. [h]
REST_h = 12.0
ROUTE = """\
waypoint,position,speed
Start,12 00.0 S 110 00.0 E,4.6 kn
End,20 00.0 S 060 00.0 E,
"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Twins:
    """Some boats with hidden factors; every array has twins last."""

    passage: object
    prepared: object
    forcing: object
    factors: Factors
    truth: object
    planned: object
    rng: object

    @property
    def count(self):
        return self.forcing.members

    def hindcast(self, *, day=0, soc_start, engine=True):
        """The kernel's run from some day on, in each twin's own weather."""
        # The bank of the files: how a twin's differs is in its factors, and not drawn once more.
        plant = replace(self.prepared.plant, rule=self.forcing.plant.rule)
        track = self.prepared.track
        if not engine:
            plant = replace(plant, rule=without_engine_rule(plant.rule))
        first = round(24 * day / track.step_h)
        steps = blocks(track.n_steps, step_h=track.step_h, first=first)
        return Hindcast(
            n_steps=track.n_steps - first,
            step_h=track.step_h,
            signals=lambda: (self.forcing.signals(some) for some in steps),
            plant=plant,
            soc_start=soc_start,
        )


def crossing(folder):
    """A passage whose bank takes days to its floor: a shipped boat with another bank, tank, route.

    Parameters
    ----------
    folder : Path
        Empty, for its files.

    Returns
    -------
    Passage
    """
    shipped = SHIPPED / "lombok-to-mauritius"
    boat = (shipped / "boat.toml").read_text(encoding="utf-8")
    for old, new in (('"280 Ah"', '"560 Ah"'), ('"140 L"', '"80 L"')):
        assert boat.count(old) == 1
        boat = boat.replace(old, new)
    (folder / "boat.toml").write_text(boat, encoding="utf-8")
    (folder / "route.csv").write_text(ROUTE, encoding="utf-8")
    (folder / "loads.csv").write_bytes((shipped / "loads.csv").read_bytes())
    return load_folder(folder)


def twins_of(passage, *, count, seed, step_h):
    """Boats with factors drawn from the priors, each in a weather of its own.

    Parameters
    ----------
    passage : Passage
        Of 20 days or more.
    count, seed : int
    step_h : float
        [h]

    Returns
    -------
    Twins
    """
    fuel = passage.boat.fuel
    # Not full to the brim, or readings that err upwards would be cut off there.
    fuel = replace(fuel, aboard_L=fuel.aboard_L - 0.15 * fuel.tank_L)
    passage = replace(passage, boat=replace(passage.boat, fuel=fuel))
    prepared = prepare(passage, step_h=step_h)
    forcing = draw_ensemble(passage, prepared, members=count, seed=seed)
    forcing = replace(forcing, factors=np.ones_like(forcing.factors))
    rng = np.random.default_rng(seed)
    prior_sd = priors_of(passage, prepared).array
    factors = Factors(*np.exp(prior_sd[:, None] * rng.normal(size=(5, count))))
    twins = Twins(
        passage=passage,
        prepared=prepared,
        forcing=forcing,
        factors=factors,
        truth=None,
        planned=None,
        rng=rng,
    )
    hindcast = twins.hindcast(soc_start=passage.boat.battery.soc_at_departure)
    truth = simulated(hindcast, factors)
    planned = simulated(hindcast, Factors(*np.ones((5, count))))
    return replace(twins, truth=truth, planned=planned)


def logs_of(twins, folder, *, counter=True, gear=False, count=False):
    """What each twin writes down in the first days, read back and checked.

    Parameters
    ----------
    twins : Twins
    folder : Path
        For the files.
    counter : bool
        Whether the controller has a counter.
    gear : bool
        Whether the hours in gear are written down.
    count : bool
        Whether the monitor's own ampere-hours are written down, in place of its per cent.

    Yields
    ------
    CheckedLog
    """
    passage, truth, rng, twin_count = twins.passage, twins.truth, twins.rng, twins.count
    fuel, battery = passage.boat.fuel, passage.boat.battery
    start_h = (6.0 - passage.depart_utc.hour - passage.depart_utc.minute / 60.0) % 24.0
    at_h = start_h + 12.0 * np.arange(2 * LOG_DAYS)
    at_h = np.concatenate([[0.0], at_h[at_h < 24.0 * LOG_DAYS], [24.0 * LOG_DAYS]])
    dawn = (at_h - start_h) % 24.0 == 0.0

    def noisy(true, sd, lasting_sds=None):
        """Parts of the error go with the meter, each by itself, the rest with the reading."""
        if lasting_sds is None:
            lasting_sds = [np.sqrt(COMMON_SHARE) * sd]
        own_sd = np.sqrt(sd**2 - sum(one**2 for one in lasting_sds))
        lasting = sum(one * rng.normal(size=twin_count) for one in lasting_sds)
        return true + own_sd * rng.normal(size=true.shape) + lasting

    true_soc = truth.at("soc", at_h)
    soc = noisy(true_soc, *_doubts(twins, true_soc, at_h))
    bank = bank_of(battery, step_h=1.0)
    volts = np.interp(soc, bank.emf_soc, bank.emf_knots_V)
    if battery.traits.mute_soc is None:  # a bank may rest higher than the middle one when full
        rise_V = np.diff(bank.emf_knots_V) / np.diff(bank.emf_soc)
        volts += rise_V[-1] * np.maximum(soc - 1.0, 0.0) + rise_V[0] * np.minimum(soc, 0.0)
    if battery.traits.mute_soc is None:
        # A charge that ended as the rest began has left something between nothing and all of it.
        charged = truth.at("net_A", at_h - REST_h) > 0.0
        left = rng.uniform(size=charged.shape)
        volts += np.where(charged, left * bank.blocks * surface_V(REST_h), 0.0)
    other = 1.0 + OTHER_BURN_SD * rng.normal(size=twin_count)
    aboard_L = fuel.aboard_L * (1.0 + ABOARD_SD * rng.normal(size=twin_count))
    left_L = aboard_L - truth.at("charging_L", at_h) - other * truth.at("other_L", at_h)
    cans_L = min(fuel.jerrycans_L, fuel.aboard_L)
    dip_L = np.clip(noisy(left_L, DIP_SD_FRAC * fuel.tank_L) - cans_L, 0.0, fuel.tank_L)
    engine_h = 812.3 + truth.at("engine_h", at_h)
    gear_h = truth.at("gear_h", at_h)
    sun_Ah = truth.at("solar_Ah", at_h)
    meter = 1.0 + COUNTER_SD_FRAC * np.sqrt(COMMON_SHARE) * rng.normal(size=twin_count)
    counted_Ah = sun_Ah * meter
    counted_Ah += COUNTER_SD_Ah * rng.normal(size=sun_Ah.shape)
    counted_Ah = np.maximum.accumulate(np.maximum(counted_Ah, 0.0), axis=0)
    absorbed = list(_absorbed(twins))
    monitor_Ah = _monitor_Ah(twins, at_h) if count else None
    path = folder / "log.csv"
    for twin in range(twin_count):
        rows = [
            "time,soc,voltage,resting_h,engine_h,dip,cans_left,solar_Ah,absorb_A,gear_h,monitor_Ah"
        ]
        for hours, absorb_A in absorbed[twin]:
            if np.abs(at_h - hours).min() < 0.1:
                continue
            when = passage.depart_utc + timedelta(hours=float(hours))
            meter_h = 812.3 + float(truth.at("engine_h", [hours])[0, twin])
            rows.append(f"{when:%Y-%m-%d %H:%M},,,,{meter_h:.1f},,,,{absorb_A:.1f} A")
        for k, hours in enumerate(at_h):
            when = passage.depart_utc + timedelta(hours=float(hours))
            cells = [f"{when:%Y-%m-%d %H:%M}", *10 * [""]]
            cells[4] = f"{engine_h[k, twin]:.1f}"
            if monitor_Ah is not None:
                cells[10] = f"{monitor_Ah[k, twin]:.1f}"
            elif battery.reading == "monitor":
                cells[1] = f"{100.0 * np.clip(soc[k, twin], 0.0, 1.0):.0f} %"
            if battery.reading != "monitor" and dawn[k]:
                cells[2:4] = [f"{volts[k, twin]:.3f} V", f"{REST_h:g} h"]
            cells[5:7] = [f"{dip_L[k, twin]:.1f} L", f"{cans_L:g} L"]
            if counter:
                cells[7] = f"{counted_Ah[k, twin]:.0f}"
            if gear:
                cells[9] = f"{gear_h[k, twin]:.1f}"
            rows.append(",".join(cells))
        path.write_text("\n".join(rows) + "\n", encoding="utf-8")
        yield checked(
            read_log(path, can_L=None),
            passage=passage,
            track=twins.prepared.track,
            now_utc=passage.depart_utc + timedelta(days=LOG_DAYS, hours=1),
        )


def _monitor_Ah(twins, at_h):
    """What each twin's monitor has counted: by its shunt, and by the efficiency that it is set to.

    It sets itself to 0 where a charge has brought the bank near to full, which differs from twin to
    twin: what a monitor takes for full is up to three hundredths of the bank short of it.
    """
    truth, rng, battery = twins.truth, twins.rng, twins.passage.boat.battery
    gain = 1.0 + COUNTER_GAIN_SD_FRAC * rng.normal(size=twins.count)
    zero_A = COUNTER_ZERO_SD_A * rng.normal(size=twins.count)
    error = efficiency_sd_frac(battery) * rng.normal(size=twins.count)
    set_to = battery.charge_efficiency_frac * (1.0 + error)
    full_soc = 1.0 - 0.03 * rng.uniform(size=twins.count)
    net_A, step_h = truth.net_A, truth.at_h[1]
    real_Ah = battery.real_capacity_Ah * twins.factors.capacity
    counted_Ah = np.minimum((truth.soc[0] - 1.0) * real_Ah, 0.0)
    series = [counted_Ah]
    for flows_A, soc in zip(net_A[1:], truth.soc[1:], strict=True):
        flows_A = gain * flows_A + zero_A
        counted_Ah = counted_Ah + step_h * np.where(flows_A > 0.0, set_to, 1.0) * flows_A
        counted_Ah = np.where(soc >= full_soc, 0.0, np.minimum(counted_Ah, 0.0))
        series.append(counted_Ah)
    place = at_h / step_h
    low = np.minimum(place.astype(int), len(series) - 2)
    series, part = np.array(series), (place - low)[:, None]
    shown_Ah = series[low] + part * (series[low + 1] - series[low])
    return np.minimum(shown_Ah + COUNTER_LOOK_SD_Ah * rng.normal(size=shown_Ah.shape), 0.0)


def _doubts(twins, soc, at_h):
    """How far each reading of the charge errs, and the parts that last, as a log takes it."""
    battery, nominal = twins.passage.boat.battery, twins.planned.mean()
    bank, used = bank_of(battery, step_h=1.0), used_frac_per_day(twins.prepared)

    def parts(soc, hours):
        if battery.reading == "monitor":
            return counter_doubt(soc, hours, battery=battery, nominal=nominal, used_frac=used)
        # What a charge leaves is laid over the volts themselves.
        rest = {"rest_h": REST_h, "drawn_frac": np.inf, "since_load_h": REST_h}
        return volts_parts(battery, bank, soc=soc, load_A=0.0, **rest)

    found = [
        [
            (total_soc(of), *(part.sd_soc for part in of if part.lasts))
            for of in (parts(one, hours) for one in row)
        ]
        for row, hours in zip(soc, at_h, strict=True)
    ]
    sd, *lasting_sds = np.moveaxis(np.array(found), -1, 0)
    return sd, lasting_sds


def _absorbed(twins):
    """When the engine charges a bank that no longer takes all, the current: some readings a log."""
    truth, prepared, rng = twins.truth, twins.prepared, twins.rng
    step_h, battery = truth.at_h[1], twins.passage.boat.battery
    taken_A = np.vectorize(partial(charge_current_A, bank_of(battery, step_h=1.0)), otypes=[float])
    would_take_A = twins.factors.capacity * taken_A(
        np.minimum(truth.soc[1:], 1.0),
        prepared.sky.bank_C[: len(truth.soc) - 1, None],
        volts=prepared.signals.alternator_absorption_V[: len(truth.soc) - 1],
    )
    most_A = twins.factors.alternator * twins.passage.boat.alternator.charging_A
    tapered = (np.diff(truth.charging_L, axis=0) > 0.0) & (would_take_A < 0.9 * most_A)
    for twin in range(twins.count):
        common, readings = rng.normal(), []
        for day in range(0, LOG_DAYS, ABSORB_EVERY_DAYS):
            first = round(24 * day / step_h)
            spell = slice(first, first + round(24 * ABSORB_EVERY_DAYS / step_h))
            steps = first + np.flatnonzero(tapered[spell, twin])
            own = rng.normal()
            if steps.size:
                error = np.sqrt(COMMON_SHARE) * common + np.sqrt(1.0 - COMMON_SHARE) * own
                absorb_A = would_take_A[steps[0], twin] * max(1.0 + ABSORB_SD_FRAC * error, 0.1)
                readings.append(((steps[0] + 1) * step_h, absorb_A))
        yield readings


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came of it, over all twins.

    Attributes
    ----------
    covered : ndarray, shape (factors,)
        Share of twins whose true factor lies in its 80 % interval.
    soc_covered : float
        The same of the charge at the end of the log.
    rms_factor : ndarray, shape (factors,)
        Root-mean-square error of the logarithm of each factor.
    rms_plan, rms_found : dict of str to float
        Root-mean-square error of the uncalibrated plan, and of the forecast from the log: loads and
        charging litres from day 10 to 20, days from day 10 to the floor with the engine never run.
    """

    covered: np.ndarray
    soc_covered: float
    rms_factor: np.ndarray
    rms_plan: dict
    rms_found: dict

    def ratio(self, name):
        """How large the error of the forecast from the log is, of that of the plan."""
        return self.rms_found[name] / self.rms_plan[name]


def outcome_of(twins, posterior):
    """Estimates against the truth, and both forecasts in the weather that each twin truly has.

    Parameters
    ----------
    twins : Twins
    posterior : sequence of Posterior
        One for each twin.

    Returns
    -------
    Outcome
    """
    true = np.log(np.array(twins.factors))
    best = np.array([one.estimate.log_factor for one in posterior]).T
    sd = np.array([one.estimate.sd for one in posterior]).T
    step_h = twins.prepared.track.step_h
    now, then = (round(24 * days / step_h) for days in (LOG_DAYS, LOG_DAYS + AHEAD_DAYS))
    low, soc, high = np.quantile(
        np.array([one.now.soc for one in posterior]), (0.1, 0.5, 0.9), axis=1
    )
    found = Factors(*np.exp(best))
    ahead = simulated(twins.hindcast(day=LOG_DAYS, soc_start=soc), found)
    one = Factors(*np.ones_like(best))
    truth, planned = twins.truth, twins.planned

    def days_to_floor(factors, soc_start):
        hindcast = twins.hindcast(day=LOG_DAYS, soc_start=soc_start, engine=False)
        below = simulated(hindcast, factors).soc < twins.passage.boat.battery.floor_soc
        # Who never falls below it is counted to landfall.
        return np.where(below.any(axis=0), below.argmax(axis=0), len(below)) * step_h / 24.0

    def grown(history, name):
        table = getattr(history, name)
        return table[then] - table[now]

    said = {
        name: (grown(truth, name), grown(planned, name), getattr(ahead, name)[then - now])
        for name in ("loads_Ah", "charging_L")
    }
    said["days"] = (
        days_to_floor(twins.factors, truth.soc[now]),
        days_to_floor(one, planned.soc[now]),
        days_to_floor(found, soc),
    )
    at_truth = truth.soc[now]
    return Outcome(
        covered=(np.abs(best - true) <= Z_80 * sd).mean(axis=1),
        soc_covered=float(((low <= at_truth) & (at_truth <= high)).mean()),
        rms_factor=np.sqrt(((best - true) ** 2).mean(axis=1)),
        rms_plan={name: _rms(plan - true) for name, (true, plan, _) in said.items()},
        rms_found={name: _rms(found - true) for name, (true, _, found) in said.items()},
    )


def _rms(error):
    return float(np.sqrt((error**2).mean()))
