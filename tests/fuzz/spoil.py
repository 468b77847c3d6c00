"""What goes wrong with files: one value out of bounds, a row gone, an encoding, bytes turned over.

Each spoiler changes a drawn passage, or the bytes of its files, and gives a word for what it did.
"""

from __future__ import annotations

import re

#: Values that a tired hand, a spreadsheet or a wrong unit leaves in a cell or behind a key.
STRANGE = (
    "", "-", "?", "0", "-1", "nan", "inf", "1e308 W", "9" * 400, "12,5 W", "1.234,5 Ah", "12.5",
    "O.5 A", "5 furlongs", "3 m", "300 %", "-5 %", "0 %", "100 %", "0.001 W", "19 kW", "5 mW",
    "1 min", "400 days", "0 A", "1 h/day", "25 h/day", "90 deg", "-400 deg", "20 V", "0 V", "1 V",
    "59 V", "2000 A", "0.1 Ah", "99999 Ah", "0.2 kn", "39 kn", "90 N 180 E", "-90, 180",
    "0 N 0 E", "12 30 S 200 00 E", "always", "night", "sailing", "comfort", "lifepo4", "berthed",
    "dc", "none", "\u2028", "\x00", "\x1b[31m", "☠", '"', "#", "=1+1", "true", "never",
    "1950-01-01", "2100-12-31 23:59", "2028-02-29 12:00", "tomorrow", " ", "½ L", "5 %  ",
)  # fmt: skip
#: Extremes that files may well hold, so that the whole of a command has to bear them.
EXTREME = (
    ("[battery]", "capacity", ("5 Ah", "20 Ah", "5000 Ah", "100000 Ah")),
    ("[battery]", "health", ("5 %", "120 %")),
    ("[battery]", "at_departure", ("0 %", "1 %", "50 %", "100 %")),
    ("[battery]", "self_discharge", ("0 %", "99 %")),
    ("[battery]", "standby", ("0 A", "2 A")),
    ("[battery]", "charge_efficiency", ("30 %", "100 %")),
    ("[battery]", "full_tail", ("0.1 %", "100 %")),
    ("[battery]", "peukert", ("1", "1.9")),
    ("[[panel]]", "power", ("0.5 W", "5 kW")),
    ("[[panel]]", "count", (0, 40)),
    ("[[panel]]", "yield", ("1 %", "300 %")),
    ("[[panel]]", "salt", ("0 %", "95 %")),
    ("[[controller]]", "idle", ("0 A", "2 A")),
    ("[[controller]]", "rated", ("0.5 A", "500 A")),
    ("[alternator]", "charging", ("0 A", "1 A", "400 A")),
    ("[alternator]", "efficiency", ("5 %", "100 %")),
    ("[alternator]", "cable_drop", ("0 V", "3 V")),
    ("[engine]", "rated", ("0.5 kW", "2000 kW")),
    ("[engine]", "charging_burn", ("0.01 L/h", "300 L/h")),
    ("[engine]", "rev_share", ("5 %", "100 %")),
    ("[fuel]", "aboard", ("9 L", "10 L")),
    ("[fuel]", "reserve", ("0 L",)),
    ("[fuel]", "unusable", ("0 %", "95 %")),
    ("[charging]", "shortest", ("1 min", "80 min")),
    ("[charging]", "longest", ("30 min", "24 h")),
    ("[charging]", "start", ("1 %", "60 %")),
    ("[charging]", "stop", ("99 %", "100 %")),
    ("[charging]", "full_every", ("1 h", "1 day")),
    ("[charging]", "hours", ("08:00-20:01", "00:00-24:00")),
    ("[shedding]", "comfort_below", ("100 %", "46 %")),
    ("[heavy_weather]", "no_engine_above", ("5 kn", "120 kn")),
    ("[heavy_weather]", "lie_to_above", ("5 kn", "120 kn")),
    ("[heavy_weather]", "sea_lasts", ("0 h", "72 h")),
    ("[[supply]]", "efficiency", ("1 %", "100 %")),
    ("[[supply]]", "idle", ("0 W", "2000 W")),
)
_EXTREME_DRAWS = ("0 W", "0.01 W", "3000 W", "15 kW", "400 A", "0 A", "2000 A")


def extreme_values(chance, passage) -> str:
    """One to three values as small or as large as they may be."""
    told = []
    for _ in range(chance.randint(1, 3)):
        if passage.loads.rows and chance.often(0.25):
            row = chance.choice(passage.loads.rows)
            row[passage.loads.heads.index("draw")] = draw = chance.choice(_EXTREME_DRAWS)
            told.append(f"a load of {draw}")
            continue
        heading, key, values = chance.choice(EXTREME)
        if passage.boat.has(heading):
            value = chance.choice(values)
            passage.boat.get(heading)[key] = str(value) if isinstance(value, int) else f'"{value}"'
            told.append(f"{heading} {key} {value}")
    return ", ".join(told) or "nothing"


def strange_value(chance, passage) -> str:
    """One value of boat.toml, or one cell of a table, replaced by a strange one."""
    value = chance.choice(STRANGE)
    tables = [table for table in (passage.loads, passage.route.table, passage.log) if table.rows]
    if chance.often(0.5) or not tables:
        heading, keys = chance.choice(passage.boat.tables)
        key = chance.choice([*keys, "misspelled"])
        keys[key] = chance.choice((f'"{value}"', value, "1", "true", "[]"))
        return f"{heading} {key} = {value!r}"
    table = chance.choice(tables)
    row, at = chance.choice(table.rows), chance.randrange(len(table.heads))
    row[at] = value
    return f"{table.heads[at]} {value!r}"


def rows_moved(chance, passage) -> str:
    """A row left out, written twice, cut short or swapped; a head misspelled; a table twice."""
    tables = [table for table in (passage.loads, passage.route.table, passage.log) if table.rows]
    table = chance.choice(tables)
    what = chance.choice(("drop", "double", "cut", "swap", "head", "all gone", "boat"))
    row = chance.randrange(len(table.rows))
    if what == "drop":
        del table.rows[row]
    elif what == "double":
        table.rows.insert(row, list(table.rows[row]))
    elif what == "cut":
        table.rows[row] = table.rows[row][: chance.randrange(len(table.heads))]
    elif what == "swap":
        table.rows.reverse()
    elif what == "head":
        table.heads[chance.randrange(len(table.heads))] = chance.choice(("drw", "lat", "load", ""))
    elif what == "all gone":
        table.rows.clear()
    else:
        at = chance.randrange(len(passage.boat.tables))
        chance.choice(
            (
                passage.boat.tables.pop,
                lambda at: passage.boat.tables.append(passage.boat.tables[at]),
            )
        )(at)
    return what


def bytes_changed(chance, files: dict[str, bytes]) -> str:
    """Another encoding, other line ends, decimal commas, a torn file, some bytes turned over."""
    name = chance.choice(sorted(files))
    content = files[name]
    what = chance.choice(("bom", "crlf", "cr", "latin-1", "utf-16", "comma", "torn", "flip",
                          "empty", "notes", "spaces", "nul", "missing"))  # fmt: skip
    if what == "missing":
        del files[name]
        return f"{name} missing"
    text = content.decode("utf-8", "replace")
    files[name] = {
        "bom": lambda: b"\xef\xbb\xbf" + content,
        "crlf": lambda: content.replace(b"\n", b"\r\n"),
        "cr": lambda: content.replace(b"\n", b"\r"),
        "latin-1": lambda: text.encode("latin-1", "replace"),
        "utf-16": lambda: text.encode("utf-16"),
        "comma": lambda: re.sub(r"(\d)\.(\d)", r"\1,\2", text).encode(),
        "torn": lambda: content[: chance.randrange(len(content) + 1)],
        "flip": lambda: _flipped(chance, content),
        "empty": lambda: b"",
        "notes": lambda: b"# a note\n\n" + content + b"\n# another\n\n",
        "spaces": lambda: content.replace(b",", b" , "),
        "nul": lambda: content[:40] + b"\x00" + content[40:],
    }[what]()
    return f"{name} {what}"


def _flipped(chance, content: bytes) -> bytes:
    turned = bytearray(content)
    for _ in range(chance.randint(1, 4)):
        if turned:
            turned[chance.randrange(len(turned))] = chance.randrange(256)
    return bytes(turned)
