"""The [[panel]] and [[controller]] tables: stickers, where they stand, what shades them."""

from __future__ import annotations

from powersim.inputs.boat_battery import settle_setpoints
from powersim.inputs.text import ReadingError, did_you_mean, quoted
from powersim.inputs.toml_keys import (
    NAME,
    WEIGHT,
    Key,
    Kind,
    choice,
    number,
    quantity,
    share,
    shown,
    written,
)
from powersim.inputs.toml_table import Sheet, Table, record_defaults, refuse_doubles
from powersim.records import (
    CONTROLLERS,
    LEAST_MPPT_FRAC,
    MOUNTS,
    Battery,
    Controller,
    Panel,
    ShadeSector,
    panel_of,
)

_VOLTAGE = quantity("V", above=0.0, most=1000.0)
_CURRENT = quantity("A", above=0.0, most=1000.0)
_BEARING = quantity("deg", least=-360.0, most=360.0)
_HEIGHT = quantity("deg", least=0.0, most=90.0)
_SHADE_EXAMPLE = '{ from = "200 deg", to = "320 deg", below = "60 deg" }'


def _list_of_tables(value) -> list[dict]:
    if not isinstance(value, list) or not all(isinstance(one, dict) for one in value):
        raise ReadingError(f"{shown(value)} does not hold sectors")
    return value


SHADE_KEYS = (
    Key(
        "from",
        "from_deg",
        _BEARING,
        "a bearing from the bow, clockwise, for example 200 deg",
        required=True,
    ),
    Key(
        "to",
        "to_deg",
        _BEARING,
        "a bearing from the bow, clockwise, for example 320 deg",
        required=True,
    ),
    Key(
        "below",
        "below_deg",
        _HEIGHT,
        "the height up to which the shade reaches, for example 60 deg",
        required=True,
    ),
    Key(
        "loss",
        "loss_frac",
        share(),
        "share of the light from there that is lost, for example 100 %",
    ),
    Key(
        "side",
        "side",
        choice("fixed", "lee"),
        '"fixed", or "lee" for sails: given for the starboard tack, mirrored on port',
    ),
)
PANEL_KEYS = (
    Key("name", "name", NAME, 'what you call it, for example "port"'),
    Key(
        "power",
        "power_W",
        quantity("W", least=1.0, most=10_000.0),
        "the sticker's power of one panel, for example 100 W",
        required=True,
        usual=(5.0, 800.0),
    ),
    Key(
        "count",
        "count",
        number(least=0, most=1000, whole=True),
        "how many of them, for example 2",
        usual=(0, 20),
    ),
    Key("mount", "mount", choice(*MOUNTS), f"one of {', '.join(MOUNTS)}"),
    Key("tilt", "tilt_deg", _HEIGHT, "slope from the deck, for example 20 deg"),
    Key(
        "bearing",
        "bearing_deg",
        _BEARING,
        "where it leans to, from the bow, clockwise, for example 180 deg",
    ),
    Key(
        "trims_per_day",
        "trims_per_day",
        number(least=1, most=48, whole=True),
        "how often a day it is turned to the sun, for example 3",
    ),
    Key("controller", "controller", NAME, "the name of a [[controller]]"),
    Key(
        "salt",
        "salt_frac",
        share(most=0.95),
        "loss by salt and soot, for example 4 %",
        usual=(0.0, 0.3),
    ),
    Key(
        "wiring",
        "wiring_frac",
        share(most=0.95),
        "loss in the cable at full power, for example 3 %",
        usual=(0.0, 0.15),
    ),
    Key(
        "yield",
        "yield_frac",
        share(above=0.0, most=3.0),
        "what it was found to give against what all else says of it, for example 90 %",
        usual=(0.4, 1.5),
    ),
    Key(
        "vmp", "module_Vmp", _VOLTAGE, "the sticker's voltage at maximum power, for example 18.0 V"
    ),
    Key("imp", "module_Imp", _CURRENT, "the sticker's current at maximum power, for example 5.6 A"),
    Key("voc", "module_Voc", _VOLTAGE, "the sticker's open-circuit voltage, for example 22.0 V"),
    Key("isc", "module_Isc", _CURRENT, "the sticker's short-circuit current, for example 6.0 A"),
    Key(
        "temp_coefficient",
        "power_temp_coeff_per_C",
        quantity("frac/degC", least=-0.02, most=0.0),
        "change of power with warmth, for example -0.4 %/degC",
        usual=(-0.006, 0.0),
    ),
    Key("weight", "weight_kg", WEIGHT, "what one panel and its mount weigh, for example 8 kg"),
    Key(
        "shade",
        "shades",
        Kind(read=_list_of_tables),
        f"a list of sectors, for example [{_SHADE_EXAMPLE}]",
    ),
)
CONTROLLER_KEYS = (
    Key("name", "name", NAME, "what panels call it"),
    Key("kind", "kind", choice(*CONTROLLERS), " or ".join(CONTROLLERS)),
    Key(
        "efficiency",
        "efficiency_frac",
        share(least=LEAST_MPPT_FRAC),
        "power out for power in, of an mppt controller, for example 95 %",
        usual=(0.8, 0.995),
    ),
    Key(
        "drop",
        "drop_V",
        quantity("V", least=0.0, most=10.0),
        "voltage lost in a pwm controller, for example 0.4 V",
        usual=(0.0, 1.5),
    ),
    Key("rated", "rated_A", _CURRENT, "the current that it can pass, for example 20 A"),
    Key(
        "idle",
        "idle_A",
        quantity("A", least=0.0, most=5.0),
        "what it takes itself, for example 15 mA",
        usual=(0.0, 0.3),
    ),
    Key(
        "absorption",
        "absorption_V",
        _VOLTAGE,
        "its absorption voltage at 25 degC, for example 14.4 V",
    ),
    Key("float", "float_V", _VOLTAGE, "its float voltage at 25 degC, for example 13.5 V"),
    Key(
        "temp_comp",
        "temp_comp_V_per_C",
        quantity("V/degC", least=-1.0, most=1.0),
        "-30 mV/degC on 12 V for lead-acid with a sensor, 0 mV/degC for none",
    ),
)
#: The key that means nothing for a kind of controller.
_IDLE_KEYS = {"mppt": "drop", "pwm": "efficiency"}


def read_solar(
    sheet: Sheet, battery: Battery | None
) -> tuple[tuple[Panel, ...], tuple[Controller, ...]]:
    """Panels and the controllers they feed; without those that something is wrong with."""
    tables = sheet.tables("controller")
    controllers = [_read_controller(table, battery) for table in tables]
    refuse_doubles(tables)
    names = [table.given.get("name", "controller") for table in tables]
    panel_tables = sheet.tables("panel")
    if panel_tables and "controller" not in sheet.document:
        controllers, names = [_unnamed_controller(sheet, battery)], ["controller"]
    panels = [_read_panel(table, battery, names) for table in panel_tables]
    refuse_doubles(panel_tables)
    return (
        tuple(panel for panel in panels if panel is not None),
        tuple(controller for controller in controllers if controller is not None),
    )


def _read_controller(table: Table, battery: Battery | None) -> Controller | None:
    given = table.take(CONTROLLER_KEYS)
    if not table.only and "name" not in table.data:
        table.problem(None, "no name", "a name for each, since there are several")
    given.setdefault("name", "controller")
    defaults = record_defaults(Controller)
    kind = given.get("kind", defaults["kind"][0])
    idle = _IDLE_KEYS[kind]
    table.fill([key for key in CONTROLLER_KEYS if key.name != idle], defaults)
    if table.sound and battery is not None:
        settle_setpoints(table, CONTROLLER_KEYS, battery, "absorption", "float", "temp_comp")
    return table.build(Controller)


def _unnamed_controller(sheet: Sheet, battery: Battery | None) -> Controller | None:
    """The controller of a sailor who wrote down the panels only."""
    return _read_controller(Table(sheet=sheet, path=("controller", 0), data={}), battery)


def _read_panel(table: Table, battery: Battery | None, controllers: list[str]) -> Panel | None:
    given = table.take(PANEL_KEYS)
    if "shade" in table.data and "shades" in given:
        given["shades"] = _read_shades(table, given["shades"])
    given.setdefault("name", table.title)
    _find_controller(table, controllers)
    unused = "trims_per_day" if given.get("mount") != "hand" else "bearing"
    table.fill(
        [key for key in PANEL_KEYS if key.name not in (unused, "controller")],
        record_defaults(Panel),
    )
    if not table.sound:
        return None
    blocks = 1.0 if battery is None else battery.blocks
    table.fill(PANEL_KEYS, _sticker_defaults(given, blocks))
    _check_sticker(table)
    if table.sound:
        _judge_sticker(table, battery)
    return table.build(Panel)


def _find_controller(table: Table, controllers: list[str]) -> None:
    """Which controller a panel feeds: the one named, or the only one."""
    name = table.given.get("controller")
    expected = "the name of a [[controller]]"
    if controllers:
        expected += ", here " + " or ".join(controllers)
    if name is None and "controller" not in table.data:
        if len(controllers) > 1:
            table.problem(None, "no controller, and there are several", expected)
        table.given["controller"] = controllers[0] if controllers else "controller"
    elif name is not None and name not in controllers:
        hint = did_you_mean(name, controllers)
        table.problem("controller", f"there is no {quoted(name)}{hint}", expected)


def _sticker_defaults(given: dict, blocks: float) -> dict[str, tuple[float, str]]:
    """What the sticker would say: a 36-cell module for each 12 V of the bank, scaled by power."""
    usual = panel_of("usual", power_W=100.0)
    power_W = given["power_W"]
    product = usual.module_Vmp * usual.module_Imp * power_W / usual.power_W
    volts = given.get("module_Vmp")
    if volts is None:
        amperes = given.get("module_Imp")
        volts = product / amperes if amperes else usual.module_Vmp * blocks
    amperes = given.get("module_Imp", product / volts)
    reason = "36 cells for every 12 V of the bank, scaled by power; common practice, no source"
    return {
        "module_Vmp": (volts, reason),
        "module_Imp": (amperes, reason),
        "module_Voc": (volts / usual.module_Vmp * usual.module_Voc, reason),
        "module_Isc": (amperes / usual.module_Imp * usual.module_Isc, reason),
    }


def _check_sticker(table: Table) -> None:
    given, data = table.given, table.data
    pairs = (("vmp", "voc", "V", "18.0 V and 22.0 V"), ("imp", "isc", "A", "5.6 A and 6.0 A"))
    for low, high, unit, example in pairs:
        low_value, high_value = (given[f"module_{name.capitalize()}"] for name in (low, high))
        if low_value >= high_value:
            table.problem(
                low if low in data else high,
                f"{low} of {written(low_value, unit)} is not below {high} of "
                f"{written(high_value, unit)}",
                f"both as on the sticker, for example {example}",
            )


def _judge_sticker(table: Table, battery: Battery | None) -> None:
    """Refuse figures of one sticker that cannot stand on one, and doubt those that seldom do."""
    given = table.given
    # vmp x imp is the sticker's power; cells give 1.1 to 1.4 times vmp open, and 1.02 to 1.2 times
    # imp shorted; common practice, no source.
    for names, ratio, possible, usual, what in (
        (
            ("imp", "vmp"),
            given["module_Vmp"] * given["module_Imp"] / given["power_W"],
            (0.5, 2.0),
            (0.9, 1.1),
            f"vmp x imp makes {written(given['module_Vmp'] * given['module_Imp'], 'W')} of a panel "
            f"of {written(given['power_W'], 'W')}",
        ),
        (
            ("voc", "vmp"),
            given["module_Voc"] / given["module_Vmp"],
            (1.0, 2.0),
            (1.08, 1.45),
            _pair(given, "Voc", "Vmp", "V"),
        ),
        (
            ("isc", "imp"),
            given["module_Isc"] / given["module_Imp"],
            (1.0, 2.0),
            (1.01, 1.25),
            _pair(given, "Isc", "Imp", "A"),
        ),
    ):
        if not table.data.keys() >= set(names):
            continue
        expected = "all as on one sticker, for example 100 W, 18.0 V, 5.6 A, 22.0 V and 6.0 A"
        if not possible[0] <= ratio <= possible[1]:
            table.problem(names[0], what, expected)
        elif not usual[0] <= ratio <= usual[1]:
            table.doubt(names[0], what, f"look again: {expected}")
    typed = next((name for name in ("vmp", "imp") if name in table.data), None)
    if battery is not None and typed and given["module_Vmp"] < battery.float_V:
        table.doubt(
            typed,
            f"at {written(given['module_Vmp'], 'V')} it stays below the bank's "
            f"{written(battery.float_V, 'V')}, and most controllers give nothing then",
            "count panels in series as one, with the sum of their power and voltage; for example "
            f"{written(18.0 * battery.blocks, 'V')}",
        )


def _pair(given: dict, high: str, low: str, unit: str) -> str:
    high_text, low_text = (written(given[f"module_{name}"], unit) for name in (high, low))
    return f"{high.lower()} of {high_text} does not go with {low.lower()} of {low_text}"


def _read_shades(table: Table, sectors: list[dict]) -> tuple[ShadeSector, ...]:
    found = []
    for place, data in enumerate(sectors):
        sector = Table(sheet=table.sheet, path=(*table.path, "shade", place), data=data)
        sector.take(SHADE_KEYS)
        found.append(sector.build(ShadeSector))
        table.sound = table.sound and sector.sound
    return tuple(found)
