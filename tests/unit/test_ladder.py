"""What to give up, by hand: constant loads, nothing that charges, one bank.

100 Ah that lose nothing, full, with their floor at 50 %, for three days of 24 hours:

    lookout, protected     0.50 A   12 Ah a day
    messenger, essential   0.25 A    6 Ah
    pilot, useful          0.25 A    6 Ah
    music, comfort         0.50 A   12 Ah
    together               1.50 A   36 Ah

For h hours to go, a rung that draws I amperes needs 50 % + I * h / 100 Ah.
"""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from builders import calm_seas

from powersim.kernel.state import Switches
from powersim.planning.ladder import ladder
from powersim.planning.ladder_kept import Kept
from powersim.planning.ladder_needs import days_of, needs_of
from powersim.planning.ladder_rungs import Rungs, forcings_of, readings_from
from powersim.planning.ladder_steps import given_up, steps_of
from powersim.planning.ladder_table import ROOM_SOC, LadderTable, row_days_of, table_of
from powersim.planning.scenario import departure_state
from powersim.records import Load, Session
from powersim.report.ladder_answer import answer
from powersim.report.ladder_view import ladder_sections, step_name
from powersim.report.view import Paragraph
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.prepare import prepare

STEP_h = 1.0
LOADS = (
    Load(name="music", draw_A=0.5, priority="comfort"),
    Load(name="ais transponder", draw_A=0.5, role="lookout", priority="essential"),
    Load(name="messenger", draw_A=0.25, role="comms", priority="essential"),
    Load(name="pilot", draw_A=0.25, role="pilot", priority="useful"),
)
#: Amperes with nothing given up, then without music, pilot and messenger in turn.
RUNGS_A = (1.5, 1.0, 0.75, 0.5)


#: A counter, and no voltage that cuts the lights off before the charge does.
READ = {"reading": "monitor", "cutout_V": 9.0}


def bank(**battery):
    held = {"health_frac": 1.0, "charge_efficiency_frac": 1.0, "floor_soc": 0.5}
    return {"capacity_Ah": 100.0, "chemistry": "lifepo4", "battery": held | READ | battery}


@pytest.fixture(scope="module")
def passage():
    return calm_seas(boat=bank(), loads=LOADS, days=3.0, ship_offset_h=0.0)


@pytest.fixture
def rungs(passage, middle_banks):
    """Two members, from 09:00 on."""
    prepared = prepare(passage, step_h=STEP_h)
    forcing = draw_ensemble(passage, prepared, members=2, seed=1)
    steps = steps_of(passage, np.array([12.0, 12.0, 6.0, 6.0]))
    read_at = readings_from(prepared.track, 0, prepared.track.n_steps)
    return Rungs(
        forcings=forcings_of(forcing, tuple(given_up(passage, steps.worth))),
        plant=forcing.plant,
        switches=Switches(),
        state=departure_state(forcing, soc=1.0),
        battery=passage.boat.battery,
        read_at=read_at,
        until=prepared.track.n_steps,
        errs=np.zeros((len(read_at), 2)),
    )


def test_the_order_is_that_of_need_and_what_is_protected_is_not_in_it(passage):
    steps = steps_of(passage, np.array([12.0, 12.0, 6.0, 6.0]))
    assert [step.load.name for step in steps.worth] == ["music", "pilot", "messenger"]
    assert [step.group for step in steps.worth] == ["comfort", "useful", "essential"]
    assert steps.all_Ah_per_day == 36.0


def test_within_a_group_the_most_comes_first_and_what_speaks_last():
    named = {"a": 2.0, "speaks": 9.0, "b": 3.0, "port": 5.0, "mite": 0.3}
    loads = tuple(
        Load(
            name=name,
            draw_A=1.0,
            priority="essential",
            role="comms" if name == "speaks" else None,
            **({"states": frozenset({"berthed"})} if name == "port" else {}),
        )
        for name in named
    )
    steps = steps_of(calm_seas(loads=loads), np.array([*named.values()]))
    assert [step.load.name for step in steps.worth] == ["b", "a", "speaks"]
    # 2 % of 19.3 Ah are 0.39 Ah: the mite takes less; what is used in port alone is no step.
    assert [step.load.name for step in steps.little] == ["mite"]


def test_the_bank_is_read_at_the_loss_and_every_evening(rungs):
    """From 09:00 on: at 20:00 after 11, 35 and 59 h; 72 h to landfall."""
    assert rungs.read_at == (0, 11, 35, 59)
    # The latitudes of the route make 71.9 h of it.
    by_hand = [days / 24.0 for days in (72.0, 61.0, 37.0, 13.0)]
    assert rungs.to_go_days == pytest.approx(by_hand, abs=0.005)


def test_what_a_bank_needs_is_draw_times_time(rungs):
    """50 % + I * h / 100 Ah: with all on 158 % for 72 h, which no bank holds, and 111.5, 87, 69.5;
    with the lookout alone 86, 80.5, 68.5 and 56.5 %."""
    days = days_of(rungs)
    needs = needs_of(days, limit_soc=0.5, rest=3)
    for rung, draw_A in enumerate(RUNGS_A):
        by_hand = np.array([0.5 + draw_A * h / 100.0 for h in (72.0, 61.0, 37.0, 13.0)])
        by_hand[by_hand > 1.0] = np.inf
        assert needs[:, rung, 0] == pytest.approx(by_hand, abs=1e-6)
    assert needs[..., 0] == pytest.approx(needs[..., 1])


def test_what_is_needed_where_all_may_be_given_up_the_day_after(rungs):
    """A reading ahead on its rung, then the lookout alone: 11 h at 1.5 A and 61 h at 0.5 A of 72 h
    are 47 Ah, so 97 %; then 24 h and 37 h (more than full), 24 h and 13 h, and 13 h at 1.5 A."""
    needs = needs_of(days_of(rungs), limit_soc=0.5, rest=3, ahead_days=1.0)
    by_hand = [
        0.5 + (1.5 * h + 0.5 * rest_h) / 100.0
        for h, rest_h in ((11, 61), (24, 37), (24, 13), (13, 0))
    ]
    by_hand[1] = np.inf
    assert needs[:, 0, 0] == pytest.approx(by_hand, abs=1e-6)


def test_what_keeps_the_lights_on_is_told_from_the_dark(rungs):
    """Flat is at 10 %: 10 % + 0.5 A * 72 h / 100 Ah = 46 %. No charge between those that are tried
    is known to be enough, so up to one of them more is asked for."""
    needs = needs_of(days_of(rungs), limit_soc=-np.inf, rest=3)
    flat_soc = rungs.battery.flat_soc
    assert flat_soc == pytest.approx(0.1)
    by_hand = flat_soc + 0.5 * 72.0 / 100.0
    apart = (1.0 - flat_soc) / 20.0
    assert by_hand <= needs[0, 3, 0] <= by_hand + apart


def table(*rows):
    return LadderTable(row_days=7, least_soc=np.array(rows), cautious_frac=0.9, ahead_days=5.0)


def test_a_step_is_taken_below_its_figure_and_back_only_with_room():
    """Row of today: 80, 70 and 60 %. At 75 % the first step alone is taken."""
    kept = table([0.8, 0.7, 0.6])
    reads = np.array([0.81, 0.80, 0.79, 0.70, 0.65, 0.59])
    none = np.zeros(6, dtype=int)
    assert kept.rung(reads, to_go_days=3.0, before=none).tolist() == [0, 0, 1, 1, 2, 3]
    # All given up before: one is taken back with 5 % more than its figure asks for.
    assert ROOM_SOC == 0.05
    reads = np.array([0.64, 0.65, 0.74, 0.75, 0.84, 0.85])
    assert kept.rung(reads, to_go_days=3.0, before=none + 3).tolist() == [3, 2, 2, 1, 1, 0]


def test_a_figure_near_full_can_be_read_again():
    """98 % and 5 % more is nothing that a bank reads; full is."""
    kept = table([0.98])
    reads = np.array([0.98, 0.99])
    assert kept.rung(reads, to_go_days=3.0, before=np.array([1, 1])).tolist() == [1, 0]


def test_always_and_never():
    kept = table([np.inf, -np.inf])
    assert kept.rung(np.array([1.0, 0.0]), to_go_days=1.0, before=np.array([0, 2])).tolist() == [
        *(1, 1)
    ]


@pytest.mark.parametrize(
    ("to_go_days", "row"), [(20.0, 2), (14.1, 2), (14.0, 1), (7.0, 0), (0.2, 0), (99.0, 2)]
)
def test_the_row_of_a_day(to_go_days, row):
    assert table([0.5], [0.6], [0.7]).row_at(to_go_days) == row


def test_no_more_rows_than_fit():
    assert [row_days_of(days) for days in (0.5, 8.0, 8.1, 21.0, 60.0)] == [1, 1, 2, 3, 8]


@pytest.fixture
def found(passage, middle_banks):
    from powersim.api.asked import ready_of

    return ladder(ready_of(passage, step_h=STEP_h), members=20, seed=1)


def test_days_gained_and_how_it_goes_on_each_rung_by_hand(found):
    """From full, 90 Ah are there until flat and 50 Ah until the floor; landfall is after 72 h.

    At 1.5 A it is flat after 60 h and below its floor after 33 1/3 h; at 1.0 A after 90 h, which is
    past landfall, and after 50 h; at 0.75 A the floor comes after 66 2/3 h, at 0.5 A after 100 h.
    """
    assert [float(days[0]) for days in found.alone_days] == pytest.approx(
        [60.0 / 24.0, np.inf, np.inf, np.inf]
    )
    floor_h = [24.0 * float(one.floor_days[0]) for one in found.on_rung]
    assert floor_h == pytest.approx([100.0 / 3.0, 50.0, 200.0 / 3.0, np.inf], abs=1e-6)
    assert [int(one.dark.sum()) for one in found.on_rung] == [20, 0, 0, 0]
    assert [step.charge_Ah_per_day for step in found.steps.worth] == pytest.approx([12.0, 6.0, 6.0])


def test_the_first_sentence_says_that_it_takes_the_steps(found):
    """With nothing given up all 20 are dark after 60 h of 72: who reads no further must know."""
    first = " ".join(str(answer(found)).split()).split(". Given up")[0]
    assert "in all of 20 simulated passages, if what is told below is given up (else in none)" in (
        first
    )


def test_by_the_ladder_nothing_goes_dark(found):
    """Comfort and useful loads at most are given up: 0.75 A for 72 h are 54 Ah, to 46 %.

    The messenger is essential, and is given up only against the dark, which is far.
    """
    assert found.holds
    assert not found.needless
    assert not found.by_ladder.dark.any()
    messenger = found.steps.worth[-1]
    assert messenger.load.name == "messenger"
    assert not found.evenings(messenger).any()
    music = found.steps.worth[0]
    assert (found.evenings(music) > 0).all()


def test_a_row_has_the_highest_charge_of_its_evenings_rounded_up(rungs):
    """Readings 2.996, 2.5, 1.5 and 0.5 days before landfall: rows of a day, the last two evenings
    with one each, the first two in the third row. Of two members, half is the lower one.

    A figure for a later step that is above the one before it is that one: 0.70 and not 0.80.
    """
    seeming = np.array(
        [
            [[0.911, 0.95], [0.80, 0.85]],
            [[0.902, 0.99], [0.95, 0.95]],
            [[0.701, 0.72], [0.80, 0.80]],
            [[0.05, 0.06], [np.inf, np.inf]],
        ]
    )
    half = table_of(rungs, seeming, cautious_frac=0.5, ahead_days=2.0)
    assert half.row_days == 1
    # 0.911 is 92 %, and 5 % is below what is flat: never.
    assert half.least_soc.tolist() == [[-np.inf, -np.inf], [0.71, 0.71], [0.92, 0.92]]
    every = table_of(rungs, seeming, cautious_frac=1.0, ahead_days=2.0)
    assert every.least_soc[:, 0].tolist() == [-np.inf, 0.72, 0.99]


def test_a_row_without_an_evening_has_the_higher_figure_beside_it():
    """Ship's time is set back between the first two of three evenings, so that these are 25 h
    apart, 3.02, 1.98 and 0.98 days before landfall: the third of four rows has none. It must not
    read as if nothing need be given up between 90 % and 80 %.
    """
    rungs = SimpleNamespace(
        to_go_days=[3.02, 1.98, 0.98], members=1, battery=SimpleNamespace(flat_soc=0.1)
    )
    seeming = np.array([[[0.9]], [[0.8]], [[0.6]]])
    table = table_of(rungs, seeming, cautious_frac=1.0, ahead_days=2.0)
    assert table.least_soc[:, 0].tolist() == [0.6, 0.8, 0.9, 0.9]


def test_evenings_are_counted_until_all_is_dark():
    """Read at 0, 0.5 and 1.5 days; the second passage is dark after one day."""
    one = Kept(
        floor_days=np.array([np.inf, 0.9]),
        flat_days=np.array([np.inf, 1.0]),
        rung=np.array([[0, 1], [1, 2], [2, 2]]),
        lowest_soc=np.array([0.6, 0.1]),
        begins_days=np.array([0.0, 0.5, 1.5]),
    )
    assert one.evenings(0).tolist() == [2.0, 2.0]
    assert one.evenings(1).tolist() == [1.0, 1.0]
    assert one.dark.tolist() == [False, True]


def test_where_no_charge_is_enough_all_is_given_up_at_once(middle_banks):
    """90 Ah are gone at 1.5 A after 60 h, and at 0.5 A after 180 h; landfall is after 240 h.

    Whoever gives up nothing loses five days of light for it.
    """
    from powersim.api.asked import ready_of

    longer = calm_seas(boat=bank(), loads=LOADS, days=10.0, ship_offset_h=0.0)
    found = ladder(ready_of(longer, step_h=STEP_h), members=20, seed=1)
    assert not found.holds
    assert found.all_at_once
    assert 24.0 * found.on_rung[0].flat_days == pytest.approx(np.full(20, 60.0))
    assert 24.0 * found.by_ladder.flat_days == pytest.approx(np.full(20, 180.0))
    paragraphs = [one for one in ladder_sections(found) if isinstance(one, Paragraph)]
    assert any("Then give up all of it at once." in str(one.text) for one in paragraphs)


def test_a_ladder_that_is_not_enough_says_until_when(found):
    """Of 20 passages 1 may go dark. With 2 dark, after 1 and 2 days, the tenth of all is not dark
    any day; with 4 the tenth lies between the second and the third: 1.0 + 0.9 * (2.0 - 1.0)."""

    def told(*dark_days):
        flat_days = np.array([*dark_days, *[np.inf] * (20 - len(dark_days))])
        kept = replace(found.by_ladder, flat_days=flat_days, floor_days=flat_days)
        bare = replace(found.on_rung[-1], flat_days=flat_days, floor_days=flat_days)
        dark = replace(found, by_ladder=kept, on_rung=(*found.on_rung[:-1], bare))
        return " ".join(str(answer(dark)).split())

    assert "NOT kept from the dark to landfall" in told(1.0, 2.0)
    assert "2 of 20 simulated passages go dark. 9 in 10 do not; the first is dark after 24 h." in (
        told(1.0, 2.0)
    )
    assert "In 9 of 10 she is kept from the dark for 46 h, until 7 Sep." in (
        told(0.5, 1.0, 2.0, 2.5)
    )


def test_sessions_are_halved_before_they_end_and_a_laptop_stays_for_them():
    """Four downloads a day of an hour: half of 24 Ah is worth it. Position reports go last."""
    loads = (
        Load(name="laptop", draw_A=2.0, priority="useful", on_frac=None, on_h_per_day=6.0),
        Load(
            name="weather",
            draw_A=6.0,
            priority="essential",
            role="comms",
            on_frac=None,
            session=Session(words="downloads", per_day=4.0, each_h=1.0, beside=("laptop",)),
        ),
        Load(name="position reports", draw_A=1.0, priority="essential", role="comms"),
    )
    passage = calm_seas(loads=loads)
    steps = steps_of(passage, np.array([12.0, 24.0, 24.0])).worth
    assert [step_name(step) for step in steps] == [
        "laptop, but for the weather",
        "weather, 2 a day in place of 4",
        "weather",
        "position reports",
    ]
    assert [step.charge_Ah_per_day for step in steps] == [12.0, 12.0, 12.0, 24.0]
    _, no_laptop, halved, no_weather, bare = given_up(passage, steps)
    # Its own hours are gone, and it is aboard for the weather until that is given up.
    assert (no_laptop.loads[0].count, no_laptop.loads[0].states) == (1, frozenset())
    assert halved.loads[1].session.per_day == 2.0
    assert [load.count for load in no_weather.loads] == [1, 0, 1]
    assert [load.count for load in bare.loads] == [1, 0, 0]
    drawn = {load.name: load.count for load in no_weather.drawn}
    assert drawn["laptop, for weather"] == 0
