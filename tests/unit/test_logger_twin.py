"""A boat that draws more or less than her files say keeps a logger: it is found back."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from builders import boat_of, in_average, passage_of

from powersim.logbook.logger_days import logger_days
from powersim.logbook.logger_evidence import logger_evidence
from powersim.logbook.posterior import posterior_of
from powersim.logbook.readings import CheckedLog, Reading
from powersim.records import LogEntry, LoggerSeries
from powersim.simulation.prepare import prepare

BOAT = boat_of(engine=None, panel_W=(100.0,))
PASSAGE = passage_of(boat=BOAT, days=4.0, depart_utc=datetime(2026, 9, 5, 6, tzinfo=UTC))
START_s = PASSAGE.depart_utc.timestamp()


def drawing(factor):
    """The passage with loads that draw so many times as much."""
    names = ("draw_A", "draw_W", "standby_A", "standby_W")
    loads = (
        replace(load, **{name: factor * getattr(load, name) for name in names})
        for load in PASSAGE.loads
    )
    return replace(PASSAGE, loads=tuple(loads))


def logged(factor, *, seed, sign=1.0):
    """What a shunt that is 1 % and 0.03 A off writes every ten minutes, with noise of 0.3 A."""
    hourly = in_average(drawing(factor), step_h=1.0).hourly
    rng = np.random.default_rng(seed)
    each = 6
    net_A = np.repeat((hourly.into_battery_Ah - hourly.from_battery_Ah).to_numpy(), each)
    shown_A = 1.01 * net_A + 0.03 + rng.normal(0.0, 0.3, len(net_A))
    return LoggerSeries(
        file="logger.csv",
        times_s=START_s + 600.0 * (0.5 + np.arange(len(net_A))),
        lines=np.arange(2, len(net_A) + 2),
        volts_V=np.repeat(hourly.bank_V.to_numpy(), each) + rng.normal(0.0, 0.01, len(net_A)),
        amps_A=sign * shown_A,
        solar_A=np.repeat(hourly.solar_Ah.to_numpy(), each),
    )


@pytest.mark.parametrize(("factor", "sign"), [(0.8, 1.0), (1.25, -1.0)])
def test_what_the_loads_draw_is_found_back_within_its_doubt(factor, sign):
    series = logged(factor, seed=7, sign=sign)
    days = logger_days(series, BOAT.battery, prepare(PASSAGE, step_h=1.0).track)
    evidence = logger_evidence(series, days, depart_utc_s=START_s)
    at_h = evidence.sums[-1].at_h
    entry = LogEntry(file="log.csv", line=2, row="", clock_s=START_s + 3600.0 * at_h)
    log = CheckedLog(readings=(Reading(at_h=at_h, entry=entry),), set_aside=())
    told = {"members": 60, "seed": 1, "step_h": 1.0}
    with_it = posterior_of(PASSAGE, log, logger=evidence, **told).estimate
    low, high = with_it.band()
    assert low[0] < factor < high[0]
    # By the prior alone 8 in 10 lie within 0.46: 2 * 1.2816 * 15 %, a fifth wider (model/underway).
    assert (high[0] - low[0]) / factor < 0.19
    assert with_it.told_frac[0] > 0.75
