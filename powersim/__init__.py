"""Electrical endurance of a small boat on a long ocean passage.

>>> import powersim
>>> passage = powersim.load("my-passage")  # doctest: +SKIP
>>> result = powersim.simulate(passage)  # doctest: +SKIP
>>> result.daily  # doctest: +SKIP

The names are looked up when first used, so that importing powersim costs nothing.
"""

from __future__ import annotations

# Type checkers know the name. Not from typing, which imports more than may be imported before
# `python -m powersim` has left the current folder out of the search for modules.
TYPE_CHECKING = False

if TYPE_CHECKING:
    from powersim.api import (
        Comparison,
        Passage,
        Result,
        budget,
        compare,
        endurance,
        ladder,
        load,
        paper,
        plan,
        prepare,
        simulate,
        size,
        sounding,
        underway,
    )

__version__ = "0.1.0"
__all__ = [
    "Comparison",
    "Passage",
    "Result",
    "__version__",
    "budget",
    "compare",
    "endurance",
    "ladder",
    "load",
    "paper",
    "plan",
    "prepare",
    "simulate",
    "size",
    "sounding",
    "underway",
]


if not TYPE_CHECKING:  # a type checker would take any name for one that there is

    def __getattr__(name):
        if name in __all__:
            from powersim import api

            return getattr(api, name)
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
