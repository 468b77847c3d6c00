"""A short name for a question, which says whether a kept answer belongs to it."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace

import numpy as np

from powersim.records import Passage


def digest_of_passage(passage: Passage) -> str:
    """The digest of all that a passage's answers depend on.

    It is the same on any machine, and for a folder that was moved.

    Parameters
    ----------
    passage : Passage
        As read.
    """
    # No answer depends on these.
    plain = replace(passage, folder=None, assumptions=(), left_out=(), values=(), changed=())
    return digest_of(plain)


def digest_of(thing: object) -> str:
    """The SHA-256 digest of a record and of everything in it.

    Parameters
    ----------
    thing : dataclass, mapping, sequence, set, ndarray, or plain value
        Floats count to their last digit.

    Returns
    -------
    str
        Hexadecimal digits.

    Examples
    --------
    >>> digest_of({"a": (1.0, 2.0)}) == digest_of({"a": (1.0, 2.0)})
    True
    >>> digest_of({"a": (1.0, 2.0)}) == digest_of({"a": (1.0, 2.0000000000000004)})
    False
    """
    digest = hashlib.sha256()
    _feed(digest, thing)
    return digest.hexdigest()


def _feed(digest, thing) -> None:
    # Each kind begins with a word of its own and each part with its place or name, so that two
    # things never come to the same bytes by chance.
    if is_dataclass(thing):
        digest.update(f"record {type(thing).__name__};".encode())
        for field in fields(thing):
            digest.update(f"field {field.name};".encode())
            _feed(digest, getattr(thing, field.name))
    elif isinstance(thing, Mapping):
        digest.update(f"mapping {len(thing)};".encode())
        for key in sorted(thing):
            digest.update(f"key {key!r};".encode())
            _feed(digest, thing[key])
    elif isinstance(thing, np.ndarray):
        digest.update(f"array {thing.dtype.str} {thing.shape};".encode())
        digest.update(np.ascontiguousarray(thing).tobytes())
    elif isinstance(thing, list | tuple):
        digest.update(f"sequence {len(thing)};".encode())
        for part in thing:
            _feed(digest, part)
    elif isinstance(thing, set | frozenset):
        # In an order of its own: a set's differs from process to process.
        _feed(digest, ("set", *sorted(thing)))
    else:
        # Numbers, words, dates and None: repr tells each of them to the last digit.
        digest.update(f"{type(thing).__name__} {thing!r};".encode())
