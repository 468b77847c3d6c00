"""The chemistries that the model knows: one file each, and its name in the table below.

Nobody outside this folder asks for a chemistry by its name: whatever differs between two of them
is a trait of `traits.Chemistry`. A test holds it.
"""

from __future__ import annotations

from powersim.records.chemistry import agm, flooded, gel, lifepo4
from powersim.records.chemistry.traits import Chemistry

#: By name, in the order in which they are listed.
CHEMISTRIES: dict[str, Chemistry] = {
    module.CHEMISTRY.name: module.CHEMISTRY for module in (flooded, gel, agm, lifepo4)
}
