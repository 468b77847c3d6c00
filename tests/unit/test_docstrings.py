"""Every public name says what it is, and every quantity says its unit.

How much a docstring says depends on who reads it:

- In the folders of FULL it says all: each argument, what comes back, what is raised.
- Elsewhere a function that only its own folder uses needs one line, since its annotations tell the
  rest. One that another folder uses describes each argument all the same.
- In the folders of DESCRIBED every entry that there is has a description: a type is none, nor is a
  unit.

A name with a unit suffix is described with that unit in brackets at the end. pint is the judge of
whether two spellings agree.
"""

import ast
import inspect
import re
from functools import cache
from pathlib import Path

import pytest

import powersim

PACKAGE = Path(powersim.__file__).parent
FULL = ("physics", "sky", "voyage", "simulation", "api")
#: Folders are added one by one, as their docstrings are mended; at the end all of them stand here.
DESCRIBED = (
    "api",
    "cli",
    "inputs",
    "kernel",
    "logbook",
    "physics",
    "planning",
    "records",
    "report",
    "simulation",
    "sky",
    "voyage",
)
#: Likewise: folders outside FULL in which the annotations are complete, and the rule holds.
BRIEF = ("inputs", "kernel", "logbook", "planning", "report")

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


def returned_from(function):
    """Whether a function gives something back, and the names of the errors it raises itself."""
    gives, raises, left = False, set(), list(function.body)
    while left:
        node = left.pop()
        if isinstance(node, ast.FunctionDef | ast.Lambda | ast.ClassDef):
            continue
        gives |= isinstance(node, ast.Yield | ast.YieldFrom)
        gives |= isinstance(node, ast.Return) and node.value is not None
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call):
            raises.add(ast.unparse(node.exc.func))
        left.extend(ast.iter_child_nodes(node))
    return gives, {name for name in raises if name[0].isupper()}


def faults_of(source, *, full, described=False, brief_but_for=None):
    """What is wrong with one module's docstrings, as sentences.

    `full`: all is said. `described`: each entry has words. `brief_but_for`: annotations will do,
    but for these names, which other folders use.
    """
    tree = ast.parse(source)
    if tree.body and ast.get_docstring(tree) is None:
        yield "the module has no docstring"
    if described:
        yield from undescribed(tree)
    for name, node in public_definitions(tree):
        docstring = ast.get_docstring(node)
        if docstring is None:
            yield f"{name} has no docstring"
            continue
        entries = entries_of(docstring, "Parameters", "Attributes")
        yield from unit_faults(name, entries, strict=full or brief_but_for is not None)
        if not isinstance(node, ast.FunctionDef):
            continue
        missing = [needed for needed in arguments_of(node) if needed not in entries]
        if full or name in (brief_but_for or ()):
            yield from (f"{name}: {needed} is not described" for needed in missing)
        elif brief_but_for is not None and not annotated(node):
            yield f"{name} is not annotated"
        if full:
            yield from outcome_faults(name, node, docstring)


def annotated(node):
    found = node.args
    every = [*found.posonlyargs, *found.args, *found.kwonlyargs, found.vararg, found.kwarg]
    told = (arg.annotation for arg in every if arg is not None and arg.arg not in ("self", "cls"))
    return node.returns is not None and None not in told


def outcome_faults(name, node, docstring):
    gives, raises = returned_from(node)
    sections = set(re.findall(r"^(\w+)\n-+$", docstring, re.MULTILINE))
    # What takes no argument is a value by another name, and its one line describes it.
    if gives and arguments_of(node) and not sections & {"Returns", "Yields"}:
        yield f"{name}: what it returns is not described"
    told = docstring.partition("\nRaises\n")[2]
    yield from (
        f"{name}: {error} is not described" for error in sorted(raises) if error not in told
    )


def undescribed(tree):
    """Entries, of whatever docstring, that have a type or a unit and no words."""
    for node in ast.walk(tree):
        if not isinstance(node, ast.FunctionDef | ast.ClassDef):
            continue
        for head, words in raw_entries(ast.get_docstring(node) or ""):
            if not BRACKETS.sub("", words).strip(" .,;"):
                yield f"{node.name}: '{head}' has no description"


def raw_entries(docstring):
    """First line and description of each entry of the sections that have entries."""
    section, found = None, []
    for line in re.sub(r"^(\w+)\n-+$", r"\f\1", docstring, flags=re.MULTILINE).split("\n"):
        if line.startswith("\f"):
            section = line[1:]
        elif section not in ("Parameters", "Attributes", "Returns", "Yields", "Raises"):
            continue
        elif line and not line.startswith(" "):
            found.append([line, ""])
        elif line and found:
            found[-1][1] += f" {line.strip()}"
    return found


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


def folder_of(path):
    return path.partition("/")[0]


@cache
def used_elsewhere():
    """Module and name of all that a folder takes from another: by name, or as module.name."""
    used = set()
    for path in MODULES:
        tree = ast.parse((PACKAGE / path).read_text(encoding="utf-8"))
        by_alias = {}
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module.startswith("powersim."):
                for alias in node.names:
                    by_alias[alias.asname or alias.name] = f"{node.module}.{alias.name}"
        names = set(by_alias.values())
        for node in ast.walk(tree):
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
                names.add(f"{by_alias.get(node.value.id)}.{node.attr}")
        here = f"powersim.{folder_of(path)}."
        used |= {name for name in names if not name.startswith(here)}
    return used


@pytest.mark.parametrize("path", MODULES)
def test_public_names_are_described(path):
    source = (PACKAGE / path).read_text(encoding="utf-8")
    folder, module = folder_of(path), f"powersim.{path.removesuffix('.py').replace('/', '.')}."
    asked_for = {name.removeprefix(module) for name in used_elsewhere() if name.startswith(module)}
    faults = faults_of(
        source,
        full=folder in FULL,
        described=folder in DESCRIBED,
        brief_but_for=asked_for if folder in BRIEF else None,
    )
    assert list(faults) == []


def test_what_another_folder_uses_is_found_however_it_is_imported():
    assert "powersim.kernel.carry.carry_member" in used_elsewhere()  # by its name
    assert "powersim.sky.streams.normal" in used_elsewhere()  # as streams.normal
    assert "powersim.sky.months.between_months" not in used_elsewhere()  # within sky alone


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
    assert list(faults_of(GOOD, full=True)) == []
    assert list(faults_of(GOOD.replace(old, new), full=True)) == [fault]


COMPLETE = '''
"""Module."""
def litres(depth_m: float) -> float:
    """Litres at a depth.

    Parameters
    ----------
    depth_m : float
        On the stick. [m]

    Returns
    -------
    float
        In the tank. [L]

    Raises
    ------
    ValueError
        If the depth is negative.
    """
    if depth_m < 0.0:
        raise ValueError("no")
    return 2.0 * depth_m
'''


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        (
            "        On the stick. [m]",
            "        [m]",
            "litres: 'depth_m : float' has no description",
        ),
        ("        In the tank. [L]", "", "litres: 'float' has no description"),
        ("        If the depth is negative.\n", "", "litres: 'ValueError' has no description"),
        ("    Returns\n    -------\n", "", "litres: what it returns is not described"),
        ("    ValueError\n", "    KeyError\n", "litres: ValueError is not described"),
    ],
)
def test_the_checker_wants_words_for_what_comes_and_goes(old, new, fault):
    assert list(faults_of(COMPLETE, full=True, described=True)) == []
    assert old in COMPLETE
    assert list(faults_of(COMPLETE.replace(old, new), full=True, described=True)) == [fault]


def test_annotations_will_do_for_what_only_a_sibling_uses():
    source = '"""M."""\ndef a(b: int) -> int:\n    """One line."""\n    return b\n'
    assert list(faults_of(source, full=False, brief_but_for=set())) == []
    assert list(faults_of(source, full=False, brief_but_for={"a"})) == ["a: b is not described"]
    for bare in (source.replace(": int", ""), source.replace(" -> int", "")):
        assert list(faults_of(bare, full=False, brief_but_for=set())) == ["a is not annotated"]


def test_the_checker_wants_a_docstring_on_classes_and_methods():
    source = '"""M."""\nclass A:\n    def b(self):\n        pass\n    def _c(self):\n        pass\n'
    assert list(faults_of(source, full=False)) == ["A has no docstring", "A.b has no docstring"]


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
