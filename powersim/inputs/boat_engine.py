"""The [alternator] and [engine] tables, and what a diesel burns if nobody has measured it."""

from __future__ import annotations

from powersim.inputs.boat_battery import settle_setpoints
from powersim.inputs.toml_keys import FLAG, Key, choice, quantity, share, written
from powersim.inputs.toml_table import Sheet, record_defaults
from powersim.records import REGULATORS, START_BATTERIES, Alternator, Battery, Engine

_PRACTICE = "common practice, no source"
#: No-load fuel of a diesel at rated revs for each kW of rated power: Skarstein and Uhlen, Wind
#: Engineering 13 (1989) 72-87. [L/h/kW]
NO_LOAD_L_PER_H_PER_KW = 0.08145
#: Charging revs over rated revs; common practice, no source. [-]
CHARGING_REV_SHARE = 0.45
#: Burn at cruising revs for each kW of rated power; common practice, no source. [L/h/kW]
MOTORING_L_PER_H_PER_KW = 0.15
#: Hot output over the nameplate at charging and at motoring revs; common practice, no source. [-]
HOT_CHARGING_FRAC, HOT_MOTORING_FRAC = 0.60, 0.75
#: What a lithium bank may ask of an alternator without temperature control, over the nameplate;
#: common practice, no source. [-]
LITHIUM_FRAC = 0.50
#: A diode splitter's loss for each 12 V; common practice, no source. [V]
SPLITTER_V = 0.6

_OUTPUT = quantity("A", least=0.0, most=2000.0)
_VOLTAGE = quantity("V", above=0.0, most=120.0)
_BURN = quantity("L/h", above=0.0, most=500.0)

ALTERNATOR_KEYS = (
    Key(
        name="nameplate",
        field="nameplate_A",
        kind=quantity("A", above=0.0, most=2000.0),
        expected="the nameplate's current, for example 75 A",
    ),
    Key(
        name="charging",
        field="charging_A",
        kind=_OUTPUT,
        expected="hot output at charging revs, for example 45 A",
    ),
    Key(
        name="motoring",
        field="motoring_A",
        kind=_OUTPUT,
        expected="hot output when motoring, for example 55 A",
    ),
    Key(
        name="regulator",
        field="regulator",
        kind=choice(*REGULATORS),
        expected=" or ".join(REGULATORS),
    ),
    Key(
        name="voltage",
        field="constant_V",
        kind=_VOLTAGE,
        expected="setpoint of a constant regulator, for example 14.2 V",
    ),
    Key(
        name="absorption",
        field="absorption_V",
        kind=_VOLTAGE,
        expected="absorption voltage of a multi-stage regulator, for example 14.4 V",
    ),
    Key(
        name="float",
        field="float_V",
        kind=_VOLTAGE,
        expected="float voltage of a multi-stage regulator, for example 13.5 V",
    ),
    Key(
        name="absorption_time",
        field="absorption_h",
        kind=quantity("h", least=0.0, most=48.0),
        expected="longest time at absorption voltage in one run, for example 4 h",
    ),
    Key(
        name="cable_drop",
        field="cable_drop_V",
        kind=quantity("V", least=0.0, most=10.0),
        expected="voltage lost in the cable, for example 0.2 V",
    ),
    Key(
        name="splitter",
        field="splitter",
        kind=FLAG,
        expected="true for a diode splitter between alternator and bank, false for none",
    ),
    Key(
        name="battery_sensing",
        field="battery_sensing",
        kind=FLAG,
        expected="true if the regulator senses at the bank, else false",
    ),
    Key(
        name="efficiency",
        field="efficiency_frac",
        kind=share(above=0.0),
        expected="electrical power for shaft power, for example 50 %",
    ),
    Key(
        name="temp_comp",
        field="temp_comp_V_per_C",
        kind=quantity("V/degC", least=-1.0, most=1.0),
        expected="-30 mV/degC on 12 V for lead-acid with a sensor, 0 mV/degC for none",
    ),
    Key(
        name="temperature_controlled",
        field="temperature_controlled",
        kind=FLAG,
        expected="true if the regulator minds the alternator's own heat, else false",
    ),
)
ENGINE_KEYS = (
    Key(
        name="rated",
        field="rated_kW",
        kind=quantity("kW", above=0.0, most=5000.0),
        expected="rated shaft power, for example 14 kW",
        required=True,
    ),
    Key(
        name="charging_burn",
        field="charging_L_per_h",
        kind=_BURN,
        expected="burn at charging revs out of gear, for example 0.7 L/h",
    ),
    Key(
        name="charging_burn_loaded",
        field="charging_burn_loaded",
        kind=FLAG,
        expected="true if that was measured with the alternator working, else false",
    ),
    Key(
        name="motoring_burn",
        field="motoring_L_per_h",
        kind=_BURN,
        expected="burn at cruising revs in gear, for example 2.1 L/h",
    ),
    Key(
        name="motoring_speed",
        field="motoring_kn",
        kind=quantity("kn", above=0.0, most=40.0),
        expected="speed under power in a calm, for example 4.5 kn",
    ),
    Key(
        name="rev_share",
        field="rev_share",
        kind=share(above=0.0),
        expected="charging revs over rated revs, for example 45 %",
    ),
    Key(
        name="slope",
        field="slope_L_per_kWh",
        kind=quantity("L/kWh", least=0.0, most=10.0),
        expected="extra fuel for each kWh on the shaft, for example 0.246 L/kWh",
    ),
    Key(
        name="start_battery",
        field="start_battery",
        kind=choice(*START_BATTERIES),
        expected=f"one of {', '.join(START_BATTERIES)}",
    ),
    Key(
        name="shared_start",
        field="shared_start_soc",
        kind=share(),
        expected="with a shared bank, the charge below which it will not start, for example 40 %",
    ),
    Key(
        name="max_heel",
        field="max_heel_deg",
        kind=quantity("deg", above=0.0, most=90.0),
        expected="heel above which it must not run, for example 15 deg",
    ),
    Key(
        name="charges_flat_bank",
        field="charges_flat_bank",
        kind=FLAG,
        expected="true if the alternator is known to charge a flat bank, else false",
    ),
)


def default_charging_burn_L_per_h(*, rated_kW: float, rev_share_frac: float) -> float:
    """Fuel at charging revs with nothing on the belt, of an engine nobody has measured.

    Parameters
    ----------
    rated_kW : float
        Rated shaft power. [kW]
    rev_share_frac : float
        Charging revs over rated revs. [-]

    Returns
    -------
    float
        Burn. [L/h]

    Notes
    -----
    The published intercept is that of generator sets at rated revs. Friction and pumping are
    taken to fall with the revs themselves, which is a rule of thumb (no source).

    References
    ----------
    .. [1] Skarstein and Uhlen, Wind Engineering 13 (1989) 72-87: 0.08145 L/h for each rated kW.

    Examples
    --------
    >>> default_charging_burn_L_per_h(rated_kW=14.0, rev_share_frac=0.45)
    0.5131
    """
    return NO_LOAD_L_PER_H_PER_KW * rated_kW * rev_share_frac


def default_motoring_burn_L_per_h(*, rated_kW: float) -> float:
    """Fuel at cruising revs in gear, of an engine nobody has measured.

    Parameters
    ----------
    rated_kW : float
        Rated shaft power. [kW]

    Returns
    -------
    float
        Burn. [L/h]

    Notes
    -----
    0.15 L/h for each rated kW: about half load (common practice, no source).

    Examples
    --------
    >>> default_motoring_burn_L_per_h(rated_kW=14.0)
    2.1
    """
    return MOTORING_L_PER_H_PER_KW * rated_kW


def read_engine(sheet: Sheet) -> Engine | None:
    """The diesel; None if there is none or something is wrong with it."""
    table = sheet.table("engine")
    if table is None:
        return None
    given = table.take(ENGINE_KEYS)
    defaults = record_defaults(Engine)
    if given.get("start_battery") != "shared":
        defaults.pop("shared_start_soc")
    if "charging_burn" in table.data:
        defaults["charging_burn_loaded"] = (False, "measured with nothing on the belt")
    else:
        defaults["rev_share"] = (CHARGING_REV_SHARE, f"charging revs over rated revs; {_PRACTICE}")
    table.fill(ENGINE_KEYS, defaults)
    if "rated_kW" in given:
        table.fill(ENGINE_KEYS, _burn_defaults(given))
    given.pop("rev_share", None)
    return table.build(Engine)


def _burn_defaults(given: dict) -> dict[str, tuple[float, str]]:
    rated_kW, rev_share_frac = given["rated_kW"], given.get("rev_share", CHARGING_REV_SHARE)
    return {
        "charging_L_per_h": (
            default_charging_burn_L_per_h(rated_kW=rated_kW, rev_share_frac=rev_share_frac),
            f"{NO_LOAD_L_PER_H_PER_KW} L/h for each rated kW (Skarstein and Uhlen 1989), times "
            f"charging revs over rated revs of {written(rev_share_frac, 'frac')}; the "
            "alternator's share comes on top",
        ),
        "motoring_L_per_h": (
            default_motoring_burn_L_per_h(rated_kW=rated_kW),
            f"{MOTORING_L_PER_H_PER_KW} L/h for each rated kW; {_PRACTICE}",
        ),
    }


def read_alternator(sheet: Sheet, battery: Battery | None) -> Alternator | None:
    """The alternator; None if there is none or something is wrong with it."""
    table = sheet.table("alternator")
    if table is None:
        return None
    if "engine" not in sheet.document:
        table.problem(None, "there is no [engine] to turn it", "a line [engine], then rated")
    given = table.take(ALTERNATOR_KEYS)
    if not {"nameplate", "charging", "motoring"} & table.data.keys():
        table.problem(
            None, "no nameplate", f"nameplate: {ALTERNATOR_KEYS[0].expected}; or charging, motoring"
        )
    blocks = 1.0 if battery is None else battery.blocks
    lithium = battery is not None and battery.chemistry == "lifepo4"
    table.fill(ALTERNATOR_KEYS, _fixed_defaults(given, blocks))
    table.fill(ALTERNATOR_KEYS, _output_defaults(given, lithium))
    if given.pop("splitter", False):
        given["cable_drop_V"] = given.get("cable_drop_V", 0.0) + SPLITTER_V * blocks
    if table.sound and battery is not None and given["regulator"] == "multi-stage":
        settle_setpoints(table, battery, "absorption", "float")
    return table.build(Alternator)


def _fixed_defaults(given: dict, blocks: float) -> dict[str, tuple[object, str]]:
    """Defaults that ask for no other key, but for the stages that a constant regulator lacks."""
    defaults = record_defaults(Alternator)
    for field in ("constant_V", "cable_drop_V"):
        volts, reason = defaults[field]
        defaults[field] = (volts * blocks, reason)
    defaults.pop("absorption_h" if given.get("regulator") != "multi-stage" else "constant_V")
    defaults["splitter"] = (False, "no diode splitter named; one would lose another 0.6 V")
    return defaults


def _output_defaults(given: dict, lithium: bool) -> dict[str, tuple[float, str]]:
    """Hot output from the nameplate, or from the one figure that was measured."""
    nameplate_A = given.get("nameplate_A")
    if nameplate_A is None:
        return _output_from_the_other(given)
    limited = lithium and not given.get("temperature_controlled", False)
    defaults = {}
    for field, hot_frac in (("charging_A", HOT_CHARGING_FRAC), ("motoring_A", HOT_MOTORING_FRAC)):
        frac = min(hot_frac, LITHIUM_FRAC) if limited else hot_frac
        why = "so that lithium does not burn it" if limited else "hot"
        reason = f"{written(frac, 'frac')} of the nameplate, {why}; {_PRACTICE}"
        defaults[field] = (nameplate_A * frac, reason)
    return defaults


def _output_from_the_other(given: dict) -> dict[str, tuple[float, str]]:
    charging_A, motoring_A = given.get("charging_A"), given.get("motoring_A")
    if charging_A is not None:
        return {"motoring_A": (charging_A, "as at charging revs, which is never more")}
    if motoring_A is not None:
        ratio = HOT_CHARGING_FRAC / HOT_MOTORING_FRAC
        reason = f"{written(ratio, 'frac')} of that when motoring; {_PRACTICE}"
        return {"charging_A": (motoring_A * ratio, reason)}
    return {}
