"""Other chargers, a file for each source: wind, water, shore power. Its record is in the table."""

from __future__ import annotations

from powersim.records.chargers.charger import Charger
from powersim.records.chargers.shore import ShorePower
from powersim.records.chargers.water import WaterGenerator
from powersim.records.chargers.wind import WindGenerator

#: In the order in which they are used.
CHARGERS: tuple[type[Charger], ...] = (WindGenerator, WaterGenerator, ShorePower)

#: What else than panels and alternator may charge the bank, in the order in which it is used.
OTHER_SOURCES = tuple(dict.fromkeys(record.source for record in CHARGERS))
#: Those of them of which what nothing takes is surplus.
SURPLUS_SOURCES = tuple(
    dict.fromkeys(record.source for record in CHARGERS if record.leaves_surplus)
)
#: The record of each kind, in the order in which they are told.
RECORD_OF_KIND = {kind: record for record in CHARGERS for kind in record.kinds}
