"""What every charger offers in a step: solar controllers by PWM or MPPT, and the others."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from powersim.kernel.bus import Bus, add_charger
from powersim.kernel.flows import place_of
from powersim.records.chargers import OTHER_SOURCES, SURPLUS_SOURCES

if TYPE_CHECKING:
    from powersim.kernel.state import MemberState, Switches
    from powersim.records.arrays import Readable

#: Sources by number, in the order in which they are used; the first is the sun.
SOURCES = ("solar", *OTHER_SOURCES, "alternator")
SOLAR, ALTERNATOR = 0, len(SOURCES) - 1
OTHERS = len(OTHER_SOURCES)
#: Where in the flows what the first of the others gives stands; the rest of them follow it.
FIRST_OTHER_A = place_of(f"{OTHER_SOURCES[0]}_A")
#: By number: whether what it offers and nothing takes is surplus; a berth's amperes are none.
LEAVES_SURPLUS = tuple(source in ("solar", *SURPLUS_SOURCES) for source in SOURCES)


class ChargerConstants(NamedTuple):
    """What does not change of a solar controller or another charger.

    `source` is its number in SOURCES, `knots` how many of `knots_V` it has: between them the
    current of one that offers a current is interpolated, and one that offers a power has none.
    """

    source: int
    rated_A: float
    knots: int
    knots_V: tuple[float, ...]


class Offer(NamedTuple):
    """What a charger has in one step: a power, or a current at its first knot and slopes."""

    power_W: float
    first_A: float
    slope_A_per_V: tuple[float, ...]
    absorption_V: float
    float_V: float


def lay_chargers(
    bus: Bus,
    *,
    chargers: Readable[ChargerConstants],
    offers: Readable[Offer],
    state: MemberState,
    switches: Switches,
) -> int:
    """Lay all chargers that have something to give onto the bus, but for the alternator.

    Parameters
    ----------
    bus : Bus
        Filled from its first place on.
    chargers : sequence of ChargerConstants
        In the order in which they are used.
    offers : sequence of Offer
        What each has in the step.
    state : State
        As the step begins: ratings in amperes and PWM go by its voltage, the stage by its floats.
    switches : Switches
        What of it works.

    Returns
    -------
    int
        How many places are filled.
    """
    count = 0
    for place in range(len(chargers)):
        charger, offer = chargers[place], offers[place]
        # Comparisons here let pass what is not a number, so that the books find it.
        if offer.power_W + offer.first_A <= 0.0:
            continue  # night, calm, at sea
        solar = charger.source == SOLAR
        floats = state.floating if solar else state.others_floating
        share = switches.solar if solar else switches.others
        amps, watts = 0.0, 0.0
        if charger.knots > 0:
            amps = share * pwm_offer_A(charger, offer, volts=state.bank_V)
        else:
            watts = share * mppt_offer_W(charger, offer, volts=state.bank_V)
        setpoint_V = offer.float_V if floats else offer.absorption_V
        count = add_charger(
            bus, count, source=charger.source, setpoint_V=setpoint_V, amps=amps, watts=watts
        )
    return count


def pwm_offer_A(charger: ChargerConstants, offer: Offer, *, volts: float) -> float:
    """Current that a PWM controller offers at a bank voltage.

    Parameters
    ----------
    charger : ChargerConstants
        For its knots and rating.
    offer : Offer
        Current at the first knot and the slopes between knots.
    volts : float
        Bank voltage, clipped to the knots: below the first the module's current is flat.

    Returns
    -------
    float
        Along the straight lines between its knots, up to its rating. [A]
    """
    amps = offer.first_A
    for knot in range(charger.knots - 1):
        width_V = charger.knots_V[knot + 1] - charger.knots_V[knot]
        over_V = volts - charger.knots_V[knot]
        if over_V > width_V:
            over_V = width_V
        if over_V > 0.0:
            amps = amps + offer.slope_A_per_V[knot] * over_V
    if amps > charger.rated_A:
        return charger.rated_A
    return 0.0 if amps < 0.0 else amps


def mppt_offer_W(charger: ChargerConstants, offer: Offer, *, volts: float) -> float:
    """Power that an MPPT controller offers, within its rating.

    Parameters
    ----------
    charger : ChargerConstants
        For its rating.
    offer : Offer
        What its panels give.
    volts : float
        Bank voltage at which the rating in amperes counts.

    Returns
    -------
    float
        Up to its rating. [W]
    """
    most_W = charger.rated_A * volts
    return most_W if offer.power_W > most_W else offer.power_W
