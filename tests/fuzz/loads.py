"""A loads.csv drawn at random."""

from __future__ import annotations

from fuzz.tables import Table

HEADS = ["load", "draw", "standby", "count", "when", "window", "on", "temp", "fuel", "role",
         "priority", "supply", "spread", "note"]  # fmt: skip
WHEN = ("", "any", "sailing", "sailing;motoring", "anchored;berthed", "hove-to; drifting",
        "sailing; not hove-to", "not berthed")  # fmt: skip
#: Name, watts at most, role, priority.
_KINDS = (
    ("masthead tricolour", 4, "sailing lights", "essential"),
    ("steaming lights", 12, "power lights", "essential"),
    ("anchor light", 3, "anchor light", "essential"),
    ("vhf", 8, "vhf", "essential"),
    ("ais", 4, "lookout", "essential"),
    ("bilge pump", 60, "bilge pump", "essential"),
    ("pilot", 50, "pilot", "useful"),
    ("instruments", 6, "navigation", "useful"),
    ("satellite phone", 10, "comms", "essential"),
    ("fridge", 60, "", "comfort"),
    ("cabin heater", 20, "", "useful"),
    ("laptop", 60, "navigation", "useful"),
    ("kettle", 700, "", "comfort"),
    ("lámpara de lectura", 5, "", "comfort"),
    ("charger; phones, tablets", 15, "", "comfort"),
)


def drawn_loads(chance, *, supplies) -> Table:
    """Some loads, each once."""
    count = chance.choice((1, 3, 5, 8, 12))
    rows = [_row(chance, kind, supplies) for kind in chance.sample(_KINDS, count)]
    table = Table(list(HEADS), rows)
    if chance.often(0.3):
        table = table.without_empty_columns()
    table.separator = chance.choice((",", ",", ",", ";", "\t"))
    return table


def _row(chance, kind, supplies) -> list[str]:
    name, most_W, role, priority = kind
    watts = chance.uniform(0.1, 1.0) * most_W
    heavy = most_W > 100
    draw = chance.spelled(watts, "W") if chance.often(0.7) else chance.spelled(watts / 12.5, "A", 2)
    window = chance.choice(("", "", "always", "night", "day", "06:00-09:00; 17:00-22:00"))
    on = "2 min/day" if heavy else chance.choice(
        ("", f"{chance.randint(0, 100)} %", f"{chance.randint(1, 4)} h/day", "25 min/day")
    )  # fmt: skip
    if window == "" and on == "" and chance.often(0.5):
        on = "20 %"
    cells = {
        "load": name,
        "draw": draw,
        "standby": chance.choice(("", "", "0.3 W", "20 mA")),
        "count": chance.choice(("", "", "1", "2", "0")),
        "when": chance.choice(WHEN),
        "window": window,
        "on": on,
        "temp": {"fridge": "fridge", "cabin heater": "heater"}.get(name, ""),
        "fuel": "0.12 L/h" if name == "cabin heater" and chance.often(0.4) else "",
        "role": role if chance.often(0.8) else "",
        "priority": priority if chance.often(0.8) else "",
        "supply": chance.choice(("", "dc", *supplies)) if draw.endswith("W") else "",
        "spread": chance.choice(("", "10 %", "50 %")),
        "note": chance.choice(("", "measured", "a note, with a comma")),
    }
    return [cells[head] for head in HEADS]
