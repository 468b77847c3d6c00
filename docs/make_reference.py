"""Writes docs/reference/commands.md from the --help of every command."""

from __future__ import annotations

from pathlib import Path

import click

from powersim.cli.main import powersim

PAGE = Path(__file__).parent / "reference" / "commands.md"
_INTRODUCTION = """\
# Commands

What each command says of itself with `--help`. This page is written by
`python docs/make_reference.py`; a test fails when it is stale.
"""


def commands_page() -> str:
    """The whole page."""
    root = _context(powersim, "powersim")
    commands = [
        _context(powersim.get_command(root, name), name, root)
        for name in powersim.list_commands(root)
    ]
    return "\n".join([_INTRODUCTION, *map(_section, [root, *commands])])


def _context(command: click.Command, name: str, parent: click.Context | None = None):
    return click.Context(command, info_name=name, parent=parent, **command.context_settings)


def _section(context: click.Context) -> str:
    return f"## {context.command_path}\n\n```text\n{context.get_help()}\n```\n"


def main() -> None:
    """Write the page."""
    PAGE.write_text(commands_page(), encoding="utf-8", newline="\n")
    print(f"wrote {PAGE}")


if __name__ == "__main__":
    main()
