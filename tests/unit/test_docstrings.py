"""Every public name says what it is, and every quantity says its unit.

In the parts that compute, each argument is described, and a name with a unit suffix is described
with that unit in brackets at the end. pint is the judge of whether two spellings agree.
"""

import ast
import inspect
import re
from functools import cache
from pathlib import Path

import pytest

import powersim

PACKAGE = Path(powersim.__file__).parent
STRICT = ("physics", "sky", "voyage", "kernel", "simulation", "api")

# Suffix of a name -> unit, as in the table of names of the contributor's guide. The longest that
# fits counts; `_per_` is read from its two sides.
SUFFIXES = {
    "W": "W",
    "Wh": "Wh",
    "kW": "kW",
    "kWh": "kWh",
    "V": "V",
    "A": "A",
    "Ah": "Ah",
    "ohm": "ohm",
    "ohm_Ah": "ohm Ah",
    "h": "h",
    "s": "s",
    "min": "min",
    "day": "day",
    "days": "day",
    "month": "month",
    "W_m2": "W/m2",
    "deg": "deg",
    "rad": "rad",
    "nm": "nm",
    "kn": "kn",
    "L": "L",
    "C": "degC",
    "K": "K",
    "m": "m",
    "m2": "m2",
    "m_s": "m/s",
    "frac": "-",
    "soc": "-",
    "oktas": "-",
}
# What pint would take for something else, or not at all, in a word that it does know.
SPELLINGS = {"-": "dimensionless", "nm": "nautical_mile", "kn": "knot", "degC": "delta_degC"}
BRACKETS = re.compile(r"\[([^\[\]]+)\]")


def unit_of_name(name):
    """The unit that a name's suffix stands for, or None."""
    if "_per_" in name:
        over, under = name.rsplit("_per_", 1)
        top, bottom = unit_of_name(over), SUFFIXES.get(under)
        if bottom is None:
            return None
        return f"({top})/({bottom})" if top else None
    for words in (2, 1):
        parts = name.split("_")
        suffix = "_".join(parts[-words:])
        if suffix in SUFFIXES and (len(parts) > words or suffix in ("soc", "oktas")):
            return SUFFIXES[suffix]
    return None


def ways(expected):
    """A unit; and of what adds up in a day or a month, the amount in it too."""
    yield expected
    over, _, under = expected.partition(")/(")
    if under in ("day)", "month)"):
        yield over.strip("(")


@cache
def registry():
    import pint

    return pint.UnitRegistry()


@cache
def unit(spelling):
    """A spelling as a pint quantity in base units."""
    words = re.sub(r"(?<![\w])-(?![\w])", "dimensionless", spelling)
    words = re.sub(r"([a-z])([23])\b", r"\1**\2", words)
    words = re.sub(r"[A-Za-z]+", lambda word: SPELLINGS.get(word[0], word[0]), words)
    return registry().Quantity(1.0, words).to_base_units()


def agree(one, other):
    """Whether two spellings mean the same; one that pint cannot read agrees with none."""
    import pint

    try:
        a, b = unit(one), unit(other)
    except (pint.PintError, AssertionError, SyntaxError, ValueError):
        return False
    return a.units == b.units and a.magnitude == pytest.approx(b.magnitude, rel=1e-9)


def entries_of(docstring, *sections):
    """Name -> (type, description), for the numpy-style sections asked for."""
    entries, section, names = {}, None, ()
    lines = inspect.cleandoc(docstring).splitlines()
    for line, below in zip(lines, [*lines[1:], ""], strict=True):
        if below and set(below) == {"-"} and line.strip():
            section, names = line.strip(), ()
        elif set(line) == {"-"} and line:
            continue
        elif section in sections and line and not line.startswith(" "):
            heads, _, kind = line.partition(" : ")
            names = tuple(part.strip(" *") for part in heads.split(","))
            entries.update(dict.fromkeys(names, (kind, "")))
        elif section in sections:
            for name in names:
                kind, words = entries[name]
                entries[name] = kind, f"{words} {line.strip()}".strip()
    return entries


def public_definitions(tree, prefix=""):
    """Qualified name and node of public functions, classes and methods, nested ones left out."""
    for node in tree.body:
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            continue
        if node.name.startswith("_") or "overload" in map(ast.unparse, node.decorator_list):
            continue
        yield prefix + node.name, node
        if isinstance(node, ast.ClassDef):
            yield from public_definitions(node, f"{prefix}{node.name}.")


def arguments_of(node):
    found = node.args
    every = [*found.posonlyargs, *found.args, *found.kwonlyargs]
    every += [extra for extra in (found.vararg, found.kwarg) if extra is not None]
    return [arg.arg for arg in every if arg.arg not in ("self", "cls")]


def faults_of(source, *, strict):
    """What is wrong with one module's docstrings, as sentences."""
    tree = ast.parse(source)
    if tree.body and ast.get_docstring(tree) is None:
        yield "the module has no docstring"
    for name, node in public_definitions(tree):
        docstring = ast.get_docstring(node)
        if docstring is None:
            yield f"{name} has no docstring"
            continue
        described = entries_of(docstring, "Parameters", "Attributes")
        if strict and not isinstance(node, ast.ClassDef):
            missing = [needed for needed in arguments_of(node) if needed not in described]
            yield from (f"{name}: {needed} is not described" for needed in missing)
        yield from unit_faults(name, described, strict=strict)


def unit_faults(name, described, *, strict):
    for entry, (kind, words) in described.items():
        expected = unit_of_name(entry)
        if expected is None or kind.startswith("callable"):
            continue
        # "[A], [W]" stands for a unit each.
        found = BRACKETS.findall(words)
        if not found:
            if strict:
                yield f"{name}: {entry} does not end with its unit in brackets"
        elif strict and not words.rstrip(".").endswith("]"):
            yield f"{name}: {entry} does not end with its unit in brackets"
        elif not any(agree(bracket, way) for bracket in found for way in ways(expected)):
            yield f"{name}: {entry} is described in [{found[-1]}]"


MODULES = [path.relative_to(PACKAGE).as_posix() for path in sorted(PACKAGE.rglob("*.py"))]


@pytest.mark.parametrize("path", MODULES)
def test_public_names_are_described(path):
    source = (PACKAGE / path).read_text(encoding="utf-8")
    assert list(faults_of(source, strict=path.startswith(STRICT))) == []


GOOD = '''
"""Module."""
def burn_L(*, run_h, slope_L_per_kWh, engine=None):
    """Fuel.

    Parameters
    ----------
    run_h : float
        Time the engine runs. [h]
    slope_L_per_kWh : float
        Extra fuel for each unit
        of shaft energy. [L/kWh]
    engine : object
        Which one.
    """
'''


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("[h]", "[min]", "burn_L: run_h is described in [min]"),
        ("[h]", "[hour of day, 24]", "burn_L: run_h is described in [hour of day, 24]"),
        ("[h]", "", "burn_L: run_h does not end with its unit in brackets"),
        ("[h]", "[h] or so", "burn_L: run_h does not end with its unit in brackets"),
        ("[L/kWh]", "[L/Wh]", "burn_L: slope_L_per_kWh is described in [L/Wh]"),
        ("engine : object\n        Which one.", "", "burn_L: engine is not described"),
        ('"""Module."""', "", "the module has no docstring"),
    ],
)
def test_the_checker_sees_each_kind_of_fault(old, new, fault):
    assert list(faults_of(GOOD, strict=True)) == []
    assert list(faults_of(GOOD.replace(old, new), strict=True)) == [fault]


def test_the_checker_wants_a_docstring_on_classes_and_methods():
    source = '"""M."""\nclass A:\n    def b(self):\n        pass\n    def _c(self):\n        pass\n'
    assert list(faults_of(source, strict=False)) == ["A has no docstring", "A.b has no docstring"]


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("wind_m_s", "m/s"),
        ("length_m", "m"),
        ("ghi_W_m2", "W/m2"),
        ("slope_L_per_kWh", "(L)/(kWh)"),
        ("temp_comp_V_per_C", "(V)/(degC)"),
        ("distance_nm", "nm"),
        ("floor_soc", "-"),
        ("soc", "-"),
        ("edge_utc_s", "s"),
        ("h", None),
        ("tack", None),
        ("depart_utc", None),
    ],
)
def test_units_of_names(name, expected):
    assert unit_of_name(name) == expected


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("Ah", "A h", True),
        ("Ah", "Wh", False),
        ("nm", "m", False),
        ("W/m2", "W/m^2", True),
        ("V/degC", "V/K", True),
        ("kn", "m/s", False),
        ("-", "1", True),
        ("h", "s", False),
        ("h", "hrs run", False),
    ],
)
def test_whether_two_spellings_agree(one, other, same):
    assert agree(one, other) is same
