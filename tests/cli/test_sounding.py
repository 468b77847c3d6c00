"""`powersim sounding`: a dip, the strip, and what is refused."""

import json

import pytest

BOAT = (
    '[boat]\nname = "Petrel"\n[battery]\nchemistry = "agm"\ncapacity = "200 Ah"\n'
    '[alternator]\ncharging = "40 A"\nmotoring = "50 A"\n'
    '[engine]\nrated = "12 kW"\ncharging_burn = "0.6 L/h"\ncharging_burn_loaded = true\n'
    'motoring_burn = "1.5 L/h"\nmotoring_speed = "4 kn"\n'
    '[fuel]\njerrycans = "2 x 20 L"\nreserve = "25 L"\nunusable = "5 %"\n'
    '[fuel.tank]\nshape = "box"\nlength = "1 m"\nwidth = "50 cm"\nheight = "20 cm"\n'
)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "petrel").mkdir()
    (tmp_path / "petrel" / "boat.toml").write_text(BOAT, encoding="utf-8")
    return tmp_path / "petrel"


def test_a_dip_in_litres_hours_and_miles(call, folder):
    """5 L a centimetre: 11 cm less half a centimetre of wet is 52.5 L, 47.5 L of it above the
    pick-up; with 40 L in cans and 25 L of reserve 62.5 L are left: 41.7 h at 1.5 L/h, 167 nm."""
    outcome = call("sounding", "petrel", "11cm")
    assert (outcome.code, outcome.err) == (0, "")
    said = " ".join(outcome.out.split())
    for words in (
        "52.5 L, give or take 5.2 L; 40.0 L to 65.0 L at worst",
        "47.5 L of it above the pick-up",
        "62.5 L (50.0 L to 75.0 L) above the reserve",
        "104 h (83.3 h to 125 h) of charging",
        "41.7 h (33.3 h to 50.0 h) under power, 167 nm (133 nm to 200 nm)",
        "Sound her upright",
    ):
        assert words in said
    assert max(map(len, outcome.out.splitlines())) <= 80


def test_cans_as_they_are_today(call, folder):
    answer = json.loads(call("sounding", "petrel", "11cm", "--cans", "1 x 20 L", "--json").out)
    assert answer["cans_L"] == 20.0
    assert answer["worth"]["litres"] == pytest.approx(42.5)
    assert answer["worth"]["charging_h"] == pytest.approx(42.5 / 0.6)


def test_less_than_the_reserve_is_worth_nothing(call, folder):
    answer = json.loads(call("sounding", "petrel", "2cm", "--cans", "0 L", "--json").out)
    assert answer["worth"]["motoring_nm"] == 0.0


def test_the_strip(call, folder):
    outcome = call("sounding", "petrel", "--table")
    assert outcome.code == 0
    lines = outcome.out.splitlines()
    assert " ".join(lines[:2]) == (
        "Tank of Petrel, 100 L; full at 20 cm. The stick is wet up to 1 cm above the level; half "
        "of that is taken off each mark, as for a reading."
    )
    rows = [line.split() for line in lines if line.count(" L") == 2]
    assert rows[0] == ["21", "cm", "100", "L", "95.0", "L"]
    assert rows[1] == ["20", "cm", "97.5", "L", "92.5", "L"]
    assert rows[-1] == ["0", "cm", "0.0", "L", "0.0", "L"]
    assert len(rows) == 22
    strip = json.loads(call("sounding", "petrel", "--table", "--json").out)["strip"]
    assert strip[11] == pytest.approx({"depth_m": 0.10, "litres": 47.5})
    for mark in strip:
        reading = json.loads(call("sounding", "petrel", f"{mark['depth_m']}m", "--json").out)
        assert reading["tank_L"] == mark["litres"]


def test_a_stick_wet_a_little_above_the_brim_is_a_full_tank(call, folder):
    assert "above the brim: full, or nearly so" in call("sounding", "petrel", "20.9cm").out


def test_an_interval_of_one_figure_is_that_figure(call, folder):
    """A stick without doubt: 55 L, 5 L of it below the pick-up, with 40 L in cans and 25 L of
    reserve leave 65 L, 43.3 h at 1.5 L/h and 173 nm at 4 kn."""
    sure = BOAT.replace("[fuel.tank]", '[fuel.tank]\nrolling = "0 mm"\nwet = "0 mm"')
    (folder / "boat.toml").write_text(sure, encoding="utf-8")
    said = " ".join(call("sounding", "petrel", "11cm").out.split())
    assert "55.0 L, give or take 0.0 L; 55.0 L at worst" in said
    assert "43.3 h under power, 173 nm" in said
    assert "(" not in said.partition("spare")[2].partition("Sound her")[0]


@pytest.mark.parametrize("depth", ["4 1/4 in", "17/4 inches", "4.25in"])
def test_inches_and_their_fractions(call, folder, depth):
    answer = json.loads(call("sounding", "petrel", depth, "--json").out)
    assert answer["depth_m"] == pytest.approx(4.25 * 0.0254)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("23L",), "depth: '23L' is a volume\n  expected  a depth on the stick"),
        (("11",), "depth: '11' has no unit\n  expected  a depth on the stick"),
        (("-3cm",), "depth: '-3cm' is below 0\n"),
        (("-.5cm", "--json"), "depth: '-.5cm' is below 0\n"),
        (("1/0 in",), "depth: cannot read '1/0 in'"),
        (("5 furlongs",), "depth: '5 furlongs' is in a unit that no dip stick has; write mm, cm"),
        (("40cm",), "\n  expected  a depth on the stick, 0 cm to 21 cm, the last 1 cm only wet"),
        (("40cm",), "the last 1 cm only wet, for example 10cm\n"),
        (("22cm",), "depth: '22cm' is over the brim of a tank that is full at 20 cm\n"),
        (("11cm", "--cans", "-3L"), "cans: "),
        (("11cm", "--tabel"), "No such option '--tabel'"),
        (("--", "-3cm"), "depth: '-3cm' is below 0\n"),
        (("40cm",), "depth: '40cm' is over the brim of a tank that is full at 20 cm\n"),
        (("11cm", "--cans", "two"), "cans: "),
        ((), "either a depth, --needle or --table"),
        (("11cm", "--table"), "either a depth, --needle or --table"),
        (("--table", "--cans", "2 x 20 L"), "--cans goes with a depth"),
    ],
)
def test_what_is_refused(call, folder, arguments, message):
    outcome = call("sounding", "petrel", *arguments)
    assert (outcome.code, outcome.out) == (2, "")
    assert message in outcome.err


def test_a_tank_without_a_shape(call, folder):
    boat = BOAT.partition("[fuel.tank]")[0] + 'tank = "100 L"\n'
    (folder / "boat.toml").write_text(boat, encoding="utf-8")
    outcome = call("sounding", "petrel", "11cm")
    assert outcome.code == 2
    assert "fuel.tank says what the tank holds, not its shape" in outcome.err
    assert '[fuel.tank], for example shape = "box"' in outcome.err


def test_a_boat_without_a_tank(call, folder):
    boat = BOAT.partition("[alternator]")[0]
    (folder / "boat.toml").write_text(boat, encoding="utf-8")
    assert "there is no [fuel], so no tank to sound" in call("sounding", "petrel", "1cm").err


NEEDLE = BOAT.replace(
    "[fuel]\n", '[fuel]\nneedle = "5 L at E; 20 L at 1/4; 45 L at 1/2; 95 L at F"\n'
)


def test_the_needle_says_little_and_the_stick_is_right(call, folder):
    """At sea half a dial is 21 L to 69 L: tests/unit/test_needle.py has the sum."""
    (folder / "boat.toml").write_text(NEEDLE, encoding="utf-8")
    outcome = call("sounding", "petrel", "--needle", "1/2")
    assert (outcome.code, outcome.err) == (0, "")
    said = " ".join(outcome.out.split())
    for words in (
        "The needle of Petrel stands at 1/2",
        "45.0 L, give or take 12.0 L; 21.0 L to 69.0 L at worst",
        "A needle is not to be trusted",
        "Where the stick says otherwise, the stick is right.",
    ):
        assert words in said
    assert max(map(len, outcome.out.splitlines())) <= 80


@pytest.mark.parametrize(
    ("depth", "words"),
    [
        # 11 cm are 52.5 L, within 21 L to 69 L of the needle; 18 cm are 87.5 L.
        ("11cm", "The needle says 7.5 L less than the stick, which is within its doubt"),
        ("18cm", "The needle says 42.5 L less than the stick, beyond its doubt: go by the stick"),
    ],
)
def test_stick_and_needle_beside_each_other(call, folder, depth, words):
    (folder / "boat.toml").write_text(NEEDLE, encoding="utf-8")
    outcome = call("sounding", "petrel", depth, "--needle", "1/2")
    assert words in " ".join(outcome.out.split())
    both = json.loads(call("sounding", "petrel", depth, "--needle", "1/2", "--json").out)
    assert (both["stick"]["needle_frac"], both["needle"]["depth_m"]) == (None, None)


def test_the_table_of_the_needle_stands_beside_the_strip(call, folder):
    """At 3/4 70 L, of which at rest 0.63, 58 L, and at sea 0.51, 46 L, less 5 L of the pick-up."""
    (folder / "boat.toml").write_text(NEEDLE, encoding="utf-8")
    outcome = call("sounding", "petrel", "--table")
    rows = [line.split() for line in outcome.out.splitlines()]
    assert ["3/4", "70.0", "L", "53.0", "L", "41.0", "L", "14.5", "cm"] in rows
    assert ["E", "5.0", "L", "0.0", "L", "0.0", "L", "1.5", "cm"] in rows
    assert max(map(len, outcome.out.splitlines())) <= 80
    answer = json.loads(call("sounding", "petrel", "--table", "--json").out)
    assert answer["needle"][2] == {
        "needle_frac": 0.75,
        "litres": pytest.approx(70.0),
        "least_at_rest_L": pytest.approx(58.0),
        "least_at_sea_L": pytest.approx(46.0),
    }


def test_a_boat_with_a_needle_alone_has_its_table_and_no_strip(call, folder):
    alone = NEEDLE.partition("[fuel.tank]")[0].replace("[fuel]\n", '[fuel]\ntank = "100 L"\n')
    (folder / "boat.toml").write_text(alone, encoding="utf-8")
    outcome = call("sounding", "petrel", "--table")
    assert (outcome.code, outcome.err) == (0, "")
    assert "stick then" not in outcome.out
    assert "the stick tells more" in outcome.out
    assert call("sounding", "petrel", "11cm").code == 2


def test_a_needle_without_marks_is_told_what_is_missing(call, folder):
    outcome = call("sounding", "petrel", "--needle", "1/2")
    assert outcome.code == 2
    assert "[fuel] does not say what its needle means" in outcome.err
    assert 'needle = "4 L at E; 18 L at 1/4; 41 L at 1/2; 85 L at F"' in outcome.err
    (folder / "boat.toml").write_text(NEEDLE, encoding="utf-8")
    outcome = call("sounding", "petrel", "--needle", "half")
    assert "needle: cannot read 'half'" in outcome.err
    assert "a place on the dial: E, 1/4, 1/2, 3/4, F or a share such as 30 %" in outcome.err
