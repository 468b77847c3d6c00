"""The chemistries that the model knows: one file each, and one line in this table."""

from __future__ import annotations

from powersim.physics.chemistry import agm, flooded, gel, lifepo4

CURVES = {
    "flooded": flooded.CURVES,
    "gel": gel.CURVES,
    "agm": agm.CURVES,
    "lifepo4": lifepo4.CURVES,
}
