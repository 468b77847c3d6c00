"""The boat with a bank of another chemistry: what the same boat.toml would say with that word."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from powersim.errors import InputError, refused
from powersim.inputs.boat import KEYS_OF
from powersim.inputs.boat_alternator import read_alternator
from powersim.inputs.boat_battery import read_battery
from powersim.inputs.boat_charging import read_charging
from powersim.inputs.folder import BOAT_FILE
from powersim.inputs.set_values import set_in_document
from powersim.inputs.text import read_text
from powersim.inputs.toml_keys import shown
from powersim.inputs.toml_lines import parse_toml
from powersim.inputs.toml_table import Sheet
from powersim.records import Boat, Passage

#: What is the boat's, or a habit, and not the old bank's.
_KEPT_OF_BATTERY = ("capacity", "nominal", "at_departure", "reading", "temperature")
#: Levels of charge of the old bank, which mean something else on the new one.
_LEVELS = ("start", "stop", "full_every")
#: Keys that were set with the old bank in mind, and stay as the sailor wrote them.
_SETTINGS = {
    "controller": ("absorption", "float", "temp_comp"),
    "charger": ("absorption", "float", "temp_comp"),
    "alternator": ("charging", "motoring", "voltage", "absorption", "float", "temp_comp"),
    "shedding": ("comfort_below", "useful_below"),
}


def boats_of(
    passage: Passage, chemistries: Sequence[str]
) -> tuple[dict[str, Boat], tuple[str, ...]]:
    """The boat as she is, and with a bank of each of some chemistries.

    Parameters
    ----------
    passage : Passage
        Read from a folder.
    chemistries : sequence of str
        Of records.CHEMISTRIES.

    Returns
    -------
    boats : dict of str to Boat
        By chemistry, her own first.
    stays : tuple of str
        As `boat_of_chemistry` has it; empty if there is none but her own.

    Raises
    ------
    InputError
        If what stays does not go with a chemistry.
    """
    boats = {passage.boat.battery.chemistry: passage.boat}
    stays: tuple[str, ...] = ()
    for name in chemistries:
        if name not in boats:
            boats[name], stays = boat_of_chemistry(passage, name)
    return boats, stays


def boat_of_chemistry(passage: Passage, chemistry: str) -> tuple[Boat, tuple[str, ...]]:
    """The boat as boat.toml has her, but with a bank of another chemistry.

    Returns
    -------
    boat : Boat
        Capacity, nominal voltage, charge at departure and the way of reading are kept. All else of
        the bank, and the charge at which the engine starts and stops, is the new chemistry's
        default; and so is what was left to default of alternator and chargers.
    stays : tuple of str
        Settings that the sailor wrote and that stay, such as "controller.absorption = 14.4 V".

    Raises
    ------
    InputError
        If what stays does not go with the new chemistry.
    ValueError
        If the passage was read from no folder.
    """
    if passage.folder is None:
        raise ValueError("another chemistry is read from boat.toml: load the passage from a folder")
    path = Path(passage.folder) / BOAT_FILE
    document, lines, problems = parse_toml(read_text(path), file=str(path))
    if problems:  # somebody has changed it since
        raise InputError(problems)
    asked = set_in_document(document, dict(passage.values), keys=KEYS_OF)
    if asked.problems:
        raise InputError(asked.problems)
    document, places = asked.document, asked.places
    stays = tuple(_settings(document, passage.boat))
    given = document.get("battery", {})
    kept = {name: given[name] for name in _KEPT_OF_BATTERY if name in given}
    changed = document | {"battery": kept | {"chemistry": chemistry}}
    if "charging" in document:
        habits = document["charging"].items()
        changed["charging"] = {name: value for name, value in habits if name not in _LEVELS}
    sheet = Sheet(file=str(path), document=changed, lines=asked.lines(lines), places=places)
    battery = read_battery(sheet)
    alternator = read_alternator(sheet, battery)
    charging = read_charging(sheet, battery, passage.boat.engine, alternator)
    if sheet.problems or battery is None or charging is None:
        raise InputError(sheet.problems)
    try:
        boat = replace(passage.boat, battery=battery, alternator=alternator, charging=charging)
    except ValueError as error:  # a setpoint of a controller or charger that stays
        expected = f"settings that go with {chemistry} too, or none, for its own"
        raise refused(str(path), str(error), expected) from None
    return boat, stays


def _settings(document, boat):
    """What the sailor wrote of the settings, one text each."""
    # Names as read: a charger without one is called by its kind.
    named = {"controller": boat.controllers, "charger": boat.chargers}
    for name, keys in _SETTINGS.items():
        found = document.get(name, {})
        for number, table in enumerate(found if isinstance(found, list) else [found]):
            several = len(found) > 1 and isinstance(found, list)
            which = f" of {named[name][number].name}" if several else ""
            for key in keys:
                if key in table:
                    value = table[key]
                    text = value if isinstance(value, str) else shown(value)
                    yield f"{name}.{key}{which} = {text}"
