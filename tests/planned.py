"""Plans of short passages, made once for the tests that look at them."""

from dataclasses import replace
from functools import cache

from builders import LOADS, boat_of, passage_of

from powersim.planning.plan import Plan, plan

SPREAD = tuple(replace(load, spread_frac=0.1) for load in LOADS)
GREY = {"panel_W": (60.0,), "battery": {"soc_at_departure": 0.8}}
MEMBERS, VALIDATION_MEMBERS, RISK = 60, 100, 0.10


def grey_passage(*, days=6.0, **boat):
    """Some days with too little sun."""
    return passage_of(boat=boat_of(**GREY | boat), loads=SPREAD, days=days)


def planned(passage) -> Plan:
    return plan(
        passage, members=MEMBERS, validation_members=VALIDATION_MEMBERS, risk_frac=RISK, step_h=0.5
    )


@cache
def grey_plan() -> Plan:
    """A plan that holds."""
    return planned(grey_passage())


@cache
def hopeless_plan() -> Plan:
    """A plan of a boat whose alternator is far too small."""
    return planned(grey_passage(alternator={"charging_A": 3.0}, panel_W=(20.0,)))


@cache
def sunny_plan() -> Plan:
    """A plan that needs no engine: sun for the worst bank and the greyest days of any member."""
    return planned(grey_passage(days=3.0, panel_W=(800.0,)))
