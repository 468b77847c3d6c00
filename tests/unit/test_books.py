"""Books that close, and books that must not."""

import dataclasses
from dataclasses import fields

import numpy as np
import pytest
from builders import boat_of, passage_of

from powersim.errors import BalanceError
from powersim.kernel.state import Switches
from powersim.records import CHEMISTRIES, Load
from powersim.simulation.books import books_of, check_books
from powersim.simulation.books_record import Books
from powersim.simulation.prepare import prepare
from powersim.simulation.run import run
from powersim.simulation.state import start_state

STEP = 200  # by day, with loads on


def checked(result, books=None, flow=None):
    check_books(
        books or result.books,
        flow=flow or result.flow,
        plant=result.prepared.plant,
        first=0,
        step_h=result.prepared.track.step_h,
    )


def bent(record, name, by, step=STEP):
    """A record of arrays with one figure of one column changed."""
    if not isinstance(record, Books):
        array = getattr(record, name).copy()
        array[step, 0] += by
        return record._replace(**{name: array})
    array = record.column(name).copy()
    array[step, 0] += by
    for others in ("others_Ah", "others_Wh"):
        if name in getattr(record, others):
            return dataclasses.replace(record, **{others: getattr(record, others) | {name: array}})
    return dataclasses.replace(record, **{name: array})


def test_the_books_of_a_run_close(result):
    checked(result)


@pytest.mark.parametrize(
    ("column", "book"),
    [
        ("solar_Ah", "charge over the bus"),
        ("alternator_Ah", "charge over the bus"),
        ("wind_Ah", "charge over the bus"),
        ("water_Ah", "charge over the bus"),
        ("shore_Ah", "charge over the bus"),
        ("loads_Ah", "charge over the bus"),
        ("into_battery_Ah", "charge over the bus"),
        ("from_battery_Ah", "charge over the bus"),
        ("gassing_Ah", "charge in the bank"),
        ("self_discharge_Ah", "charge in the bank"),
        ("change_Ah", "charge in the bank"),
        ("solar_Wh", "energy"),
        ("alternator_Wh", "energy"),
        ("wind_Wh", "energy"),
        ("water_Wh", "energy"),
        ("shore_Wh", "energy"),
        ("loads_Wh", "energy"),
        ("solar_path_loss_Wh", "energy"),
        ("alternator_cable_loss_Wh", "energy"),
        ("supply_loss_Wh", "energy"),
        ("controller_idle_Wh", "energy"),
        ("resistance_loss_Wh", "energy"),
        ("gassing_loss_Wh", "energy"),
        ("self_discharge_loss_Wh", "energy"),
        ("change_Wh", "energy"),
    ],
)
@pytest.mark.parametrize("by", [1e-3, -1e-3, float("nan")])
def test_a_slip_in_any_column_shows(result, column, book, by):
    """A thousandth of an ampere-hour or watt-hour too much or too little, or not a number."""
    with pytest.raises(BalanceError, match=f"^the books of {book} do not close in step {STEP}: "):
        checked(result, books=bent(result.books, column, by))


def test_no_column_of_the_balance_is_left_out(result):
    """Surplus and what went without stand beside the balance; every other column is in it."""
    beside = {"surplus_Ah", "unserved_Ah", "surplus_Wh", "unserved_Wh"}
    for column in beside:
        checked(result, books=bent(result.books, column, 1.0))
    assert len(Books.names()) - len(beside) == 25


@pytest.mark.parametrize(
    ("column", "by", "what"),
    [
        ("soc", 1.0, "state of charge"),
        ("soc", -1.0, "state of charge"),
        ("available_Ah", -300.0, "charge in the available well"),
        ("available_Ah", 300.0, "charge in the available well"),
        ("solar_offered_A", -50.0, "solar taken"),
        ("alternator_offered_A", -50.0, "alternator taken"),
        ("served", 0.5, "loads served"),
        ("served", -1.5, "loads served"),
    ],
)
def test_a_figure_out_of_its_range_shows(result, column, by, what):
    flow = result.flow
    step = int(np.argmax(flow.alternator_A if column.startswith("alternator") else flow.solar_A))
    with pytest.raises(BalanceError, match=f"^{what} leaves its range in step {step}, by "):
        checked(result, flow=bent(flow, column, by, step=step))


@pytest.mark.parametrize(
    "column", ["solar_A", "alternator_A", "load_A", "in_A", "out_A", "gassing_A", "total_Ah"]
)
def test_a_slip_in_the_kernel_shows(result, column):
    """The books are made from the kernel's flows; a thousandth of one of them is enough."""
    battery = result.passage.boat.battery
    with pytest.raises(BalanceError):
        books_of(
            bent(result.flow, column, 1e-3),
            state=start_state(result.prepared.plant, soc=battery.soc_at_departure),
            prepared=result.prepared,
            switches=Switches(),
        )


def test_loss_that_no_resistance_explains_shows(result):
    """The watt-hours balance whatever the resistance; its own check must find a false one."""
    flow = result.flow
    step = int(np.argmax(flow.in_A))
    with pytest.raises(BalanceError, match=f"^the books of resistance .* in step {step}: "):
        checked(result, flow=bent(flow, "ohm", 0.01, step=step))


def test_the_message_gives_both_totals_and_the_larger_side(result):
    """In step 5 a whole ampere-hour of loads is added to what the bank gives."""
    from_bank_Ah = result.books.solar_Ah[5, 0] + result.books.from_battery_Ah[5, 0]
    from_bank_Ah += result.books.alternator_Ah[5, 0]
    with pytest.raises(BalanceError) as caught:
        checked(result, books=bent(result.books, "loads_Ah", 1.0, step=5))
    assert str(caught.value) == (
        f"the books of charge over the bus do not close in step 5: {from_bank_Ah:.9g} Ah in, "
        f"{from_bank_Ah + 1.0:.9g} Ah out, 1 Ah too much out"
    )


def test_the_step_in_the_message_is_counted_from_departure(result):
    columns = {field.name: getattr(result.books, field.name) for field in fields(Books)}
    books = Books(
        **{
            name: {one: column[100:] for one, column in columns[name].items()}
            if name.startswith("others_")
            else column[100:]
            for name, column in columns.items()
        }
    )
    flow = type(result.flow)(*(column[100:] for column in result.flow))
    with pytest.raises(BalanceError, match=" in step 105: "):
        check_books(
            bent(books, "loads_Ah", 1.0, step=5),
            flow=flow,
            plant=result.prepared.plant,
            first=100,
            step_h=0.25,
        )


def test_nothing_in_the_books_is_negative_but_the_changes(result):
    """To rounding, and for the bank's losses to what a bend of its voltage can turn about."""
    for name in Books.names():
        if not name.startswith("change_"):
            slack = 1e-3 if name in ("resistance_loss_Wh",) else 1e-9
            assert result.books.column(name).min() >= -slack, name


def test_a_day_closes_by_hand(result):
    """Sums of the first 24 hours: what came in, what went out, what the bank gained."""
    day = {name: result.books.column(name)[:96].sum() for name in Books.names()}
    came_Ah = day["solar_Ah"] + day["alternator_Ah"]
    wasted_Ah = day["gassing_Ah"] + day["self_discharge_Ah"]
    assert came_Ah == pytest.approx(day["loads_Ah"] + wasted_Ah + day["change_Ah"], abs=1e-6)
    soc_gain = result.flow.soc[95, 0] - result.passage.boat.battery.soc_at_departure
    assert day["change_Ah"] == pytest.approx(soc_gain * 187.0, abs=1e-6)


def test_books_close_where_a_full_bank_hardly_moves():
    """Gassing and leak all but balance a trickle of charge: hundreds of banks at float all day,
    some of which gain a billionth of an ampere-hour in a step.
    """
    prepared = prepare(passage_of(days=2.0, loads=(Load(name="all", draw_A=1.5),)), step_h=1.0)
    start = start_state(prepared.plant, soc=np.linspace(0.95, 1.0, 2000))
    flow, _ = run(prepared.signals, plant=prepared.plant, state=start)
    books = books_of(flow, state=start, prepared=prepared, switches=Switches())
    assert ((np.abs(books.change_Ah) < 1e-5) & (flow.in_A > 0.0)).any()


def test_books_close_where_the_voltage_bends_under_a_leak():
    """Lithium at the knee of 10 %: a trickle of charge and the protection's 30 mA together move
    less than flows, so that the bend counts for what flows.
    """
    prepared = prepare(
        passage_of(
            boat=boat_of(chemistry="lifepo4", panel_W=(20.0,), engine=None),
            days=1.0,
            loads=(Load(name="all", draw_A=0.1),),
        ),
        step_h=1.0,
    )
    start = start_state(prepared.plant, soc=np.linspace(0.05, 0.11, 2000))
    flow, _ = run(prepared.signals, plant=prepared.plant, state=start)
    books_of(flow, state=start, prepared=prepared, switches=Switches())
    assert ((flow.soc[:-1] < 0.1) & (flow.soc[1:] > 0.1)).any()


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
@pytest.mark.parametrize("draw_A", [0.0, 4.0, 9.0])
def test_books_close_for_a_bank_that_sets_out_on_a_bend_of_its_voltage(chemistry, draw_A):
    """At departure exactly on each knot of the curve, and up or down from there."""
    prepared = prepare(
        passage_of(
            boat=boat_of(chemistry=chemistry, capacity_Ah=300.0),
            days=1.0,
            loads=(Load(name="all", draw_A=draw_A),),
        )
    )
    start = start_state(prepared.plant, soc=np.array(prepared.plant.bank.emf_soc))
    flow, _ = run(prepared.signals, plant=prepared.plant, state=start)
    books = books_of(flow, state=start, prepared=prepared, switches=Switches())
    assert (books.change_Ah[0, 1:-1] != 0.0).all()


@pytest.mark.parametrize("capacity_Ah", range(300, 400, 4))
def test_books_close_for_a_bank_that_sets_out_on_a_bend_and_leaks(capacity_Ah):
    """An hour under engine from 50 %, where the curve bends: rounding may have the bank on either
    line, and what leaks is replaced in the same hour and moves along it as what stays does.
    """
    boat = boat_of(
        capacity_Ah=float(capacity_Ah),
        battery={"self_discharge_frac_per_month": 0.3},
        alternator={"motoring_A": 59.0},
        panel_W=(),
    )
    passage = passage_of(boat=boat, days=1.0, leg={"motoring_start_h": 3.0})
    prepared = prepare(passage, step_h=1.0)
    start = start_state(prepared.plant, soc=0.5)
    flow, _ = run(prepared.signals, plant=prepared.plant, state=start)
    assert flow.alternator_A[0, 0] > 20.0
    books = books_of(flow, state=start, prepared=prepared, switches=Switches())
    assert books.self_discharge_Ah[0, 0] > 0.03
    assert books.change_Ah[0, 0] > 20.0
