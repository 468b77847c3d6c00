"""The [engine] table, and what an engine burns if nobody has measured it."""

from __future__ import annotations

from powersim.inputs.text import quoted
from powersim.inputs.toml_keys import keys_of, written
from powersim.inputs.toml_table import Sheet, TomlTable, record_defaults
from powersim.physics.engine import default_charging_burn_L_per_h, default_motoring_burn_L_per_h
from powersim.records import FUEL_KINDS, Engine

_PRACTICE = "common practice, no source"
ENGINE_KEYS = keys_of(Engine)


def read_engine(sheet: Sheet) -> Engine | None:
    """The engine; None if there is none or something is wrong with it."""
    table = sheet.table("engine")
    if table is None:
        return None
    given = table.take(ENGINE_KEYS)
    defaults = record_defaults(Engine)
    kind = FUEL_KINDS[given.get("kind", defaults["kind"][0])]
    defaults["slope_L_per_kWh"] = (kind.slope_L_per_kWh, kind.slope_reason)
    if given.get("start_battery") != "shared":
        defaults.pop("shared_start_soc")
    if "charging_burn" in table.data:
        defaults["charging_burn_loaded"] = (False, "measured with nothing on the belt")
    table.fill(ENGINE_KEYS, defaults)
    if {"rated_kW", "rev_share_frac", "kind"} <= given.keys():
        table.fill(ENGINE_KEYS, _burn_defaults(given))
    if table.sound:
        _judge_burns(table)
    return table.build(Engine)


def _judge_burns(table: TomlTable) -> None:
    """Refuse a burn that no engine of that power has, and doubt one that few have."""
    rated_kW, kind = table.given["rated_kW"], FUEL_KINDS[table.given["kind"]]
    for key in ENGINE_KEYS:
        if key.name not in table.data or key.field not in kind.usual_L_per_h_per_kW:
            continue
        burn_L_per_h = table.given[key.field]
        typed = f"{quoted(table.data[key.name])} of an engine of {written(rated_kW, 'kW')}"
        least, most = (bound * rated_kW for bound in kind.possible_L_per_h_per_kW)
        low, high = (bound * rated_kW for bound in kind.usual_L_per_h_per_kW[key.field])
        if not least <= burn_L_per_h <= most:
            table.problem(
                key.name,
                f"{typed} cannot be",
                f"{written(least, 'L/h')} to {written(most, 'L/h')}: {key.expected}; or is rated "
                "wrong?",
            )
        elif not low <= burn_L_per_h <= high:
            usual = f"{written(low, 'L/h')} to {written(high, 'L/h')}"
            table.ask(key, f"{typed} is not the usual {usual}")


def _burn_defaults(given: dict) -> dict[str, tuple[float, str]]:
    rated_kW, rev_share_frac, name = given["rated_kW"], given["rev_share_frac"], given["kind"]
    kind = FUEL_KINDS[name]
    charging_L_per_h = default_charging_burn_L_per_h(
        rated_kW=rated_kW, rev_share_frac=rev_share_frac, kind=name
    )
    motoring_L_per_h = default_motoring_burn_L_per_h(rated_kW=rated_kW, kind=name)
    return {
        "charging_L_per_h": (
            charging_L_per_h,
            f"{written(kind.no_load_L_per_h_per_kW, 'L/h')} for each rated kW "
            f"({kind.no_load_reason}), times charging revs over rated revs of "
            f"{written(rev_share_frac, 'frac')}; the alternator's share comes on top",
        ),
        "motoring_L_per_h": (
            motoring_L_per_h,
            f"{written(kind.motoring_L_per_h_per_kW, 'L/h')} for each rated kW; "
            f"{kind.motoring_reason}",
        ),
    }
