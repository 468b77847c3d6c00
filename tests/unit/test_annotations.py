"""Whatever is public has a type for each argument and for what it returns.

mypy holds the types; it says nothing of a function that has none. Private functions may go without.
"""

import ast
from pathlib import Path

import pytest

import powersim

PACKAGE = Path(powersim.__file__).parent
FOLDERS = (
    "api",
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


def bare(text):
    """Public functions and methods of a module with something left without a type."""
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.Module | ast.ClassDef) or getattr(node, "name", "").startswith(
            "_"
        ):
            continue
        for one in node.body:
            if not isinstance(one, ast.FunctionDef) or one.name.startswith("_"):
                continue
            given = [*one.args.posonlyargs, *one.args.args, *one.args.kwonlyargs]
            named = [arg for arg in given if arg.arg not in ("self", "cls")]
            if one.returns is None or any(arg.annotation is None for arg in named):
                yield f"{one.lineno}: {one.name}"


@pytest.mark.parametrize("folder", FOLDERS)
def test_all_that_is_public_has_types(folder):
    found = [
        f"{path.relative_to(PACKAGE)}:{where}"
        for path in sorted((PACKAGE / folder).rglob("*.py"))
        for where in bare(path.read_text(encoding="utf-8"))
    ]
    assert found == []


def test_what_is_left_without_a_type_is_found():
    text = "class A:\n    def f(self, x: int): ...\n    def _g(self, x): ...\n"
    text += "def h(x, *, y: int) -> int: ..."
    assert list(bare(text)) == ["4: h", "2: f"]
