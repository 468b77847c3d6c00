"""The bus: where the currents of bank, loads and chargers meet at one voltage.

The bank is an electromotive force behind a resistance, loads draw a current or a power, a
charger gives a power or a current up to its own setpoint. All solutions are closed form.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from powersim.kernel.bank_now import LEAST_A

if TYPE_CHECKING:
    from powersim.kernel.bank_now import BankNow, Taking
    from powersim.records.arrays import Writable

#: What rounding may make of an equality of voltages. [V]
_ROUNDING_V = 1e-6


class Draw(NamedTuple):
    """Current and power, at one time, as loads draw them. [A], [W]"""

    amps: float
    watts: float


class Bus(NamedTuple):
    """The chargers on the bus in a step, side by side: lists of floats, or arrays.

    Each holds `setpoint_V` and gives at most `amps` and `watts` below it; `source` is its number in
    chargers.SOURCES. `taken_A` is what `share_out` found that it gives.
    """

    source: Writable[int]
    setpoint_V: Writable[float]
    amps: Writable[float]
    watts: Writable[float]
    taken_A: Writable[float]


class Met(NamedTuple):
    """Where the bus has settled, and the share of the wanted load that is on there."""

    bank_V: float
    ohm: float
    net_A: float
    share: float


def bus_of(places: int) -> Bus:
    """An empty bus for plain floats.

    Parameters
    ----------
    places : int
        For how many chargers.

    Returns
    -------
    Bus
        With nothing on it.
    """
    return Bus([0] * places, *([0.0] * places for _ in range(4)))


def add_charger(
    bus: Bus, count: int, *, source: int, setpoint_V: float, amps: float, watts: float
) -> int:
    """Lay one more charger onto the bus.

    Parameters
    ----------
    bus : Bus
        Its next place is written.
    count : int
        How many it has.
    source : int
        Its number in chargers.SOURCES.
    setpoint_V : float
        What it holds. [V]
    amps, watts : float
        What it offers below that.

    Returns
    -------
    int
        How many it has now.
    """
    bus.source[count] = source
    bus.setpoint_V[count] = setpoint_V
    bus.amps[count] = amps
    bus.watts[count] = watts
    return count + 1


def at_volts(draw: Draw, volts: float) -> float:
    """A draw as a current.

    Parameters
    ----------
    draw : Draw
        As the loads have it.
    volts : float
        Voltage of the bus.

    Returns
    -------
    float
        All of it as a current. [A]
    """
    return draw.amps + draw.watts / volts


def offered_A(bus: Bus, count: int, *, volts: float) -> float:
    """All that chargers offer, as a current.

    Parameters
    ----------
    bus : Bus
        The chargers.
    count : int
        How many of its places count.
    volts : float
        Voltage of the bus.

    Returns
    -------
    float
        The sum over the places that count. [A]
    """
    amps = 0.0
    for place in range(count):
        amps = amps + (bus.amps[place] + bus.watts[place] / volts)
    return amps


def volts_with(*, emf_V: float, ohm: float, amps: float, watts: float) -> float:
    """Bus voltage when a net current and a net power flow in from outside the bank.

    Solves V = emf + ohm * (amps + watts / V) for the upper root, the one at which a bus works.

    Parameters
    ----------
    emf_V : float
        Electromotive force of the bank. [V]
    ohm : float
        Resistance of the bank.
    amps, watts : float
        Net inflow from chargers less loads.

    Returns
    -------
    float
        Below any cut-out where the bank cannot supply it: 0 for a power, 0 or less for a current.
        No bus stands there: `load_shedding.goes_dark` leaves off the loads, and `meet` what
        the bank cannot give. [V]

    Examples
    --------
    >>> volts_with(emf_V=12.5, ohm=0.01, amps=-10.0, watts=0.0)
    12.4
    """
    open_V = emf_V + ohm * amps
    square = open_V * open_V + 4.0 * ohm * watts
    if square < 0.0:
        return 0.0
    return 0.5 * (open_V + math.sqrt(square))


def meeting_V(
    bus: Bus, count: int, *, loads: Draw, emf_V: float, ohm_in: float, ohm_out: float
) -> float:
    """Voltage at which chargers, loads and bank meet.

    A charger gives all of its offer below its setpoint, nothing above, and at the setpoint as
    much as holds it. So the bus settles at the highest of: the voltage with no charger at all,
    and for each charger the lower of its setpoint and the voltage that it reaches, from where the
    bus stands, together with all those of the same or a higher setpoint.

    Parameters
    ----------
    bus : Bus
        The chargers.
    count : int
        How many of its places count.
    loads : Draw
        What is on.
    emf_V : float
        Electromotive force of the bank. [V]
    ohm_in, ohm_out : float
        Its resistance on charge and on discharge.

    Returns
    -------
    float
        Of the bus. [V]
    """
    volts = volts_with(emf_V=emf_V, ohm=ohm_out, amps=-loads.amps, watts=-loads.watts)
    # Where others have lifted the bus since, one that waited for it may go on by itself to its own
    # setpoint, and the next one from there.
    for _ in range(count):
        before_V, waiting = volts, False
        for place in range(count):
            setpoint_V = bus.setpoint_V[place]
            amps, watts = 0.0, 0.0
            for other in range(count):
                if bus.setpoint_V[other] >= setpoint_V:
                    amps = amps + bus.amps[other]
                    watts = watts + bus.watts[other]
            alone_V, waits = reached_V(
                amps=amps - loads.amps,
                watts=watts - loads.watts,
                from_V=volts,
                emf_V=emf_V,
                ohm_in=ohm_in,
                ohm_out=ohm_out,
            )
            if setpoint_V < alone_V:
                alone_V = setpoint_V
            if alone_V > volts:
                volts = alone_V
            waiting = waiting or waits
        if not (waiting and volts > before_V):
            break
    return volts


def reached_V(
    *, amps: float, watts: float, from_V: float, emf_V: float, ohm_in: float, ohm_out: float
) -> tuple[float, bool]:
    """The voltage that a net inflow reaches, were no charger to hold any.

    Parameters
    ----------
    amps, watts : float
        Net inflow from chargers less loads.
    from_V : float
        Where the bus stands. [V]
    emf_V : float
        Electromotive force of the bank. [V]
    ohm_in, ohm_out : float
        Its resistance on charge and on discharge.

    Returns
    -------
    tuple of (float, bool)
        The voltage, and whether it might be higher were the bus lifted by others. [V], [-]
    """
    charges = amps + watts / emf_V > 0.0
    # Loads of a power take less current as the bus rises: what gives more current than loads
    # take as a current may charge from where others have lifted the bus, though not from rest.
    waits = not charges and amps > 0.0
    if waits:
        at_V = from_V if from_V > emf_V else emf_V
        charges = amps + watts / at_V > (at_V - emf_V) / ohm_in
        waits = not charges
    volts = volts_with(emf_V=emf_V, ohm=ohm_in if charges else ohm_out, amps=amps, watts=watts)
    # A bank that has to give from rest never comes up to a voltage at which it need not.
    if not charges and volts > emf_V + _ROUNDING_V:
        volts = 0.0
    return volts, waits


def charging_ohm(bus: Bus, count: int, *, bank: BankNow, taking: Taking) -> float:
    """The bank's resistance to what chargers would put into it.

    What the wells cannot take stands as resistance against the highest setpoint.

    Parameters
    ----------
    bus : Bus
        The chargers.
    count : int
        How many of its places count.
    bank : BankNow
        Its voltage at rest, as the step begins.
    taking : Taking
        Both as the step begins.

    Returns
    -------
    float
        Never less than the bank's own. [ohm]
    """
    highest_V = 0.0
    for place in range(count):
        # One that gives nothing holds no voltage.
        gives = bus.amps[place] + bus.watts[place] > 0.0
        if gives and bus.setpoint_V[place] > highest_V:
            highest_V = bus.setpoint_V[place]
    against_ohm = (highest_V - bank.emf_V) / taking.most_A
    return against_ohm if against_ohm > taking.ohm else taking.ohm


def meet(bus: Bus, count: int, *, bank: BankNow, ohm_in: float, loads: Draw, least_V: float) -> Met:
    """The bus with everything on it.

    When the wells can give no more, or no more without taking the bus below its least voltage,
    what they give sets the voltage and the loads get what is left.

    Parameters
    ----------
    bus : Bus
        The chargers.
    count : int
        How many of its places count.
    bank : BankNow
        As the step begins.
    ohm_in : float
        From `charging_ohm`.
    loads : Draw
        What is on.
    least_V : float
        Whatever is left on in the dark cannot draw the bus below it. [V]

    Returns
    -------
    Met
        Voltage and current of the bank, and what of the load is on.
    """
    bank_V = meeting_V(
        bus, count, loads=loads, emf_V=bank.emf_V, ohm_in=ohm_in, ohm_out=bank.ohm_out
    )
    ohm = ohm_in if count > 0 and bank_V > bank.emf_V else bank.ohm_out
    net_A = (bank_V - bank.emf_V) / ohm
    share = 1.0
    if -net_A > bank.most_out_A or (net_A < 0.0 and bank_V < least_V):
        most_out_A = (bank.emf_V - least_V) / bank.ohm_out
        if not most_out_A > 0.0:
            most_out_A = 0.0
        if bank.most_out_A < most_out_A:
            most_out_A = bank.most_out_A
        bank_V = bank.emf_V - bank.ohm_out * most_out_A
        wanted_A = at_volts(loads, bank_V)
        given_A = 0.0
        for place in range(count):
            if bus.setpoint_V[place] >= bank_V:
                given_A = given_A + (bus.amps[place] + bus.watts[place] / bank_V)
        share = (given_A + most_out_A) / (wanted_A if wanted_A > LEAST_A else LEAST_A)
        net_A = -most_out_A
    return Met(bank_V, ohm, net_A, share)


def share_out(bus: Bus, count: int, *, volts: float, needed_A: float) -> None:
    """Who gives it: chargers below their setpoint all they have, those at it the rest, in order.

    Parameters
    ----------
    bus : Bus
        The first place is used first; `taken_A` is written.
    count : int
        How many of its places count.
    volts : float
        Where the bus has settled. [V]
    needed_A : float
        What bank and loads take there. [A]
    """
    rest_A = needed_A
    for place in range(count):
        bus.taken_A[place] = 0.0
        if bus.setpoint_V[place] > volts:
            bus.taken_A[place] = bus.amps[place] + bus.watts[place] / volts
            rest_A = rest_A - bus.taken_A[place]
    if rest_A < 0.0:
        rest_A = 0.0
    for place in range(count):
        if bus.setpoint_V[place] == volts:
            more_A = bus.amps[place] + bus.watts[place] / volts
            if more_A > rest_A:
                more_A = rest_A
            bus.taken_A[place] = more_A
            rest_A = rest_A - more_A
