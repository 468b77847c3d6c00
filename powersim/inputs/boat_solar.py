"""The [[panel]] and [[controller]] tables: stickers, where they stand, what shades them."""

from __future__ import annotations

from powersim.inputs.boat_battery import settle_setpoints
from powersim.inputs.text import ReadingError, did_you_mean, quoted
from powersim.inputs.toml_keys import ValueKind, keys_of, shown, written
from powersim.inputs.toml_table import Sheet, TomlTable, record_defaults, refuse_doubles
from powersim.records import Battery, Controller, Panel, ShadeSector, panel_of
from powersim.records.solar import STICKER_POWER


def _list_of_tables(value) -> list[dict]:
    if not isinstance(value, list) or not all(isinstance(one, dict) for one in value):
        raise ReadingError(f"{shown(value)} is not a list of sectors")
    return value


SHADE_KEYS = keys_of(ShadeSector)
PANEL_KEYS = keys_of(Panel, kinds={"shades": ValueKind(read=_list_of_tables)})
CONTROLLER_KEYS = keys_of(Controller)
#: The keys that mean nothing for a kind of controller.
_IDLE_KEYS = {"mppt": ("drop",), "pwm": ("efficiency", "wired")}


def read_solar(
    sheet: Sheet, battery: Battery | None
) -> tuple[tuple[Panel, ...], tuple[Controller, ...]]:
    """Panels and the controllers they feed; without those that something is wrong with."""
    tables = sheet.tables("controller")
    panel_tables = sheet.tables("panel")
    named = [table.data.get("controller") for table in panel_tables]
    controllers = [_read_controller(table, battery, named) for table in tables]
    refuse_doubles(tables)
    names = [table.given.get("name", "controller") for table in tables]
    if panel_tables and "controller" not in sheet.document:
        controllers, names = [_unnamed_controller(sheet, battery, named)], ["controller"]
    panels = [_read_panel(table, battery, names) for table in panel_tables]
    refuse_doubles(panel_tables)
    return (
        tuple(panel for panel in panels if panel is not None),
        tuple(controller for controller in controllers if controller is not None),
    )


def _read_controller(
    table: TomlTable, battery: Battery | None, named: list[object]
) -> Controller | None:
    """A controller; `named` are those that the panels name, None where a panel names none."""
    given = table.take(CONTROLLER_KEYS)
    if not table.only and "name" not in table.data:
        table.problem(None, "no name", "a name for each, since there are several")
    given.setdefault("name", "controller")
    defaults = record_defaults(Controller)
    kind = given.get("kind", defaults["kind"][0])
    idle = _IDLE_KEYS[kind]
    if sum(one in (given["name"], None) for one in named) < 2:
        idle = (*idle, "wired")  # nothing to be wired together
    table.fill([key for key in CONTROLLER_KEYS if key.name not in idle], defaults)
    if kind == "pwm" and given.get("wired") == "series":
        table.problem(
            "wired",
            "panels in series on a pwm controller: it holds them at the bank's voltage",
            'wired = "parallel", or kind = "mppt"; or count panels in series as one, with the '
            "sum of their power and voltage",
        )
    if table.sound and battery is not None:
        settle_setpoints(table, CONTROLLER_KEYS, battery, "absorption", "float", "temp_comp")
    return table.build(Controller)


def _unnamed_controller(
    sheet: Sheet, battery: Battery | None, named: list[object]
) -> Controller | None:
    """The controller of a sailor who wrote down the panels only."""
    table = TomlTable(sheet=sheet, path=("controller", 0), data={})
    return _read_controller(table, battery, named)


def _read_panel(table: TomlTable, battery: Battery | None, controllers: list[str]) -> Panel | None:
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


def _find_controller(table: TomlTable, controllers: list[str]) -> None:
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


def _check_sticker(table: TomlTable) -> None:
    given, data = table.given, table.data
    pairs = (("vmp", "voc", "V", "18.0 V and 22.0 V"), ("imp", "isc", "A", "5.6 A and 6.0 A"))
    for low, high, unit, example in pairs:
        low_value, high_value = (given[f"module_{name.capitalize()}"] for name in (low, high))
        if low_value >= high_value:
            table.problem(
                low if low in data else high,
                f"{low} of {written(low_value, unit)} is not below {high} of "
                f"{written(high_value, unit)}",
                f"both as on the label, for example {example}",
            )


def _judge_sticker(table: TomlTable, battery: Battery | None) -> None:
    """Refuse figures of one sticker that cannot stand on one, and doubt those that seldom do."""
    given = table.given
    # vmp x imp is the sticker's power; cells give 1.1 to 1.4 times vmp open, and 1.02 to 1.2 times
    # imp shorted; common practice, no source.
    for names, ratio, possible, usual, what in (
        (
            ("imp", "vmp"),
            given["module_Vmp"] * given["module_Imp"] / given["power_W"],
            STICKER_POWER,
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
        expected = "all as on one label, for example 100 W, 18.0 V, 5.6 A, 22.0 V and 6.0 A"
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


def _read_shades(table: TomlTable, sectors: list[dict]) -> tuple[ShadeSector, ...]:
    found = []  # no table is made of them where one is missing: it is not sound then
    for place, data in enumerate(sectors):
        sector = TomlTable(sheet=table.sheet, path=(*table.path, "shade", place), data=data)
        sector.take(SHADE_KEYS)
        built = sector.build(ShadeSector)
        found += [] if built is None else [built]
        table.sound = table.sound and sector.sound
    return tuple(found)
