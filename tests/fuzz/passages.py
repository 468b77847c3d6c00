"""A whole passage folder drawn at random: a case of the fuzz, known by its seed and number."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from fuzz import spoil
from fuzz.beside import drawn_logger, drawn_trial
from fuzz.boats import BoatFile, drawn_boat
from fuzz.chance import Chance
from fuzz.loads import drawn_loads
from fuzz.logs import drawn_log
from fuzz.routes import Route, as_gpx, drawn_route
from fuzz.tables import Table
from fuzz.weathers import drawn_grib, drawn_light

#: How many of the cases are left whole; the others are spoilt, gently or not.
WHOLE, EXTREME = 0.55, 0.85


@dataclass
class Drawn:
    """A passage before it is written.

    `spoilt` says what was done to it; `whole` is true where all its values are plausible, and
    `sound` where none of its files should be refused.
    """

    boat: BoatFile
    loads: Table
    route: Route
    log: Table
    now: str
    depart: datetime
    spoilt: str = ""
    files: dict[str, bytes] = field(default_factory=dict)
    light: str = ""
    grib: str = ""

    def write(self, folder: Path) -> None:
        """Put its files into a new folder."""
        folder.mkdir(parents=True)
        for name, content in self.files.items():
            (folder / name).write_bytes(content)


def case_of(seed: int, number: int) -> tuple[Chance, Drawn]:
    """One case, and the chance that goes on to draw its commands."""
    chance = Chance(f"{seed}-{number}")
    depart = datetime(2026, 1, 1) + timedelta(hours=chance.randrange(24 * 365 * 3))
    if chance.often(0.1):
        depart = chance.choice((datetime(2027, 12, 30, 20), datetime(2028, 2, 28, 6)))
    supplies: list[str] = []
    boat = drawn_boat(chance, depart=f"{depart:%Y-%m-%d %H:%M}", supplies=supplies)
    engine = boat.has("[engine]")
    route = drawn_route(chance, engine=engine)
    nominal_V = float(boat.get("[battery]")["nominal"].strip('"').split()[0])
    shaped = boat.has("[fuel.tank]") or boat.has("[[fuel.tank.part]]")
    tank = ("shape" if shaped else "litres") if engine else ""
    log, now = drawn_log(chance, route=route, depart=depart, nominal_V=nominal_V, tank=tank)
    passage = Drawn(boat, drawn_loads(chance, supplies=supplies), route, log, now, depart)
    _finish(chance, passage)
    return chance, passage


def _finish(chance, passage) -> None:
    """Spoil it or not, and make its files."""
    fate = chance.random()
    if WHOLE <= fate < EXTREME:
        passage.spoilt = "extreme: " + spoil.extreme_values(chance, passage)
    elif fate >= EXTREME:
        spoiler = chance.choice((spoil.strange_value, spoil.rows_moved, None))
        if spoiler is not None:
            passage.spoilt = f"{spoiler.__name__}: {spoiler(chance, passage)}"
    _make_files(chance, passage)
    if fate >= EXTREME and not passage.spoilt:
        passage.spoilt = "bytes: " + spoil.bytes_changed(chance, passage.files)


def _make_files(chance, passage) -> None:
    boat, files = passage.boat, passage.files
    by_gpx = chance.often(0.1)
    if by_gpx:
        if boat.has("[passage]"):
            boat.get("[passage]")["speed"] = f'"{passage.route.speed_kn:.1f} kn"'
        files["route.gpx"] = as_gpx(passage.route, chance).encode()
    else:
        files["route.csv"] = passage.route.table.text().encode()
    files["boat.toml"] = boat.text().encode()
    files["loads.csv"] = passage.loads.text().encode()
    files["log.csv"] = passage.log.text().encode()
    files |= {name: text.encode() for name, text in boat.beside.items()}
    if chance.often(0.15):
        passage.light = "light.csv"
        light = drawn_light(
            chance, depart=passage.depart, days=passage.route.days,
            lon_deg=passage.route.places[0][1],
        )  # fmt: skip
        files[passage.light] = light.text().encode()
    if chance.often(0.15):
        files["trial.csv"] = drawn_trial(chance, loads=passage.loads).text().encode()
    if chance.often(0.15):
        lon_deg = passage.route.places[0][1]
        logger = drawn_logger(chance, depart=passage.depart, lon_deg=lon_deg)
        files["logger.csv"] = logger.text().encode()
    if chance.often(0.06):
        grib = drawn_grib(chance, depart=passage.depart, places=passage.route.places)
        if grib is not None:
            passage.grib, files["cloud.grib"] = "cloud.grib", grib
