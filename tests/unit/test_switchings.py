"""Draws from a meter's readings: by hand, against numpy's least squares, and how often true."""

import numpy as np
import pytest

from powersim.logbook.switchings import found_in

#: Always on and one load: off, on, off.
ONE = np.array([[1, 0], [1, 1], [1, 0]], dtype=float)


def found(shown, switched, *, read=0.01, wander=0.0):
    shown = np.asarray(shown, dtype=float)
    read_sd_A = np.full(len(shown), read)
    return found_in(shown, np.asarray(switched, float), read_sd_A=read_sd_A, wander_sd_A=wander)


def test_one_load_is_its_reading_less_the_mean_of_those_before_and_after():
    """5.40 - (0.305 + 0.315) / 2 = 5.09 A; its variance r^2 (1 + 1/2), r = 0.01 A: 0.01225 A."""
    answer = found([0.305, 5.40, 0.315], ONE)
    assert answer.value_A == pytest.approx([0.31, 5.09])
    assert np.sqrt(np.diag(answer.covariance_A2)) == pytest.approx([0.00707, 0.01225], rel=1e-3)
    assert answer.odd == ()


def test_where_the_zero_only_wanders_the_mean_of_before_and_after_still_is_the_draw():
    """A random walk alone, q a step: the middle less both neighbours' mean has q^2 / 2."""
    answer = found([0.30, 5.40, 0.40], ONE, read=1e-4, wander=0.1)
    assert answer.value_A[1] == pytest.approx(5.05, abs=1e-4)
    assert np.sqrt(answer.covariance_A2[1, 1]) == pytest.approx(0.1 / np.sqrt(2.0), rel=1e-3)


def test_it_is_numpys_least_squares_where_all_readings_are_alike():
    rng = np.random.default_rng(5)
    switched = np.column_stack([np.ones(30), rng.integers(0, 2, (30, 4))])
    shown = switched @ [0.4, 1.0, 3.0, 0.2, 8.0] + rng.normal(0.0, 0.01, 30)
    expected, *_ = np.linalg.lstsq(switched, shown, rcond=None)
    assert found(shown, switched).value_A == pytest.approx(expected)


def test_a_load_switched_four_times_is_known_twice_as_well():
    once, often = (found([0.3, 5.4, 0.3] * n, np.tile(ONE, (n, 1))) for n in (1, 4))
    ratio = np.sqrt(once.covariance_A2[1, 1] / often.covariance_A2[1, 1])
    assert ratio == pytest.approx(2.0)


def test_two_loads_that_were_only_on_together_are_open_and_their_sum_is_not():
    switched = np.column_stack([ONE, ONE[:, 1]])
    answer = found([0.3, 5.3, 0.3], switched)
    assert [answer.is_open(k) for k in range(3)] == [False, True, True]
    assert np.abs(np.array([0, 1, 1]) @ answer.together).max() < 1e-9
    assert answer.value_A[1] + answer.value_A[2] == pytest.approx(5.0)


def test_a_load_that_was_never_off_is_open():
    answer = found([0.8, 5.8, 0.8], np.column_stack([ONE, np.ones(3)]))
    assert [answer.is_open(k) for k in range(3)] == [True, False, True]


def test_a_fridge_that_starts_between_two_loads_is_found_and_spoils_neither():
    """Two loads of 1 A and 2 A, each read twice; 3 A more from the sixth reading on."""
    on = np.array([0, 1, 0, 2, 0, 0, 1, 0, 2, 0])
    switched = np.column_stack([np.ones(10), on == 1, on == 2])
    shown = 0.3 + 1.0 * (on == 1) + 2.0 * (on == 2) + 3.0 * (np.arange(10) >= 5)
    answer = found(shown, switched)
    (odd,) = answer.odd
    assert (odd.at, odd.stays, odd.size_A) == (5, True, pytest.approx(3.0))
    assert answer.value_A == pytest.approx([0.3, 1.0, 2.0])


def test_a_slip_of_the_pen_is_one_reading_and_the_load_is_known_from_the_others():
    answer = found([0.3, 5.4, 0.3, 54.0, 0.3, 5.4, 0.3], np.vstack([ONE, ONE[1:], ONE[1:]]))
    (odd,) = answer.odd
    assert (odd.at, odd.stays, odd.size_A) == (3, False, pytest.approx(48.6))
    assert answer.value_A == pytest.approx([0.3, 5.1])


def test_what_started_while_the_load_was_on_leaves_its_draw_open():
    """0.3, 5.4, 3.4: with the load 3.1 A more began, or as it went off. Nobody knows which."""
    answer = found([0.3, 5.4, 3.4], ONE)
    assert answer.odd
    assert answer.is_open(1)


def test_doubts_are_true_8_times_in_10():
    """400 sheets of 12 loads, with the noise that is assumed."""
    rng = np.random.default_rng(19)
    on = np.eye(12)[np.repeat(np.arange(12), 2)] * (np.arange(24) % 2 == 0)[:, None]
    switched = np.column_stack([np.ones(25), np.vstack([np.zeros(12), on])])
    truth = rng.uniform(0.1, 6.0, 13)
    within = []
    for _ in range(400):
        wander = np.cumsum(rng.normal(0.0, 0.02, 25))
        answer = found(switched @ truth + wander + rng.normal(0.0, 0.01, 25), switched, wander=0.02)
        doubt = 1.2816 * np.sqrt(np.diag(answer.covariance_A2))
        within.append(np.abs(answer.value_A - truth)[1:] < doubt[1:])
    # Of 4800, that share is known to 1 %; doubts are never made smaller, where a sheet fits well.
    assert 0.78 < np.mean(within) < 0.90
