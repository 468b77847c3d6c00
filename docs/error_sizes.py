"""Writes the table in docs/model.md of what may be wrong, and by how much, tried on the demo."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import powersim
from powersim.planning.endurance import endurance
from powersim.planning.failures import NO_CHARGING, NO_ENGINE

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "model.md"
DEMO = ROOT / "loads" / "iceland-to-cabo-verde"
_MARKED = re.compile(r"(<!-- generated: errors -->\n).*?(<!-- end -->)", re.DOTALL)
_HEAD = (
    "what may be wrong",
    "by how much",
    "charging, L",
    "flat without engine, days",
    "flat without charging, days",
)


def battery(**changes):
    """A change of the bank."""
    return lambda demo: _boat(demo, battery=replace(demo.boat.battery, **changes))


def engine(**changes):
    """A change of the engine."""
    return lambda demo: _boat(demo, engine=replace(demo.boat.engine, **changes))


def alternator(**changes):
    """A change of the alternator."""
    return lambda demo: _boat(demo, alternator=replace(demo.boat.alternator, **changes))


def panels(**changes):
    """A change of every panel."""
    return lambda demo: _boat(
        demo, panels=tuple(replace(panel, **changes) for panel in demo.boat.panels)
    )


def legs(**changes):
    """A change of every leg."""
    return lambda demo: replace(
        demo, waypoints=tuple(replace(place, **changes) for place in demo.waypoints)
    )


def light(factor):
    """More or less of it, as larger or smaller panels would have it."""
    return lambda demo: _boat(
        demo,
        panels=tuple(replace(panel, power_W=factor * panel.power_W) for panel in demo.boat.panels),
    )


def loads(factor):
    """Every draw larger or smaller."""
    names = ("draw_A", "draw_W", "standby_A", "standby_W")

    def changed(load):
        return replace(load, **{name: factor * getattr(load, name) for name in names})

    return lambda demo: replace(demo, loads=tuple(map(changed, demo.loads)))


def pace(factor):
    """Every leg faster or slower."""

    def changed(place):
        return replace(place, speed_kn=place.speed_kn and factor * place.speed_kn)

    return lambda demo: replace(demo, waypoints=tuple(map(changed, demo.waypoints)))


def pilot(demo):
    """The pilot under sail twice as long at work."""

    def changed(load):
        busy = load.role == "pilot" and "sailing" in load.states
        return replace(load, on_frac=2.0 * load.on_frac) if busy else load

    return replace(demo, loads=tuple(map(changed, demo.loads)))


def _boat(demo, **changes):
    return replace(demo, boat=replace(demo.boat, **changes))


#: What may be wrong, by how much, and the change; the first is the demo as it is.
CASES = (
    ("nothing", "the demo as it is", lambda demo: demo),
    ("a dark month where the mean was expected", "8 oktas throughout", legs(cloud_oktas=8.0)),
    ("loads, as listed", "20 % more", loads(1.2)),
    ("", "20 % less", loads(0.8)),
    ("where panels stand", "both under the boom", panels(mount="coachroof")),
    ("", "both in the open", panels(mount="clear")),
    ("temperature of the bank", "cabin at 5 degC", legs(cabin_C=5.0)),
    ("", "cabin at 20 degC", legs(cabin_C=20.0)),
    ("how long the pilot works", "twice as long", pilot),
    ("burn at charging revs", "0.7 in place of 0.51 L/h", engine(charging_L_per_h=0.7)),
    ("the month's light", "10 % less", light(0.9)),
    ("", "10 % more", light(1.1)),
    ("what the bank has left of its label", "75 % in place of 85", battery(health_frac=0.75)),
    ("", "95 %", battery(health_frac=0.95)),
    ("pace", "10 % slower", pace(0.9)),
    ("salt", "10 % in place of 4", panels(salt_frac=0.10)),
    ("heel", "20 degrees in place of 8 to 12", legs(heel_deg=20.0)),
    ("cut-out voltage", "11.8 in place of 11.5 V", battery(cutout_V=11.8)),
    ("charge efficiency", "83 in place of 88 %", battery(charge_efficiency_frac=0.83)),
    ("", "93 %", battery(charge_efficiency_frac=0.93)),
    ("self-discharge", "twice as much", battery(self_discharge_frac_per_month=0.10)),
    ("efficiency of the alternator", "60 in place of 50 %", alternator(efficiency_frac=0.60)),
    ("output of the alternator", "20 % less", alternator(charging_A=36.0, motoring_A=41.6)),
    ("Peukert exponent", "1.1 in place of 1.2", battery(peukert_exponent=1.1)),
    ("", "1.3", battery(peukert_exponent=1.3)),
)


def row(case) -> str:
    """One line of the table."""
    what, by, change = case
    result = powersim.simulate(change(powersim.load(DEMO)), members=1)
    flat = {
        line.loss: line.days_to_flat
        for line in endurance(result, members=1, costs=False).lines
        if line.loads == "all loads"
    }
    figures = (
        result.summary["average"]["engine"]["charging_L"],
        flat[NO_ENGINE],
        flat[NO_CHARGING],
    )
    cells = (f"{figure:.1f}".replace("inf", "never") for figure in figures)
    return f"| {' | '.join((what, by, *cells))} |"


def main() -> None:
    """Write the table; about a minute."""
    lines = [f"| {' | '.join(_HEAD)} |", "| --- | --- | --- | --- | --- |", *map(row, CASES)]
    text = PAGE.read_text(encoding="utf-8")
    text = _MARKED.sub(lambda mark: mark[1] + "\n" + "\n".join(lines) + "\n\n" + mark[2], text)
    PAGE.write_text(text, encoding="utf-8", newline="\n")
    print(f"wrote {PAGE}")


if __name__ == "__main__":
    main()
