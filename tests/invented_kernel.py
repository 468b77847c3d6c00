"""A small kernel of two modules, invented, to have something to compile."""

import importlib
import sys

import numpy as np

PACKAGE = "invented"
BELOW = '''
"""The lower module."""

LIMIT = 40.0


def bounded(value, low, high):
    if value < low:
        return low
    if value > high:
        return high
    return value


def share(part, total):
    if total == 0.0:
        return 0.0
    return part / total
'''
ABOVE = '''
"""The upper one, with the entry."""

import math

from invented.below import LIMIT, bounded, share


def root_of_square(value):
    square = value * value
    return math.sqrt(square + 1.0)


def level(value, lane, scale):
    bank = lane["bank"]
    drawn = bounded(value * scale, bank["low"], bank["high"])
    return share(drawn, lane["total"]) - root_of_square(drawn) / LIMIT


def carry(signals, lanes, sums, first, steps, scale):
    for lane in range(lanes.shape[0]):
        total = 0.0
        for step in range(steps):
            now = level(signals[step, 0], lanes[lane], scale) + signals[step, 1]
            if now < 0.0 and first[lane] < 0:
                first[lane] = step
            total += now
        sums[lane] = total
'''
LANE = np.dtype(
    [("bank", [("low", np.float64), ("high", np.float64)]), ("total", np.float64), ("kind", int)]
)


class Invented:
    """The kernel's modules as they lie in a folder; each `write` is followed by a new import."""

    def __init__(self, folder):
        self.folder = folder

    def write(self, below=BELOW, above=ABOVE):
        """Write both modules and import them; the upper one."""
        package = self.folder / PACKAGE
        package.mkdir(exist_ok=True)
        for name, text in (("__init__", ""), ("below", below), ("above", above)):
            (package / f"{name}.py").write_text(text, encoding="utf-8")
        self.forget()
        sys.path.insert(0, str(self.folder))
        kept, sys.dont_write_bytecode = sys.dont_write_bytecode, True  # it knows seconds only
        try:
            importlib.invalidate_caches()
            return importlib.import_module(f"{PACKAGE}.above")
        finally:
            sys.dont_write_bytecode = kept
            sys.path.remove(str(self.folder))

    @staticmethod
    def forget():
        for name in [one for one in sys.modules if one.partition(".")[0] == PACKAGE]:
            del sys.modules[name]


def arguments(lanes=3, steps=5, seed=7, scale=1.5):
    """Values that `carry` may be called with."""
    random = np.random.default_rng(seed)
    constants = np.zeros(lanes, LANE)
    constants["bank"]["low"] = -1.0
    constants["bank"]["high"] = random.random(lanes)
    constants["total"] = random.random(lanes)
    signals = random.normal(size=(steps, 2))
    return [signals, constants, np.zeros(lanes), np.full(lanes, -1), steps, scale]


def same_bits(one, other):
    """Whether two lists of arguments hold the same bits; any nan is as good as another.

    Which nan comes of two is left open by IEEE 754-2019, 6.2.3, and differs between processors.
    """
    return all(_bits(a) == _bits(b) for a, b in zip(one, other, strict=True))


def _bits(value):
    array = np.array(value)
    if array.dtype.kind == "f":
        array[np.isnan(array)] = np.nan
    return array.tobytes()
