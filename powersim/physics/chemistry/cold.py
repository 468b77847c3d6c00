"""What cold takes from a bank, by the family of its chemistry."""

from __future__ import annotations

from powersim.physics.curves import ReachableShare

# IEEE Std 485, Table 1: temperature [degF] and the cell size correction factor, base 25 degC.
# 25 to 35 degF from memory, the rest seen in a public copy.
_IEEE_485_SIZE = (
    (25, 1.520),
    (30, 1.430),
    (35, 1.350),
    (40, 1.300),
    (45, 1.250),
    (50, 1.190),
    (55, 1.150),
    (60, 1.110),
    (65, 1.080),
    (70, 1.040),
    (77, 1.000),
)

#: Lead-acid: the reciprocal of IEEE 485's factor, for discharges of many hours.
LEAD_ACID = ReachableShare(
    bank_C=tuple((degF - 32.0) / 1.8 for degF, _ in _IEEE_485_SIZE),
    share_frac=tuple(1.0 / size for _, size in _IEEE_485_SIZE),
)

#: LiFePO4: all of it down to freezing, a mild loss below; common practice, no source.
LITHIUM = ReachableShare(bank_C=(-20.0, -10.0, 0.0), share_frac=(0.80, 0.92, 1.0))
