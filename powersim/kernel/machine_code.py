"""Machine code as a file holds it: made of LLVM's text, put into memory, and called.

What numba compiles is code for this processor with a fixed list of arguments. It needs nothing of
numba to run: LLVM alone, which is imported in a fortieth of a second, puts it into memory, and
ctypes calls it. numba's own way of keeping it would take numba's start every time, which is most
of half a second.
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from ctypes import _SimpleCData
    from types import ModuleType

    from llvmlite.binding import TargetMachine

    _CData = _SimpleCData[Any]

#: The only name in the machine code.
ENTRY = "powersim_entry"
#: What it may call outside itself, in the C library; Python's math calls the same.
_OUTSIDE = frozenset({"sqrt", "exp", "log", "pow", "floor", "ceil", "memset", "memcpy", "memmove"})
#: How an object file begins: ELF, Mach-O, and COFF for the two processors of Windows.
_BEGINNINGS = (b"\x7fELF", b"\xcf\xfa\xed\xfe", b"\x64\x86", b"\x64\xaa")
_POINTER, _INTEGER, _FLOAT = ctypes.c_void_p, ctypes.c_int64, ctypes.c_double
_LLVM_NAMES = {_POINTER: "pointer", _INTEGER: "i64", _FLOAT: "double"}


class NotOurKindError(Exception):
    """LLVM's text is not such that it can be kept and called by itself."""


@dataclass(frozen=True, slots=True)
class Argument:
    """What is handed to the compiled function in one place.

    Attributes
    ----------
    dtype : numpy.dtype or type
        Of an array's elements; for a single number int or float.
    ndim : int or None
        Axes of the array; None for a number.
    readonly : bool
        Whether an array may be one that is not to be written to.
    """

    dtype: np.dtype | type
    ndim: int | None = None
    readonly: bool = False

    @classmethod
    def like(cls, example: np.ndarray | int | float) -> Argument:
        """What an example stands for.

        Parameters
        ----------
        example : ndarray, int or float
            Of the kind that will be handed over.

        Returns
        -------
        Argument
            Equal for all examples of one kind.

        Raises
        ------
        TypeError
            If it is something else.
        """
        if type(example) is np.ndarray:
            return cls(example.dtype, example.ndim, not example.flags.writeable)
        if isinstance(example, float):
            return cls(float)
        if isinstance(example, int | np.integer) and not isinstance(example, bool):
            return cls(int)
        raise TypeError(f"an array, an int or a float is expected, got {example!r}")

    def __str__(self) -> str:
        if isinstance(self.dtype, type):
            return self.dtype.__name__
        # Offsets and size, which its name leaves out, count too.
        return f"{'readonly ' * self.readonly}{self.dtype!r}[{self.ndim}]"

    def sample(self) -> np.ndarray | int | float:
        """A value of this kind, of which numba can tell the type."""
        if not isinstance(self.dtype, np.dtype):
            return self.dtype(0)
        array = np.empty((0,) * (self.ndim or 0), self.dtype)
        array.flags.writeable = not self.readonly
        return array

    def c_types(self) -> tuple[type[_CData], ...]:
        """How it is handed over: for an array owner, parent, size, bytes, data, shape, strides."""
        if self.ndim is None:
            return (_INTEGER if self.dtype is int else _FLOAT,)
        return (_POINTER, _POINTER, _INTEGER, _INTEGER, _POINTER) + 2 * self.ndim * (_INTEGER,)

    def c_values(self, value: np.ndarray | int | float) -> tuple[float | None, ...]:
        """The same for one value.

        Parameters
        ----------
        value : ndarray, int or float
            Of this kind.

        Returns
        -------
        tuple
            Numbers and addresses.

        Raises
        ------
        TypeError
            If it is of another kind: the machine code would read beside it.
        """
        if not isinstance(self.dtype, np.dtype):
            if type(value) is self.dtype is float:
                return (value,)
            if Argument.like(value) != self:
                raise TypeError(f"{self} is expected, got {value!r}")
            if self.dtype is int and not -(2**63) <= value < 2**63:
                raise TypeError(f"{self} of 64 bits is expected, got {value!r}")
            return (self.dtype(value),)  # ctypes takes no number of numpy's
        if (
            type(value) is not np.ndarray
            or value.dtype != self.dtype
            or value.ndim != self.ndim
            or not (flags := value.flags).c_contiguous
            or not flags.aligned
            or not (flags.writeable or self.readonly)
        ):
            what = Argument.like(value) if type(value) is np.ndarray else repr(value)
            raise TypeError(f"{self} in one piece is expected, got {what}")
        data = _address(value)
        return (None, None, value.size, value.itemsize, data, *value.shape, *value.strides)


def _address(array: np.ndarray) -> int:
    """Where its first element lies; numpy's own answer takes ten times as long."""
    if array.size and array.flags.writeable:
        # numpy does not say that it is a buffer, and is slow to say what is in one of records.
        buffer: Any = array if array.dtype.fields is None else array.view(np.uint8)
        return ctypes.addressof(ctypes.c_char.from_buffer(buffer))
    address: int = array.ctypes.data
    return address


def host() -> tuple[str, str, str]:
    """For what machine code is made here.

    Returns
    -------
    platform, processor, features : str
        As LLVM names them.
    """
    import llvmlite.binding as llvm

    try:
        features = llvm.get_host_cpu_features().flatten()
    except RuntimeError:  # LLVM cannot tell on this platform
        features = ""
    return llvm.get_process_triple(), llvm.get_host_cpu_name(), features


def object_code(
    text: str, entry: str, arguments: tuple[Argument, ...], *, processor: str, features: str
) -> bytes:
    """Machine code of a module that numba has made, which lacks nothing.

    Parameters
    ----------
    text : str
        LLVM's, already optimised.
    entry : str
        The function's name in it.
    arguments : tuple of Argument
        What the function takes.
    processor, features : str
        What it is to run on.

    Returns
    -------
    bytes
        An object file.

    Raises
    ------
    NotOurKindError
        If the module is of another kind; then it cannot be called as `MachineCode` does.
    """
    import llvmlite.binding as llvm

    module = llvm.parse_assembly(text)
    module.verify()
    for one in (*module.functions, *module.global_variables):
        if one.is_declaration and not (one.name.startswith("llvm.") or _is_at_hand(llvm, one.name)):
            raise NotOurKindError(f"it uses {one.name}")
    function = module.get_function(entry)
    takes = ["pointer" if one.endswith("*") or one == "ptr" else one for one in
             (str(argument.type) for argument in function.arguments)]  # fmt: skip
    expected = [_LLVM_NAMES[one] for one in _c_types(arguments)]
    if takes != expected:
        raise NotOurKindError(f"it takes {', '.join(takes)}, not {', '.join(expected)}")
    function.name = ENTRY
    return _target_machine(llvm, processor, features).emit_object(module)


def _is_at_hand(llvm: ModuleType, name: str) -> bool:
    return name in _OUTSIDE and bool(llvm.address_of_symbol(name))


def _c_types(arguments: tuple[Argument, ...]) -> list[type[_CData]]:
    """First where it would put a result and an error, then the arguments."""
    return [_POINTER, _POINTER, *(kind for one in arguments for kind in one.c_types())]


def _target_machine(llvm: ModuleType, processor: str, features: str) -> TargetMachine:
    # As numba makes its own: code that is to run where it is, at full length of an address.
    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    target = llvm.Target.from_triple(llvm.get_process_triple())
    return target.create_target_machine(
        cpu=processor,
        features=features,
        opt=3,
        reloc="static" if target.name.startswith("x86") else "default",
        codemodel="jitdefault",
        jit=True,
    )


class MachineCode:
    """A compiled function in memory.

    Parameters
    ----------
    code : bytes
        Of `object_code`, for this very machine. It is run as it is.
    arguments : tuple of Argument
        What it takes.

    Raises
    ------
    NotOurKindError
        If it is no object file; LLVM would end the process.
    OSError
        If this system lets nobody run what was not a program's from the start.
    """

    def __init__(self, code: bytes, arguments: tuple[Argument, ...]) -> None:
        import llvmlite.binding as llvm

        if not code.startswith(_BEGINNINGS):
            raise NotOurKindError("it is no machine code")
        llvm.check_jit_execution()
        self.arguments = arguments
        machine = _target_machine(llvm, "", "")
        # It keeps the memory that the code lies in.
        self._engine = llvm.create_mcjit_compiler(llvm.parse_assembly(""), machine)
        self._engine.add_object_file(llvm.object_file.ObjectFileRef.from_data(code))
        self._engine.finalize_object()
        address = self._engine.get_function_address(ENTRY)
        if not address:
            raise NotOurKindError(f"there is no {ENTRY} in it")
        prototype = ctypes.CFUNCTYPE(ctypes.c_int32, *_c_types(arguments))
        self._call: Callable[..., int] = prototype(address)

    def __call__(self, *values: np.ndarray | int | float) -> None:
        """Run it; other threads go on meanwhile.

        Parameters
        ----------
        *values : ndarray, int or float
            As the plain function takes them.

        Raises
        ------
        TypeError
            If a value is of another kind than was compiled for; nothing has been run.
        RuntimeError
            If the function raised something. What it had written by then stays.
        """
        self._count(values)
        self._run(self._handed(place, value) for place, value in enumerate(values))

    def again(
        self, *values: np.ndarray | int | float | None, own: Sequence[int]
    ) -> Callable[..., None]:
        """The same to be run many times, with most values handed over once.

        Parameters
        ----------
        *values : ndarray, int, float or None
            As for a call; None in the places of `own`.
        own : sequence of int
            Places of the values that are another in each call.

        Returns
        -------
        callable
            Called with the values of those places, in their order; several may run side by side.

        Raises
        ------
        TypeError
            As a call does.
        """
        self._count(values)
        handed: list[tuple[float | None, ...]] = [
            () if place in own or value is None else self._handed(place, value)
            for place, value in enumerate(values)
        ]

        def run(*mine: np.ndarray | int | float) -> None:
            of_call = list(handed)
            for place, value in zip(own, mine, strict=True):
                of_call[place] = self._handed(place, value)
            self._run(of_call)

        return run

    def _count(self, values: Sequence[object]) -> None:
        if len(values) != len(self.arguments):
            raise TypeError(f"{len(self.arguments)} arguments are expected, got {len(values)}")

    def _handed(self, place: int, value: np.ndarray | int | float) -> tuple[float | None, ...]:
        try:
            return self.arguments[place].c_values(value)
        except TypeError as error:
            raise TypeError(f"argument {place + 1}: {error}") from None

    def _run(self, handed: Iterable[tuple[float | None, ...]]) -> None:
        flat = chain.from_iterable(handed)
        room = (ctypes.c_void_p * 2)()
        first = ctypes.addressof(room)
        status = self._call(first, first + ctypes.sizeof(ctypes.c_void_p), *flat)
        if status:
            raise RuntimeError(f"the compiled function raised an error (status {status})")
