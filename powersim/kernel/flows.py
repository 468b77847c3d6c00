"""What happens in one step: a flat record of floats, and the place of each in it."""

from __future__ import annotations

from typing import NamedTuple


class Flows(NamedTuple):
    """What happened in one step: means over the step in A, V and W, sums in Ah, Wh and L.

    Those of other chargers stand in the order of records.OTHER_SOURCES; `others_offered_A` is what
    those of them offer that leave a surplus.

    The kernel writes them one after the other into a flat record; whoever keeps those of many
    steps has an array shaped (steps, members) for each.
    """

    soc: float
    bank_V: float
    sag_V: float
    solar_A: float
    solar_offered_A: float
    alternator_A: float
    alternator_offered_A: float
    load_A: float
    in_A: float
    out_A: float
    gassing_A: float
    self_discharge_A: float
    ohm: float
    total_Ah: float
    available_Ah: float
    served: float
    useful_on: float
    comfort_on: float
    dark: float
    charging: float
    for_full: float
    motoring: float
    charging_L: float
    motoring_L: float
    alternator_motoring_L: float
    heater_L: float
    fuel_short_L: float
    since_full_h: float
    wind_A: float
    water_A: float
    shore_A: float
    others_offered_A: float
    unserved_A: float
    burnt_L: float


def place_of(name: str) -> int:
    """Where a flow stands in the record.

    Parameters
    ----------
    name : str
        A field of Flows.

    Returns
    -------
    int
    """
    return Flows._fields.index(name)


# Written out, since compiled code wants plain numbers of the module; held to the names by
# tests/unit/test_flows.py.
(
    SOC,
    BANK_V,
    SAG_V,
    SOLAR_A,
    SOLAR_OFFERED_A,
    ALTERNATOR_A,
    ALTERNATOR_OFFERED_A,
    LOAD_A,
    IN_A,
    OUT_A,
    GASSING_A,
    SELF_DISCHARGE_A,
    OHM,
    TOTAL_AH,
    AVAILABLE_AH,
    SERVED,
    USEFUL_ON,
    COMFORT_ON,
    DARK,
    CHARGING,
    FOR_FULL,
    MOTORING,
    CHARGING_L,
    MOTORING_L,
    ALTERNATOR_MOTORING_L,
    HEATER_L,
    FUEL_SHORT_L,
    SINCE_FULL_H,
    WIND_A,
    WATER_A,
    SHORE_A,
    OTHERS_OFFERED_A,
    UNSERVED_A,
    BURNT_L,
) = range(len(Flows._fields))
