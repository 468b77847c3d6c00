"""How a log's sum falls on single loads: by hand, and against the closed form of the normal law."""

import math
from pathlib import Path

import numpy as np
import pytest

from powersim.inputs.folder import load_folder
from powersim.logbook.estimate import Z_80
from powersim.logbook.load_shares import (
    COMMON_DRAW_SD,
    UNLISTED,
    LoadsPrior,
    loads_found,
    loads_prior,
)
from powersim.simulation.prepare import prepare

SHIPPED = sorted((Path(__file__).parents[2] / "loads").glob("*/boat.toml"))


def prior(*loads, idle_Ah=0.0, **given):
    """Of (name, Ah a day, spread)."""
    names, day_Ah, sd = zip(*loads, strict=True)
    return LoadsPrior(
        names=names,
        day_Ah=np.array(day_Ah),
        all_Ah=sum(day_Ah) + idle_Ah,
        sd=np.array(sd),
        **{"log_mean": np.zeros(len(names))} | given,
    )


LIST = prior(("pilot", 20.0, 0.30), ("laptop", 10.0, 0.20), ("lamp", 2.5, 0.05), idle_Ah=1.0)


@pytest.mark.parametrize("more", [1.07, 1.2, 1.4])
@pytest.mark.parametrize("file", SHIPPED, ids=lambda path: path.parent.name)
def test_the_days_sum_is_that_of_the_log_and_each_load_is_within_its_own_doubt(file, more):
    passage = load_folder(file.parent)
    before = loads_prior(passage, prepare(passage, step_h=1.0))
    found = loads_found(before, log_factor=math.log(more), sd=0.03)
    listed_Ah = float(before.day_Ah @ found.factors)
    idle_Ah = before.all_Ah - before.day_Ah.sum()
    all_Ah = listed_Ah + idle_Ah + found.unlisted_Ah
    assert all_Ah == pytest.approx(more * before.all_Ah, rel=0.011)
    moved = np.abs(np.log(found.factors))
    assert (moved <= before.sd * math.log(more) / before.total_sd + 1e-9).all()
    assert (found.sd <= before.sd).all()
    lamps = [name for name in found.names if name == "masthead tricolour"]
    assert len(lamps) == 1
    assert 2.5 * found.factors[found.names.index(lamps[0])] <= 2.6


def test_each_part_is_the_mean_given_the_sum():
    """The normal law's own: mean and variance given a linear sum, of four unknowns, by matrices."""
    shares = np.append(LIST.shares, 1.0)  # and last what the list lacks, as a share of all
    covariance = np.diag(np.append(LIST.sd, COMMON_DRAW_SD) ** 2)
    read_sd = 0.05  # of a reading of the sum by itself
    sum_variance = shares @ covariance @ shares
    gain = covariance @ shares / (sum_variance + read_sd**2)
    read = 0.2
    mean, after = gain * read, covariance - np.outer(gain, shares) @ covariance
    found = loads_found(
        LIST, log_factor=float(shares @ mean), sd=math.sqrt(shares @ after @ shares)
    )
    assert np.log(found.factors[:2]) == pytest.approx(mean[:2])
    assert found.factors[2] == 1.0  # a lamp that moves by less than a hundredth is left alone
    assert abs(mean[2]) < 0.01
    assert found.sd == pytest.approx(np.sqrt(np.diag(after))[:3])


def test_less_than_the_list_lowers_each_as_far_as_its_own_interval_and_no_line_takes_the_rest():
    found = loads_found(LIST, log_factor=math.log(0.9), sd=0.03)
    assert found.unlisted_Ah == 0.0
    assert LIST.day_Ah @ found.factors + 1.0 == pytest.approx(0.9 * LIST.all_Ah, rel=0.01)
    far = loads_found(LIST, log_factor=math.log(0.5), sd=0.03)
    assert far.unlisted_Ah < 0.0
    assert LIST.day_Ah @ far.factors + 1.0 + far.unlisted_Ah == pytest.approx(0.5 * LIST.all_Ah)
    assert far.factors[2] >= math.exp(-Z_80 * 0.05) * 0.98


def test_what_was_measured_takes_the_place_of_a_spread():
    """A pilot that a clamp meter showed to draw half as much again: the log bears it out."""
    measured = prior(
        *(("pilot", 20.0, 0.03), ("laptop", 10.0, 0.20), ("lamp", 2.5, 0.05)),
        idle_Ah=1.0,
        log_mean=np.array([math.log(1.5), 0.0, 0.0]),
    )
    total = math.log((30.0 + 10.0 + 2.5 + 1.0) / 33.5)
    found = loads_found(measured, log_factor=total, sd=0.03)
    assert found.factors[0] == pytest.approx(1.5, abs=0.01)
    assert found.factors[1:] == pytest.approx([1.0, 1.0], abs=0.02)
    assert abs(found.unlisted_Ah) < 1.0


def test_a_line_of_an_earlier_log_is_the_first_to_give_way():
    before = prior(("pilot", 20.0, 0.10), (UNLISTED.title(), 5.0, 0.5))
    less, more = (loads_found(before, log_factor=math.log(x), sd=0.02) for x in (0.9, 1.2))
    for found, x in ((less, 0.9), (more, 1.2)):
        assert found.unlisted_Ah == 0.0
        assert before.day_Ah @ found.factors == pytest.approx(25.0 * x, rel=0.01)
    assert less.factors[0] > 0.95
    gone = loads_found(before, log_factor=math.log(0.7), sd=0.02)
    assert gone.factors[1] == 0.0
    assert gone.factors[0] < 0.9
