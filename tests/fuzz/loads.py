"""A loads.csv drawn at random."""

from __future__ import annotations

from fuzz.tables import Table

HEADS = ["load", "draw", "standby", "count", "when", "window", "on", "often", "each", "failed",
         "with", "temp", "fuel", "role", "priority", "supply", "spread", "note"]  # fmt: skip
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
    kinds = chance.sample(_KINDS, count)
    beside = [name for name, *_ in kinds if ";" not in name] + list(supplies)
    rows = [_row(chance, kind, supplies, beside) for kind in kinds]
    table = Table(list(HEADS), rows)
    if chance.often(0.3):
        table = table.without_empty_columns()
    table.separator = chance.choice((",", ",", ",", ";", "\t"))
    return table


def _row(chance, kind, supplies, beside) -> list[str]:
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
    } | dict.fromkeys(("often", "each", "failed", "with"), "")
    if role == "comms" or (not cells["temp"] and chance.often(0.1)):
        cells |= _session(chance, [one for one in beside if one != name])
    return [cells[head] for head in HEADS]


def _session(chance, beside) -> dict[str, str]:
    """A load that is used so many times a day, for some minutes each."""
    sized = chance.often(0.5)
    each = chance.choice(("2 min", "90 s", "1 min + 0.3 kB/s", "2.4 kbit/s"))
    if not sized and "/s" in each:
        each = "3 min"
    return {
        "on": "",
        "often": chance.choice(("3 messages/day", "2 a day", "1 weather chart/week", "20/day"))
        + (" of 30 kB" if sized else ""),
        "each": each,
        "failed": chance.choice(("", "0 %", "20 %")),
        "with": "; ".join(chance.sample(beside, chance.randint(0, min(len(beside), 2)))),
        "window": chance.choice(("", "always", "06:00-09:00; 17:00-22:00")),
    }
