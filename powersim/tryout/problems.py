"""What is wrong, as the page is told of it."""

from __future__ import annotations

from typing import Any

from powersim.errors import Problem


def problem_told(problem: Problem) -> dict[str, Any]:
    """A problem as JSON has it, in parts and in the words of the command."""
    return {
        "place": problem.place,
        "file": problem.file,
        "line": problem.line,
        "text": problem.text,
        "expected": problem.expected,
        "said": str(problem),
    }
