"""Electrical endurance of a small boat on a long ocean passage.

>>> import powersim
>>> passage = powersim.load("my-passage")  # doctest: +SKIP
>>> result = powersim.simulate(passage)  # doctest: +SKIP
>>> result.daily  # doctest: +SKIP

The names are looked up when first used, so that importing powersim costs nothing.
"""

__version__ = "0.1.0"
__all__ = ["Result", "__version__", "endurance", "load", "prepare", "simulate", "size"]


def __getattr__(name: str) -> object:
    if name in ("Result", "endurance", "load", "prepare", "simulate", "size"):
        from powersim import api

        return getattr(api, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
