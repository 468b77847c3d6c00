"""Choices of battery, panels and alternator, and the boat that each choice makes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

from powersim.records import Boat, Panel, with_capacity

#: Weight of a framed module by its power, and of an alternator by its nameplate or else by its hot
#: output at charging revs; common practice, no source. [kg/W], [kg/A], [kg/A]
USUAL_KG_PER_W = 0.075
USUAL_KG_PER_NAMEPLATE_A, USUAL_KG_PER_A = 0.078, 0.13


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One set of sizes.

    Attributes
    ----------
    chemistry : str
        One of records.CHEMISTRIES.
    battery_Ah : float
        Capacity on the label, at the 20-hour rate. [Ah]
    solar_W : float
        Rated power of all panels together. [W]
    alternator_A : float
        Hot output at charging revs. [A]
    """

    chemistry: str
    battery_Ah: float
    solar_W: float
    alternator_A: float


def choice_of(boat: Boat) -> Choice:
    """The sizes of a boat as she is.

    Parameters
    ----------
    boat : Boat
        Her battery, panels and alternator count.
    """
    return Choice(
        chemistry=boat.battery.chemistry,
        battery_Ah=boat.battery.capacity_Ah,
        solar_W=solar_W(boat),
        alternator_A=boat.alternator.charging_A if boat.alternator else 0.0,
    )


def solar_W(boat: Boat) -> float:
    """Rated power of all modules of a boat. [W]"""
    return sum(panel.power_W * panel.count for panel in boat.panels)


def grid(
    boats: Mapping[str, Boat],
    own: Choice,
    *,
    chemistries: Sequence[str] = (),
    batteries_Ah: Sequence[float] = (),
    solars_W: Sequence[float] = (),
    alternators_A: Sequence[float] = (),
) -> list[Choice]:
    """Every combination of sizes; what is not varied is the boat's own.

    Parameters
    ----------
    boats : mapping of str to Boat
        The boat with a bank of each chemistry.
    own : Choice
        The sizes of the boat as she is.
    chemistries : sequence of str
        Some of records.CHEMISTRIES.
    batteries_Ah : sequence of float
        Capacities at the 20-hour rate. [Ah]
    solars_W : sequence of float
        Rated powers of all panels together. [W]
    alternators_A : sequence of float
        Hot outputs at charging revs. [A]

    Returns
    -------
    list of Choice
        The boat's own sizes first, whether or not they are among the rest, and none twice.

    Raises
    ------
    ValueError
        If panels or an alternator are to be scaled that the boat has not.
    """
    found = [own]
    for chemistry in chemistries or (own.chemistry,):
        # An alternator left to default is held back by a lithium bank, and so is another one here.
        same = choice_of(boats[chemistry])
        sizes = product(
            batteries_Ah or (same.battery_Ah,),
            solars_W or (same.solar_W,),
            alternators_A or (same.alternator_A,),
        )
        found += [
            Choice(chemistry=chemistry, battery_Ah=Ah, solar_W=watts, alternator_A=amps)
            for Ah, watts, amps in sizes
        ]
    for what, most, whole in (
        ("are no panels", max(solars_W, default=0.0), own.solar_W),
        ("is no alternator", max(alternators_A, default=0.0), own.alternator_A),
    ):
        if most > 0.0 and not whole > 0.0:
            raise ValueError(f"there {what} to scale")
    return list(dict.fromkeys(found))


def boat_with(boats: Mapping[str, Boat], choice: Choice) -> Boat:
    """The boat with other sizes.

    Parameters
    ----------
    boats : mapping of str to Boat
        The boat with a bank of each chemistry.
    choice : Choice
        The sizes; where one is her own, that part stays as it is, to the last digit.

    Notes
    -----
    Battery: other rated capacities, such as that at 5 hours, scale with the first, and volts of
    the old one that the sailor read are dropped. The charging rule keeps its levels in per cent.
    Panels: each scales in its place, with its mount, shade and losses; its volts stay and its
    amperes scale. Controllers stay, unless there are no panels. Alternator: its output when
    motoring, its nameplate and its weight scale with the output at charging revs.
    """
    boat = boats[choice.chemistry]
    own = choice_of(boat)
    if choice.battery_Ah != own.battery_Ah:
        boat = replace(boat, battery=_battery_of(boat.battery, choice.battery_Ah))
    if choice.solar_W != own.solar_W:
        boat = _with_panels(boat, choice.solar_W)
    if choice.alternator_A != own.alternator_A:
        boat = replace(boat, alternator=_alternator_of(boat.alternator, choice.alternator_A))
    return boat


def _battery_of(battery, capacity_Ah):
    ratio = capacity_Ah / battery.capacity_Ah
    weight_kg = None if battery.weight_kg is None else battery.weight_kg * ratio
    # Another bank: the volts that the sailor read on the old one are not its own.
    return replace(with_capacity(battery, capacity_Ah), weight_kg=weight_kg, rested=())


def _with_panels(boat, watts):
    if watts == 0.0:
        return replace(boat, panels=(), controllers=())
    ratio = watts / solar_W(boat)
    return replace(boat, panels=tuple(_panel_of(panel, ratio) for panel in boat.panels))


def _panel_of(panel: Panel, ratio) -> Panel:
    return replace(
        panel,
        power_W=panel.power_W * ratio,
        module_Imp=panel.module_Imp * ratio,
        module_Isc=panel.module_Isc * ratio,
        weight_kg=None if panel.weight_kg is None else panel.weight_kg * ratio,
    )


def _alternator_of(alternator, charging_A):
    if charging_A == 0.0:
        return None
    ratio = charging_A / alternator.charging_A
    scaled = {
        name: value * ratio
        for name in ("motoring_A", "nameplate_A", "weight_kg")
        if (value := getattr(alternator, name)) is not None
    }
    return replace(alternator, charging_A=charging_A, **scaled)


def weight_kg(boat: Boat) -> float:
    """Weight of bank, panels and alternator, by boat.toml or else as is usual. [kg]"""
    battery, alternator = boat.battery, boat.alternator
    usual_kg = battery.traits.kg_per_Ah * battery.capacity_Ah * battery.blocks
    total_kg = usual_kg if battery.weight_kg is None else battery.weight_kg
    for panel in boat.panels:
        usual_kg = USUAL_KG_PER_W * panel.power_W
        each_kg = usual_kg if panel.weight_kg is None else panel.weight_kg
        total_kg += panel.count * each_kg
    if alternator is not None:
        total_kg += _alternator_kg(alternator)
    return total_kg


def _alternator_kg(alternator) -> float:
    if alternator.weight_kg is not None:
        return alternator.weight_kg
    if alternator.nameplate_A is not None:
        # One that a lithium bank holds back is no lighter for it.
        return USUAL_KG_PER_NAMEPLATE_A * alternator.nameplate_A
    return USUAL_KG_PER_A * alternator.charging_A


def clipped(boat: Boat) -> list[tuple[str, float, float]]:
    """Solar controllers that cannot pass what their panels are rated for.

    Each comes with its name, its rated current and the panels' rating as a current at the bank's
    float voltage. [A]
    """
    found = []
    for controller in boat.controllers:
        panels = [one for one in boat.panels if one.controller == controller.name]
        if controller.kind == "pwm":
            offered_A = sum(one.module_Isc * one.count for one in panels)
        else:
            offered_A = sum(one.power_W * one.count for one in panels) / boat.battery.float_V
        if controller.rated_A is not None and offered_A > controller.rated_A:
            found.append((controller.name, controller.rated_A, offered_A))
    return found
