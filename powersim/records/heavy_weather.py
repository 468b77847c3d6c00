"""What strong wind keeps the boat and her engine from; nothing of it unless the sailor says so."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

from powersim.records.declared import by_default, check_fields
from powersim.records.described import described
from powersim.records.states import STATES

_PRACTICE = "common practice, no source"
#: States in which a boat may lie in bad weather: at sea, and making no way.
LYING_STATES = tuple(
    state.name for state in STATES.values() if state.under_way and state.as_if is not None
)
#: A gale, and the near gale before it: Beaufort 8 and 7 begin here (World Meteorological
#: Organization, Manual on Marine Meteorological Services, WMO-No. 558; from memory). [kn]
GALE_kn, NEAR_GALE_kn = 34.0, 28.0
#: Bounds of a strength of wind, at 10 m. [kn]
_STRENGTH: dict[str, Any] = {"within": (5.0, 120.0), "without": "never"}


class Sea(NamedTuple):
    """What some strength of wind does.

    `lies_to` is whether she lies to, `engine` whether it may be run; `sun_frac` is the share of
    their yield that panels give, `pilot_frac` what the pilot draws as a multiple of its line.
    """

    lies_to: bool = False
    engine: bool = True
    sun_frac: float = 1.0
    pilot_frac: float = 1.0


@described
@dataclass(frozen=True, kw_only=True)
class HeavyWeather:
    """What she does as the wind blows harder; strengths are those of the hour's mean wind at 10 m.

    Attributes
    ----------
    lie_to_above_kn, no_engine_above_kn, spray_above_kn : float or None
        Wind above which she lies to, in which the engine is not run, and in which spray is on the
        panels; None for never. [kn]
    rough_above_kn, very_rough_above_kn : float or None
        Wind above which the pilot works harder, and harder still. [kn]
    """

    lie_to_above_kn: float | None = by_default(
        None, "wind above which she lies to", "34 kn", usual=(22.0, 60.0), **_STRENGTH
    )
    lie_to: str = by_default(
        "hove-to",
        "how she lies then",
        one_of=LYING_STATES,
        reason=f"some sail up and the helm lashed; {_PRACTICE}",
    )
    no_engine_above_kn: float | None = by_default(
        None,
        "wind above which the engine is not run, at rest or in gear",
        "28 kn",
        usual=(15.0, 50.0),
        **_STRENGTH,
    )
    spray_above_kn: float | None = by_default(
        None, "wind above which spray is on the panels", "24 kn", usual=(12.0, 50.0), **_STRENGTH
    )
    spray_yield_frac: float = by_default(
        0.7,
        "what panels give then, of what they would",
        "70 %",
        within=(0.0, 1.0),
        reason=f"wet glass, salt, sails and seas in the light; {_PRACTICE}",
    )
    rough_above_kn: float | None = by_default(
        None, "wind above which the sea is rough", "22 kn", usual=(12.0, 40.0), **_STRENGTH
    )
    rough_pilot_frac: float = by_default(
        1.5,
        "what the pilot draws then, of its line in loads.csv",
        "150 %",
        within=(0.0, 5.0),
        usual=(1.0, 3.0),
        reason=f"it works oftener and harder; {_PRACTICE}",
    )
    very_rough_above_kn: float | None = by_default(
        None, "wind above which it is very rough", "30 kn", usual=(18.0, 60.0), **_STRENGTH
    )
    very_rough_pilot_frac: float = by_default(
        2.0,
        "what the pilot draws then",
        "200 %",
        within=(0.0, 5.0),
        usual=(1.0, 4.0),
        reason=f"as above; {_PRACTICE}",
    )
    sea_lasts_h: float = by_default(
        6.0,
        "how long all this lasts after the wind has gone down",
        "6 h",
        within=(0.0, 72.0),
        usual=(0.0, 24.0),
        reason=f"a sea does not go down with the wind; {_PRACTICE}",
    )

    def __post_init__(self) -> None:
        check_fields(self)
        rough_kn, very_kn = self.rough_above_kn, self.very_rough_above_kn
        if rough_kn is not None and very_kn is not None and not rough_kn < very_kn:
            raise ValueError(
                f"very_rough_above_kn {very_kn!r} must be above rough_above_kn {rough_kn!r}"
            )

    @cached_property
    def strengths_kn(self) -> tuple[float, ...]:
        """Every strength at which something changes, in order; empty where nothing does. [kn]"""
        strengths_kn = {
            *(self.lie_to_above_kn, self.no_engine_above_kn, self.spray_above_kn),
            *(self.rough_above_kn, self.very_rough_above_kn),
        }
        return tuple(sorted(one for one in strengths_kn if one is not None))

    @cached_property
    def seas(self) -> tuple[Sea, ...]:
        """What holds below the first strength, between each two, and above the last."""
        return tuple(self._sea_above(above_kn) for above_kn in (0.0, *self.strengths_kn))

    def _sea_above(self, above_kn: float) -> Sea:
        def reached(strength_kn: float | None) -> bool:
            return strength_kn is not None and strength_kn <= above_kn

        pilot_frac = self.rough_pilot_frac if reached(self.rough_above_kn) else 1.0
        return Sea(
            lies_to=reached(self.lie_to_above_kn),
            engine=not reached(self.no_engine_above_kn),
            sun_frac=self.spray_yield_frac if reached(self.spray_above_kn) else 1.0,
            pilot_frac=self.very_rough_pilot_frac
            if reached(self.very_rough_above_kn)
            else pilot_frac,
        )

    @property
    def lying(self) -> str | None:
        """The state in which she lies to; None for never."""
        return None if self.lie_to_above_kn is None else self.lie_to
