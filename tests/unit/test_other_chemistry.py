"""The boat with a bank of another chemistry: what comes with it, and what stays."""

import pytest

import powersim
from powersim.errors import InputError
from powersim.inputs.folder import load_folder
from powersim.inputs.other_chemistry import boat_of_chemistry, boats_of
from powersim.records import battery_of

BOAT = """
[passage]
depart = "2026-09-05 09:00"
[battery]
chemistry = "flooded"
capacity = "200 Ah"
nominal = "24 V"
floor = "60 %"
health = "70 %"
at_departure = "90 %"
reading = "monitor"
weight = "110 kg"
[alternator]
{alternator}
[engine]
rated = "10 kW"
[fuel]
tank = "50 L"
[charging]
start = "65 %"
stop = "80 %"
hours = "09:00-18:00"
longest = "3 h"
[[panel]]
power = "50 W"
[[controller]]
kind = "mppt"
{controller}
"""


@pytest.fixture
def passage_with(write_file):
    def made(alternator='nameplate = "80 A"', controller=""):
        text = BOAT.format(alternator=alternator, controller=controller)
        path = write_file("boat.toml", text)
        write_file("loads.csv", "load,draw\nlamp,1 W\n")
        write_file(
            "route.csv", "waypoint,position,speed\nA,38 00 N 28 00 W,5 kn\nB,37 00 N 28 00 W,\n"
        )
        return load_folder(path.parent)

    return made


@pytest.mark.parametrize("chemistry", ["gel", "agm", "lifepo4"])
def test_the_bank_is_that_of_its_chemistry(passage_with, chemistry):
    """All but capacity, voltage, charge at departure and reading is the chemistry's default."""
    boat, _ = boat_of_chemistry(passage_with(), chemistry)
    assert boat.battery == battery_of(
        chemistry,
        capacity_Ah=200.0,
        nominal_V=24.0,
        soc_at_departure=0.9,
        reading="monitor",
    )


def test_one_default_rule_for_each_chemistry_in_the_hours_of_old(passage_with):
    passage = passage_with()
    boats, stays = boats_of(passage, ("lifepo4", "flooded", "agm"))
    assert list(boats) == ["flooded", "lifepo4", "agm"]
    assert boats["flooded"] is passage.boat
    assert stays == ()
    rules = {name: boat.charging for name, boat in boats.items()}
    levels = {name: (rule.start_soc, rule.stop_soc) for name, rule in rules.items()}
    # 10 points above the floor of 20 %, and 15 above that of 50 %: the defaults of boat.toml.
    assert levels["lifepo4"] == pytest.approx((0.3, 0.9))
    assert levels["agm"] == pytest.approx((0.65, 0.8))
    assert {(rule.hours_h, rule.longest_h) for rule in rules.values()} == {((9.0, 18.0), 3.0)}


def test_only_a_regulator_that_can_is_asked_to_fill_the_other_bank(passage_with):
    """28.4 V less 0.4 V of cable are 0.8 V short of 28.8 V: more than the half a volt allowed."""
    plain, _ = boat_of_chemistry(passage_with(), "agm")
    assert plain.charging.full_every_days is None
    alternator = 'nameplate = "80 A"\nregulator = "multi-stage"\n'
    fills, _ = boat_of_chemistry(passage_with(alternator=alternator), "agm")
    assert fills.charging.full_every_days == 10.0


def test_a_lithium_bank_holds_back_an_alternator_left_to_default(passage_with):
    """60 % of the nameplate while hot, but 50 % into lithium without temperature control."""
    passage = passage_with()
    boat, stays = boat_of_chemistry(passage, "lifepo4")
    assert passage.boat.alternator.charging_A == pytest.approx(48.0)
    assert boat.alternator.charging_A == pytest.approx(40.0)
    assert stays == ()


def test_what_the_sailor_wrote_stays_and_is_named(passage_with):
    passage = passage_with('charging = "45 A"\nvoltage = "28.4 V"', 'float = "27 V"')
    boat, stays = boat_of_chemistry(passage, "lifepo4")
    assert boat.alternator.charging_A == 45.0
    assert stays == (
        "controller.float = 27 V",
        "alternator.charging = 45 A",
        "alternator.voltage = 28.4 V",
    )
    assert boats_of(passage, ("flooded",))[1] == ()


def test_a_setting_of_one_of_several_chargers_names_it_by_its_kind(passage_with):
    passage = passage_with()
    path = passage.folder / "boat.toml"
    more = '[[charger]]\nkind = "towed"\nabsorption = "28.8 V"\n[[charger]]\nkind = "wind"\n'
    path.write_text(f"{path.read_text('utf-8')}\n{more}", encoding="utf-8")
    _, stays = boat_of_chemistry(powersim.load(passage.folder), "lifepo4")
    assert stays == ("charger.absorption of towed = 28.8 V",)


def test_a_boat_file_that_was_spoilt_since(passage_with):
    passage = passage_with()
    (passage.folder / "boat.toml").write_text("[battery\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"boat\.toml:1"):
        boat_of_chemistry(passage, "gel")


def test_a_controller_that_would_open_lithium_is_refused(passage_with):
    """31 V equalise a flooded bank of 24 V, and are 3.9 V for each of eight lithium cells."""
    passage = passage_with(controller='absorption = "31 V"')
    with pytest.raises(InputError) as caught:
        boat_of_chemistry(passage, "lifepo4")
    assert str(caught.value) == (
        f"{passage.folder / 'boat.toml'}: absorption_V must be 26.4 to 30.4 V for lifepo4, got "
        "31.0\n  expected  settings that go with lifepo4 too, or none, for its own"
    )
