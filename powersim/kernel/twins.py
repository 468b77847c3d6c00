"""The functions that make up a plain function: what is compiled, and by what it is known again."""

from __future__ import annotations

import builtins
import dis
import hashlib
import struct
from collections.abc import Callable
from types import CodeType, FunctionType, ModuleType
from typing import Any, NamedTuple, TypeVar

#: What a function becomes when it is compiled.
Twin = TypeVar("Twin")
_PLAIN = (bool, int, float, str, type(None))


class Part(NamedTuple):
    """A plain function, and what its code means by the names that it finds in its module.

    Attributes
    ----------
    function : function
        In plain Python.
    names : dict of str to object
        Other functions of ours, numbers, text, and libraries such as math.
    """

    function: FunctionType
    names: dict[str, object]


def parts_of(entry: FunctionType, package: str) -> tuple[Part, ...]:
    """A function and all of ours that it calls, and these call.

    Parameters
    ----------
    entry : function
        From which the others are called.
    package : str
        What is ours: functions whose module is this package or lies in it.

    Returns
    -------
    tuple of Part
        Each after those that it calls, the entry last.

    Raises
    ------
    TypeError
        If one of them cannot be compiled: with function, file and line.
    """
    found: dict[FunctionType, Part] = {}
    _collect(entry, package, found, ())
    return tuple(found.values())


def _collect(
    function: FunctionType,
    package: str,
    found: dict[FunctionType, Part],
    callers: tuple[FunctionType, ...],
) -> None:
    if function in found:
        return
    if function in callers:
        raise TypeError(f"{_where(function)} calls itself by way of {_where(callers[-1])}")
    _refuse_what_is_not_plain(function)
    names = {}
    for name in function.__code__.co_names:  # names of attributes too: a few that do no harm
        if name in function.__globals__:
            value = function.__globals__[name]
            if _is_ours(value, package):
                _collect(value, package, found, (*callers, function))
            elif not (_is_constant(value) or _is_library(value, package) or is_named_tuple(value)):
                if _is_global(function, name):
                    _refuse(function, name, value, package)
                continue
            names[name] = value
    found[function] = Part(function, names)


def _refuse_what_is_not_plain(function: FunctionType) -> None:
    if function.__closure__ is not None:
        raise TypeError(
            f"{_where(function)} takes {function.__code__.co_freevars[0]!r} from the function that "
            "it is written in; hand it over as an argument"
        )
    if any(isinstance(one, CodeType) for one in function.__code__.co_consts):
        raise TypeError(
            f"{_where(function)} has a function or a comprehension in it; write it as a function "
            "of its own, or as a loop"
        )


def _refuse(function: FunctionType, name: str, value: object, package: str) -> None:
    if isinstance(value, ModuleType):
        raise TypeError(
            f"{_where(function)} uses the module {value.__name__} as {name!r}; import the "
            f"functions that it needs by their names: from {value.__name__} import ..."
        )
    raise TypeError(
        f"{_where(function)} uses {name!r}, {type(value).__name__}; expected a function of "
        f"{package}'s, a number, a text, a tuple of these, or a library's module such as math"
    )


def _is_ours(value: object, package: str) -> bool:
    return isinstance(value, FunctionType) and _within(value.__module__, package)


def _is_library(value: object, package: str) -> bool:
    return isinstance(value, ModuleType) and not _within(value.__name__, package)


def is_named_tuple(value: object) -> bool:
    """Whether something is a class of named tuples.

    Parameters
    ----------
    value : object
        Whatever a name stands for.

    Returns
    -------
    bool
        False for an instance of such a class.
    """
    return isinstance(value, type) and issubclass(value, tuple) and hasattr(value, "_fields")


def _within(module: str | None, package: str) -> bool:
    return module == package or str(module).startswith(f"{package}.")


def _is_constant(value: object) -> bool:
    if isinstance(value, tuple):
        return all(_is_constant(one) for one in value)
    return type(value) in _PLAIN


def _is_global(function: FunctionType, name: str) -> bool:
    """Whether a name is looked up as such, and not only the name of an attribute."""
    return any(
        step.opname in ("LOAD_GLOBAL", "LOAD_NAME") and step.argval == name
        for step in dis.get_instructions(function)
    )


def _where(function: FunctionType) -> str:
    code = function.__code__
    return (
        f"{function.__module__}.{function.__qualname__} ({code.co_filename}:{code.co_firstlineno})"
    )


def fingerprint(parts: tuple[Part, ...]) -> str:
    """What changes with anything that is compiled, and with nothing else.

    Parameters
    ----------
    parts : tuple of Part
        Of `parts_of`.

    Returns
    -------
    str
        In hexadecimal.

    Notes
    -----
    It is taken from the code in memory, not from the files: those may have been changed since
    they were read, and then the old code would be kept for the new files. Comments and the places
    of lines have no part in it.
    """
    digest = hashlib.sha256()
    for function, names in parts:
        keywords = tuple(sorted((function.__kwdefaults__ or {}).items()))
        for piece in (
            f"{function.__module__}.{function.__qualname__}",
            function.__code__,
            function.__defaults__,
            keywords,
        ):
            digest.update(_told(piece))
        for name in sorted(names):
            value: Any = names[name]
            if is_named_tuple(value):
                value = (_name_of(value), value._fields)
            elif isinstance(value, FunctionType | ModuleType):
                value = _name_of(value)
            digest.update(_told((name, value)))
    return digest.hexdigest()


def _name_of(value: FunctionType | ModuleType | type) -> str:
    module = getattr(value, "__module__", "")
    return f"{module}.{getattr(value, '__qualname__', value.__name__)}"


def _told(value: object) -> bytes:
    """A value with its type, so that 0, 0.0, -0.0 and False are four."""
    if isinstance(value, tuple):
        inside = b"".join(_told(one) for one in value)
    elif isinstance(value, frozenset):
        inside = b"".join(sorted(_told(one) for one in value))
    elif isinstance(value, float):
        inside = struct.pack("<d", value)
    elif isinstance(value, bytes):
        inside = value
    elif isinstance(value, CodeType):
        inside = _told(_pieces_of(value))
    else:
        inside = repr(value).encode("utf-8", "surrogatepass")
    return f"{type(value).__name__} {len(inside)} ".encode() + inside


def _pieces_of(code: CodeType) -> tuple[object, ...]:
    """All of some code but where it is written."""
    return (
        code.co_argcount,
        code.co_posonlyargcount,
        code.co_kwonlyargcount,
        code.co_flags,
        repr((code.co_names, code.co_varnames, code.co_freevars, code.co_cellvars)),
        code.co_code,
        code.co_exceptiontable,
        code.co_consts,
    )


def _by_name_or_place(code: CodeType) -> CodeType:
    """The same code with arguments by name alone that may go by place too: numba wants it so."""
    return code.replace(co_argcount=code.co_argcount + code.co_kwonlyargcount, co_kwonlyargcount=0)


def twins_of(parts: tuple[Part, ...], compiled: Callable[[FunctionType, bool], Twin]) -> Twin:
    """Compiled twins of plain functions, which call each other and leave the plain ones alone.

    Parameters
    ----------
    parts : tuple of Part
        Of `parts_of`.
    compiled : callable
        Makes a twin of a copy of a function; told too whether it is the entry.

    Returns
    -------
    object
        The entry's twin.
    """
    made: dict[FunctionType, Twin] = {}
    entry = parts[-1][0]
    for function, names in parts:
        namespace: dict[str, object] = {"__builtins__": builtins, "__name__": function.__module__}
        for name, value in names.items():
            namespace[name] = made.get(value, value) if isinstance(value, FunctionType) else value
        copy = FunctionType(
            _by_name_or_place(function.__code__),
            namespace,
            function.__name__,
            function.__defaults__,
        )
        made[function] = compiled(copy, function is entry)
    return made[entry]
