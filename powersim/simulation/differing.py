"""Records of numbers: the same for all members, or an array with one for each."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

if TYPE_CHECKING:
    from powersim.records.arrays import Ints

Held = TypeVar("Held")


def differs(record: Any) -> bool:
    """Whether any number of a record differs between members.

    Parameters
    ----------
    record : dataclass, tuple, number or ndarray
        With records in it, to any depth.

    Returns
    -------
    bool
        False for a record of plain numbers.
    """
    if is_dataclass(record):
        record = [getattr(record, field.name) for field in fields(record)]
    if isinstance(record, list | tuple):
        return any(map(differs, record))
    return np.ndim(record) > 0


def count_of(record: Any) -> int:
    """How many members a record has numbers for.

    Parameters
    ----------
    record : dataclass, tuple, number or ndarray
        With records in it, to any depth.

    Returns
    -------
    int
        1 for a record of plain numbers.
    """
    if is_dataclass(record):
        record = [getattr(record, field.name) for field in fields(record)]
    if isinstance(record, list | tuple):
        return max(map(count_of, record), default=1)
    return int(np.size(record)) if np.ndim(record) else 1


def of_member(record: Held, member: int) -> Held:
    """A record of one member alone, with plain numbers.

    Parameters
    ----------
    record : dataclass, tuple, number or ndarray
        With records in it, to any depth.
    member : int
        Which.

    Returns
    -------
    object
        Of the same kind; the record itself where nothing in it differs.
    """
    return _picked(record, member) if differs(record) else record


def of_members(record: Held, members: Ints | slice) -> Held:
    """A record of some members, in any order and as often as they are named.

    Parameters
    ----------
    record : dataclass, tuple, number or ndarray
        With records in it, to any depth.
    members : slice or ndarray of int, shape (taken,)
        Which.

    Returns
    -------
    object
        Of the same kind, its arrays shaped (taken,); plain numbers stay as they are.
    """
    if not differs(record):
        return record
    value: Any = record
    made: Any
    if is_dataclass(record):
        made = {
            field.name: of_members(getattr(value, field.name), members) for field in fields(value)
        }
        made = replace(value, **made)
    elif isinstance(record, tuple):
        made = [of_members(one, members) for one in value]
        made = type(value)(*made) if hasattr(value, "_fields") else tuple(made)
    else:
        made = value[members]
    taken: Held = made
    return taken


def _picked(record: Any, member: int) -> Any:
    if is_dataclass(record) and not isinstance(record, type):
        named = {field.name: getattr(record, field.name) for field in fields(record)}
        return replace(record, **{name: of_member(one, member) for name, one in named.items()})
    if isinstance(record, tuple):
        parts = [of_member(one, member) for one in record]
        return type(record)(*parts) if hasattr(record, "_fields") else tuple(parts)
    return record[member].item()
