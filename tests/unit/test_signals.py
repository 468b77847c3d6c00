"""Rows: one step of every signal, plain for one member or for what all members share."""

import numpy as np

from powersim.simulation.signals import ControllerRow, Row, Signals


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
        opens_h=column,
        closes_h=column,
        ordered=column,
        bank_C=column,
        takes_charge=column,
        unreachable_Ah=column,
        full_V=column,
        alternator_absorption_V=column,
        alternator_float_V=column,
        heater_L=np.zeros((n, 4, 1)),
        controllers=(),
    )


def test_a_row_holds_the_signals_of_its_step():
    rows = signals_of().rows(single=True)
    assert len(rows) == 3
    assert isinstance(rows[2], Row)
    assert rows[2].load_A == [8.0, 9.0, 10.0, 11.0]
    assert (rows[2].motoring, rows[2].may_run, rows[0].may_run) == (2.0, True, False)
    assert type(rows[2].may_run) is bool
    assert type(rows[2].motoring) is float
    assert rows[2].controllers == ()


def test_rows_may_begin_later():
    rows = signals_of().rows(first=2, single=True)
    assert [row.motoring for row in rows] == [2.0]


def test_what_all_members_share_stays_plain_and_what_differs_is_an_array():
    (row, *_) = signals_of(load_members=5).rows(single=False)
    assert type(row.motoring) is float
    assert row.load_A.shape == (4, 5)


def test_every_controller_has_a_row_in_every_step(result):
    rows = result.prepared.signals.rows(single=True)
    (controller,) = result.prepared.signals.controllers
    assert len(rows) == result.prepared.signals.n_steps
    noon = int(controller.power_W.argmax())
    (found,) = rows[noon].controllers
    assert isinstance(found, ControllerRow)
    assert found.power_W == controller.power_W[noon, 0] > 20.0
    assert found.absorption_V == controller.absorption_V[noon, 0]
