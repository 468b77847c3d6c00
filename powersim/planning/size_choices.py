"""What may be chosen: batteries, panels and alternators, and the boat that each choice makes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

from powersim.records import Boat, Panel, with_capacity

#: Weight of a framed module by its power, and of an alternator by its nameplate, or else its hot
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
        The label's capacity at the 20-hour rate. [Ah]
    solar_W : float
        Of all panels together. [W]
    alternator_A : float
        Hot output at charging revs. [A]
    """

    chemistry: str
    battery_Ah: float
    solar_W: float
    alternator_A: float


def choice_of(boat: Boat) -> Choice:
    """The sizes of a boat as she is."""
    return Choice(
        chemistry=boat.battery.chemistry,
        battery_Ah=boat.battery.capacity_Ah,
        solar_W=solar_W(boat),
        alternator_A=boat.alternator.charging_A if boat.alternator else 0.0,
    )


def solar_W(boat: Boat) -> float:
    """Rated power of all modules of a boat."""
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
        Of the boat as she is.
    batteries_Ah : sequence of float
        [Ah]
    solars_W : sequence of float
        [W]
    alternators_A : sequence of float
        [A]

    Returns
    -------
    list of Choice
        The boat as she is first, whether or not she is among them, and none twice.

    Raises
    ------
    ValueError
        If there are no panels, or is no alternator, that could be scaled.
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

    Returns
    -------
    Boat
        A size that is her own leaves that part as it is, to the last digit.

    Notes
    -----
    Battery: second rated capacities, such as that of 5 hours, scale with the first. The charging
    rule is kept as it is, in percent. Panels: each kind becomes larger or smaller pro rata in its
    place, with its mount, its shade and its losses; its volts stay and its amperes scale.
    Controllers stay, but with no panels they go too. Alternator: its output when motoring and its
    nameplate scale with that at charging revs.
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
    return replace(with_capacity(battery, capacity_Ah), weight_kg=weight_kg)


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
    """What bank, panels and alternator weigh.

    Returns
    -------
    float
        As boat.toml gives it, else what is usual. [kg]
    """
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

    Returns
    -------
    list of (str, float, float)
        Name, rated current and what the panels' rating comes to at the bank's float voltage.
        [A], [A]
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
