"""The least diesel by search against the least of all allowed timetables, tried one by one.

Passages of two or three days are small enough: every way of running the engine that keeps hours,
shortest and longest run is put through the real simulation, and the cheapest that keeps floor, full
charges and the charge at landfall is looked up. Enumeration and limits are written here, apart from
the search; only the simulation is common to both, since the question is about it.
"""

from dataclasses import dataclass, field, replace
from itertools import groupby, product

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.planning.foresight import foresight, serving_all
from powersim.records import Shedding
from powersim.simulation.carry import Batch
from powersim.simulation.plant import without_engine_rule
from powersim.simulation.prepare import prepare
from powersim.simulation.run import run
from powersim.simulation.state import start_state
from powersim.simulation.timetable import planned_steps

#: How much more a timetable may burn that is found with bins of the usual width. [L]
WITHIN_L = 0.01
#: What is seen of every step.
SEEN = ("soc", "dark", "since_full_h", "charging_L", "alternator_motoring_L")
DEPART_h = 9.0  # the clock of passages from builders, which is ship's time too
GREY = {"panel_W": (40.0,), "battery": {"soc_at_departure": 0.7}}
#: A regulator that fills the bank in the end.
FILLS = {"constant_V": 14.4, "battery_sensing": True}
MULTI_STAGE = {
    "regulator": "multi-stage",
    "absorption_V": 14.2,
    "float_V": 13.4,
    "absorption_h": 0.5,
    "battery_sensing": True,
}


@dataclass(frozen=True, kw_only=True)
class Case:
    """A passage that can be enumerated; what it must keep is put on the bounds that bite."""

    boat: dict
    hours_h: tuple
    shortest_h: float
    longest_h: float
    step_h: float = 1.0
    days: float = 2.0
    leg: dict = field(default_factory=dict)
    end_soc: float = 0.0
    floor_soc: float = 0.5
    since_full_h: float = np.inf

    def passage(self):
        """With ship's time by UTC, so that the hours below can be counted on a hand."""
        charging = {
            "hours_h": self.hours_h,
            "shortest_h": self.shortest_h,
            "longest_h": self.longest_h,
        }
        boat = boat_of(**GREY | self.boat, charging=charging)
        return passage_of(boat=boat, days=self.days, leg=self.leg, ship_offset_h=0.0)


CASES = {
    "the floor bites": Case(
        boat={}, hours_h=(9.0, 15.0), shortest_h=2.0, longest_h=4.0, days=3.0, floor_soc=0.55
    ),
    "the charge at landfall bites": Case(
        boat={}, hours_h=(10.0, 16.0), shortest_h=2.0, longest_h=3.0, days=3.0, end_soc=0.70
    ),
    "both, by quarters of an hour": Case(
        boat={"battery": {"soc_at_departure": 0.75}},
        hours_h=(11.0, 13.0),
        shortest_h=0.5,
        longest_h=1.0,
        step_h=0.25,
        end_soc=0.53,
        floor_soc=0.5,
    ),
    "a full charge is due": Case(
        boat={"alternator": FILLS},
        hours_h=(10.0, 22.0),
        shortest_h=5.0,
        longest_h=12.0,
        days=3.0,
        since_full_h=50.0,
    ),
    "lithium, multi-stage": Case(
        boat={"chemistry": "lifepo4", "capacity_Ah": 100.0, "alternator": MULTI_STAGE},
        hours_h=(10.0, 21.0),
        shortest_h=1.0,
        longest_h=2.0,
        days=1.0,
        floor_soc=0.4,
        end_soc=0.55,
    ),
    "some of it comes from motoring": Case(
        boat={},
        hours_h=(9.0, 17.0),
        shortest_h=2.0,
        longest_h=3.0,
        leg={"motoring_start_h": 4.0},
        end_soc=0.7,
    ),
    "loads go as the bank falls": Case(
        boat={"shedding": Shedding(comfort_below_soc=0.68, useful_below_soc=0.62)},
        hours_h=(9.0, 15.0),
        shortest_h=2.0,
        longest_h=4.0,
        days=3.0,
        floor_soc=0.58,
    ),
}


def allowed(case, n_steps, motoring):
    """Every timetable that keeps hours, shortest and longest run: bool, (timetables, steps)."""
    first_h, last_h = case.hours_h
    clock_h = (DEPART_h + case.step_h * np.arange(n_steps)) % 24.0
    free = (clock_h >= first_h) & (clock_h < last_h) & (motoring == 0.0)
    assert not free[-1], "a run must not be cut short by landfall here"
    spells = [list(places) for is_free, places in groupby(range(n_steps), free.item) if is_free]
    shortest, longest = case.shortest_h / case.step_h, case.longest_h / case.step_h
    ways = [ways_of_a_spell(len(spell), shortest, longest) for spell in spells]
    table = np.zeros((np.prod([len(way) for way in ways]), n_steps), dtype=bool)
    table[:, np.concatenate(spells)] = [np.concatenate(days) for days in product(*ways)]
    return table


def ways_of_a_spell(n_steps, shortest, longest):
    """All on-off patterns of hours that follow on each other, if no run is too short or long."""
    return [
        pattern
        for pattern in product((False, True), repeat=n_steps)
        if all(shortest <= len(list(run)) <= longest for on, run in groupby(pattern) if on)
    ]


def evaluation(case, passage, prepared, table):
    """Litres of every timetable, and which of them keep all that the case asks for."""
    plant = replace(prepared.plant, rule=without_engine_rule(prepared.plant.rule))
    signals = replace(prepared.signals, ordered=np.ascontiguousarray(table.T))
    start_soc = passage.boat.battery.soc_at_departure
    state = start_state(plant, soc=np.full(len(table), start_soc))
    litres, keeps = np.zeros(len(table)), np.ones(len(table), dtype=bool)
    batch = Batch(plant=plant, state=state, step_h=signals.step_h)
    for step in range(signals.n_steps):
        flows = {
            name: flow[0]
            for name, flow in batch.through(signals.between(step, step + 1), series=SEEN).items()
        }
        litres += flows["charging_L"] + flows["alternator_motoring_L"]
        keeps &= (flows["soc"] >= case.floor_soc) & ~(flows["dark"] > 0)
        keeps &= flows["since_full_h"] <= case.since_full_h
    return litres, keeps & (flows["soc"] >= case.end_soc)


def searched(case, passage, prepared, **given):
    return foresight(
        passage,
        prepared,
        end_soc=case.end_soc,
        floor_soc=case.floor_soc,
        most_since_full_h=case.since_full_h,
        **given,
    )


def test_ways_of_a_spell_by_hand():
    """Four hours, runs of two or three: none, three places for two hours, two for three."""
    drawn = {"".join("-#"[on] for on in way) for way in ways_of_a_spell(4, 2, 3)}
    assert drawn == {"----", "##--", "-##-", "--##", "###-", "-###"}


@pytest.mark.parametrize("name", CASES)
def test_the_search_finds_the_cheapest_of_all_timetables(name):
    """Every allowed timetable through the real simulation: 240 to 74,088 a case."""
    case = CASES[name]
    passage = case.passage()
    prepared = prepare(passage, step_h=case.step_h)
    table = allowed(case, prepared.signals.n_steps, prepared.signals.motoring[:, 0])
    litres, keeps = evaluation(case, passage, prepared, table)
    least_L = litres[keeps].min()
    # Worth being asked: some timetables fail, and of those that do not the cheapest is not idle.
    assert 0 < keeps.sum() < len(table)
    assert least_L > litres.min()

    for bin_soc, within_L in ((1e-7, 1e-6), (None, WITHIN_L)):
        best = searched(
            case, passage, prepared, **({} if bin_soc is None else {"bin_soc": bin_soc})
        )
        assert best.feasible
        assert least_L - 1e-9 <= best.charging_L <= least_L + within_L
        # Its timetable is one of those tried.
        assert (table == planned_steps(best.runs, prepared.track)).all(axis=1).any()


def test_what_is_saved_by_switching_loads_off_is_told_apart_from_foresight():
    """Among all timetables too: with loads that go as the bank falls the least is less, and serves
    less; with all of them on it is what the search finds where everything is served."""
    case = CASES["loads go as the bank falls"]
    shedding = case.passage()
    least_L, wanted = [], []
    for passage, prepared in (
        (shedding, prepare(shedding, step_h=case.step_h)),
        serving_all(shedding, prepare(shedding, step_h=case.step_h)),
    ):
        table = allowed(case, prepared.signals.n_steps, prepared.signals.motoring[:, 0])
        litres, keeps = evaluation(case, passage, prepared, table)
        best = searched(case, passage, prepared)
        least_L.append(litres[keeps].min())
        assert best.charging_L == pytest.approx(least_L[-1], abs=WITHIN_L)
        signals = replace(
            prepared.signals, ordered=planned_steps(best.runs, prepared.track)[:, None]
        )
        plant = replace(prepared.plant, rule=without_engine_rule(prepared.plant.rule))
        state = start_state(plant, soc=passage.boat.battery.soc_at_departure)
        flow, _ = run(signals, plant=plant, state=state)
        wanted.append(np.array([flow.comfort_on.mean(), flow.useful_on.mean()]))
    assert least_L[0] < least_L[1] - 0.1
    assert wanted[0].max() < 1.0
    assert wanted[1].tolist() == [1.0, 1.0]


@pytest.mark.parametrize(
    "asked",
    [
        {"floor_soc": 0.69, "hours_h": (12.0, 15.0)},
        {"end_soc": 0.99},
        {"since_full_h": 20.0},
    ],
)
def test_where_no_timetable_keeps_the_limits_the_search_says_so(asked):
    case = replace(CASES["the floor bites"], **asked)
    passage = case.passage()
    prepared = prepare(passage, step_h=case.step_h)
    table = allowed(case, prepared.signals.n_steps, prepared.signals.motoring[:, 0])
    assert not evaluation(case, passage, prepared, table)[1].any()
    assert not searched(case, passage, prepared).feasible
