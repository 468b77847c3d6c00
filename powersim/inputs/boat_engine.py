"""The [engine] table, and what a diesel burns if nobody has measured it."""

from __future__ import annotations

from powersim.inputs.toml_keys import FLAG, Key, choice, quantity, share, written
from powersim.inputs.toml_table import Sheet, record_defaults
from powersim.records import START_BATTERIES, Engine
from powersim.records.belt import NO_LOAD_L_PER_H_PER_KW

_PRACTICE = "common practice, no source"
#: Burn at cruising revs for each kW of rated power; common practice, no source. [L/h/kW]
MOTORING_L_PER_H_PER_KW = 0.15

_BURN = quantity("L/h", above=0.0, most=500.0)
ENGINE_KEYS = (
    Key(
        "rated",
        "rated_kW",
        quantity("kW", above=0.0, most=5000.0),
        "rated shaft power, for example 14 kW",
        required=True,
    ),
    Key(
        "charging_burn",
        "charging_L_per_h",
        _BURN,
        "burn at charging revs out of gear, for example 0.7 L/h",
    ),
    Key(
        "charging_burn_loaded",
        "charging_burn_loaded",
        FLAG,
        "true if that was measured with the alternator working, else false",
    ),
    Key(
        "motoring_burn",
        "motoring_L_per_h",
        _BURN,
        "burn at cruising revs in gear, for example 2.1 L/h",
    ),
    Key(
        "motoring_speed",
        "motoring_kn",
        quantity("kn", above=0.0, most=40.0),
        "speed under power in a calm, for example 4.5 kn",
    ),
    Key(
        "rev_share",
        "rev_share_frac",
        share(above=0.0),
        "charging revs over rated revs, for example 45 %",
    ),
    Key(
        "belt_share",
        "belt_share_frac",
        share(above=0.0),
        "of the power at charging revs, what the belt may take for hours, for example 80 %",
    ),
    Key(
        "slope",
        "slope_L_per_kWh",
        quantity("L/kWh", least=0.0, most=10.0),
        "extra fuel for each kWh on the shaft, for example 0.246 L/kWh",
    ),
    Key(
        "start_battery",
        "start_battery",
        choice(*START_BATTERIES),
        f"one of {', '.join(START_BATTERIES)}",
    ),
    Key(
        "shared_start",
        "shared_start_soc",
        share(),
        "with a shared bank, the charge below which it will not start, for example 40 %",
    ),
    Key(
        "max_heel",
        "max_heel_deg",
        quantity("deg", above=0.0, most=90.0),
        "heel above which it must not run, for example 15 deg",
    ),
    Key(
        "charges_flat_bank",
        "charges_flat_bank",
        FLAG,
        "true if the alternator is known to charge a flat bank, else false",
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
    table.fill(ENGINE_KEYS, defaults)
    if {"rated_kW", "rev_share_frac"} <= given.keys():
        table.fill(ENGINE_KEYS, _burn_defaults(given))
    return table.build(Engine)


def _burn_defaults(given: dict) -> dict[str, tuple[float, str]]:
    rated_kW, rev_share_frac = given["rated_kW"], given["rev_share_frac"]
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
