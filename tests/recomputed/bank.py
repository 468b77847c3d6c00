"""docs/model/battery.md and simulation.md: bank, chargers and loads, a quarter of an hour a step.

The wells only say how much can be had, which never binds here; the state of charge falls by what
is drawn over capacity whatever is in which of them.
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np

from recomputed.files import DEFAULT, clock_h, hours_of, number, percent

KERNEL_STEP_h = 0.25
SLOPE_L_per_kWh, NO_LOAD_L_per_kWh, MOTORING_L_per_kWh = 0.246, 0.08145, 0.15
REV_SHARE = 0.45


# Battery -----------------------------------------------------------------------------------------


class Flooded:
    """A flooded 12 V bank: battery.md's straight lines, resistances and gas."""

    def __init__(self, label_Ah):
        self.Ah = label_Ah * DEFAULT.health
        self.gassing = gassing_of(DEFAULT.charge_efficiency, floor=DEFAULT.floor)

    def rested_V(self, soc):
        """Voltage at rest, and how it rises over a whole charge."""
        return 12.2 + 1.0 * (soc - 0.5), 1.0

    def out_ohm(self, soc, bank_C):
        """Resistance on discharge, more in the cold."""
        return (2.4 + 0.1 / soc**1.5) / self.Ah * (1.0 + 0.007 * (25.0 - bank_C))

    def in_ohm(self, soc, bank_C):
        """Resistance on charge, more in the cold."""
        return (2.0 + 3.1 / (1.08 - soc) ** 1.5) / self.Ah * (1.0 + 0.025 * (25.0 - bank_C))

    def stays(self, soc):
        """Share of a charging current that is stored."""
        return 1.0 - self.gassing * soc**8

    def as_begins(self, now, bank_C):
        """The bank to a step: taken in its middle, by what leaks and by half of the movement."""
        emf_V, slope_V = self.rested_V(now.soc)
        half_ohm = slope_V * 0.5 * KERNEL_STEP_h / self.Ah
        leak_A = DEFAULT.self_discharge_per_month / 720.0 * self.Ah * now.soc
        later = min(now.soc + now.into_A * 0.5 * KERNEL_STEP_h / self.Ah, 1.0)
        stays = self.stays(later)
        return SimpleNamespace(
            emf_V=emf_V - half_ohm * leak_A,
            leak_A=leak_A,
            out_ohm=self.out_ohm(now.soc, bank_C) + half_ohm,
            in_ohm=self.in_ohm(later, bank_C) + half_ohm * stays,
            stays=stays,
            room_A=(1.0 - now.soc) * self.Ah / KERNEL_STEP_h,
        )


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


# Alternator and fuel (loads-and-fuel.md) ---------------------------------------------------------


def alternator_A(boat, *, motoring):
    """Hot output, and no more than the shaft has."""
    rated_kW = number(boat["engine"]["rated"], "kW")
    revs = np.roots([SLOPE_L_per_kWh, 0.0, NO_LOAD_L_per_kWh, -MOTORING_L_per_kWh])
    n = revs[np.isreal(revs)].real.item()  # those that burn what the engine burns in gear
    shaft_kW = rated_kW * (n - n**3) if motoring else rated_kW * REV_SHARE * 0.80
    hot_A = number(boat["alternator"]["motoring" if motoring else "charging"], "A")
    return min(hot_A, 1000.0 * shaft_kW * 0.50 / DEFAULT.alternator_V)


def burnt_L(boat, *, in_gear_h, at_rest_h, alternator_Ah, volts):
    """Motoring, charging at rest, and what the alternator's shaft costs in either."""
    rated_kW = number(boat["engine"]["rated"], "kW")
    shaft_kWh = alternator_Ah * (volts + DEFAULT.cable_drop_V) / 0.50 / 1000.0
    return (
        in_gear_h * rated_kW * MOTORING_L_per_kWh
        + at_rest_h * rated_kW * NO_LOAD_L_per_kWh * REV_SHARE
        + shaft_kWh * SLOPE_L_per_kWh
    )


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


def meet(chargers, loads, bank):
    """Where all of them settle: volts, what flows into the bank and is stored, who gives what."""
    in_ohm = bank.in_ohm
    if chargers:  # what the wells have no room for stands against the highest setpoint
        highest_V = max(one.setpoint_V for one in chargers)
        in_ohm = max(in_ohm, (highest_V - bank.emf_V) / max(bank.room_A / bank.stays, 1e-6))
    volts = bus_V(chargers, loads, emf_V=bank.emf_V, in_ohm=in_ohm, out_ohm=bank.out_ohm)
    net_A = (volts - bank.emf_V) / (in_ohm if volts > bank.emf_V else bank.out_ohm)
    loads_A = loads.A + loads.W / volts
    return SimpleNamespace(
        volts=volts,
        net_A=net_A,
        stored_A=min(bank.stays * net_A, bank.room_A) if net_A > 0.0 else net_A,
        loads_A=loads_A,
        gives_A=given_A(chargers, needed_A=net_A + loads_A, volts=volts),
    )


# When the engine charges -------------------------------------------------------------------------


class Rule:
    """[charging] of boat.toml, kept by a sailor who looks at nothing else."""

    def __init__(self, charging):
        assert not {"full_every", "little_sun", "daily"} & charging.keys(), "told on no page here"
        self.start = percent(charging["start"])
        self.read_at_h = [clock_h(text) for text in charging.get("read_at", DEFAULT.read_at)]
        self.opens_h, self.closes_h = map(clock_h, charging["hours"].split("-"))
        self.stop = percent(charging["stop"]) if "stop" in charging else math.inf
        self.least_A = number(charging["stop_below"], "A") if "stop_below" in charging else 0.0
        self.shortest_h = hours_of(charging.get("shortest", DEFAULT.shortest_run))
        self.longest_h = hours_of(charging.get("longest", DEFAULT.longest_run))
        if "run" in charging:
            self.shortest_h = self.longest_h = hours_of(charging["run"])

    def goes_on(self, now):
        """Whether a run that has begun goes on in the next step."""
        if now.run_h is None or not now.run_h < self.longest_h - 1e-9:
            return False
        wants = now.soc < self.stop and now.ammeter_A >= self.least_A
        return now.run_h < self.shortest_h - 1e-9 or wants

    def begins(self, now, *, fall, clock, able):
        """Share of the step gone when the engine begins to charge; None where it does not.

        In gear it cannot, but the bank is read all the same.
        """
        if able and self.goes_on(now) and clock < self.closes_h:
            return 0.0
        if self.read_at_h:
            reads = any(clock <= at_h < clock + KERNEL_STEP_h for at_h in self.read_at_h)
            if reads and now.run_h is None:
                now.due = now.soc <= self.start
            first = 0.0 if now.due else 1.0
        else:
            first = max(now.soc - self.start, 0.0) / max(fall, 1e-9)
        first_h = clock + first * KERNEL_STEP_h
        allowed = self.opens_h <= clock and first_h + self.shortest_h <= self.closes_h
        if able and first < 1.0 and allowed:
            now.due = False
            return first
        return None

    def ends(self, *, first, run_h, soc, fall, rise, clock):
        """Share of the step gone when the run has come to its end, not too early or late."""
        last = 1.0
        if self.stop < math.inf:
            last = first + (self.stop - soc + first * fall) / max(rise, 1e-9)
            last = max(last, first + max(self.shortest_h - run_h, 0.0) / KERNEL_STEP_h)
        longest = first + (self.longest_h - run_h) / KERNEL_STEP_h
        return min(last, longest, (self.closes_h - clock) / KERNEL_STEP_h, 1.0)


# Step by step ------------------------------------------------------------------------------------


def simulate(boat, quarters):
    """Carry the bank through the quarters of an hour; a list of what happened in each."""
    bank = Flooded(number(boat["battery"]["capacity"], "Ah"))
    rule = Rule(boat["charging"])
    now = SimpleNamespace(soc=1.0, into_A=0.0, ammeter_A=0.0, run_h=None, due=False)
    now.tail_h, now.floating = 0.0, False
    now.volts, _ = bank.rested_V(now.soc)
    return [step(now, quarter, flooded=bank, rule=rule, boat=boat) for quarter in quarters]


def step(now, quarter, *, flooded, rule, boat):
    """One step: `now` is what one hands to the next, and is changed."""
    step_h = KERNEL_STEP_h
    bank = flooded.as_begins(now, quarter.bank_C)
    loads = SimpleNamespace(A=quarter.load_A + DEFAULT.controller_idle_A, W=quarter.load_W)
    warmer_V = DEFAULT.temp_comp_V_per_C * (quarter.bank_C - 25.0)
    chargers = []
    if quarter.solar_W > 0.0:
        held_V = DEFAULT.float_V if now.floating else DEFAULT.absorption_V
        chargers.append(SimpleNamespace(setpoint_V=held_V + warmer_V, A=0.0, W=quarter.solar_W))

    # The engine, in gear and at rest: shares of the step.
    short_A = loads.A + (loads.W - quarter.solar_W) / now.volts + bank.leak_A
    fall = max(short_A, 0.0) * step_h / flooded.Ah
    in_gear, at_rest, run_h = quarter.motoring, 0.0, now.run_h or 0.0
    first = rule.begins(now, fall=fall, clock=quarter.ship_h, able=in_gear < 1.0)
    if first is not None:
        at_rest = min(1.0 - first, 1.0 - in_gear)
    alternator = None
    if in_gear + at_rest > 0.0:
        amps = in_gear * alternator_A(boat, motoring=True)
        amps += at_rest * alternator_A(boat, motoring=False)
        held_V = DEFAULT.alternator_V - DEFAULT.cable_drop_V
        alternator = SimpleNamespace(setpoint_V=held_V, A=amps / (in_gear + at_rest), W=0.0)
        chargers.append(alternator)

    # Once with the engine on throughout, and again where it turns for a part.
    met = meet(chargers, loads, bank)
    now.into_A, now.ammeter_A, now.run_h = max(met.stored_A, 0.0), max(met.net_A, 0.0), None
    if first is not None:
        rise = (met.stored_A - bank.leak_A) * step_h / flooded.Ah
        last = rule.ends(
            first=first, run_h=run_h, soc=now.soc, fall=fall, rise=rise, clock=quarter.ship_h
        )
        at_rest = min(last - first, 1.0 - in_gear)
        if last >= 1.0:
            now.run_h = run_h + at_rest * step_h
    if alternator and in_gear + at_rest < 1.0:
        alternator.A = (in_gear + at_rest) * met.gives_A[-1]
        met = meet(chargers, loads, bank)

    now.soc += (met.stored_A - bank.leak_A) * step_h / flooded.Ah
    now.volts = met.volts
    signs = met.volts >= DEFAULT.absorption_V - 0.25 + min(warmer_V, 0.0)
    signs = signs and met.net_A < DEFAULT.full_tail * flooded.Ah and now.soc >= 0.97
    now.tail_h = now.tail_h + step_h if signs else 0.0
    now.floating = quarter.solar_W > 0.0 and (now.floating or now.tail_h >= 1.0)
    gives_Ah = [step_h * amps for amps in met.gives_A]
    engine_Ah = gives_Ah.pop() if alternator else 0.0
    fuel_L = burnt_L(
        boat,
        in_gear_h=in_gear * step_h,
        at_rest_h=at_rest * step_h,
        alternator_Ah=engine_Ah,
        volts=met.volts,
    )
    return SimpleNamespace(
        soc=now.soc,
        bank_V=met.volts,
        solar_Ah=sum(gives_Ah),
        alternator_Ah=engine_Ah,
        loads_Ah=step_h * met.loads_A,
        charging_h=at_rest * step_h,
        fuel_L=fuel_L + quarter.heater_L_per_h * step_h,
    )
