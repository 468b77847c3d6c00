"""TOML with line numbers: the standard reader forgets where a key stood, a message must not."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator

from powersim.errors import Problem

_TOKEN = re.compile(
    r"""
      \"{3}(?:\\.|[^\\])*?\"{3,5} | '{3}.*?'{3,5}        # strings over several lines
    | \"(?:\\.|[^\"\\\n])*\" | '[^'\n]*'                 # strings on one line
    | \#[^\n]* | [\[\]{}=.,\n] | [^\s\[\]{}=.,\#\"']+    # comments, signs, words
    """,
    re.VERBOSE | re.DOTALL,
)
_EXAMPLE = 'a line such as capacity = "220 Ah"'
#: What a parser's complaint means at the chart table: its words, the sentence, what would be right.
_COMPLAINTS = (
    ("Cannot overwrite a value", "is given twice", "each key once in its table"),
    ("Cannot declare", "is given twice", "each [table] once; [[panel]] may be repeated"),
    ("Illegal character '\\n'", "has quotes that are not closed", _EXAMPLE),
    ("Unterminated string", "has quotes that are not closed", _EXAMPLE),
    (
        "Expected ']",
        "has square brackets that are not closed",
        "a table's name as in [battery] or [[panel]]",
    ),
    ("Invalid initial character for a key", "starts with no key", _EXAMPLE),
    ("Expected '='", "has no '=' after its key", _EXAMPLE),
)
#: What else is seen on the line where the parser stopped.
_SLIPS = (
    (r"[^=]+=\s*(#.*)?", "has no value after its '='", _EXAMPLE),
    (r"[^=]+=\s*[-+]?\d+,\d.*", "has a decimal comma", "a decimal point: peukert = 1.2"),
    (
        r"[^=]+=\s*(?i:true|false|yes|no|on|off)\b.*",
        "holds neither true nor false",
        "true or false in small letters, without quotes",
    ),
    (r"[^=]+=\s*[^\"'\s\[{].*", "needs quotes around its value", _EXAMPLE),
    (r".*", "cannot be read", _EXAMPLE),
)

Path = tuple[str | int, ...]
Names = tuple[str, ...]


def parse_toml(text: str, *, file: str) -> tuple[dict, dict[Path, int], list[Problem]]:
    """Parse TOML, with the line of every key.

    Parameters
    ----------
    text : str
        What the file holds.
    file : str
        Its name in messages.

    Returns
    -------
    lines : dict of tuple to int
        Line of each table and key by its path, such as ("panel", 0, "power").
    problems : list of Problem
        None, or the one that ended the reading.
    """
    try:
        return tomllib.loads(text), _key_lines(text), []
    except tomllib.TOMLDecodeError as error:
        return {}, {}, [_syntax_problem(str(error), text, file)]
    except RecursionError:
        return {}, {}, [Problem(file=file, text="brackets are nested too deeply")]
    except ValueError:  # Python's own limit on the digits of a whole number
        return {}, {}, [Problem(file=file, text="a number has thousands of digits")]


def line_at(lines: dict[Path, int], path: Path) -> int | None:
    """Line of a key, or of the nearest table around it."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return None


def header_lines(text: str) -> list[int]:
    """Lines of TOML, known to be valid, on which a [table] or [[table]] begins.

    Examples
    --------
    >>> header_lines("[fuel]\\ntank = '1 L'\\n\\n[[panel]]\\npower = '1 W'")
    [1, 4]
    """
    return [line for line, tokens in _statements(text) if tokens[0] == "["]


def _syntax_problem(complaint: str, text: str, file: str) -> Problem:
    found = re.search(r"at line (\d+)", complaint)
    source = text.rstrip("\n").split("\n")
    line = min(int(found[1]), len(source)) if found else len(source)
    typed = source[line - 1].strip()
    shown = typed if len(typed) <= 60 else f"{typed[:57]}..."
    reasons = [reason for words, *reason in _COMPLAINTS if words in complaint]
    reasons += [reason for slip, *reason in _SLIPS if re.fullmatch(slip, typed, re.DOTALL)]
    sentence, expected = reasons[0]
    return Problem(file=file, line=line, text=f"{shown!r} {sentence}", expected=expected)


def _key_lines(text: str) -> dict[Path, int]:
    """Line of every table and key in TOML that is known to be valid."""
    lines: dict[Path, int] = {}
    lengths: dict[Path, int] = {}  # tables so far in each [[array]]
    table: Path = ()
    for line, tokens in _statements(text):
        if tokens[0] == "[":
            doubled = tokens[1] == "["
            table = path_inside(names_of(tokens), lengths, appending=doubled)
            lines.setdefault(table, line)
            if doubled:
                lines.setdefault(table[:-1], line)
        else:
            path = table + names_of(tokens[: tokens.index("=")])
            for depth in range(len(table) + 1, len(path) + 1):
                lines.setdefault(path[:depth], line)
    return lines


def _statements(text: str) -> Iterator[tuple[int, list[str]]]:
    for line, tokens in statements(text):
        yield line, [token[0] for token in tokens]


def statements(text: str) -> Iterator[tuple[int, list[re.Match[str]]]]:
    """The first line and the tokens of each statement; its value may span lines.

    Parameters
    ----------
    text : str
        Of TOML, known to be valid.
    """
    line, depth, first = 1, 0, 1
    tokens: list[re.Match[str]] = []
    for match in _TOKEN.finditer(text + "\n"):
        token = match[0]
        if token == "\n" and depth == 0:
            if tokens:
                yield first, tokens
            tokens = []
        elif token != "\n" and not token.startswith("#"):
            first = first if tokens else line
            tokens.append(match)
            depth += (token in "[{") - (token in "]}")
        line += token.count("\n")


def names_of(tokens: list[str]) -> Names:
    """The names of a key or a heading, from its tokens.

    Parameters
    ----------
    tokens : list of str
        With or without brackets, dots and the = behind them.
    """
    return tuple(
        token[1:-1] if token[0] in "\"'" else token for token in tokens if token not in "[].="
    )


def path_inside(names: Path, lengths: dict[Path, int], *, appending: bool) -> Path:
    """The path of a [table] or [[table]], with the number of every array on the way.

    Parameters
    ----------
    names : tuple of str
        As its heading has them.
    lengths : dict
        How many tables each array has so far; brought up to date.
    appending : bool
        Whether its brackets are doubled.
    """
    path: Path = ()
    for place, name in enumerate(names, start=1):
        path = (*path, name)
        if appending and place == len(names):
            lengths[path] = lengths.get(path, 0) + 1
        if path in lengths:
            path = (*path, lengths[path] - 1)
    return path
