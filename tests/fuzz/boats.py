"""A boat.toml drawn at random: tables of keys and values, written out as text.

Values are plausible and stay within what a boat may have, so that most of these boats sail; what is
wrong or out of all bounds is put in afterwards, in `spoilt`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

CHEMISTRIES = ("flooded", "gel", "agm", "lifepo4")
_TEMPERATURES = ("bilge", "cabin", "outside", "-4 degC", "12 degC", "outside, at least 2 degC")
_MOUNTS = ("arch", "pushpit", "coachroof", "rail", "hand", "clear")


@dataclass
class BoatFile:
    """The tables of a boat.toml, in order: a heading such as "[battery]" and its keys."""

    tables: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    beside: dict[str, str] = field(default_factory=dict)  # files that it names

    def has(self, heading: str) -> bool:
        """Whether it has such a table."""
        return any(one == heading for one, _ in self.tables)

    def get(self, heading: str) -> dict[str, str]:
        """The first table of that heading."""
        return next(keys for one, keys in self.tables if one == heading)

    def text(self) -> str:
        """The file."""
        lines = ["# Invented by a random draw.", ""]
        for heading, keys in self.tables:
            lines += [heading, *(f"{key} = {value}" for key, value in keys.items()), ""]
        return "\n".join(lines)


def quoted(words: str) -> str:
    """A TOML string."""
    return '"' + words.replace("\\", "\\\\").replace('"', '\\"') + '"'


def drawn_boat(chance, *, depart: str, supplies: list[str]) -> BoatFile:
    """A boat; the names of its supplies are added to the list."""
    boat = BoatFile()
    chemistry, nominal_V = chance.choice(CHEMISTRIES), chance.choice((12, 12, 12, 24, 24, 36, 48))
    boat.tables.append(("[passage]", _passage(chance, depart)))
    if chance.often(0.8):
        names = ("Tern", "an invented boat", "Ærø", "Marie-José", "日本丸", "a 'quoted' \"boat\"")
        boat.tables.append(("[boat]", {"name": quoted(chance.choice(names))}))
    boat.tables.append(("[battery]", _battery(chance, chemistry, nominal_V)))
    _solar(chance, boat, nominal_V)
    _chargers(chance, boat, nominal_V)
    if chance.often(0.8):
        _power(chance, boat, chemistry, nominal_V)
    if chance.often(0.3):
        boat.tables.append(("[shedding]", _shedding(chance)))
    if chance.often(0.3):
        boat.tables.append(("[heavy_weather]", _heavy_weather(chance)))
    for name in ("inverter", "laptop supply")[: chance.choice((0, 0, 1, 2))]:
        supplies.append(name)
        boat.tables.append(("[[supply]]", _supply(chance, name)))
    if chance.often(0.3):
        _devices(chance, boat)
    return boat


def _devices(chance, boat) -> None:
    """Things with batteries of their own, all that draw early at one charge."""
    early = quoted(chance.choice(("60 %", "85 %", "100 %")))
    for name in ("phone", "handheld VHF", "power bank")[: chance.randint(1, 3)]:
        keys = {
            "name": quoted(name),
            "battery": quoted(chance.choice(("12 Wh", "4 Ah at 3.7 V", "90 Wh"))),
            "use": quoted(f"{chance.randint(0, 30)} Wh/day"),
            "when": chance.choice((quoted("surplus"), early)),
        }
        if chance.often(0.5):
            keys["charge"] = quoted(chance.measure(5, 60, "W"))
        boat.tables.append(("[[device]]", keys))


def _some(chance, keys: dict[str, str], share: float = 0.3) -> dict[str, str]:
    """Each of these keys in so many of the draws."""
    return {key: value for key, value in keys.items() if chance.often(share)}


def _passage(chance, depart) -> dict[str, str]:
    keys = {"depart": quoted(depart)}
    if chance.often(0.7):
        keys["name"] = quoted(chance.choice(("a passage", "North, then home", "Örö to Ærø")))
    clocks = ("zone", "UTC", "UTC+10", "UTC-3:30", "UTC+12", "UTC-11")
    return keys | _some(
        chance,
        {
            "ship_time": quoted(chance.choice(clocks)),
            "cloud_model": quoted(chance.choice(("kasten", "reed"))),
            "tack": quoted(chance.choice(("port", "starboard", "both"))),
            "heel": quoted(chance.measure(0, 25, "deg", 0)),
            "motoring": quoted(chance.choice(("2 h at start; 90 min at end", "20 % of calms"))),
            "calm_below": quoted(chance.measure(3, 10, "kn")),
            "units": quoted(
                chance.choice(("US gallons, inches", "imperial gallons and km", "degF, km", "cm"))
            ),
        },
    )


def _battery(chance, chemistry, nominal_V) -> dict[str, str]:
    lithium, scale = chemistry == "lifepo4", nominal_V / 12.0
    capacity_Ah = chance.uniform(60, 600) / scale
    keys = {
        "chemistry": quoted(chemistry),
        "capacity": quoted(chance.spelled(capacity_Ah, "Ah", 0)),
        "nominal": quoted(f"{nominal_V} V"),
    }
    floor = chance.randint(15, 40) if lithium else chance.randint(35, 60)
    own = {
        "health": chance.measure(60, 105, "%", 0),
        "at_departure": f"{chance.choice((100, chance.randint(floor + 1, 100), floor + 10))} %",
        "floor": f"{floor} %",
        "flat": f"{chance.randint(3, floor - 5)} %",
        "cutout": chance.spelled(chance.uniform(10.5, 11.6) * scale, "V"),
        "self_discharge": f"{chance.randint(0, 12)} %",
        "standby": f"{chance.randint(0, 80)} mA",
        "charge_efficiency": chance.measure(80, 100, "%", 0),
        "absorption": chance.spelled(chance.uniform(14.0, 14.4) * scale, "V", 2),
        "float": chance.spelled(chance.uniform(13.3, 13.7) * scale, "V", 2),
        "full_tail": chance.measure(1, 6, "%", 0),
        "cycle_life": "1200 at 30 %; 700 at 50 %; 400 at 80 %",
        "reading": chance.choice(("volts", "monitor")),
        "temperature": chance.choice(_TEMPERATURES),
        "weight": f"{chance.randint(15, 200)} kg",
    }
    if chance.often(0.2):
        keys["capacity_5h"] = quoted(f"{capacity_Ah * chance.uniform(0.75, 0.98):.1f} Ah")
    elif chance.often(0.2):
        keys["peukert"] = chance.choice(("1.05", '"1.2"', "1.3"))
    if not lithium:  # rested volts of its own, within what such banks may have
        low_V, full_V = (scale * chance.uniform(*ends) for ends in ((11.9, 12.4), (12.5, 13.0)))
        own["rested"] = f"{full_V:.2f} V at {chance.choice((98, 100))} %; {low_V:.2f} V at 50 %"
    chosen = _some(chance, own)
    if "flat" in chosen:  # both or neither: by default the floor may lie below it
        chosen["floor"] = own["floor"]
    return keys | {key: quoted(value) for key, value in chosen.items()}


def _solar(chance, boat, nominal_V) -> None:
    count = chance.choice((0, 1, 1, 2, 3))
    controllers = ["aft", "fore"][: chance.choice((1, 1, 2))]
    for place in range(count):
        keys = {
            "name": quoted(f"panel {place + 1}"),
            "power": quoted(chance.measure(20, 250, "W", 0)),
        }
        if len(controllers) > 1:
            keys["controller"] = quoted(chance.choice(controllers))
        mount = chance.choice(_MOUNTS)
        own = {
            "mount": quoted(mount),
            "count": str(chance.randint(1, 3)),
            "tilt": quoted(chance.measure(0, 60, "deg", 0)),
            "bearing": quoted(f"{chance.randint(-180, 360)} deg"),
            "salt": quoted(chance.measure(0, 20, "%", 0)),
            "wiring": quoted(chance.measure(0, 10, "%", 0)),
            "yield": quoted(chance.measure(60, 130, "%", 0)),
            "temp_coefficient": quoted(f"-0.{chance.randint(20, 50)} %/degC"),
        }
        keys |= _some(chance, own)
        if keys.get("mount") != '"hand"' and chance.often(0.2):
            keys["shade"] = (
                '[{ from = "-20 deg", to = "20 deg", below = "50 deg", loss = "80 %" }, '
                '{ from = "200 deg", to = "320 deg", below = "45 deg", side = "lee" }]'
            )
        elif keys.get("mount") == '"hand"':
            keys.pop("tilt", None)
            keys.pop("bearing", None)
        boat.tables.append(("[[panel]]", keys))
    if count and (len(controllers) > 1 or chance.often(0.6)):
        for name in controllers:
            boat.tables.append(("[[controller]]", _controller(chance, name, nominal_V)))


def _controller(chance, name, nominal_V) -> dict[str, str]:
    scale, kind = nominal_V / 12.0, chance.choice(("mppt", "mppt", "pwm"))
    own = {
        "rated": chance.measure(5, 60, "A", 0),
        "idle": f"{chance.randint(0, 60)} mA",
        "absorption": chance.spelled(chance.uniform(14.0, 14.6) * scale, "V", 2),
        "float": chance.spelled(chance.uniform(13.2, 13.8) * scale, "V", 2),
        "temp_comp": chance.choice(("0 mV/degC", "-30 mV/degC", "-24 mV/degC")),
    }
    own |= (
        {"efficiency": "96 %", "wired": chance.choice(("parallel", "series"))}
        if kind == "mppt"
        else {"drop": "0.3 V"}
    )
    chosen = _some(chance, own)
    return {"name": quoted(name), "kind": quoted(kind)} | {
        key: quoted(value) for key, value in chosen.items()
    }


def _chargers(chance, boat, nominal_V) -> None:
    scale = nominal_V / 12.0
    for kind in ("wind", "towed", "shaft", "transom", "shore"):
        if not chance.often(0.15):
            continue
        keys = {"kind": quoted(kind)}
        if kind == "shore":
            keys["rated"] = quoted(chance.measure(5, 40, "A", 0))
            keys |= _some(chance, {"hours": '"18:00-08:00"', "absorption": f'"{14.3 * scale:g} V"'})
            boat.tables.append(("[[charger]]", keys))
            continue
        if chance.often(0.3):
            name, text = f"{kind}-curve.csv", _curve(chance, kind)
            keys["curve"], boat.beside[name] = quoted(name), text
        elif chance.often(0.5):
            keys["diameter"] = quoted("1.1 m" if kind == "wind" else "28 cm")
        keys |= _some(chance, {"regulated": chance.choice(("true", "false")), "wiring": '"5 %"'})
        if kind == "wind":
            keys |= _some(chance, {"height": '"3.5 m"', "wind_angle": '"90 deg"'})
        else:
            keys |= _some(chance, {"from": '"3 kn"', "to": '"8 kn"'})
            keys |= _some(chance, {"motoring": "true"} if kind != "shaft" else {})
        boat.tables.append(("[[charger]]", keys))


def _curve(chance, kind) -> str:
    most_W = chance.uniform(40, 250)
    head = "wind_kn,power_W" if kind == "wind" else "speed_kn,power_W"
    speeds = (7, 12, 18, 25, 35) if kind == "wind" else (2, 4, 5, 6, 8)
    shares = (0.0, 0.15, 0.4, 0.8, 1.0)
    rows = [f"{speed},{most_W * share:.0f}" for speed, share in zip(speeds, shares, strict=True)]
    return "\n".join(["# Invented.", head, *rows, ""])


def _power(chance, boat, chemistry, nominal_V) -> None:
    scale, kW = nominal_V / 12.0, chance.uniform(4, 40)
    keys = {"nameplate": quoted(chance.measure(35, 150, "A", 0))}
    own = {
        "charging": chance.measure(15, 60, "A", 0),
        "motoring": chance.measure(20, 70, "A", 0),
        "voltage": f"{chance.uniform(13.8, 14.4) * scale:.2f} V",
        "cable_drop": f"0.{chance.randint(0, 6)} V",
        "efficiency": chance.measure(45, 70, "%", 0),
        "weight": "6 kg",
    }
    chosen = {key: quoted(value) for key, value in _some(chance, own).items()}
    if "voltage" not in chosen and chance.often(0.3):
        chosen["regulator"] = '"multi-stage"'
        chosen |= _some(chance, {"absorption_time": '"2 h"'})
    chosen |= _some(chance, {"splitter": "true", "battery_sensing": "true"}, 0.15)
    if chance.often(0.92):
        boat.tables.append(("[alternator]", keys | chosen))
    engine = {
        "charging_burn": chance.measure(0.4, 1.2, "L/h", 2),
        "motoring_burn": chance.measure(1.0, 4.0, "L/h", 1),
        "motoring_speed": chance.measure(3, 6, "kn"),
        "rev_share": f"{chance.randint(35, 70)} %",
        "start_battery": chance.choice(("separate", "shared", "hand")),
        "max_heel": f"{chance.randint(8, 25)} deg",
    }
    keys = {"rated": quoted(chance.spelled(kW, "kW"))}
    keys |= {key: quoted(value) for key, value in _some(chance, engine).items()}
    keys |= _some(chance, {"charges_flat_bank": "true", "charging_burn_loaded": "true"}, 0.15)
    boat.tables.append(("[engine]", keys))
    boat.tables += _fuel(chance, boat)
    if chance.often(0.7):
        boat.tables.append(("[charging]", _charging(chance, lithium=chemistry == "lifepo4")))


def _fuel(chance, boat) -> list:
    """[fuel], with or without the tank's shape."""
    keys = _some(
        chance,
        {
            "jerrycans": '"2 x 20 L"',
            "unusable": f'"{chance.randint(0, 12)} %"',
            "reserve": '"8 L"',
            "needle": '"2 L at E; 9 L at 1/2; 20 L at F"',
        },
        0.5,
    )
    kind = chance.choice(("plain", "plain", "box", "wedge", "cylinder", "table", "parts"))
    if kind == "plain":
        return [("[fuel]", {"tank": quoted(chance.measure(25, 150, "L", 0))} | keys)]
    shapes = {
        "box": {"shape": '"box"', "length": '"80 cm"', "width": '"50 cm"', "height": '"24 cm"'},
        "wedge": {
            "shape": '"wedge"', "length": '"90 cm"', "width": '"55 cm"', "height": '"27 cm"',
            "bottom": quoted(chance.choice(("0 cm", "15 cm"))),
        },
        "cylinder": {"shape": '"cylinder"', "length": '"1.1 m"', "diameter": '"34 cm"'},
    }  # fmt: skip
    if kind == "table":
        boat.beside["tank.csv"] = "depth_cm,litres\n0,1\n5,9\n10,21\n20,52\n"
        return [("[fuel]", keys), ("[fuel.tank]", {"table": '"tank.csv"'})]
    if kind == "parts":
        parts = [("[[fuel.tank.part]]", dict(shapes[one])) for one in ("box", "wedge")]
        parts[1][1]["above"] = '"24 cm"'
        return [("[fuel]", keys), *parts]
    more = _some(chance, {"above": '"2 cm"', "rolling": '"1.5 cm"', "wet": '"0 cm"'})
    return [("[fuel]", keys), ("[fuel.tank]", shapes[kind] | more)]


def _charging(chance, *, lithium) -> dict[str, str]:
    start = chance.randint(35, 60) if lithium else chance.randint(60, 78)
    ends = {
        "stop": f'"{chance.randint(start + 4, 95)} %"',
        "run": quoted(chance.choice(("2 h", "75 min", "3 h"))),
        "stop_below": quoted(chance.measure(3, 25, "A", 0)),
    }
    end = chance.choice(sorted(ends))
    keys = {"start": f'"{start} %"', end: ends[end]}
    times = ("[]", '["06:00"]', '["05:30", "12:00", "18:00"]', '["18:15", "00:00"]')
    own = {
        "read_at": chance.choice(times),
        "little_sun": '"20 Ah"',
        "full_longest": '"6 h"',
        "by_engine": chance.choice(("true", "true", "false")),
        "shortest": '"30 min"',
        "longest": quoted(chance.choice(("2 h", "4 h", "90 min"))),
        "full_every": quoted(chance.choice(("never", "3 days", "14 days"))),
    }
    if chance.often(0.2):
        runs = ('["1 h at 08:00"]', '["45 min at 08:30 north of 20 N", "1 h at 18:00"]')
        keys |= {"daily": chance.choice(runs)}
    elif chance.often(0.3):
        hours = ("06:00-10:00", "22:00-06:00", "00:00-24:00")
        keys |= {"hours": quoted(chance.choice(hours))}
    return keys | _some(chance, own)


def _shedding(chance) -> dict[str, str]:
    return {"comfort_below": quoted(chance.measure(50, 70, "%", 0))} | _some(
        chance, {"useful_below": '"45 %"', "restore_above": '"6 %"'}, 0.5
    )


def _heavy_weather(chance) -> dict[str, str]:
    return _some(
        chance,
        {
            "lie_to_above": quoted(chance.measure(15, 40, "kn", 0)),
            "lie_to": quoted(chance.choice(("hove-to", "drifting"))),
            "no_engine_above": quoted(chance.measure(12, 40, "kn", 0)),
            "spray_above": quoted(chance.measure(10, 30, "kn", 0)),
            "spray_yield": quoted(chance.measure(0, 100, "%", 0)),
            "rough_above": quoted(chance.measure(10, 24, "kn", 0)),
            "rough_pilot": quoted(chance.measure(50, 250, "%", 0)),
            "very_rough_above": quoted(chance.measure(25, 40, "kn", 0)),
            "sea_lasts": quoted(chance.measure(0, 24, "h", 0)),
        },
        0.6,
    )


def _supply(chance, name) -> dict[str, str]:
    return {"name": quoted(name)} | _some(
        chance,
        {
            "efficiency": quoted(chance.measure(75, 95, "%", 0)),
            "idle": quoted(chance.measure(0, 10, "W")),
            "output": quoted(chance.choice(("19 V", "230 V", "115 V"))),
            "left_on": chance.choice(("true", "false")),
        },
        0.5,
    )
