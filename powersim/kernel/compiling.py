"""A plain function compiled for this computer: once, and from then on read from the cache.

The functions of this package are plain Python and stay so. Where numba is at hand, `prepare` has
twins of them compiled into one piece of machine code, in which every small function is part of the
entry, and keeps it. Read from the cache it takes 0.04 s, most of it the import of LLVM;
numba itself is imported only to compile.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import sys
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from types import FunctionType
from typing import TYPE_CHECKING, Any

from powersim import __version__
from powersim.kernel import cache
from powersim.kernel.machine_code import Argument, MachineCode, host, object_code
from powersim.kernel.twins import Part, fingerprint, parts_of, twins_of

if TYPE_CHECKING:
    import numpy as np

#: Set to "no" it lets everything run uncompiled.
VARIABLE = "POWERSIM_COMPILE"
PREPARING = "preparing the simulation for this computer, once"
PREPARING_EACH_TIME = "preparing the simulation for this computer (no folder to keep it in)"
#: What every twin is compiled with. No arithmetic is changed, so that bits stay the same; division
#: by zero gives inf or nan instead of an error; no memory is asked for, so none need be counted.
OPTIONS: dict[str, Any] = {
    "nogil": True,
    "error_model": "numpy",
    "fastmath": False,
    "no_cpython_wrapper": True,
    "no_cfunc_wrapper": True,
    "_nrt": False,
}


@dataclass(frozen=True, slots=True)
class CompiledEntry:
    """What came of it.

    Attributes
    ----------
    run : MachineCode or None
        The compiled function, called as the plain one; None where the plain one must do.
    reason : str
        Why there is none, to be printed after "not compiled: "; empty where there is one.
    error : Exception or None
        What another library raised, at full length, for whoever writes such functions.
    """

    run: MachineCode | None
    reason: str = ""
    error: Exception | None = field(default=None, compare=False, repr=False)


def prepare(
    entry: Callable[..., None],
    examples: tuple[np.ndarray | int | float, ...],
    *,
    tell: Callable[[str], object] = lambda text: None,
    package: str = "powersim",
) -> CompiledEntry:
    """Have a plain function compiled, or read what was compiled before.

    Parameters
    ----------
    entry : function
        It returns nothing; what it has to say it writes into its arrays. It and the functions of
        ours that it calls take no memory and raise nothing that anybody waits for.
    examples : tuple of ndarray, int and float
        One for each argument, by position: of these kinds are the values that it is called with.
    tell : callable
        Is told in one line when something has to be compiled.
    package : str
        Functions of this package are compiled with it.

    Returns
    -------
    CompiledEntry
        The same at once when asked again in this process.

    Raises
    ------
    TypeError
        If it is no plain function, or cannot be compiled as it is written, whatever the computer.
    """
    if os.environ.get(VARIABLE, "").strip().casefold() == "no":
        return CompiledEntry(None, f"{VARIABLE}=no")
    if not isinstance(entry, FunctionType):
        raise TypeError(f"a plain function is expected, got {entry!r}")
    asked = (entry, tuple(Argument.like(one) for one in examples), package)
    if asked not in _ANSWERS:
        _ANSWERS[asked] = _prepared(*asked, tell)
    return _ANSWERS[asked]


_ANSWERS: dict[tuple[FunctionType, tuple[Argument, ...], str], CompiledEntry] = {}


def _prepared(
    entry: FunctionType,
    arguments: tuple[Argument, ...],
    package: str,
    tell: Callable[[str], object],
) -> CompiledEntry:
    parts = parts_of(entry, package)
    missing = _missing()
    if missing:
        return CompiledEntry(None, missing)
    try:
        key = _key(parts, arguments)
        kept = cache.read(entry.__name__, key)
        if kept is not None:
            with contextlib.suppress(Exception):  # then it is compiled anew
                return CompiledEntry(MachineCode(kept, arguments))
        _import_numba()
    except Exception as error:  # noqa: BLE001 - whatever other libraries say, there is another way
        return CompiledEntry(None, _said_of(error), error)
    tell(PREPARING if cache.is_there_a_place() else PREPARING_EACH_TIME)
    try:
        code = _compiled(parts, arguments)
        run = MachineCode(code, arguments)
    except _ReturnsSomethingError as error:
        raise TypeError(f"{entry.__name__} {error}") from None
    except Exception as error:  # noqa: BLE001 - as above
        return CompiledEntry(None, _said_of(error), error)
    cache.write(entry.__name__, key, code)
    return CompiledEntry(run)


class _ReturnsSomethingError(Exception):
    """The entry returns a value, which would be lost."""


def _missing() -> str:
    absent = [name for name in ("numba", "llvmlite") if not _is_installed(name)]
    return f"{absent[0]} is not installed" if absent else ""


def _is_installed(name: str) -> bool:
    """Without importing it."""
    from importlib.util import find_spec

    try:
        return find_spec(name) is not None
    except ValueError:  # something else goes by that name in this process
        return False


def _key(parts: tuple[Part, ...], arguments: tuple[Argument, ...]) -> bytes:
    """A digest of all that the machine code depends on."""
    with _quietly():
        from importlib.metadata import PackageNotFoundError, version

        import llvmlite
        import numpy as np

        try:
            numba_version = version("numba")
        except PackageNotFoundError:
            numba_version = "unknown"
        depends_on = (
            *(__version__, sys.version, sys.implementation.name, sys.byteorder),
            *(numba_version, llvmlite.__version__, np.__version__),
            *host(),
            # numba's own settings, such as how far it optimises.
            *_settings(),
            *sorted(OPTIONS.items()),
            *map(str, arguments),
            fingerprint((*parts, *_OURS)),
        )
    return hashlib.sha256(repr(depends_on).encode("utf-8", "surrogatepass")).digest()


def _settings() -> list[tuple[str, str]]:
    """numba's own settings, but for that which joblib makes in every process that it starts."""
    named = (pair for pair in os.environ.items() if pair[0].startswith("NUMBA_"))
    return sorted(pair for pair in named if pair[0] != "NUMBA_NUM_THREADS")


def _compiled(parts: tuple[Part, ...], arguments: tuple[Argument, ...]) -> bytes:
    """Machine code of the last of some parts, with all others in it."""
    with _quietly():
        import numba

        twin = twins_of(
            parts,
            lambda function, is_entry: numba.njit(**OPTIONS, forceinline=not is_entry)(function),
        )
        kinds = tuple(numba.typeof(one.sample()) for one in arguments)
        twin.compile(kinds)
        (made,) = twin.overloads.values()
        if made.signature.return_type != numba.types.none:
            raise _ReturnsSomethingError(f"returns {made.signature.return_type}, not nothing")
        _, processor, features = made.codegen.magic_tuple()
        return object_code(
            twin.inspect_llvm(twin.signatures[0]),
            made.fndesc.llvm_func_name,
            arguments,
            processor=processor,
            features=features,
        )


#: What settles how machine code is made and called: a change in it is a change of all that is kept.
_OURS = tuple(
    Part(function, {})  # type: ignore[arg-type]  # a function is a FunctionType
    for function in (
        *(_compiled, twins_of, object_code),
        *(Argument.sample, Argument.c_types, Argument.c_values),
        *(MachineCode.__init__, MachineCode.__call__, MachineCode.again),
    )
)


@contextlib.contextmanager
def _quietly() -> Iterator[None]:
    """What libraries warn each other of is nothing to a sailor; errors are errors still."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def _import_numba() -> None:
    """Import numba, deaf to the current folder: it would read its settings from a file there.

    That may be a passage folder that somebody sent. It does so only where it finds PyYAML; where
    it has once not found it, it never does. If it has been imported before us, then by somebody
    who has started Python there and minds its settings.
    """
    if "numba" not in sys.modules:
        there, kept = "yaml" in sys.modules, sys.modules.get("yaml")
        sys.modules["yaml"] = None  # type: ignore[assignment]  # so that no import finds it
        try:
            with _quietly():
                import numba
        finally:
            if there:
                sys.modules["yaml"] = kept  # type: ignore[assignment]  # as it was
            else:
                del sys.modules["yaml"]
    import numba

    if numba.config.DISABLE_JIT:  # type: ignore[attr-defined]  # made as it is imported
        raise ImportError("NUMBA_DISABLE_JIT is set")


def _said_of(error: Exception) -> str:
    """An error in a few words: numba's own run over many lines."""
    lines = [line.strip() for line in str(error).splitlines() if line.strip()]
    said = lines[0] if lines else "it does not say why"
    return f"numba cannot compile here ({type(error).__name__}: {said})"[:200]
