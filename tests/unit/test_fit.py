"""One fit: slips are named, logs side by side are as alone, and less log is less sure."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from builders import passage_of

from powersim.inputs.log import read_log
from powersim.logbook.contradictions import checked
from powersim.logbook.fit import N_FACTORS, factors_with_sky, off_alike
from powersim.logbook.hindcast import hindcast_as_planned, simulated
from powersim.logbook.logger_evidence import LoggerEvidence
from powersim.logbook.observations import Observation
from powersim.logbook.posterior import LEAST_DRAWS, posterior_of, posteriors_of
from powersim.logbook.words import cannot_tell
from powersim.report.underway_text import underway_text
from powersim.simulation.factors import Factors
from powersim.simulation.prepare import prepare

PASSAGE = passage_of(days=8.0)
QUICK = {"members": 40, "seed": 1, "step_h": 1.0}
HEAD = "time,soc,engine_h,dip,solar_Ah\n"


@pytest.fixture
def log_of(tmp_path):
    track = prepare(PASSAGE, step_h=1.0).track

    def read(rows):
        (tmp_path / "log.csv").write_text(HEAD + "".join(rows), encoding="utf-8")
        now = PASSAGE.depart_utc + timedelta(days=8)
        return checked(
            read_log(tmp_path / "log.csv", can_L=None), passage=PASSAGE, track=track, now_utc=now
        )

    return read


def rows(days, *, demand=1.0, slip=None):
    """What a boat that draws so many times its list writes down each morning, without a slip."""
    prepared, steps = prepare(PASSAGE, step_h=1.0), 24 * days
    factors = Factors(*np.ones((5, 1)))._replace(demand=np.array([demand]))
    past = simulated(hindcast_as_planned(PASSAGE, prepared, n_steps=steps), factors)
    for day in range(days + 1):
        when = PASSAGE.depart_utc + timedelta(days=day)
        soc, engine_h, solar_Ah, *burnt_L = (
            float(past.at(name, [24.0 * day])[0, 0])
            for name in ("soc", "engine_h", "solar_Ah", "charging_L", "other_L")
        )
        soc = slip[1] if slip and slip[0] == day else soc
        yield (
            f"{when:%Y-%m-%d %H:%M},{100 * soc:.0f} %,{100 + engine_h:.1f},"
            f"{PASSAGE.boat.fuel.aboard_L - sum(burnt_L) - 20:.1f} L,{100 + solar_Ah:.0f}\n"
        )


def test_a_slip_is_named_with_what_it_should_have_been(log_of):
    told = posterior_of(PASSAGE, log_of(rows(6)), **QUICK)
    assert told.left_out == ()
    slip = posterior_of(PASSAGE, log_of(rows(6, slip=(3, 0.14))), **QUICK)
    (problem,) = slip.left_out
    assert "14 %" in str(problem)
    should_be = int(problem.expected.split()[1])
    so = next(one.value for one in told.observations if one.at_h == 72.0 and one.kind == "soc")
    assert should_be == pytest.approx(100 * so, abs=6)
    assert slip.estimate.log_factor == pytest.approx(told.estimate.log_factor, abs=0.03)


def test_a_low_reading_that_is_not_believed_is_warned_of_while_it_is_new(log_of):
    """14 % this morning may be the truth: a bank does die between two mornings."""
    now = posterior_of(PASSAGE, log_of(rows(6, slip=(6, 0.14))), **QUICK)
    assert len(now.left_out) == 1
    assert now.reads_lower
    assert "READ THE BANK AGAIN NOW." in underway_text(now, None)
    long_ago = posterior_of(PASSAGE, log_of(rows(6, slip=(3, 0.14))), **QUICK)
    assert len(long_ago.left_out) == 1
    assert not long_ago.reads_lower


def test_logs_side_by_side_are_each_as_alone(log_of):
    logs = [log_of(rows(6, demand=demand)) for demand in (1.0, 1.3)]
    together = posteriors_of(PASSAGE, logs, **QUICK)
    for log, one in zip(logs, together, strict=True):
        alone = posterior_of(PASSAGE, log, **QUICK)
        assert one.estimate.log_factor == pytest.approx(alone.estimate.log_factor, abs=1e-9)
        assert one.now.soc == pytest.approx(alone.now.soc, abs=1e-9)


def test_two_days_tell_less_than_six(log_of):
    """Of the draw; the estimate itself need not grow, since a counter drifts in six days."""
    two, six = (posterior_of(PASSAGE, log_of(rows(days, demand=1.3)), **QUICK) for days in (2, 6))
    assert two.estimate.told_frac[0] < six.estimate.told_frac[0]
    for one in (two, six):
        assert np.log(1.1) < one.estimate.log_factor[0] < np.log(1.4)


def test_an_empty_log_leaves_all_as_the_files_have_it(log_of):
    log = log_of(rows(1))
    bare = tuple(
        replace(one, entry=replace(one.entry, soc=None, dip_L=None, solar_Ah=None))
        for one in log.readings
    )
    told = posterior_of(PASSAGE, replace(log, readings=bare), **QUICK)
    assert told.observations == ()
    assert told.estimate.told_frac == pytest.approx(np.zeros(5), abs=1e-9)
    with pytest.raises(ValueError, match="without readings"):
        posterior_of(PASSAGE, replace(log, readings=()), **QUICK)


@pytest.mark.parametrize("jump", [0.15, 0.25])
def test_a_log_that_nothing_explains_is_told_to_be_one(log_of, jump):
    """A monitor that jumps up and down from day to day, at times too far: three of seven are no
    slips, and to leave them out would show a log that fits.
    """
    log = log_of(rows(6))
    fits = posterior_of(PASSAGE, log, **QUICK)
    assert fits.misfit < 1.2
    assert not any("too narrow" in sentence for sentence in cannot_tell(fits))
    readings = tuple(
        replace(one, entry=replace(one.entry, soc=one.entry.soc - jump * (day % 2)))
        for day, one in enumerate(log.readings)
    )
    wrong = posterior_of(PASSAGE, replace(log, readings=readings), **QUICK)
    assert wrong.misfit > 1.5, (wrong.misfit, wrong.left_out)
    assert "too narrow" in cannot_tell(wrong)[0]


def test_a_bank_that_seems_just_filled_may_be_some_points_lower(log_of):
    """A run is placed at likely hours, just before the reading: full in every member. Had it been
    hours before, 90 % and 5 A were right, and no slip of the pen that hides a lower bank.
    """
    times = [PASSAGE.depart_utc + timedelta(hours=hours) for hours in (1.0, 9.0)]
    told = [f"{when:%Y-%m-%d %H:%M}," for when in times]
    log = log_of([f"{told[0]}100 %,100,,100\n", f"{told[1]}90 %,102,,120\n"])
    late = replace(log.readings[1], entry=replace(log.readings[1].entry, absorb_A=5.0))
    found = posterior_of(PASSAGE, replace(log, readings=(log.readings[0], late)), **QUICK)
    assert found.best.at("soc", np.array([9.0]))[0, 0] > 0.97
    assert found.left_out == ()


def test_few_members_are_the_first_of_enough(log_of):
    log = log_of(rows(6))
    few, enough = (
        posterior_of(PASSAGE, log, members=members, seed=1, step_h=1.0)
        for members in (5, LEAST_DRAWS)
    )
    assert few.estimate.log_factor.tolist() == enough.estimate.log_factor.tolist()
    assert few.now.soc.tolist() == enough.now.soc[:5].tolist()


@pytest.mark.parametrize("hours", [1.0, 10.5, 12.0, 22.0])
def test_a_log_of_some_hours_of_dusk_or_night_leaves_the_sun_open(log_of, hours):
    """Departure at 09:00 UTC, and the sun goes down some eleven hours later."""
    when = PASSAGE.depart_utc + timedelta(hours=hours)
    told = posterior_of(PASSAGE, log_of([f"{when:%Y-%m-%d %H:%M},80 %,100,70 L,100\n"]), **QUICK)
    assert np.isfinite(told.estimate.log_factor).all()
    assert np.isfinite(told.now.soc).all()
    assert told.estimate.told_frac[1] < 0.2


def test_sun_so_far_is_told_apart_from_the_panels():
    """In a weather with half of the mean sun and nothing known otherwise the panels are run with
    twice of it, so that all members have had the usual sun; where the sun was 1.2 times the usual
    and the panels give 0.9 of what they should, with 0.9 x 1.2 / 0.5 = 2.16.
    """
    x = np.zeros((N_FACTORS + 1, 2))
    x[Factors._fields.index("solar"), 1] = np.log(0.9)
    x[N_FACTORS, 1] = np.log(1.2)
    found = factors_with_sky(x, np.array([0.5, 0.5]))
    assert found.solar == pytest.approx([2.0, 2.16])
    assert found.demand == pytest.approx([1.0, 1.0])


def nights(days, *, draws):
    """What a shunt counts out of the bank in each night, of a boat that draws so many times."""
    prepared = prepare(PASSAGE, step_h=1.0)
    factors = Factors(*np.ones((5, 1)))._replace(demand=np.array([draws]))
    past = simulated(hindcast_as_planned(PASSAGE, prepared, n_steps=24 * days), factors)
    given = {"source": "logger, night load", "column": "logger amps", "file": "logger.csv"}
    for day in range(days):
        edges_h = 24.0 * day + np.array([12.0, 20.0])  # 21:00 to 05:00 UTC, 2 h earlier by the sun
        begin_Ah, end_Ah = past.at("loads_Ah", edges_h)[:, 0]
        out_Ah = float(end_Ah - begin_Ah)
        yield Observation(
            kind="loads_Ah",
            at_h=edges_h[1],
            since_h=edges_h[0],
            value=out_Ah,
            sd=float(np.hypot(0.5, 0.01 * out_Ah)),
            lasting_sds=(0.01 * out_Ah,),
            line=2 + day,
            **given,
        )


def test_a_loggers_nights_tell_the_draw_and_what_comes_after_the_last_entry_waits(log_of):
    log = log_of(rows(3, demand=1.3))
    alone = posterior_of(PASSAGE, log, **QUICK)
    logger = LoggerEvidence(readings=(), sums=tuple(nights(6, draws=1.3)))
    told = posterior_of(PASSAGE, log, logger=logger, **QUICK)
    assert told.late == 3
    sources = [one.source for one in told.observations]
    assert sources.count("logger, night load") == 3
    assert told.estimate.sd[0] < 0.5 * alone.estimate.sd[0]
    assert told.estimate.log_factor[0] == pytest.approx(np.log(1.3), abs=0.03)


def test_a_night_of_a_logger_that_nothing_explains_is_named_by_its_file(log_of):
    sums = list(nights(6, draws=1.0))
    sums[2] = replace(sums[2], value=3.0 * sums[2].value)
    log = log_of(rows(6))
    told = posterior_of(PASSAGE, log, logger=LoggerEvidence(readings=(), sums=tuple(sums)), **QUICK)
    (problem,) = told.left_out
    assert str(problem).startswith("logger.csv:4: logger, night load: says ")
    assert "slip" not in str(problem)


def test_a_load_that_was_measured_moves_what_is_believed_of_all_by_its_share(log_of):
    """An empty log, and one load that draws half as much again: by hand, half of its share more."""
    log = log_of(rows(1))
    bare = tuple(
        replace(one, entry=replace(one.entry, soc=None, dip_L=None, solar_Ah=None))
        for one in log.readings
    )
    name = PASSAGE.loads[0].name
    told = posterior_of(PASSAGE, replace(log, readings=bare), trial={name: (1.5, 0.03)}, **QUICK)
    before = told.priors.loads
    share = before.day_Ah[0] / before.all_Ah
    assert share > 0.05
    assert told.factors.demand == pytest.approx(1.0 + 0.5 * share)
    assert told.loads.factors[0] == pytest.approx(1.5)
    assert told.loads.factors[1:] == pytest.approx(np.ones(len(PASSAGE.loads) - 1))


def test_loads_that_were_measured_far_beyond_the_files_still_leave_room_for_doubt(log_of):
    """Thirty times what the list has, by a slip of a decimal perhaps: nothing breaks."""
    trial = {load.name: (30.0, 3.0) for load in PASSAGE.loads}
    told = posterior_of(PASSAGE, log_of(rows(1)), trial=trial, **QUICK)
    assert 3.0 < told.factors.demand <= 90.0
    assert told.estimate.sd[0] > 0.01


def test_errors_of_volts_and_counts_read_together_are_possible_ones():
    """Volts and the count at dusk and at dawn, with no charge in between: no eigenvalue below 0."""
    given = {"source": "", "column": "", "line": 2, "value": 0.0, "sd": 1.0}
    told = [
        Observation(kind=kind, at_h=at_h, **given)
        for at_h in (18.0, 30.0, 42.0)
        for kind in ("soc", "monitor_Ah", "absorb_A")
    ]
    charged = np.repeat([0.0, 0.0, 0.4], 3)
    alike = off_alike(told, np.abs(charged[:, None] - charged))
    assert np.linalg.eigvalsh(alike).min() > -1e-12
    assert alike[1, 4] == 1.0  # one count and the next, through the night
    assert alike[0, 2] == 1.0  # volts and amperes of one time
    assert alike[0, 3] == 0.0
