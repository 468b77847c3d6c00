"""What a notebook uses: a passage of a folder, and everything that the commands answer about it.

The names are looked up when first used, so that importing powersim costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from powersim.api.answers import budget, endurance, ladder, paper, plan
    from powersim.api.comparing import Comparison, compare
    from powersim.api.dips import sounding
    from powersim.api.from_log import underway
    from powersim.api.from_logger import logged
    from powersim.api.from_trial import sea_trial
    from powersim.api.passages import Passage, load
    from powersim.api.results import Result, prepare, simulate
    from powersim.api.sizes import size

__all__ = [
    "Comparison",
    "Passage",
    "Result",
    "budget",
    "compare",
    "endurance",
    "ladder",
    "load",
    "logged",
    "paper",
    "plan",
    "prepare",
    "sea_trial",
    "simulate",
    "size",
    "sounding",
    "underway",
]

#: The module of each name.
_HOMES = {
    "answers": ("budget", "endurance", "ladder", "paper", "plan"),
    "comparing": ("Comparison", "compare"),
    "dips": ("sounding",),
    "from_log": ("underway",),
    "from_logger": ("logged",),
    "from_trial": ("sea_trial",),
    "passages": ("Passage", "load"),
    "results": ("Result", "prepare", "simulate"),
    "sizes": ("size",),
}


if not TYPE_CHECKING:  # a type checker would take any name for one that there is

    def __getattr__(name):
        for home, names in _HOMES.items():
            if name in names:
                return getattr(import_module(f"powersim.api.{home}"), name)
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
