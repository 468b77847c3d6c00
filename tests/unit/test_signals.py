"""Rows: one step of every signal, in plain numbers, as one member meets it."""

import numpy as np

from powersim.kernel.chargers import Offer
from powersim.kernel.step_signals import StepSignals
from powersim.simulation.signals import Signals


def signals_of(n=3, *, load_members=1):
    column = np.arange(float(n))[:, None]
    groups = np.arange(4.0 * n * load_members).reshape(n, 4, load_members)
    return Signals(
        step_h=0.25,
        load_A=groups,
        load_W=groups,
        peak_A=np.zeros((n, 4, 1)),
        motoring=column,
        may_run=column > 0,
        sea_lets=column,
        opens_h=column,
        closes_h=column,
        ordered=column,
        reads=column,
        misread_soc=column,
        bank_C=column,
        takes_charge=column,
        unreachable_frac=column,
        full_V=column,
        alternator_absorption_V=column,
        alternator_float_V=column,
        heater_L=np.zeros((n, 4, 1)),
        controllers=(),
    )


def test_a_row_holds_the_signals_of_its_step():
    rows, offers = signals_of().member(0)
    assert len(rows) == len(offers) == 3
    assert isinstance(rows[2], StepSignals)
    assert rows[2].load_A == [8.0, 9.0, 10.0, 11.0]
    assert (rows[2].motoring, rows[2].may_run, rows[0].may_run) == (2.0, True, False)
    assert type(rows[2].may_run) is bool
    assert type(rows[2].motoring) is float
    assert offers[2] == ()


def test_rows_may_begin_later():
    rows, _ = signals_of().between(2, 3).member(0)
    assert [row.motoring for row in rows] == [2.0]


def test_a_member_meets_what_all_share_and_what_is_its_own():
    """Of five, the draw of the first group in the last step is 40 to 44 A; more than five begin
    anew with the first."""
    signals = signals_of(load_members=5)
    assert signals.members == 5
    last = [signals.member(place)[0][-1] for place in (0, 3, 5)]
    assert [row.load_A[0] for row in last] == [40.0, 43.0, 40.0]
    assert {row.motoring for row in last} == {2.0}
    assert signals_of().members == 1


def test_every_controller_has_an_offer_in_every_step(result):
    rows, offers = result.prepared.signals.member(0)
    (controller,) = result.prepared.signals.controllers
    assert len(rows) == len(offers) == result.prepared.signals.n_steps
    noon = int(controller.power_W.argmax())
    (found,) = offers[noon]
    assert isinstance(found, Offer)
    assert found.power_W == controller.power_W[noon, 0] > 20.0
    assert found.absorption_V == controller.absorption_V[noon, 0]
