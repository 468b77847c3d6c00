"""What an engine burns: diesel or petrol, and what follows from it."""

from __future__ import annotations

from dataclasses import dataclass

_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelKind:
    """How engines of one fuel burn, as far as nobody has measured this one.

    Attributes
    ----------
    no_load_L_per_h_per_kW : float
        With nothing on the shaft, at rated revs, for each kW of rated power. [L/h/kW]
    motoring_L_per_h_per_kW : float
        At cruising revs in gear, for each kW of rated power. [L/h/kW]
    slope_L_per_kWh : float
        Extra fuel for each unit of shaft energy. [L/kWh]
    possible_L_per_h_per_kW : tuple of (float, float)
        What an engine can burn at all, for each kW of rated power. [L/h/kW]
    usual_L_per_h_per_kW : dict
        By field of Engine: what most burn out of gear and in gear. [L/h/kW]
    no_load_reason, motoring_reason, slope_reason : str
        Where the first three come from.
    """

    no_load_L_per_h_per_kW: float
    motoring_L_per_h_per_kW: float
    slope_L_per_kWh: float
    possible_L_per_h_per_kW: tuple[float, float]
    usual_L_per_h_per_kW: dict[str, tuple[float, float]]
    no_load_reason: str
    motoring_reason: str
    slope_reason: str


#: A diesel's slope and no load are those of a published curve that nobody here has read again, so
#: `check` says "from memory"; tests/reference/test_fuel_curve.py holds both against what engines
#: lose in heat and friction. At full power a diesel burns 0.25 to 0.35 L/h for each kW, and idling
#: 0.02 to 0.05. A petrol engine burns 0.35 to 0.6, a two-stroke the most, and its throttle costs it
#: more at light load: twice a diesel's fuel at no load, and a third more for each kWh, by 9.0 kWh
#: in a litre (43.4 MJ/kg at 0.745 kg/L, from memory) of which a third reaches the shaft. Common
#: practice, no source.
FUEL_KINDS = {
    "diesel": FuelKind(
        no_load_L_per_h_per_kW=0.08145,
        motoring_L_per_h_per_kW=0.15,
        slope_L_per_kWh=0.246,
        possible_L_per_h_per_kW=(0.01, 0.45),
        usual_L_per_h_per_kW={
            "charging_L_per_h": (0.02, 0.20),
            "motoring_L_per_h": (0.03, 0.32),
        },
        no_load_reason="Skarstein and Uhlen 1989, from memory",
        motoring_reason=_PRACTICE,
        slope_reason="Skarstein and Uhlen, Wind Engineering 13 (1989) 72-87, from memory",
    ),
    "petrol": FuelKind(
        no_load_L_per_h_per_kW=0.15,
        motoring_L_per_h_per_kW=0.22,
        slope_L_per_kWh=0.33,
        possible_L_per_h_per_kW=(0.01, 0.80),
        usual_L_per_h_per_kW={
            "charging_L_per_h": (0.03, 0.30),
            "motoring_L_per_h": (0.04, 0.50),
        },
        no_load_reason=_PRACTICE,
        motoring_reason=_PRACTICE,
        slope_reason=f"petrol: a third of its energy reaches the shaft; {_PRACTICE}",
    ),
}
