"""The table of what may fail at sea: what each failure takes away, and its name."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from powersim.kernel.state import Switches
from powersim.records import Passage
from powersim.simulation.offers import module_power_W, yields_of

if TYPE_CHECKING:
    from powersim.simulation.prepared import Prepared

_ALL = Switches()
#: Neither sun nor engine nor anything else charges.
NOTHING_CHARGES = Switches(solar=0.0, others=0.0, alternator=0.0)
WORKING = "everything working"
NO_ENGINE = "engine lost"
NO_SUN = "solar lost"
NO_CHARGING = "all charging lost"


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """One thing that may fail.

    Attributes
    ----------
    key : str
        The sailor's word for it in a list of what to go without.
    name : str
        Its line in the table; `{bank}` stands for the word of the bank's chemistry.
    means : str
        What is meant, where the name does not say it; `{panel}` stands for the panel's name,
        `{others}` for those of the other chargers, `{alternator}` for what becomes of it.
    works : Switches
        What still works.
    changed : callable or None
        Takes the passage and its Prepared, and gives the passage with this lost.
    cans_only : bool
        Whether only the fuel in the cans is left.
    dark : bool
        Whether the electronics go dark at that moment.
    aboard : callable
        Whether a passage has what fails here.
    """

    key: str
    name: str
    means: str = ""
    works: Switches = _ALL
    changed: Callable | None = None
    cans_only: bool = False
    dark: bool = False
    aboard: Callable[[Passage], bool] = lambda passage: True


def without_motoring(passage: Passage, prepared: Prepared | None = None) -> Passage:
    """The passage under sail alone, on the same dates.

    `prepared` is not used: every `Failure.changed` takes it.
    """
    sailed = tuple(
        replace(one, motoring_start_h=0.0, motoring_end_h=0.0, motoring_calm_frac=0.0)
        for one in passage.waypoints
    )
    return replace(passage, waypoints=sailed)


def _one_panel_less(passage, prepared):
    place = _best_panel(passage.boat, prepared)
    panels = list(passage.boat.panels)
    panels[place] = replace(panels[place], count=panels[place].count - 1)
    return _with_boat(passage, panels=tuple(panels))


def _best_panel(boat, prepared) -> int:
    """Place of the panel that by itself yields the most over the whole passage."""
    yielded_W = []
    for panel in boat.panels:
        alone = replace(boat, panels=(replace(panel, count=min(panel.count, 1)),))
        yields = yields_of(alone, track=prepared.track, sky=prepared.sky)
        yielded_W.append(module_power_W(yields, prepared.track.n_steps).sum())
    return yielded_W.index(max(yielded_W))


def _half_the_battery(passage, prepared):
    battery = passage.boat.battery
    halved = replace(battery, health_frac=0.5 * battery.health_frac)
    return _with_boat(passage, battery=halved)


def _pilot_doubled(passage, prepared):
    return replace(
        passage,
        loads=tuple(
            replace(load, draw_A=2.0 * load.draw_A, draw_W=2.0 * load.draw_W)
            if load.role == "pilot"
            else load
            for load in passage.loads
        ),
    )


def _with_boat(passage, **changes):
    return replace(passage, boat=replace(passage.boat, **changes))


def _has_engine(passage):
    return passage.boat.engine is not None


def _has_alternator(passage):
    return passage.boat.alternator is not None


def _has_panels(passage):
    return _count_of_panels(passage) > 0


def _has_two_panels(passage):
    return _count_of_panels(passage) > 1


def _count_of_panels(passage):
    return sum(panel.count for panel in passage.boat.panels)


def _has_others(passage):
    return bool(passage.boat.chargers)


def _has_protection(passage):
    return passage.boat.battery.traits.protected


def _has_pilot(passage):
    return any(load.role == "pilot" and load.count for load in passage.loads)


#: Every failure of the table, in its order.
FAILURES = (
    Failure(
        key="alternator",
        name="alternator lost",
        means="the engine still takes the boat through calms and burns for it, but charges nothing",
        works=Switches(alternator=0.0),
        aboard=_has_alternator,
    ),
    Failure(
        key="engine",
        name=NO_ENGINE,
        means="no motoring either; the sum keeps her on her legs and dates, though in truth she "
        "would be later",
        works=Switches(engine=False),
        changed=without_motoring,
        aboard=_has_engine,
    ),
    Failure(
        key="tank fuel",
        name="tank fuel fouled",
        means="only what is in the cans can be burnt; the tank is taken to be used first",
        cans_only=True,
        aboard=_has_engine,
    ),
    Failure(
        key="panel",
        name="one panel lost",
        means="{panel}, the one that gives the most",
        changed=_one_panel_less,
        aboard=_has_two_panels,
    ),
    Failure(key="solar", name=NO_SUN, works=Switches(solar=0.0), aboard=_has_panels),
    Failure(
        key="other chargers",
        name="other chargers lost",
        means="{others}",
        works=Switches(others=0.0),
        aboard=_has_others,
    ),
    Failure(
        key="charging",
        name=NO_CHARGING,
        means="nothing gives charge; only what is in the bank",
        works=NOTHING_CHARGES,
    ),
    Failure(
        key="half battery",
        name="battery at half capacity",
        means="half of the bank is gone, and the rest is as charged as before",
        changed=_half_the_battery,
    ),
    Failure(
        key="protection",
        name="{bank} protection opens",
        means="everything goes dark at once{alternator}; know how to close it by hand",
        dark=True,
        aboard=_has_protection,
    ),
    Failure(
        key="double pilot",
        name="pilot draw doubled",
        means="a heavy sea or a badly balanced boat; loads whose role is pilot",
        changed=_pilot_doubled,
        aboard=_has_pilot,
    ),
)
