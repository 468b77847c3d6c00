"""Names for the arrays that functions take and give. They stand in annotations alone.

Import them where only a type checker looks, so that a light command never waits for numpy:

    if TYPE_CHECKING:
        from powersim.records.arrays import Array, Floats
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol, TypeAlias, TypeVar

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    #: Numbers with a fraction. What shape they have, the docstring says.
    Array: TypeAlias = npt.NDArray[np.floating[Any]]
    #: Yes or no for each place.
    Bools: TypeAlias = npt.NDArray[np.bool_]
    #: Whole numbers: indices, counts, signs.
    Ints: TypeAlias = npt.NDArray[np.integer[Any]]
    #: Days, months or moments of UTC.
    Dates: TypeAlias = npt.NDArray[np.datetime64]
    #: One number, or many at once.
    Floats: TypeAlias = float | Array
    #: One number, or many at once, and the same for all arguments and what comes of them.
    FloatsT = TypeVar("FloatsT", float, Array, Floats)

    _Held = TypeVar("_Held")
    _Read = TypeVar("_Read", covariant=True)

    class Readable(Protocol[_Read]):
        """What is read by its place: a list, a tuple or an array."""

        def __len__(self) -> int: ...
        def __getitem__(self, place: int, /) -> _Read: ...

    class Writable(Protocol[_Held]):
        """What is read and written by its place: a list or an array."""

        def __len__(self) -> int: ...
        def __getitem__(self, place: int, /) -> _Held: ...
        def __setitem__(self, place: int, value: _Held, /) -> None: ...
