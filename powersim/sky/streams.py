"""Random numbers that never change: what `--seed` promises.

Every draw has an address: the seed, the purpose, an index (a day or an hour of the calendar), the
member, and its place among the draws that one member takes there. So a member keeps its weather
however many others are tried, a passage that leaves a day later meets the same days, and a new
purpose disturbs none of the old ones. The layout is part of the project's promises and is held by
a test: change it only with a note in docs/changelog.md.
"""

from __future__ import annotations

import hashlib
import threading
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from powersim.records.arrays import Array

#: What draws are for; the number is part of the layout and is never used again for something else.
DAY_CLEARNESS, HOUR_CLEARNESS, WIND, LOAD_DRAW, READING, UNDERWAY = 1, 2, 3, 4, 5, 6
READING_AGAIN = 7
#: What the climatology does not know of a month.
MONTH_ERROR = 8
#: How a member's bank differs from others of its kind.
BANK = 9
#: The weather of days in the wind, and what time of the day is the engine's in a calm.
WIND_SLOW, CALM_TURN = 11, 12
#: What a load draws, by its name; LOAD_DRAW was for the same by its line, and is used no more.
LOAD_BY_NAME = 13
#: Seeds are the whole numbers that fit the generator's key.
LARGEST_SEED = 2**63 - 1


class _Generator(threading.local):
    """One for each thread, set to another address for every draw."""

    def __init__(self) -> None:
        self.philox = np.random.Philox(0)
        self.none_left = np.zeros(4, dtype=np.uint64)


_generator = _Generator()


def uniform(purpose: int, *, seed: int, index: int, members: int, per_member: int = 1) -> Array:
    """Uniform draws, alike on every machine.

    Parameters
    ----------
    purpose : int
        One of the constants of this module.
    seed : int
        0 to LARGEST_SEED.
    index : int
        Day, hour or other number that the draws belong to; from -2^62 on. `index_of` makes one of
        a name.
    members : int
        How many members; the first of them are the same for any number.
    per_member : int
        Draws for each member.

    Returns
    -------
    ndarray, shape (per_member, members)
        Above 0 and below 1. [-]

    Raises
    ------
    ValueError
        If the seed is out of range.

    Notes
    -----
    Philox 4x64-10 with key (seed, purpose) and counter (0, 0, index, 0). Its 64-bit words are taken
    member by member; the upper 53 bits, plus a half, are divided by 2^53.

    References
    ----------
    .. [1] J. K. Salmon, M. A. Moraes, R. O. Dror and D. E. Shaw, Parallel random numbers: as easy
       as 1, 2, 3, SC11 (2011); numpy.random.Philox, whose raw words NumPy keeps unchanged.
    """
    if not 0 <= seed <= LARGEST_SEED:
        raise ValueError(f"seed must be 0 to {LARGEST_SEED}, got {seed!r}")
    counter = np.array([0, 0, index + 2**62, 0], dtype=np.uint64)
    generator = _generator.philox
    # A new generator would ask the system for entropy first, which takes far longer than the draws.
    generator.state = {
        "bit_generator": "Philox",
        "state": {"counter": counter, "key": np.array([seed, purpose], dtype=np.uint64)},
        "buffer": _generator.none_left,
        "buffer_pos": 4,
        "has_uint32": 0,
        "uinteger": 0,
    }
    words = generator.random_raw(members * per_member)
    draws = ((words >> np.uint64(11)) + 0.5) * 2.0**-53
    return draws.reshape(members, per_member).T


def index_of(name: str) -> int:
    """The index of what goes by a name, such as a load.

    Parameters
    ----------
    name : str
        As names are compared.

    Returns
    -------
    int
        0 to 2^62 - 1: the first 62 bits of the SHA-256 of the name in UTF-8.
    """
    return int.from_bytes(hashlib.sha256(name.encode()).digest()[:8], "big") >> 2


def normal(purpose: int, *, seed: int, index: int, members: int, per_member: int = 1) -> Array:
    """Standard normal draws, one for each uniform draw at the same address.

    Parameters
    ----------
    purpose, seed, index, members, per_member
        As for `uniform`.

    Returns
    -------
    ndarray, shape (per_member, members)
        Mean 0, standard deviation 1. [-]

    Notes
    -----
    By the inverse of the normal distribution, so that a draw costs exactly one word of the stream.
    """
    from scipy.special import ndtri

    return ndtri(uniform(purpose, seed=seed, index=index, members=members, per_member=per_member))
