"""The strings in a module's code, as its syntax tree has them."""

from __future__ import annotations

import ast


def strings_in(source):
    """Line and text of every string but docstrings, those within formatted strings too."""
    tree = ast.parse(source)
    told = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told:
            yield node.lineno, node.value
