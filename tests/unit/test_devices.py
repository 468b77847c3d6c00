"""Devices with batteries of their own: how they are read, and their course by hand."""

from dataclasses import replace

import numpy as np
import pytest
from hand_worked import bank_of, boat_of, passage_of, waypoints_of, with_panels

import powersim
from powersim.errors import BalanceError
from powersim.inputs.boat import collect_boat
from powersim.kernel.pack import Pack, pack_after_Wh, pack_draw_W
from powersim.planning.endurance import endurance
from powersim.records import Device, Load
from powersim.report.devices_view import devices_told
from powersim.report.endurance_view import endurance_view
from powersim.report.screen_text import screen_text
from powersim.report.simulated import simulated_text
from powersim.simulation.devices import SERIES, DevicesCarried

PHONE = Device(
    name="phone", battery_Wh=12.0, use_Wh_per_day=24.0, charge_W=8.0, efficiency_frac=0.75
)
RADIO = replace(PHONE, name="radio", use_Wh_per_day=6.0)


def flows_of(left_W, *, pack_W=0.0, pack_Wh=0.0):
    """What the kernel tells, with so much left of the sun at 12.5 V, in one member."""
    left_A = np.array([left_W]).T / 12.5
    flows = {name: np.zeros_like(left_A) for name in SERIES}
    flows |= {"solar_A": left_A * 0.0 + 1.0, "solar_offered_A": left_A + 1.0}
    flows |= {"bank_V": np.full_like(left_A, 12.5)}
    flows |= {"pack_W": left_A * 0.0 + pack_W, "pack_Wh": left_A * 0.0 + pack_Wh}
    return flows


def test_a_phone_on_surplus_by_hand():
    """It gives 1 Wh an hour of the 12 that it holds. Nine hours of night leave 3. Then 4 W are left
    for an hour: 3 Wh of them stay, 5 Wh. Then 20 W: it takes its 8, 6 Wh stay, 10 Wh. Then again
    20 W: there is room for 2 and for the hour's use, 3 Wh, which is 4 W: full. After twelve hours
    of night it is empty, and has nothing for the thirteenth.
    """
    carried = DevicesCarried((PHONE,), members=1, step_h=1.0)
    carried.through(flows_of([0.0] * 9))
    assert carried.courses()[0].lowest_Wh == pytest.approx([3.0])
    carried.through(flows_of([4.0, 20.0, 20.0]))
    assert carried.courses()[0].taken_Wh == pytest.approx([4.0 + 8.0 + 4.0])
    assert np.isinf(carried.courses()[0].empty_h).all()
    carried.through(flows_of([0.0] * 13))
    (course,) = carried.courses()
    assert course.empty_h == pytest.approx([9.0 + 3.0 + 12.0])
    assert course.short_Wh == pytest.approx([1.0])


def test_the_first_of_two_takes_first_by_hand():
    """After an hour of night the phone wants (1 + 1) / 0.75 = 2.667 W and the radio 0.667 W: of 3 W
    the phone has what it wants, and 0.333 W are left for the radio.
    """
    carried = DevicesCarried((PHONE, RADIO), members=1, step_h=1.0)
    carried.through(flows_of([0.0, 3.0]))
    phone, radio = carried.courses()
    assert phone.taken_Wh == pytest.approx([2.0 / 0.75])
    assert radio.taken_Wh == pytest.approx([3.0 - 2.0 / 0.75])


PACK = Pack(charge_W=8.0, above_soc=0.9, full_Wh=12.0, use_W=1.0, efficiency_frac=0.75)


@pytest.mark.parametrize(
    ("held_Wh", "soc", "draws_W"),
    [
        (3.0, 0.89, 0.0),
        (3.0, 0.9, 8.0),  # room for 9 + 1 Wh, 13.3 W: no more than its charger takes
        (10.0, 0.95, 4.0),  # room for 2 and the use of 1, which are 3 / 0.75
        (12.0, 1.0, 1.0 / 0.75),  # full: as much as it gives
    ],
)
def test_a_pack_takes_what_it_has_room_for_from_a_charge_on(held_Wh, soc, draws_W):
    assert pack_draw_W(PACK, pack_Wh=held_Wh, soc=soc, step_h=1.0) == pytest.approx(draws_W)


@pytest.mark.parametrize(
    ("held_Wh", "taken_W", "after_Wh"), [(3.0, 8.0, 8.0), (0.4, 0.0, 0.0), (12.0, 1.0 / 0.75, 12.0)]
)
def test_a_pack_holds_what_stays_of_it(held_Wh, taken_W, after_Wh):
    after = pack_after_Wh(PACK, pack_Wh=held_Wh, taken_W=taken_W, step_h=1.0)
    assert after == pytest.approx(after_Wh)


LOADS = (Load(name="vhf", draw_A=0.5, role="vhf"), Load(name="plotter", draw_A=1.5))


def passage(*devices, **boat):
    made = with_panels(battery=bank_of(soc_at_departure=0.95), **boat)
    return passage_of(
        boat=replace(made, devices=devices), loads=LOADS, waypoints=waypoints_of(days=4)
    )


def test_what_is_charged_before_the_bank_is_full_is_drawn_from_it_by_hand():
    """No sun, no engine run: from 95 % of 200 Ah down to 90 % are 10 Ah, at 2 A and what the phone
    takes, 1 / 0.75 W of some 13.2 V, 0.10 A: 4.76 h. Whole hours begin above 90 %: five, and the
    phone takes 5 / 0.75 Wh. Then it lives on its own 12 Wh: empty twelve hours later.
    """
    early = replace(PHONE, when_soc=0.9)
    asked = passage(early)
    asked = replace(
        asked,
        boat=replace(
            asked.boat, panels=(), controllers=(), engine=None, fuel=None, alternator=None
        ),
    )
    result = powersim.simulate(asked, step_h=1.0)
    (course,) = result.devices
    assert course.taken_Wh == pytest.approx([5.0 / 0.75])
    assert course.empty_h == pytest.approx([5.0 + 12.0])
    plain = powersim.simulate(replace(asked, boat=replace(asked.boat, devices=())), step_h=1.0)
    drawn_Wh = float((result.books.loads_Wh - plain.books.loads_Wh)[:17].sum())
    assert drawn_Wh == pytest.approx(5.0 / 0.75, abs=0.2)  # loads in amperes follow the voltage


@pytest.mark.parametrize("members", [None, 6])
def test_charging_from_surplus_alone_never_changes_the_banks_course(members):
    asked = passage(replace(PHONE, charge_W=100.0), RADIO, power_W=200.0)
    plain = replace(asked, boat=replace(asked.boat, devices=()))
    given = {"step_h": 1.0, "members": members} if members else {"step_h": 1.0}
    with_them, without = (powersim.simulate(one, **given) for one in (asked, plain))
    for name in with_them.flow._fields:
        np.testing.assert_array_equal(
            getattr(with_them.flow, name), getattr(without.flow, name), err_msg=name
        )
    assert with_them.devices[0].taken_Wh > 0.0
    # And no more is taken than there was.
    surplus_Wh = float(without.books.surplus_Wh.sum())
    assert sum(float(one.taken_Wh[0]) for one in with_them.devices) < surplus_Wh
    if members:
        for name in ("hour_soc", "surplus_Ah", "fuel_left_L", "lowest_V"):
            np.testing.assert_array_equal(
                getattr(with_them.ensemble, name), getattr(without.ensemble, name), err_msg=name
            )
        assert len(with_them.ensemble.devices[0].empty_h) == members


def test_books_that_do_not_close_are_told():
    carried = DevicesCarried((replace(PHONE, when_soc=0.9),), members=1, step_h=1.0)
    with pytest.raises(BalanceError, match="the books of phone do not close for member 0"):
        carried.through(flows_of([0.0], pack_W=0.0, pack_Wh=13.0))


def test_it_is_told_what_they_hold_and_which_run_empty():
    asked = passage(replace(PHONE, name="torch", use_Wh_per_day=0.0), PHONE)
    result = powersim.simulate(asked, step_h=1.0, members=6)
    text = " ".join(simulated_text(result).split())
    assert "Devices with batteries of their own hold 24 Wh when full, 2.0 Ah that the bank" in text
    told = " ".join(screen_text(devices_told(result.summary, nominal_V=12.0)).split())
    assert "If one is lost, the bank lasts no shorter" in told
    assert result.summary["devices"]["each"][0]["lasts_days"] is None
    average = powersim.simulate(asked, step_h=1.0)
    view = endurance_view(endurance(average, members=1), average)
    assert "torch" in screen_text(view.devices)


def test_a_device_may_be_lost_like_anything_else():
    """One that is charged before the bank is full draws 1 / 0.75 W from 90 % on: without it the
    bank lasts the longer; one on surplus changes no day.
    """
    early = replace(PHONE, name="power bank", when_soc=0.5, use_Wh_per_day=96.0, charge_W=20.0)
    asked = passage(early, RADIO)
    result = powersim.simulate(asked, step_h=1.0)

    def days(*without):
        table = endurance(result, members=1, without=without, costs=False)
        return [one for one in table.lines if one.loads == "all loads"][-1].days_to_floor

    assert days("radio", "charging") == days("charging")
    # 96 Wh a day are 4 W, and 5.3 W of some 13 V beside 2 A of loads.
    assert days("power bank", "charging") > 1.1 * days("charging")


def test_a_boat_without_any_is_told_nothing_of_them():
    result = powersim.simulate(passage(), step_h=1.0)
    assert "devices" not in result.summary
    assert devices_told(result.summary, nominal_V=12.0) == []


BOAT = """[passage]
depart = "2026-06-10 20:00"
[battery]
chemistry = "agm"
capacity = "160 Ah"
[[device]]
name = "phone"
battery = "4 Ah at 3.7 V"
use = "8 Wh/day"
"""


def problems(tmp_path, text):
    return [str(one) for one in collect_boat(tmp_path / "boat.toml", text=text).problems]


def test_a_device_is_read_with_its_defaults(tmp_path):
    found = collect_boat(tmp_path / "boat.toml", text=BOAT)
    (phone,) = found.boat.devices
    assert phone == Device(name="phone", battery_Wh=4.0 * 3.7, use_Wh_per_day=8.0)
    assert (phone.lasts_days, phone.takes_Wh_per_day) == pytest.approx((14.8 / 8.0, 8.0 / 0.75))
    told = [one.place for one in found.assumptions if "device" in one.place]
    assert told == [f"boat.toml device.{key}" for key in ("charge", "efficiency", "when")]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ('when = "surplus"\n', None),
        ('when = "85 %"\n', None),
        ('when = "often"\n', "device.when: cannot read 'often'"),
        (
            'charge = "0.4 W"\n',
            "device.use: '8 Wh/day' is more than it can be charged with in a day",
        ),
        (
            'when = "85 %"\n[[device]]\nname = "torch"\nbattery = "9 Wh"\nuse = "1 Wh/day"\n'
            'when = "90 %"\n',
            "device.when: '90 %' differs from '85 %' of another device",
        ),
        ('[[device]]\nname = "torch"\nbattery = "9 W"\nuse = "1 Wh/day"\n', "'9 W' is a power"),
        (
            '[[device]]\nname = "phone"\nbattery = "9 Wh"\nuse = "1 Wh/day"\n',
            "'phone' is given twice",
        ),
    ],
)
def test_what_a_device_may_say(tmp_path, line, told):
    found = problems(tmp_path, BOAT + line)
    if told is None:
        assert found == []
    else:
        assert len(found) == 1
        assert told in found[0]


def test_a_record_with_two_charges_is_refused():
    early = [replace(PHONE, when_soc=0.8), replace(RADIO, when_soc=0.9)]
    with pytest.raises(ValueError, match="need one charge for all"):
        replace(boat_of(), devices=tuple(early))
