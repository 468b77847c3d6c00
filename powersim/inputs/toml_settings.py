"""Single keys of TOML set in its text, with notes, order and line ends as they stand."""

from __future__ import annotations

import copy
import io
import tomllib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from powersim.inputs.toml_lines import Path, header_lines, parse_toml


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What one key is to hold.

    Attributes
    ----------
    table : tuple
        Path of its table, such as ("panel", 0).
    key : str
        Within its table.
    value : str
        Without quotation marks, and with nothing in it that would need a backslash.
    note : str
        Said behind a key that the table had not.
    """

    table: Path
    key: str
    value: str
    note: str


def at(document: Any, path: Path) -> Any:
    """The table at a path, in a document of tomllib or of tomlkit."""
    for part in path:
        document = document[part]
    return document


def with_settings(text: str, settings: Sequence[Setting]) -> str | None:
    """The text with some keys set.

    Parameters
    ----------
    text : str
        Valid TOML that holds the tables.
    settings : sequence of Setting
        What is to be set, each key once.

    Returns
    -------
    str or None
        None where nothing is found that reads as the old text with these values and no other
        change. A key that is new stands behind the last of its table.

    Examples
    --------
    >>> rated = Setting(table=("engine",), key="rated", value="9 kW", note="")
    >>> with_settings("[engine]  # old\\nrated = '8 kW'  # sticker\\n", [rated])
    "[engine]  # old\\nrated = '9 kW'  # sticker\\n"
    """
    asked = copy.deepcopy(tomllib.loads(text))
    for one in settings:
        at(asked, one.table)[one.key] = one.value
    for way in (_in_place, _table_by_table, _in_any_form):
        made = way(text, settings)
        if made is not None and _reads_as(made, asked):
            return made
    return None


def _reads_as(text: str, document: dict) -> bool:
    try:
        return tomllib.loads(text) == document
    except tomllib.TOMLDecodeError:
        return False


def _in_place(text: str, settings) -> str | None:
    return _by_tomlkit(text, settings, _put_in_place)


def _in_any_form(text: str, settings) -> str | None:
    """Tables inline or dotted, to which tomlkit adds keys as they should be."""
    return _by_tomlkit(text, settings, _put)


def _table_by_table(text: str, settings) -> str | None:
    """For a file that tomlkit would put into another order, such as panels on both ends of it."""
    for one in settings:
        _, lines, _ = parse_toml(text, file="")
        heads = header_lines(text)
        begin = lines.get(one.table)
        if begin not in heads:
            return None
        end = next((line for line in heads if line > begin), None)
        rows = list(io.StringIO(text, newline="\n"))
        part = slice(begin - 1, None if end is None else end - 1)
        name, *places = one.table
        alone = replace(one, table=(name, *[0 for _ in places]))
        made = _by_tomlkit("".join(rows[part]), [alone], _put_in_place)
        if made is None:
            return None
        rows[part] = [made]
        text = "".join(rows)
    return text


def _by_tomlkit(text: str, settings, put: Callable) -> str | None:
    """The text as tomlkit gives it back, or None where it would not keep it as it is."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        document = tomlkit.parse(text)
        if tomlkit.dumps(document) != text:
            return None
        for one in settings:
            put(at(document, one.table), one, text)
        return tomlkit.dumps(document)
    except TOMLKitError:
        return None


def _put(table, setting: Setting, text: str) -> None:
    table[setting.key] = setting.value


def _put_in_place(table, setting: Setting, text: str) -> None:
    """Set a key in its own quotes, or add it with its note behind the last one of its table.

    Left to itself, tomlkit adds a key behind the notes that stand over the next table.
    """
    import tomlkit
    from tomlkit.items import AoT, Table

    if setting.key in table:
        literal = table[setting.key].as_string().startswith("'")
        table[setting.key] = tomlkit.string(setting.value, literal=literal)
        return
    items = [
        one
        for key, one in (table.value.body if isinstance(table, Table) else ())
        if key is not None and not isinstance(one, AoT | Table)
    ]
    if not items:
        return  # what comes of it does not read as asked, and another way is tried
    trivia = items[-1].trivia
    newline = "\r\n" if "\r\n" in text else "\n"
    line = f'{trivia.indent}{setting.key} = "{setting.value}"  # {setting.note}'
    ended = trivia.trail.endswith("\n")  # else it is the last line of the file
    trivia.trail += f"{line}{newline}" if ended else f"{newline}{line}"
