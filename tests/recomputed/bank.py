"""docs/model/battery.md and simulation.md: bank, chargers and loads, a quarter of an hour a step.

The wells only say how much can be had, which never binds here; the state of charge falls by what
is drawn over capacity whatever is in which of them.
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np

from recomputed.files import DEFAULT, clock_h, number, percent

KERNEL_STEP_h = 0.25


# Battery -----------------------------------------------------------------------------------------


class Flooded:
    """A flooded 12 V bank: battery.md's straight lines, resistances and gas."""

    def __init__(self, label_Ah):
        self.Ah = label_Ah * DEFAULT.health
        self.gassing = gassing_of(DEFAULT.charge_efficiency, floor=DEFAULT.floor)

    def rested_V(self, soc):
        """Voltage at rest, and how it rises over a whole charge; at a knot the line above it."""
        slope = 0.8 if soc < 0.5 else 1.0
        return 12.2 + slope * (soc - 0.5), slope

    def out_ohm(self, soc, bank_C):
        """Resistance on discharge, more in the cold."""
        return (1.3 + 0.67 / soc**1.5) / self.Ah * (1.0 + 0.007 * (25.0 - bank_C))

    def in_ohm(self, soc, bank_C):
        """Resistance on charge, more in the cold."""
        return (2.0 + 3.1 / (1.08 - soc) ** 1.5) / self.Ah * (1.0 + 0.025 * (25.0 - bank_C))

    def stays(self, soc):
        """Share of a charging current that is stored."""
        return 1.0 - self.gassing * soc**8


def gassing_of(efficiency, *, floor):
    """The gassing with which floor to full takes 1 / efficiency for each ampere-hour stored."""
    soc = np.linspace(floor, 1.0, 20_001)
    soc = 0.5 * (soc[1:] + soc[:-1])
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if np.mean(1.0 / (1.0 - middle * soc**8)) < 1.0 / efficiency:
            low = middle
        else:
            high = middle
    return low


# Alternator (loads-and-fuel.md) ------------------------------------------------------------------


def alternator_A(boat, *, motoring):
    """Hot output, and no more than the shaft has."""
    rated_kW = number(boat["engine"]["rated"], "kW")
    revs = np.roots([0.246, 0.0, 0.08145, -DEFAULT.motoring_L_per_kWh])
    n = revs[np.isreal(revs)].real.item()  # those that burn what the engine burns in gear
    shaft_kW = rated_kW * (n - n**3) if motoring else rated_kW * 0.45 * 0.80
    hot_A = number(boat["alternator"]["motoring" if motoring else "charging"], "A")
    return min(hot_A, 1000.0 * shaft_kW * 0.50 / DEFAULT.alternator_V)


# The bus -----------------------------------------------------------------------------------------


def stands_at_V(emf_V, ohm, amps, watts):
    """Upper root of V = emf + ohm (amps + watts / V), with what flows in."""
    open_V = emf_V + ohm * amps
    return 0.5 * (open_V + math.sqrt(open_V**2 + 4.0 * ohm * watts))


def bus_V(chargers, loads, *, emf_V, in_ohm, out_ohm):
    """The highest of: no charger; each up to its setpoint, with those of no lower setpoint."""
    volts = stands_at_V(emf_V, out_ohm, -loads.A, -loads.W)
    for one in chargers:
        helping = [other for other in chargers if other.setpoint_V >= one.setpoint_V]
        amps = sum(other.A for other in helping) - loads.A
        watts = sum(other.W for other in helping) - loads.W
        ohm = in_ohm if amps + watts / emf_V > 0.0 else out_ohm
        volts = max(volts, min(one.setpoint_V, stands_at_V(emf_V, ohm, amps, watts)))
    return volts


def given_A(chargers, *, needed_A, volts):
    """What each gives: below its setpoint all it has, on it what is left to give, in order."""
    offers_A = [one.A + one.W / volts for one in chargers]
    gives_A = [
        offer if one.setpoint_V > volts else 0.0
        for one, offer in zip(chargers, offers_A, strict=True)
    ]
    rest_A = max(needed_A - sum(gives_A), 0.0)
    for place, one in enumerate(chargers):
        if one.setpoint_V == volts:
            gives_A[place] = min(offers_A[place], rest_A)
            rest_A -= gives_A[place]
    return gives_A


# When the engine charges -------------------------------------------------------------------------


class Rule:
    """[charging] of boat.toml, kept by a sailor who looks at nothing else."""

    def __init__(self, charging):
        self.start, self.stop = percent(charging["start"]), percent(charging["stop"])
        self.opens_h, self.closes_h = map(clock_h, charging["hours"].split("-"))

    def begins(self, *, soc, fall, clock):
        """Share of the step gone when charge crosses the start; None where no run begins."""
        first = max(soc - self.start, 0.0) / max(fall, 1e-9)
        first_h = clock + first * KERNEL_STEP_h
        allowed = self.opens_h <= clock and first_h + DEFAULT.shortest_run_h <= self.closes_h
        return first if first < 1.0 and allowed else None

    def ends(self, *, first, run_h, soc, fall, rise):
        """Share of the step gone when the run has come to the stop, not too early or late."""
        last = first + (self.stop - soc + first * fall) / max(rise, 1e-9)
        last = max(last, first + max(DEFAULT.shortest_run_h - run_h, 0.0) / KERNEL_STEP_h)
        return min(last, first + (DEFAULT.longest_run_h - run_h) / KERNEL_STEP_h, 1.0)


# Step by step ------------------------------------------------------------------------------------


def simulate(boat, quarters):
    """Carry the bank through the quarters of an hour; a list of what happened in each."""
    bank = Flooded(number(boat["battery"]["capacity"], "Ah"))
    rule = Rule(boat["charging"])
    now = SimpleNamespace(soc=1.0, volts=None, into_A=0.0, run_h=None, tail_h=0.0, floating=False)
    return [step(now, quarter, bank=bank, rule=rule, boat=boat) for quarter in quarters]


def step(now, quarter, *, bank, rule, boat):
    """One step: `now` is what one hands to the next, and is changed."""
    soc, bank_C, step_h = now.soc, quarter.bank_C, KERNEL_STEP_h
    loads = SimpleNamespace(A=quarter.load_A + DEFAULT.controller_idle_A, W=quarter.load_W)

    # The bus: the bank in the middle of the step, by what leaks and by half of the movement.
    emf_V, slope_V = bank.rested_V(soc)
    half_ohm = slope_V * 0.5 * step_h / bank.Ah
    leak_A = DEFAULT.self_discharge_per_month / 720.0 * bank.Ah * soc
    emf_V -= half_ohm * leak_A
    out_ohm = bank.out_ohm(soc, bank_C) + half_ohm
    later = min(soc + now.into_A * 0.5 * step_h / bank.Ah, 1.0)
    stays = bank.stays(later)
    room_A = (1.0 - soc) * bank.Ah / step_h

    # Setpoints and stages.
    warmer_V = DEFAULT.temp_comp_V_per_C * (bank_C - 25.0)
    chargers = []
    if quarter.solar_W > 0.0:
        setpoint_V = DEFAULT.float_V if now.floating else DEFAULT.absorption_V
        chargers.append(SimpleNamespace(setpoint_V=setpoint_V + warmer_V, A=0.0, W=quarter.solar_W))

    # When the engine charges: what the bank would lose by the voltage of the step before.
    first = None
    if now.run_h is not None:
        first = 0.0 if now.run_h < DEFAULT.shortest_run_h or soc < rule.stop else None
    fall = 0.0
    if first is None and now.volts is not None:
        short_A = loads.A + (loads.W - quarter.solar_W) / now.volts + leak_A
        fall = max(short_A, 0.0) * step_h / bank.Ah
        first = rule.begins(soc=soc, fall=fall, clock=quarter.ship_h)
    run_h = now.run_h or 0.0
    alternator = None
    if first is not None or quarter.motoring:
        alternator = SimpleNamespace(
            setpoint_V=DEFAULT.alternator_V - DEFAULT.cable_drop_V,
            A=alternator_A(boat, motoring=quarter.motoring),
            W=0.0,
        )
        chargers.append(alternator)
    in_ohm = bank.in_ohm(later, bank_C) + half_ohm * stays
    if chargers:
        highest_V = max(one.setpoint_V for one in chargers)
        in_ohm = max(in_ohm, (highest_V - emf_V) / max(room_A / stays, 1e-6))

    def meet():
        volts = bus_V(chargers, loads, emf_V=emf_V, in_ohm=in_ohm, out_ohm=out_ohm)
        net_A = (volts - emf_V) / (in_ohm if volts > emf_V else out_ohm)
        gives_A = given_A(chargers, needed_A=net_A + loads.A + loads.W / volts, volts=volts)
        stored_A = min(stays * net_A, room_A) if net_A > 0.0 else net_A
        return volts, net_A, stored_A, gives_A

    volts, net_A, stored_A, gives_A = meet()
    now.into_A = max(stored_A, 0.0)
    share = 0.0
    if first is not None:
        rise = (stored_A - leak_A) * step_h / bank.Ah
        last = rule.ends(first=first, run_h=run_h, soc=soc, fall=fall, rise=rise)
        share = last - first
        if share < 1.0:
            alternator.A = share * gives_A[-1]
            volts, net_A, stored_A, gives_A = meet()
        now.run_h = run_h + share * step_h if last >= 1.0 else None

    now.soc = soc + (stored_A - leak_A) * step_h / bank.Ah
    now.volts = volts

    # Full: an hour of small currents at the voltage that fills.
    full_V = DEFAULT.absorption_V - 0.25 + min(warmer_V, 0.0)
    small = net_A < DEFAULT.full_tail * bank.Ah
    now.tail_h = now.tail_h + step_h if volts >= full_V and small and now.soc >= 0.97 else 0.0
    now.floating = quarter.solar_W > 0.0 and (now.floating or now.tail_h >= 1.0)
    return SimpleNamespace(
        soc=now.soc,
        bank_V=volts,
        solar_Ah=step_h * sum(a for a, one in zip(gives_A, chargers, strict=True) if one.W > 0.0),
        alternator_Ah=step_h * gives_A[-1] if alternator else 0.0,
        loads_Ah=step_h * (loads.A + loads.W / volts),
        charging_h=share * step_h,
    )
