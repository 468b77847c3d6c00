"""What happens in one step: a flat record of floats, and the place of each in it."""

from __future__ import annotations

from typing import Generic, NamedTuple, TypeVar

#: What each of them is: a float of one step, or an array of many.
Number = TypeVar("Number")


class Flows(NamedTuple, Generic[Number]):
    """What happened in one step: means over the step in A, V and W, sums in Ah, Wh and L.

    `waits` is the share of the step in which the engine would charge if the sea let anybody run it.
    `pack_W` is what devices take that are charged before the bank is full, `pack_Wh` what they hold
    after it.
    Those of other chargers stand in the order of records.OTHER_SOURCES; `others_offered_A` is what
    those of them offer that leave a surplus.

    The kernel writes them one after the other into a flat record; whoever keeps those of many
    steps has an array shaped (steps, members) for each.
    """

    soc: Number
    bank_V: Number
    sag_V: Number
    solar_A: Number
    solar_offered_A: Number
    alternator_A: Number
    alternator_offered_A: Number
    load_A: Number
    in_A: Number
    out_A: Number
    gassing_A: Number
    self_discharge_A: Number
    ohm: Number
    total_Ah: Number
    available_Ah: Number
    served: Number
    useful_on: Number
    comfort_on: Number
    dark: Number
    charging: Number
    for_full: Number
    motoring: Number
    charging_L: Number
    motoring_L: Number
    alternator_motoring_L: Number
    heater_L: Number
    fuel_short_L: Number
    since_full_h: Number
    wind_A: Number
    water_A: Number
    shore_A: Number
    others_offered_A: Number
    unserved_A: Number
    burnt_L: Number
    waits: Number
    pack_W: Number
    pack_Wh: Number


def place_of(name: str) -> int:
    """Where a flow stands in the record.

    Parameters
    ----------
    name : str
        A field of Flows.

    Returns
    -------
    int
        Its index among the fields of Flows.
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
    WAITS,
    PACK_W,
    PACK_WH,
) = range(len(Flows._fields))
