"""The [engine] table, and what an engine burns if nobody has measured it."""

from __future__ import annotations

from powersim.inputs.text import quoted
from powersim.inputs.toml_keys import FLAG, Key, choice, quantity, share, written
from powersim.inputs.toml_table import Sheet, Table, record_defaults
from powersim.records import FUEL_KINDS, START_BATTERIES, Engine

_PRACTICE = "common practice, no source"
_BURN = quantity("L/h", above=0.0, most=500.0)
ENGINE_KEYS = (
    Key("kind", "kind", choice(*FUEL_KINDS), " or ".join(FUEL_KINDS)),
    Key(
        "rated",
        "rated_kW",
        quantity("kW", least=0.3, most=1_000.0),
        "rated shaft power, for example 14 kW",
        required=True,
        usual=(1.5, 150.0),
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
        usual=(1.5, 12.0),
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
        # A litre of diesel holds some 10 kWh: 42.6 MJ/kg at 0.84 kg/L (from memory).
        quantity("L/kWh", least=0.1, most=1.0),
        "extra fuel for each kWh on the shaft, for example 0.246 L/kWh",
        usual=(0.18, 0.6),
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
        usual=(5.0, 45.0),
    ),
    Key(
        "charges_flat_bank",
        "charges_flat_bank",
        FLAG,
        "true if the alternator is known to charge a flat bank, else false",
    ),
)


def default_charging_burn_L_per_h(
    *, rated_kW: float, rev_share_frac: float, kind: str = "diesel"
) -> float:
    """Fuel at charging revs with nothing on the belt, of an engine nobody has measured.

    Parameters
    ----------
    rated_kW : float
        Rated shaft power. [kW]
    rev_share_frac : float
        Charging revs over rated revs. [-]
    kind : str
        Of FUEL_KINDS.

    Returns
    -------
    float
        Burn. [L/h]

    Notes
    -----
    A diesel's published intercept is that of generator sets at rated revs. Friction and pumping are
    taken to fall with the revs themselves, which is a rule of thumb (no source).

    References
    ----------
    .. [1] Skarstein and Uhlen, Wind Engineering 13 (1989) 72-87: 0.08145 L/h for each rated kW.

    Examples
    --------
    >>> default_charging_burn_L_per_h(rated_kW=14.0, rev_share_frac=0.45)
    0.5131
    """
    return FUEL_KINDS[kind].no_load_L_per_h_per_kW * rated_kW * rev_share_frac


def default_motoring_burn_L_per_h(*, rated_kW: float, kind: str = "diesel") -> float:
    """Fuel at cruising revs in gear, of an engine nobody has measured.

    Parameters
    ----------
    rated_kW : float
        Rated shaft power. [kW]
    kind : str
        Of FUEL_KINDS.

    Returns
    -------
    float
        Burn. [L/h]

    Notes
    -----
    A diesel's 0.15 L/h for each rated kW are about half load (common practice, no source).

    Examples
    --------
    >>> default_motoring_burn_L_per_h(rated_kW=14.0)
    2.1
    """
    return FUEL_KINDS[kind].motoring_L_per_h_per_kW * rated_kW


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


def _judge_burns(table: Table) -> None:
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
            f"{kind.no_load_L_per_h_per_kW} L/h for each rated kW ({kind.no_load_reason}), times "
            f"charging revs over rated revs of {written(rev_share_frac, 'frac')}; the "
            "alternator's share comes on top",
        ),
        "motoring_L_per_h": (
            motoring_L_per_h,
            f"{kind.motoring_L_per_h_per_kW} L/h for each rated kW; {kind.motoring_reason}",
        ),
    }
