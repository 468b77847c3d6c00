"""What each load draws, by a sheet of readings: in its own unit, at the bank, through a supply."""

from dataclasses import replace

import pytest
from builders import boat_of, passage_of

from powersim.inputs.trial import read_trial
from powersim.logbook.trial import sea_trial
from powersim.logbook.trial_day import day_Ah, factors_of, passage_as_measured
from powersim.records import Load, Supply
from powersim.report.screen_text import screen_text
from powersim.report.trial_dict import trial_dict
from powersim.report.trial_view import trial_view

LOADS = (
    Load(name="VHF radio", draw_A=5.0, standby_A=0.25, on_frac=None, on_h_per_day=0.5),
    Load(name="laptop", draw_W=30.0, supply="19 V", on_frac=None, on_h_per_day=4.0),
    Load(name="screen", draw_A=1.0, supply="19 V", on_frac=None, on_h_per_day=4.0),
    Load(name="cabin lights", draw_W=3.0, count=2, on_frac=None, on_h_per_day=3.0),
    Load(name="AIS", draw_W=3.0),
)
SUPPLY = Supply(name="19 V", efficiency_frac=0.8, idle_W=2.0, output_V=19.0)
PASSAGE = passage_of(boat=boat_of(supplies=(SUPPLY,)), loads=LOADS)


@pytest.fixture
def tried(write_file):
    def found(rows, passage=PASSAGE):
        head = "load,idle,on,off,voltage,counted_over\n"
        return sea_trial(read_trial(write_file("trial.csv", head + rows)), passage)

    return found


def by_name(found):
    return {(" + ".join(one.names), one.state): one for one in found.draws}


def test_amperes_stay_amperes_and_watts_are_by_the_volts_of_the_moment(tried):
    """VHF: 0.56 - 0.30 and 5.4 - 0.30 A. Lights: 0.50 A at 12.6 V are 6.3 W, 3.15 W each of two."""
    found = tried(",,,0.30,12.7\nvhf  RADIO,0.56,5.40,0.30,12.5\ncabin lights,,0.80,0.30,12.6\n")
    draws = by_name(found)
    idle, on, lights = (
        draws[name] for name in (("VHF radio", "idle"), ("VHF radio", "on"), ("cabin lights", "on"))
    )
    assert (idle.unit, idle.filed, idle.found) == ("A", 0.25, pytest.approx(0.26, abs=1e-3))
    assert (on.unit, on.filed, on.found) == ("A", 5.0, pytest.approx(5.1, abs=1e-3))
    assert (lights.unit, lights.filed, lights.found) == ("W", 3.0, pytest.approx(3.15, abs=5e-3))
    assert found.always_A == pytest.approx(0.30, abs=1e-3)
    assert found.not_switched == ("laptop", "screen", "AIS")


def test_a_clamp_errs_by_3_per_cent_and_a_watt_by_1_more(tried):
    """Of 5.1 A that is 0.153 A: 8 in 10 lie within 1.2816 times as much and what a look adds."""
    loads = (Load(name="VHF radio", draw_A=5.0), Load(name="cabin lights", draw_W=200.0))
    rows = ",,,0.30,12.7\nVHF radio,,5.40,0.30,12.5\ncabin lights,,20.30,0.30,12.6\n"
    found = tried(rows, passage_of(loads=loads))
    on, lights = (by_name(found)[name] for name in (("VHF radio", "on"), ("cabin lights", "on")))
    # Read to 0.01 A: 0.01 / sqrt(12), a flicker of as much, and 1 % of 5.4 A as it varies.
    read_A = (0.01**2 / 12 + 0.01**2 + 0.054**2) ** 0.5
    assert on.sd == pytest.approx((0.153**2 + read_A**2) ** 0.5, rel=0.05)
    assert on.doubt == pytest.approx(1.2816 * on.sd, rel=1e-4)
    # 20 A: 3 % for the clamp, 1 % as it varies, 1 % for the volts: 3.3 %.
    assert lights.sd / lights.found == pytest.approx(11**0.5 / 100, rel=0.03)


def test_a_sign_or_a_point_that_slipped_is_no_draw(tried):
    """-1.4 A with a zero of 0.3 A: -1.7 A, and no radio charges a bank. 40.3 A in place of 4.03 A:
    40 A, eight times the 5 A of the files. Neither may be written into loads.csv."""
    rest = "laptop,,3.3,0.3,12.5\ncabin lights,,0.8,0.3,12.6\n"
    for shown_A, why in ((-1.4, "-1.7 A, so it would charge the bank"), (40.3, "40 A, and the")):
        found = tried(f",,,0.30,12.7\nVHF radio,,{shown_A},0.30,12.5\n{rest}")
        on, lights = (
            by_name(found)[name] for name in (("VHF radio", "on"), ("cabin lights", "on"))
        )
        assert on.open_because.startswith(why)
        assert not on.differs
        assert lights.open_because == ""
        assert "VHF radio" not in factors_of(found)
        assert why in " ".join(screen_text(trial_view(found, {})).split())


def test_behind_a_supply_it_is_reckoned_back_through_its_losses(tried):
    """(3.30 - 0.30) A at 12.5 V: 37.5 W, less 2 W that the supply takes: 35.5 W, 0.8 of it 28.4 W.

    The screen is filed in amperes of 19 V: 1.5 A at 12.5 V less 2 W, 0.8 of it 13.4 W, 0.705 A.
    """
    draws = by_name(tried(",,,0.3,12.5\nlaptop,,3.3,0.3,12.5\nscreen,,1.8,0.3,12.5\n"))
    laptop, screen = draws["laptop", "on"], draws["screen", "on"]
    assert (laptop.unit, laptop.found) == ("W", pytest.approx(28.4, abs=0.01))
    assert (screen.unit, screen.found) == ("A", pytest.approx(13.4 / 19.0, abs=0.001))


def test_a_supply_that_is_on_the_sheet_is_measured_itself(tried):
    """0.24 A at 12.5 V idle are 3 W and not 2 W; the laptop's 3 A less these, times 0.8: 27.6 W."""
    rows = ",,,0.30,12.5\n19 v,0.54,,0.30,12.5\nlaptop,,3.30,0.30,12.5\n"
    draws = by_name(tried(rows))
    assert draws["19 V", "idle"].filed == 2.0
    assert draws["19 V", "idle"].found == pytest.approx(3.0, abs=0.01)
    assert draws["laptop", "on"].found == pytest.approx((3.0 * 12.5 - 3.0) * 0.8, abs=0.02)


def test_a_load_that_was_on_from_the_start_is_known_by_switching_it_off(tried):
    found = tried("AIS,,,0.30,12.5\nVHF radio,,5.4,0.30,12.5\nAIS,,0.54,,12.5\n")
    ais = by_name(found)["AIS", "on"]
    assert ais.found == pytest.approx(0.24 * 12.5, abs=0.01)


def test_all_off_switches_off_what_was_left_on(tried):
    rows = ",,,0.3,\nVHF radio,,5.3,,\nAIS,,5.5,,\nall off,,,0.3,\nAIS,,0.5,0.3,\n"
    draws = by_name(tried(rows))
    assert draws["VHF radio", "on"].found == pytest.approx(5.0, abs=0.01)
    assert draws["VHF radio", "on"].readings == 2


def test_what_shares_a_switch_is_told_together(tried):
    """Filed at 12.5 V: 5 A, and two lights of 3 W: 0.48 A."""
    found = tried(",,,0.3,12.5\nVHF radio; cabin lights,,6.3,0.3,12.5\n")
    (both,) = found.draws
    assert both.names == ("VHF radio", "cabin lights")
    assert (both.unit, both.filed) == ("A", pytest.approx(5.48))
    assert both.found == pytest.approx(6.0, abs=0.01)


def test_a_name_with_a_semicolon_is_one_load(tried):
    passage = passage_of(loads=(Load(name="charger; phones, tablets", draw_W=15.0),))
    found = tried('"charger;phones, tablets",,1.5,0.3,12.5\n', passage)
    assert [one.names for one in found.draws] == [("charger; phones, tablets",)]
    assert found.unlisted == ()


def test_what_was_never_off_is_not_told(tried):
    (one, other) = tried("AIS,,0.5,,\nVHF radio,,5.5,0.5,\n").draws
    assert (one.names, other.open_because) == (("VHF radio",), "never read without it")


def test_a_meter_that_shows_what_flows_out_as_below_0_is_read_so(tried):
    rows = ",,,-0.30,12.7\nVHF radio,-0.56,-5.40,-0.30,12.5\n"
    found = tried(rows)
    assert found.outward_below_0
    assert by_name(found)["VHF radio", "on"].found == pytest.approx(5.1, abs=0.01)
    assert found.always_A == pytest.approx(0.30, abs=0.01)
    assert not tried(rows.replace("-", "")).outward_below_0


def test_a_count_errs_by_1_per_cent_and_its_last_digit(tried):
    """13 Ah in 5 h: 2.6 A. The last digit twice, 0.1 / 5 / sqrt(12) * sqrt(2) A, and the base's."""
    rows = ",,,0.0 Ah,12.5,5 h\nAIS,,13.0 Ah,,12.5,5 h\nall,,,0.0 Ah,,5 h\n"
    found = tried(rows, passage_of(loads=(Load(name="AIS", draw_W=30.0),)))
    ais = by_name(found)["AIS", "on"]
    assert ais.found == pytest.approx(2.6 * 12.5, rel=1e-3)
    digit_A = 0.1 / 5 / 12**0.5 * 2**0.5
    assert ais.sd / 12.5 == pytest.approx(
        ((0.01 * 2.6) ** 2 + (2.6 * 0.01) ** 2 + 1.5 * digit_A**2) ** 0.5, rel=0.03
    )


def test_a_name_that_is_not_in_the_list_is_measured_and_named(tried):
    found = tried(",,,0.3,\nVFH radio,,5.3,0.3,\n")
    (one,) = found.draws
    assert (one.names, one.filed, one.unit) == (("VFH radio",), None, "A")
    text = screen_text(trial_view(found, day_Ah(found)))
    assert "'VFH radio' was switched, and is not in loads.csv; did you mean 'VHF radio'?" in (
        " ".join(text.split())
    )


def test_what_it_comes_to_in_a_day(tried):
    """VHF: 0.5 h at 5 A and 23.5 h at 0.25 A are 8.375 Ah; at 5.1 A and 0.26 A, 8.66 Ah."""
    found = tried(",,,0.30,12.7\nVHF radio,0.56,5.40,0.30,12.5\n")
    assert day_Ah(found) == {
        "VHF radio": (pytest.approx(8.375, abs=0.01), pytest.approx(8.66, abs=0.02))
    }
    assert passage_as_measured(found).loads[1:] == PASSAGE.loads[1:]


def test_a_load_as_a_whole_is_known_as_well_as_its_day(tried):
    """At work 2.55 Ah of 8.66 Ah are read to some 3.3 %, idle 6.11 Ah to 0.016 of 0.26 A, 6 %.

    With only the former read, the 23.5 h at 0.25 A, 5.875 Ah, keep the spread of the list, 20 %.
    """
    both = factors_of(tried(",,,0.30,12.7\nVHF radio,0.56,5.40,0.30,12.5\n"))
    factor, rel_sd = both["VHF radio"]
    assert factor == pytest.approx(8.66 / 8.375, abs=0.003)
    assert 0.03 < rel_sd < 0.08
    loads = (replace(LOADS[0], spread_frac=0.2), *LOADS[1:])
    half = tried(
        ",,,0.30,12.7\nVHF radio,,5.40,0.30,12.5\n", passage_of(boat=PASSAGE.boat, loads=loads)
    )
    factor, rel_sd = factors_of(half)["VHF radio"]
    assert factor == pytest.approx((2.55 + 5.875) / 8.375, abs=0.003)
    assert rel_sd == pytest.approx(0.2 * 5.875 / 8.425, abs=0.005)


def test_the_answer_fits_a_screen_and_says_what_is_missing(tried):
    found = tried(",,,-0.9,\nlaptop,,1.3,-0.9,\nVHF radio; AIS,,4.1,-0.9,\n")
    text = screen_text(trial_view(found, day_Ah(found)))
    assert max(map(len, text.splitlines())) <= 80
    words = " ".join(text.split())
    for said in (
        "Always on, whatever was switched: -0.90 A",
        "That is a charge: cover the panels",
        "No volts were read",
        "Not on the sheet: screen, cabin lights.",
    ):
        assert said in words
    answer = trial_dict(found, day_Ah(found))
    assert [one["loads"] for one in answer["draws"]] == [["VHF radio", "AIS"], ["laptop"]]
    assert answer["not_switched"] == ["screen", "cabin lights"]
