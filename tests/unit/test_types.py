"""The lists by which mypy goes name what there is, and what is annotated is told to others."""

import tomllib
from pathlib import Path

import powersim

ROOT = Path(__file__).parents[2]
SETTINGS = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["mypy"]


def listed(key):
    """The modules of the one list that sets this key."""
    (modules,) = (part["module"] for part in SETTINGS["overrides"] if key in part)
    return modules


def modules():
    package = Path(powersim.__file__).parent
    for path in package.rglob("*.py"):
        parts = path.relative_to(package.parent).with_suffix("").parts
        yield ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def held_by(pattern):
    """`a.b.*` is the folder and all that is in it, as mypy reads it."""
    folder = pattern.removesuffix(".*")
    return {
        name
        for name in modules()
        if name == folder or (pattern != folder and name.startswith(f"{folder}."))
    }


def test_each_name_in_a_list_is_a_module_or_a_folder_of_them():
    names = listed("disallow_untyped_defs")
    assert len(names) == len(set(names))
    assert [name for name in names if not held_by(name)] == []


def test_every_module_is_checked():
    annotated = set().union(*map(held_by, listed("disallow_untyped_defs")))
    assert {"powersim", "powersim.errors"} <= annotated
    assert "powersim" in SETTINGS["files"]
    assert not any("ignore_errors" in part for part in (SETTINGS, *SETTINGS["overrides"]))


def test_the_package_says_that_it_is_typed():
    assert (Path(powersim.__file__).parent / "py.typed").is_file()
