"""What a charging run costs beside its diesel, in litres, so that rules can be compared."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from powersim.records.declared import by_default, check_fields
from powersim.records.described import described

_PRACTICE = "common practice, no source"
_LITRES: dict[str, Any] = {"within": (0.0, 100.0), "usual": (0.0, 5.0)}


@described
@dataclass(frozen=True, slots=True, kw_only=True)
class RuleCosts:
    """Litres of fuel that a skipper would give to be spared something.

    They choose between rules that hold; whether a rule holds does not hang on them.
    """

    engine_hour_L: float = by_default(
        0.3,
        "what an hour of charging costs beside its fuel",
        "0.3 L",
        reason=f"oil, filters, wear, heat and noise; {_PRACTICE}",
        **_LITRES,
    )
    start_L: float = by_default(
        0.1,
        "what a start costs",
        "0.1 L",
        reason=f"a cold engine wears most in its first minutes; {_PRACTICE}",
        **_LITRES,
    )
    light_load_hour_L: float = by_default(
        0.1,
        "what an hour of charging costs on top where a diesel is under light load",
        "0.1 L",
        # 0.5 h at 2 L/h in gear, over 10 h: simulation/light_load.py.
        reason="every ten hours half an hour in gear to clean it, at about 2 L/h",
        **_LITRES,
    )
    late_full_day_L: float = by_default(
        0.2,
        "what each day beyond full_every without a full charge costs",
        "0.2 L",
        reason=f"lead-acid that is not filled loses capacity; {_PRACTICE}",
        **_LITRES,
    )

    def __post_init__(self) -> None:
        check_fields(self)
