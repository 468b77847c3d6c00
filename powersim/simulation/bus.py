"""The bus: where the currents of bank, loads and chargers meet at one voltage.

The bank is an electromotive force behind a resistance, loads draw a current or a power, a
charger gives a power or a current up to its own setpoint. All solutions are closed form.
"""

from __future__ import annotations

import math
from itertools import chain
from typing import NamedTuple

from powersim.records import OTHER_SOURCES

#: Smallest current that anything is divided by, far below what a meter shows. [A]
LEAST_A = 1e-6
#: What rounding may make of an equality of voltages. [V]
_ROUNDING_V = 1e-6


class Draw(NamedTuple):
    """Current and power, at one time, as loads draw or chargers give them. [A], [W]"""

    amps: float
    watts: float

    def at(self, volts):
        """The whole as a current.

        Parameters
        ----------
        volts : float or ndarray, shape (members,)
            Voltage of the bus.

        Returns
        -------
        float or ndarray, shape (members,)
            [A]
        """
        if _is_nothing(self.watts):
            return self.amps
        return self.amps + self.watts / volts

    def times(self, factor):
        """So much of it.

        Parameters
        ----------
        factor : float or ndarray, shape (members,)
            Share.

        Returns
        -------
        Draw
        """
        return Draw(
            *(given if _is_nothing(given) else given * factor for given in (self.amps, self.watts))
        )


def _is_nothing(given) -> bool:
    # What gives no power, or no current, has a plain zero there, with which no array need be
    # worked out.
    return type(given) is float and given == 0.0


class Charger(NamedTuple):
    """A charger in one step: the voltage that it holds, and the most that it gives below it."""

    setpoint_V: float
    offer: Draw


def total_of(draws) -> Draw:
    """The sum of any number of draws.

    Parameters
    ----------
    draws : sequence of Draw

    Returns
    -------
    Draw
    """
    amps = watts = 0.0
    for draw in draws:
        amps = draw.amps if _is_nothing(amps) else amps + draw.amps
        watts = draw.watts if _is_nothing(watts) else watts + draw.watts
    return Draw(amps, watts)


def volts_with(*, emf_V, ohm, amps, watts, ops):
    """Bus voltage when a net current and a net power flow in from outside the bank.

    Solves V = emf + ohm * (amps + watts / V) for the upper root, the one at which a bus works.

    Parameters
    ----------
    emf_V : float or ndarray, shape (members,)
        Electromotive force of the bank. [V]
    ohm : float or ndarray, shape (members,)
        Resistance of the bank.
    amps, watts : float or ndarray, shape (members,)
        Net inflow from chargers less loads.
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    float or ndarray, shape (members,)
        Below any cut-out where the bank cannot supply it: 0 for a power, 0 or less for a current.
        No bus stands there: `switchboard.goes_dark` leaves off the loads, and `meet` what the bank
        cannot give. [V]

    Examples
    --------
    >>> from powersim.physics.ops import FLOAT
    >>> volts_with(emf_V=12.5, ohm=0.01, amps=-10.0, watts=0.0, ops=FLOAT)
    12.4
    """
    open_V = emf_V + ohm * amps
    square = open_V * open_V + 4.0 * ohm * watts
    beyond = square < 0.0
    if not ops.any(beyond):
        return 0.5 * (open_V + ops.sqrt(square))
    upper_V = 0.5 * (open_V + ops.sqrt(ops.maximum(square, 0.0)))
    return ops.where(beyond, 0.0, upper_V)


def pwm_offer_A(*, controller, row, volts, ops):
    """Current that a PWM controller offers at a bank voltage.

    Parameters
    ----------
    controller : ControllerSignal
        For its knots and rating.
    row : ControllerRow
        Current at the first knot and the slopes between knots.
    volts : float or ndarray, shape (members,)
        Bank voltage, clipped to the knots: below the first the module's current is flat.
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    float or ndarray, shape (members,)
        [A]
    """
    amps = row.first_A
    for slope, low_V, high_V in zip(
        row.slope_A_per_V, controller.knots_V, controller.knots_V[1:], strict=False
    ):
        amps = amps + slope * ops.minimum(ops.maximum(volts - low_V, 0.0), high_V - low_V)
    return ops.minimum(ops.maximum(amps, 0.0), controller.rated_A)


def solar_chargers(*, controllers, row, volts, floating, share, ops):
    """Every solar controller that has light, with its setpoint and what it offers.

    Parameters
    ----------
    controllers : tuple of ControllerSignal
    row : Row
        Signals of the step.
    volts : float or ndarray, shape (members,)
        Bank voltage in the step before, for ratings in amperes and for PWM.
    floating : bool or ndarray of bool, shape (members,)
        Whether controllers hold float rather than absorption.
    share : float or ndarray, shape (members,)
        1 with the panels working, 0 with them lost.
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    list of Charger
    """
    found = [
        charger_in(controller, signal, volts=volts, floating=floating, share=share, ops=ops)
        for controller, signal in zip(controllers, row.controllers, strict=True)
    ]
    return list(chain(*found))


def charger_in(controller, signal, *, volts, floating, share, ops):
    """One solar controller or other charger in a step, as a list of one, or of none at rest.

    Parameters
    ----------
    controller, signal : ControllerSignal, ControllerRow
        It, and what it has in the step.
    volts, floating, share, ops
        As for `solar_chargers`.

    Returns
    -------
    list of Charger
    """
    if not ops.any(signal.power_W + signal.first_A > 0.0):
        return []  # night, calm, at sea
    setpoint_V = ops.where(floating, signal.float_V, signal.absorption_V)
    if controller.knots_V:
        amps = pwm_offer_A(controller=controller, row=signal, volts=volts, ops=ops)
        return [Charger(setpoint_V, Draw(share * amps, 0.0))]
    watts = mppt_offer_W(controller, signal, volts, ops=ops)
    return [Charger(setpoint_V, Draw(0.0, share * watts))]


def other_chargers(*, chargers, row, volts, floating, share, ops):
    """Every other charger that has something to give, by source.

    Parameters
    ----------
    chargers : tuple of ControllerSignal
    row, volts, floating, share, ops
        As for `solar_chargers`.

    Returns
    -------
    tuple of three list of Charger
        In the order of records.OTHER_SOURCES.
    """
    found = {source: [] for source in OTHER_SOURCES}
    for charger, signal in zip(chargers, row.others, strict=True):
        found[charger.source] += charger_in(
            charger, signal, volts=volts, floating=floating, share=share, ops=ops
        )
    return tuple(found.values())


def mppt_offer_W(controller, row, volts, *, ops):
    """Power that an MPPT controller offers, within its rating.

    Parameters
    ----------
    controller : ControllerSignal
        For its rating.
    row : ControllerRow
        What its panels give.
    volts : float or ndarray, shape (members,)
        Bank voltage at which the rating in amperes counts.
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    float or ndarray, shape (members,)
        [W]
    """
    if controller.rated_A == math.inf:
        return row.power_W
    return ops.minimum(row.power_W, controller.rated_A * volts)


def meeting_V(*, chargers, loads, emf_V, ohm_in, ohm_out, ops):
    """Voltage at which chargers, loads and bank meet.

    A charger gives all of its offer below its setpoint, nothing above, and at the setpoint as
    much as holds it. So the bus settles at the highest of: the voltage with no charger at all,
    and for each charger the lower of its setpoint and the voltage that it reaches, from where the
    bus stands, together with all those of the same or a higher setpoint.

    Parameters
    ----------
    chargers : sequence of Charger
    loads : Draw
    emf_V : float or ndarray, shape (members,)
        Electromotive force of the bank. [V]
    ohm_in, ohm_out : float or ndarray, shape (members,)
        Its resistance on charge and on discharge.
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    float or ndarray, shape (members,)
        [V]
    """

    def reached_V(volts):
        waiting = False
        for charger in chargers:
            given = total_of(
                [
                    other.offer
                    if other is charger
                    else other.offer.times(other.setpoint_V >= charger.setpoint_V)
                    for other in chargers
                ]
            )
            alone_V, waits = free_V(given, volts)
            volts = ops.maximum(volts, ops.minimum(charger.setpoint_V, alone_V))
            waiting = waiting | waits
        return volts, waiting

    def free_V(given, from_V):
        amps, watts = given.amps - loads.amps, given.watts - loads.watts
        charges = amps + watts / emf_V > 0.0
        # Loads of a power take less current as the bus rises: what gives more current than loads
        # take as a current may charge from where others have lifted the bus, though not from rest.
        waits = ops.logical_not(charges) & (amps > 0.0)
        if ops.any(waits):
            at_V = ops.maximum(from_V, emf_V)
            charges = charges | (waits & (amps + watts / at_V > (at_V - emf_V) / ohm_in))
            waits = waits & ops.logical_not(charges)
        gives = ops.logical_not(charges)
        if not ops.any(gives):
            return volts_with(emf_V=emf_V, ohm=ohm_in, amps=amps, watts=watts, ops=ops), waits
        ohm = ops.where(charges, ohm_in, ohm_out)
        volts = volts_with(emf_V=emf_V, ohm=ohm, amps=amps, watts=watts, ops=ops)
        # A bank that has to give from rest never comes up to a voltage at which it need not.
        return ops.where(gives & (volts > emf_V + _ROUNDING_V), 0.0, volts), waits

    volts = volts_with(emf_V=emf_V, ohm=ohm_out, amps=-loads.amps, watts=-loads.watts, ops=ops)
    if len(chargers) == 1:
        setpoint_V, offer = chargers[0]
        alone_V, _ = free_V(offer, volts)
        return ops.maximum(volts, ops.minimum(setpoint_V, alone_V))
    volts, waiting = reached_V(volts)
    # Where others have lifted the bus since, one that waited for it may go on by itself to its own
    # setpoint, and the next one from there.
    for _ in chargers[1:]:
        if not ops.any(waiting):
            break
        before = volts
        volts, waiting = reached_V(volts)
        if not ops.any(volts > before):
            break
    return volts


def given_A(*, chargers, volts, ops):
    """What chargers give in full, and the most that they give in part, at the bus voltage.

    Parameters
    ----------
    chargers : sequence of Charger
    volts : float or ndarray, shape (members,)
        Where the bus has settled. [V]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    tuple of (float or ndarray, float or ndarray)
        From those above the voltage, and from those that hold it. [A], [A]
    """
    full_A = part_A = 0.0
    for charger in chargers:
        amps = charger.offer.at(volts)
        full_A = full_A + ops.where(charger.setpoint_V > volts, amps, 0.0)
        part_A = part_A + ops.where(charger.setpoint_V == volts, amps, 0.0)
    return full_A, part_A


class Met(NamedTuple):
    """Where the bus has settled."""

    bank_V: float
    ohm: float
    net_A: float
    loads: Draw
    served: float


def charging_ohm(*, bank, chargers, ops):
    """The bank's resistance to what chargers would put into it.

    What the wells cannot take stands as resistance against the highest setpoint.

    Parameters
    ----------
    bank : Bank
        As the step begins.
    chargers : list of Charger
        Those that offer something.
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    float or ndarray, shape (members,)
        [ohm]
    """
    if not chargers:
        return bank.ohm_in
    highest_V = 0.0
    for setpoint_V, offer in chargers:
        # One that gives nothing holds no voltage: another member's engine does not count here.
        holds_V = ops.where(offer.amps + offer.watts > 0.0, setpoint_V, 0.0)
        highest_V = ops.maximum(highest_V, holds_V)
    return ops.maximum(bank.ohm_in, (highest_V - bank.emf_V) / bank.most_in_A)


def meet(*, bank, ohm_in, chargers, loads, served, ops) -> Met:
    """The bus with everything on it.

    When the wells can give no more, or no more without taking the bus below its least voltage,
    what they give sets the voltage and the loads get what is left.

    Parameters
    ----------
    bank : Bank
        As the step begins.
    ohm_in : float or ndarray, shape (members,)
        From `charging_ohm`.
    chargers : list of Charger
        Those that offer something.
    loads : Draw
        What is on.
    served : float or ndarray, shape (members,)
        Share of the wanted load that is on. [-]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    Met
    """
    bank_V = meeting_V(
        chargers=chargers,
        loads=loads,
        emf_V=bank.emf_V,
        ohm_in=ohm_in,
        ohm_out=bank.ohm_out,
        ops=ops,
    )
    ohm = ops.where(bank_V > bank.emf_V, ohm_in, bank.ohm_out) if chargers else bank.ohm_out
    net_A = (bank_V - bank.emf_V) / ohm
    beyond = -net_A > bank.most_out_A
    if ops.any(beyond):
        bank_V = ops.where(beyond, bank.emf_V - bank.ohm_out * bank.most_out_A, bank_V)
        wanted_A = ops.maximum(loads.at(bank_V), LEAST_A)
        given = sum(given_A(chargers=chargers, volts=bank_V, ops=ops))
        part = ops.where(beyond, (given + bank.most_out_A) / wanted_A, 1.0)
        served, loads = served * part, loads.times(part)
        net_A = ops.where(beyond, -bank.most_out_A, net_A)
    return Met(bank_V, ohm, net_A, loads, served)


def shared_A(groups, *, volts, needed_A, ops):
    """Who gives it: chargers below their setpoint all they have, those at it the rest, in order.

    Parameters
    ----------
    groups : sequence of list of Charger
        Those that offer something; the first group is used first.
    volts : float or ndarray, shape (members,)
        Where the bus has settled. [V]
    needed_A : float or ndarray, shape (members,)
        What bank and loads take there. [A]
    ops : type
        ops.FLOAT or ops.ARRAY.

    Returns
    -------
    list of (float or ndarray), shape (members,)
        From each group. [A]
    """
    shares = [0.0] * len(groups)
    given = [
        (place, *given_A(chargers=group, volts=volts, ops=ops))
        for place, group in enumerate(groups)
        if group
    ]
    if not given:
        return shares
    rest_A = needed_A
    for _, full_A, _ in given:
        rest_A = rest_A - full_A
    rest_A = ops.maximum(rest_A, 0.0)
    for place, full_A, part_A in given:
        more_A = ops.minimum(rest_A, part_A)
        rest_A = rest_A - more_A
        shares[place] = full_A + more_A
    return shares
