"""What each load draws, from a sheet of readings taken as loads were switched on and off."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from powersim.errors import Problem
from powersim.logbook.estimate import Z_80
from powersim.logbook.switchings import Found, found_in
from powersim.logbook.trial_states import Switched, states_of
from powersim.records import Passage, Trial, TrialReading
from powersim.records.brief import brief
from powersim.simulation.calibration import rested_volts

if TYPE_CHECKING:
    from powersim.records.arrays import Array

#: The last digit flickers: one standard deviation of a reading, in steps; judgement. [-]
_FLICKER_STEPS = 1.0
#: The zero of a clamp meter wanders from one reading to the next, and was set to no better than
#: that: in steps, and never less than so many amperes; judgement. [-], [A]
_WANDER_STEPS, _ZERO_STEPS, _LEAST_SD_A = 2.0, 5.0, 0.005
#: What a motor or a screen varies by from one look to the next; judgement. [-]
_UNSTEADY_FRAC = 0.01
#: What all readings of a meter err by alike: a clamp for direct current, the shunt of a counter, a
#: voltmeter; common practice, no source. [-]
_CLAMP_FRAC, _SHUNT_FRAC, _VOLTS_FRAC = 0.03, 0.01, 0.01
#: Where no volts were read, those of a bank charged so far are taken, give or take so much;
#: judgement. [-]
_UNREAD_SOC, _UNREAD_FRAC = 0.8, 0.03
_TINY = 1e-6
#: So many times what the files say, or a part of it, is a misplaced point sooner than a load.
_FAR = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredDraw:
    """What one load draws in one state, or what some draw that were only switched together.

    Attributes
    ----------
    names : tuple of str
        Of the loads, as in loads.csv, or of a supply.
    state : str
        "on" (at work) or "idle".
    unit : str
        "W" or "A", in which the files have it; "A" at the bank for several together.
    filed : float or None
        What the files say; None where they do not have it.
    found, sd : float
        What the trial says, and its standard deviation; nan where it leaves it open.
    readings : int
        How many readings were taken with it in that state.
    open_because : str
        Why the trial leaves it open; empty where it does not.
    """

    names: tuple[str, ...]
    state: str
    unit: str
    filed: float | None
    found: float
    sd: float
    readings: int
    open_because: str = ""

    @property
    def doubt(self) -> float:
        """How far it may be off to either side, 8 times in 10, in its unit."""
        return Z_80 * self.sd

    @property
    def differs(self) -> bool:
        """Whether it differs from what the files say by more than its doubt."""
        return self.filed is not None and abs(self.found - self.filed) > self.doubt


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeaTrial:
    """What a sheet of readings says.

    Attributes
    ----------
    passage : Passage
        Whose loads were switched.
    trial : Trial
        The sheet.
    draws : tuple of MeasuredDraw
        In the order of loads.csv, then supplies, then what is in no list.
    always_A, always_sd_A : float
        What was on all the while, at the bank, and its standard deviation; nan if open. [A]
    misfit : float
        How far readings lie off, as a multiple of how far they should. [-]
    odd : tuple of Problem
        Readings and steps that nothing on the sheet explains.
    unlisted : tuple of str
        Names on the sheet that the files do not have.
    not_switched : tuple of str
        Loads of loads.csv that the sheet does not have.
    outward_below_0 : bool
        Whether the meter shows what flows out of the bank as below 0.
    volts_read : bool
        Whether any volts were read.
    """

    passage: Passage
    trial: Trial
    draws: tuple[MeasuredDraw, ...]
    always_A: float
    always_sd_A: float
    misfit: float
    odd: tuple[Problem, ...]
    unlisted: tuple[str, ...]
    not_switched: tuple[str, ...]
    outward_below_0: bool
    volts_read: bool

    __repr__ = brief


def sea_trial(trial: Trial, passage: Passage) -> SeaTrial:
    """What each load draws.

    Parameters
    ----------
    trial : Trial
        The sheet, with at least one reading.
    passage : Passage
        Whose loads and supplies it names.
    """
    volts, volts_read = _volts(trial.readings, passage)
    states = states_of(trial.readings, passage)
    shown_A = np.array([one.shown_A for one in trial.readings])
    read_sd_A = np.array([_read_sd_A(one) for one in trial.readings])
    wander_sd_A = max(map(_wander_sd_A, trial.readings))
    columns = np.array([each.column for each in states.switched]).T.reshape(len(shown_A), -1)
    switched = np.hstack([np.ones((len(shown_A), 1)), columns])

    def explained(out_A: Array) -> Found:
        return found_in(out_A, switched, read_sd_A=read_sd_A, wander_sd_A=wander_sd_A)

    first = explained(shown_A)
    told = [float(value) for k, value in enumerate(first.value_A) if k and not first.is_open(k)]
    outward_below_0 = math.fsum(told) < 0.0
    sign = -1.0 if outward_below_0 else 1.0
    found = explained(sign * shown_A - states.idle_W / volts)
    volts_frac = _VOLTS_FRAC if volts_read else _UNREAD_FRAC
    always_sd_A = math.hypot(
        math.sqrt(max(found.covariance_A2[0, 0], 0.0)),
        _ZERO_STEPS * max(one.step_A for one in trial.readings),
        _meter_frac(trial.readings) * found.value_A[0],
    )
    always_open = found.is_open(0)
    return SeaTrial(
        passage=passage,
        trial=trial,
        draws=tuple(_draws(found, states.switched, volts, volts_frac, trial.readings)),
        always_A=math.nan if always_open else float(found.value_A[0]),
        always_sd_A=math.nan if always_open else always_sd_A,
        misfit=found.misfit,
        odd=tuple(_odd(found, trial.readings)),
        unlisted=states.unlisted,
        not_switched=states.not_switched,
        outward_below_0=outward_below_0,
        volts_read=volts_read,
    )


def _volts(readings: Sequence[TrialReading], passage: Passage) -> tuple[np.ndarray, bool]:
    """Volts at each reading, where none were read those before or after, and whether any were."""
    read = [one.voltage_V for one in readings]
    if not any(read):
        battery = passage.boat.battery
        usual_V = rested_volts(battery).shown_V(_UNREAD_SOC) * battery.nominal_V / 12.0
        return np.full(len(read), usual_V), False
    places = [place for place, one in enumerate(read) if one]
    nearest = [max((p for p in places if p <= k), default=places[0]) for k in range(len(read))]
    return np.array([read[place] for place in nearest], dtype=float), True


def _read_sd_A(one: TrialReading) -> float:
    digit_A = one.step_A / math.sqrt(12.0)
    if one.counted:  # once as it began, once as it ended
        return max(math.sqrt(2.0) * digit_A, _LEAST_SD_A)
    flicker_A = _FLICKER_STEPS * one.step_A
    return max(math.hypot(digit_A, flicker_A, _UNSTEADY_FRAC * one.shown_A), _LEAST_SD_A)


def _wander_sd_A(one: TrialReading) -> float:
    return 0.0 if one.counted else max(_WANDER_STEPS * one.step_A, _LEAST_SD_A)


def _meter_frac(readings: Iterable[TrialReading]) -> float:
    return _SHUNT_FRAC if all(one.counted for one in readings) else _CLAMP_FRAC


def _draws(found: Found, switched: Sequence[Switched], volts_at, volts_frac, readings):
    """Each unknown in the unit of the files; those that were only switched together as one."""
    done: set[int] = set()
    for place, each in enumerate(switched):
        if place in done:
            continue
        same = [k for k, other in enumerate(switched) if np.array_equal(other.column, each.column)]
        done.update(same)
        at = np.flatnonzero(each.column)
        volts = float(volts_at[at].mean())
        weights = np.zeros(len(found.value_A))
        weights[[k + 1 for k in same]] = 1.0
        at_bank_A = float(weights @ found.value_A)
        sd_A = math.sqrt(max(float(weights @ found.covariance_A2 @ weights), 0.0))
        sd_A = math.hypot(sd_A, _meter_frac(readings[k] for k in at) * at_bank_A)
        unit, per_A, filed = "A", 1.0, _filed_A([switched[k] for k in same], volts)
        if len(same) == 1:
            unit, per_A, filed = each.unit, each.per_A(volts), each.filed
        value = per_A * at_bank_A
        sd = math.hypot(per_A * sd_A, volts_frac * value if unit == "W" else 0.0)
        because = _open_because(each, found, weights)
        because = because or _no_draw(value, sd, filed=filed, unit=unit)
        yield MeasuredDraw(
            names=tuple(switched[k].name for k in same),
            state=each.state,
            unit=unit,
            filed=filed,
            found=math.nan if because else value,
            sd=math.nan if because else sd,
            readings=len(at),
            open_because=because,
        )


def _filed_A(together: Sequence[Switched], volts: float) -> float | None:
    """What the files have several draw at the bank; None where they do not have one of them. [A]"""
    filed = [None if one.filed is None else one.filed / one.per_A(volts) for one in together]
    return None if None in filed else math.fsum(one or 0.0 for one in filed)


def _open_because(each: Switched, found: Found, weights: np.ndarray) -> str:
    """Why the readings do not tell it; empty where they do."""
    if np.abs(weights @ found.together).max(initial=0.0) < _TINY:
        return ""
    if each.column.all():
        return "never read without it"
    if found.odd:
        return "something else switched itself meanwhile: read it again"
    return "cannot be told apart from others: switch it by itself"


def _no_draw(value: float, sd: float, *, filed: float | None, unit: str) -> str:
    """Why nobody should believe a figure, or write it into a file, before it is read again."""
    said = f"{value:.3g} {unit}"
    if value < -2.0 * sd:
        return f"{said}, so it would charge the bank: is a sign wrong, or the clamp turned?"
    if filed and (value - 2.0 * sd > _FAR * filed or value + 2.0 * sd < filed / _FAR):
        return (
            f"{said}, and the files have {filed:.3g} {unit}: read it again, and if it is so change "
            "the files by hand"
        )
    return ""


def _odd(found: Found, readings: Sequence[TrialReading]) -> Iterable[Problem]:
    """What nothing on the sheet explains, in words."""
    for one in found.odd:
        reading = readings[one.at]
        about = "about " if one.explanations > 1 else ""
        if one.stays:
            more = "more" if one.size_A > 0.0 else "less"
            what = f"from {about}here on {abs(one.size_A):.2g} A {more} than what was switched"
        else:
            what = f"{abs(one.size_A):.2g} A off what the other readings explain"
        expected = "nothing that switches itself, such as a fridge, a pump, a pilot or a charger"
        yield reading.problem(reading.column, what, expected)
