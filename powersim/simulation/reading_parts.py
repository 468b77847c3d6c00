"""What the error of a reading of the bank is made of: each part once, with its size and its source.

The members draw their errors from these figures (reading.py), a log weighs its readings by them
(logbook/observations.py), and docs/model/reading.md shows them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from powersim.physics.rest import sagged_V, surface_V
from powersim.records import Battery
from powersim.simulation.calibration import METER_SD_V, rested_volts

if TYPE_CHECKING:
    from powersim.physics.bank_constants import Bank

PRACTICE = "common practice, no source"

#: Drop between bank and meter with the usual load on, one standard deviation; common practice, no
#: source. [V]
CABLE_SD_V = 0.02
#: How rested lead-acid volts rise with warmth: 0.2 mV a cell and degree (from memory, the
#: temperature coefficient of the cell at usual strengths of acid); and how far a bank is from the
#: passage's mean temperature. [V/degC per 12 V block], [degC]
WARMTH_V_PER_C, WARMTH_SD_C = 0.0012, 8.0
#: How far the load of the moment is from the usual one, as a share of it; common practice, no
#: source. [-]
LOAD_SD_FRAC = 0.5
#: Of what a bank lacks two hours after a discharge to the end, what it lacks after the lighter
#: loads of a night; judgement. [-]
EARLIER_FRAC = 0.5
#: A hasty look at a scale, or a last figure of a tenth of a volt: it by the root of 12. [V]
LOOK_SD_V = 0.1 / math.sqrt(12.0)
#: Lithium iron phosphate after a charge or after a discharge: half of the gap between both curves
#: of a measured cell is 0.08 V at 25 degC and a thirtieth of its capacity an hour
#: (docs/fit_rest.py), and rest takes a part of it; judgement. [V]
HYSTERESIS_SD_V = 0.05
#: Time with nothing charging that a reading is told to wait for. [h]
QUIET_h = 2.0
#: Share of what stands on a full bank that the last charge has left, up to all of it: mean and one
#: standard deviation of any share being as likely; judgement. [-]
SURFACE_MEAN_FRAC, SURFACE_SD_FRAC = 0.5, 1.0 / math.sqrt(12.0)

#: How full the bank was when its counter was last set to full; common practice, no source. [-]
SET_FULL_SD_SOC = 0.02
#: Ampere-hours out over ampere-hours in, of this bank against what the counter is set to. Three
#: cycles of one measured lead-acid battery have 91, 94 and 95 %, one of another 98 %
#: (docs/fit_rest.py). Lithium's losses are so small that a tenth of it is left. [-]
EFFICIENCY_SD_FRAC, EFFICIENT_SD_FRAC = 0.03, 0.003
#: What a shunt shows at no current at all; common practice, no source. The bench of the measured
#: 17 Ah battery, a far smaller one, left 0.01 A. [A]
COUNTER_ZERO_SD_A = 0.03
#: How far what a shunt and its amplifier show is off, as a share of it; common practice, no source.
#: [-]
COUNTER_GAIN_SD_FRAC = 0.01
#: Whole per cent, and the moment; common practice, no source. [-]
COUNTER_LOOK_SD_SOC = 0.01
#: The same of the count itself, which is shown in tenths; common practice, no source. [Ah]
COUNTER_LOOK_SD_Ah = 0.5
#: A counter that no full charge has set right for longer errs by no more: by then a voltmeter is
#: as good, and somebody goes by that; where volts tell nothing, by the knees of their curve.
#: Judgement. [days]
MOST_DAYS, MOST_DAYS_MUTE = 10.0, 30.0
#: Coulombic losses below which a bank counts as one that hardly has any. [-]
_FEW_LOSSES_FRAC = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part of a reading's error.

    Attributes
    ----------
    what : str
        What errs.
    sd_soc : float
        One standard deviation, of the charge that is read. [-]
    sd_V : float or None
        The same of the volts of a 12 V block; None for a counter. [V]
    lasts : bool
        Whether it is the same all the passage, or new at each reading.
    source : str
        Where its size is from.
    """

    what: str
    sd_soc: float
    sd_V: float | None = None
    lasts: bool
    source: str


def total_soc(parts: Iterable[Part], *, lasts: bool | None = None) -> float:
    """The parts together: the root of the sum of their squares.

    Parameters
    ----------
    parts : iterable of Part
        Independent of each other.
    lasts : bool, optional
        Only those that last, or only those that do not; all if left out.

    Returns
    -------
    float
        One standard deviation. [-]
    """
    return math.hypot(*(one.sd_soc for one in parts if lasts is None or one.lasts == lasts))


def volts_parts(
    battery: Battery,
    bank: Bank,
    *,
    soc: float,
    load_A: float,
    bank_C: float = 25.0,
    rest_h: float = QUIET_h,
    drawn_frac: float | None = None,
    since_load_h: float = QUIET_h,
    load_sd_frac: float = LOAD_SD_FRAC,
) -> tuple[Part, ...]:
    """What a reading by voltmeter errs by, at one charge.

    Parameters
    ----------
    battery : Battery
        Its kind, and the sailor's own points.
    bank : Bank
        Its constants: those of the middle bank.
    soc : float
        Charge at which it is read. [-]
    load_A : float
        The usual load, which is on; 0 for a bank at rest. [A]
    bank_C : float
        Its temperature. [degC]
    rest_h : float
        Time since the last charge ended. [h]
    drawn_frac : float, optional
        Share of the capacity that was drawn since; what the load draws in that time if left out.
        [-]
    since_load_h : float
        Time since heavier loads than this were on. [h]
    load_sd_frac : float
        How far the load of the moment is from this one; 0 for one that was measured. [-]

    Returns
    -------
    tuple of Part
        Those that last first.
    """
    from powersim.physics.voltage import discharge_resistance_ohm  # with numpy: `check` has none

    sag_V = load_A * discharge_resistance_ohm(bank, soc, bank_C) / bank.blocks
    if drawn_frac is None:
        drawn_frac = load_A * rest_h / bank.capacity_Ah
    # What stands on lithium at rest was not measured; its volts tell nothing anyhow.
    mute = battery.traits.mute_soc is not None
    return _of_volts(
        battery,
        soc,
        slope_V=shown_slope_V(bank, soc, load_A=load_A, bank_C=bank_C) / bank.blocks,
        sag_V=sag_V,
        load_sd_V=load_sd_frac * sag_V,
        cable_sd_V=CABLE_SD_V if load_A else 0.0,
        stands_V=0.0 if mute else surface_V(rest_h, drawn_frac=drawn_frac),
        since_load_h=since_load_h,
    )


def rested_parts(battery: Battery, *, soc: float) -> tuple[Part, ...]:
    """What a reading by voltmeter errs by with nothing on, without the bank's own constants.

    Parameters
    ----------
    battery : Battery
        Its kind, and the sailor's own points.
    soc : float
        Charge at which it is read. [-]

    Returns
    -------
    tuple of Part
        As `volts_parts` has them for a bank at rest.
    """
    return _of_volts(battery, soc, slope_V=rested_volts(battery).slope_V(soc))


def _of_volts(
    battery: Battery,
    soc: float,
    *,
    slope_V: float,
    sag_V: float = 0.0,
    load_sd_V: float = 0.0,
    cable_sd_V: float = 0.0,
    stands_V: float = 0.0,
    since_load_h: float = QUIET_h,
) -> tuple[Part, ...]:
    """The parts of a block of 12 V."""
    known, spread = rested_volts(battery), battery.traits.spread

    def part(what: str, sd_V: float, *, lasts: bool, source: str) -> Part:
        return Part(what=what, sd_soc=sd_V / slope_V, sd_V=sd_V, lasts=lasts, source=source)

    before = part(
        "heavier loads before",
        EARLIER_FRAC * sagged_V(since_load_h),
        lasts=False,
        source="half of what two measured banks lacked 2 h after a discharge to the end",
    )
    if battery.traits.mute_soc:
        before = part(
            "whether it was charged or discharged before",
            HYSTERESIS_SD_V,
            lasts=False,
            source="between the slow charge and discharge of a measured cell",
        )
    banks = "banks of a kind differ as measured ones do (battery.md)"
    if battery.rested:
        own = [
            part(
                "this bank and this meter, by your own points",
                known.sd_V(soc),
                lasts=True,
                source="what is left of the next three once the points are known",
            )
        ]
    else:
        rise_V = abs(known.hang_on(soc)[1]) * spread.slope_log
        own = [
            part("height of this bank's rested volts", spread.offset_V, lasts=True, source=banks),
            part("their rise from empty to full", rise_V, lasts=True, source=banks),
            part(
                "the meter, 0.5 %",
                METER_SD_V,
                lasts=True,
                source="limit of a plain meter, by the root of 3",
            ),
        ]
    return (
        *own,
        part("this bank's resistance", spread.resistance_log * sag_V, lasts=True, source=banks),
        part("the cable to the meter", cable_sd_V, lasts=True, source=PRACTICE),
        part(
            "the bank's warmth",
            WARMTH_V_PER_C * WARMTH_SD_C,
            lasts=True,
            source="0.2 mV a cell and degree, from memory; 8 degrees",
        ),
        part(
            "the load of the moment",
            load_sd_V,
            lasts=False,
            source=f"half of the usual load; {PRACTICE}",
        ),
        before,
        part(
            "surface charge",
            SURFACE_SD_FRAC * stands_V,
            lasts=False,
            source="measured rests; any share of it is as likely",
        ),
        part("a hasty look", LOOK_SD_V, lasts=False, source=f"a tenth of a volt; {PRACTICE}"),
    )


def counter_parts(
    battery: Battery,
    *,
    soc: float,
    days: float,
    used_frac_per_day: float,
) -> tuple[Part, ...]:
    """What a reading of a battery monitor errs by, at one charge.

    Parameters
    ----------
    battery : Battery
        Its kind, and its capacity.
    soc : float
        Charge at which it is read. [-]
    days : float
        Since the counter was last set, by a full charge. [days]
    used_frac_per_day : float
        What goes in and out in a day, as a share of the capacity. [-]

    Returns
    -------
    tuple of Part
        Those that last first; of those that grow, what they have come to.
    """
    known_days = min(days, most_days(battery))
    return (
        Part(
            what="the capacity that it is set to",
            sd_soc=(1.0 - soc) * battery.capacity_sd,
            lasts=True,
            source="banks of a kind differ (battery.md)",
        ),
        Part(
            what="how full it was when it was set",
            sd_soc=SET_FULL_SD_SOC,
            lasts=True,
            source=PRACTICE,
        ),
        Part(
            what="charge efficiency, since then",
            sd_soc=efficiency_sd_frac(battery) * used_frac_per_day * known_days,
            lasts=True,
            source="four measured cycles: 91 to 98 %",
        ),
        Part(
            what="zero of the shunt, since then",
            sd_soc=24.0 * COUNTER_ZERO_SD_A / battery.real_capacity_Ah * known_days,
            lasts=True,
            source=f"30 mA; {PRACTICE}",
        ),
        Part(
            what="whole per cent, and the moment",
            sd_soc=COUNTER_LOOK_SD_SOC,
            lasts=False,
            source=PRACTICE,
        ),
    )


def efficiency_sd_frac(battery: Battery) -> float:
    """How far a bank's charge efficiency is from what its counter is set to.

    Parameters
    ----------
    battery : Battery
        For its efficiency.

    Returns
    -------
    float
        One standard deviation. [-]
    """
    lost = 1.0 - battery.charge_efficiency_frac
    return EFFICIENT_SD_FRAC if lost <= _FEW_LOSSES_FRAC else EFFICIENCY_SD_FRAC


def most_days(battery: Battery) -> float:
    """For how long after a full charge a counter's error grows.

    Parameters
    ----------
    battery : Battery
        For whether its volts tell anything.

    Returns
    -------
    float
        From then on it stays as large. [days]
    """
    return MOST_DAYS_MUTE if battery.traits.mute_soc else MOST_DAYS


def shown_slope_V(bank: Bank, soc: float, *, load_A: float, bank_C: float) -> float:
    """How steeply what a voltmeter shows under a load rises with the charge.

    Parameters
    ----------
    bank : Bank
        Its constants.
    soc : float
        State of charge. [-]
    load_A : float
        What is on. [A]
    bank_C : float
        The bank's temperature. [degC]

    Returns
    -------
    float
        For a whole capacity. [V]
    """
    from powersim.physics.voltage import discharge_resistance_ohm, emf_slope_V

    step = 0.01
    less_ohm, more_ohm = (
        discharge_resistance_ohm(bank, one, bank_C) for one in (soc - step, soc + step)
    )
    flatter_V = load_A * (less_ohm - more_ohm) / (2.0 * step)
    return emf_slope_V(bank, soc) + flatter_V
