"""Values drawn at random to be set in place of what a drawn passage's files say, or taken out."""

from __future__ import annotations

import json
from datetime import timedelta

from fuzz.spoil import EXTREME, STRANGE

#: A place as typed, and what it is to be: text, None to take it out, or a table of texts.
Change = tuple[str, object]

_LOAD_CELLS = {
    "draw": ("12 W", "0.4 A", "250 W", "0 W", "3 kW"),
    "on": ("0 %", "100 %", "3 h/day", "10 min/day"),
    "count": ("0", "1", "2", "3"),
    "standby": ("0.2 W", ""),
    "window": ("night", "06:00-09:00", "always"),
    "when": ("any", "sailing", "sailing;motoring", "berthed"),
    "priority": ("comfort", "essential"),
    "spread": ("0 %", "60 %"),
    "note": ("a guess, with a comma", 'says "so"', "# none"),
}
_KEYS = {
    "[battery]": {
        "capacity": ("80 Ah", "330 Ah", "1,5 Ah"),
        "floor": ("30 %", "55 %"),
        "at_departure": ("60 %", "100 %"),
        "health": ("70 %", "100 %"),
        "temperature": ("cabin", "-3 degC"),
        "reading": ("volts", "monitor"),
    },
    "[[panel]]": {"power": ("30 W", "180 W"), "count": ("0", "2"), "mount": ("rail", "arch")},
    "[[controller]]": {"kind": ("pwm", "mppt"), "idle": ("5 mA",)},
    "[[charger]]": {"wiring": ("3 %",)},
    "[alternator]": {"charging": ("20 A", "70 A"), "nameplate": ("60 A",)},
    "[engine]": {"charging_burn": ("0.5 L/h", "1.1 L/h"), "start_battery": ("shared", "hand")},
    "[fuel]": {"reserve": ("0 L", "15 L"), "jerrycans": ("1 x 20 L", "3 x 10 L")},
    "[charging]": {
        "start": ("55 %", "80 %"),
        "run": ("90 min",),
        "stop": ("90 %",),
        "full_every": ("never", "7 days"),
        "read_at": ("[]", '["06:00", "18:00"]'),
        "by_engine": ("true", "false"),
    },
    "[shedding]": {"comfort_below": ("55 %",)},
    "[heavy_weather]": {"lie_to_above": ("25 kn",), "no_engine_above": ("20 kn", "34 kn")},
    "[[supply]]": {"efficiency": ("80 %",), "idle": ("3 W",)},
    "[passage]": {"calm_below": ("4 kn",), "heel": ("12 deg",), "speed": ("4.5 kn",)},
}
_WRONG = ("battery", "battery.capacityy", "loads", "loads.nobody.draw", "panel.nowhere.power",
          "passage.depart.x", "loads..draw", "", ".", "route.speed", "battery.capacity.more",
          "loads.vhf", 'loads."vhf', "charging.daily", "crew", "panel", "engine")  # fmt: skip
_NEW_LOAD = {"draw": "35 W", "on": "2 h/day", "when": "any"}
_NEW_PANEL = {"power": "100 W", "mount": "rail"}


def drawn_changes(chance, passage, *, most: int = 4) -> list[Change]:
    """One to so many changes, mostly of what the files have and mostly possible."""
    kinds = (_of_load, _of_load, _load_off, _of_boat, _of_boat, _of_boat, _extreme, _table_out,
             _departure, _added, _strange)  # fmt: skip
    found: dict[str, Change] = {}
    for _ in range(chance.randint(1, most)):
        place, value = chance.choice(kinds)(chance, passage)
        found[" ".join(place.replace('"', "").casefold().split())] = place, value  # each place once
    return list(found.values())


def as_options(changes: list[Change]) -> list[str]:
    """The same as `--set` and `--without` take it."""
    given = []
    for place, value in changes:
        if value is None:
            given += ["--without", place]
        elif isinstance(value, dict):
            inside = ", ".join(f"{key} = {json.dumps(held)}" for key, held in value.items())
            given += ["--set", f"{place}={{{inside}}}"]
        else:
            given += ["--set", f"{place}={value}"]
    return given


def alternatives(chance, passage) -> list[str]:
    """A few changes as `compare` takes them: two values of a place, a range, a thing left off."""
    changes = drawn_changes(chance, passage, most=2)
    given = as_options([one for one in changes if one[0] != "passage.depart"])  # has its own option
    if chance.often(0.3):
        given += ["--set", f"battery.capacity={chance.choice(('100:300:100Ah', '200 Ah'))}"]
    return given


def _of_load(chance, passage) -> Change:
    place, column = _load(chance, passage), chance.choice(sorted(_LOAD_CELLS))
    return f"{place}.{column}", chance.choice(_LOAD_CELLS[column])


def _load_off(chance, passage) -> Change:
    return _load(chance, passage), None


def _load(chance, passage) -> str:
    """The place of a load, now and then with other blanks and letters than in the file."""
    at = passage.loads.heads.index("load") if "load" in passage.loads.heads else 0
    names = [row[at] for row in passage.loads.rows if len(row) > at and row[at]]
    name = chance.choice(names or ["vhf"])
    if chance.often(0.2):
        name = name.upper() if chance.often(0.5) else name.replace(" ", "  ")
    return f'loads."{name}"' if "." in name or chance.often(0.1) else f"loads.{name}"


def _of_boat(chance, passage) -> Change:
    heading, place = _table(chance, passage)
    keys = _KEYS.get(heading) or {"name": ("another",)}
    key = chance.choice(sorted(keys))
    return f"{place}.{key}", chance.choice(keys[key])


def _extreme(chance, passage) -> Change:
    """What a value may be at most or at least, told of a table that is there."""
    heading, key, values = chance.choice([one for one in EXTREME if passage.boat.has(one[0])])
    places = [place for one, place in _tables(passage) if one == heading]
    return f"{chance.choice(places)}.{key}", str(chance.choice(values))


def _table_out(chance, passage) -> Change:
    return _table(chance, passage)[1], None


def _departure(chance, passage) -> Change:
    later = passage.depart + timedelta(
        days=chance.choice((-3, 1, 7, 30)), hours=chance.choice((0, 5))
    )
    return "passage.depart", f"{later:%Y-%m-%d %H:%M}"


def _added(chance, passage) -> Change:
    return chance.choice(
        (
            ("loads.coffee grinder", _NEW_LOAD),
            ("loads.no; comma, here", _NEW_LOAD),
            ("panel.on deck", _NEW_PANEL),
            ("shedding", {"comfort_below": "60 %"}),
            ("heavy_weather", {"lie_to_above": "24 kn", "no_engine_above": "22 kn"}),
            ("heavy_weather.spray_above", "18 kn"),
            (_load(chance, passage), _NEW_LOAD),  # in place of what is there
        )
    )


def _strange(chance, passage) -> Change:
    """A place that is none, or a value that cannot be."""
    if chance.often(0.5):
        return chance.choice(_WRONG), chance.choice(("1", "300 Ah", None))
    place = chance.choice((_of_load, _of_boat))(chance, passage)[0]
    return place, "".join(sign for sign in chance.choice(STRANGE) if sign != "\0")


def _table(chance, passage) -> tuple[str, str]:
    return chance.choice(_tables(passage) or [("[battery]", "battery")])


def _tables(passage) -> list[tuple[str, str]]:
    """Heading and place of every table that can be named."""
    found = []
    for heading, keys in passage.boat.tables:
        bare = heading.strip("[]")
        if bare.startswith("fuel."):
            continue
        if heading.startswith("[["):
            name = (keys.get("name") or keys.get("kind") or '""').strip('"')
            found.append((heading, f"{bare}.{name}"))
        else:
            found.append((heading, bare))
    return found
