"""[[charger]] of boat.toml: every key, every default with its reason, every mistake in words."""

import pytest

from powersim.inputs.boat import collect_boat
from powersim.inputs.boat_chargers import CHARGER_KEYS, KEYS_OF_KIND
from powersim.records import RECORD_OF_KIND, ShorePower, WaterGenerator, WindGenerator

BATTERY = '[battery]\nchemistry = "agm"\ncapacity = "200 Ah"\n'
CURVES = {
    "wind.csv": "wind_m_s,power_W\n3,0\n10,60\n",
    "water.csv": "speed_kn,power_W\n2,0\n6,60\n",
}


@pytest.fixture
def boat_file(tmp_path):
    """Read a boat.toml of a bank and these chargers, with curves beside it."""

    def read(*chargers, battery=BATTERY, **curves):
        for name, text in (CURVES | {f"{name}.csv": text for name, text in curves.items()}).items():
            (tmp_path / name).write_text(text, encoding="utf-8")
        path = tmp_path / "boat.toml"
        path.write_text(battery + "".join(f"[[charger]]\n{charger}\n" for charger in chargers))
        return collect_boat(path)

    return read


@pytest.fixture
def chargers_of(boat_file):
    """The chargers of a boat.toml in which nothing is wrong."""

    def read(*chargers, **given):
        found = boat_file(*chargers, **given)
        assert messages(found) == []
        return found.boat.chargers

    return read


def messages(found):
    return [str(one).replace(one.file, one.file.rsplit("/", 1)[-1], 1) for one in found.problems]


def assumed(found, of="charger."):
    return {
        one.place.removeprefix("boat.toml "): (one.value, one.reason)
        for one in found.assumptions
        if of in one.place
    }


def test_a_boat_without_any_is_asked_nothing(boat_file):
    found = boat_file()
    assert found.boat.chargers == ()
    assert assumed(found) == {}


def test_every_key_of_a_wind_generator_reaches_its_field(chargers_of):
    (wind,) = chargers_of(
        'kind = "Wind"\nname = "on the mizzen"\ncurve = "wind.csv"\ndiameter = "91 cm"\n'
        'height = "5.5 m"\nwind_angle = "150 deg"\ncutout = "18 m/s"\nwiring = "5 %"\n'
        'regulated = true\nabsorption = "14.5 V"\nfloat = "13.6 V"\ntemp_comp = "-24 mV/degC"\n'
    )
    assert wind == WindGenerator(
        name="on the mizzen",
        speeds_m_s=(3.0, 10.0),
        powers_W=(0.0, 60.0),
        diameter_m=0.91,
        height_m=5.5,
        wind_angle_deg=150.0,
        cut_out_m_s=18.0,
        wiring_frac=0.05,
        absorption_V=14.5,
        float_V=13.6,
        temp_comp_V_per_C=-0.024,
    )


def test_every_key_of_a_water_generator_reaches_its_field(chargers_of):
    (hydro,) = chargers_of(
        'kind = "transom"\nname = "hydro"\ncurve = "water.csv"\ndiameter = "0.3 m"\n'
        'motoring = true\nfrom = "3 kn"\nto = "8 kn"\nwiring = "2 %"\nregulated = false\n'
    )
    assert hydro == WaterGenerator(
        kind="transom",
        name="hydro",
        speeds_kn=(2.0, 6.0),
        powers_W=(0.0, 60.0),
        diameter_m=0.3,
        motoring=True,
        from_kn=3.0,
        to_kn=8.0,
        wiring_frac=0.02,
        regulated=False,
    )


def test_every_key_of_shore_power_reaches_its_field(chargers_of):
    (shore,) = chargers_of(
        'kind = "shore"\nname = "marina"\nrated = "15 A"\nhours = "18:00-08:00"\n'
        'absorption = "14.6 V"\nfloat = "13.4 V"\ntemp_comp = "-30 mV/degC"\n'
    )
    assert shore == ShorePower(
        name="marina",
        rated_A=15.0,
        hours_h=(18.0, 8.0),
        absorption_V=14.6,
        float_V=13.4,
        temp_comp_V_per_C=-0.03,
    )


def test_every_key_belongs_to_a_kind_and_every_kind_has_its_keys():
    named = {name for names in KEYS_OF_KIND.values() for name in names}
    assert named == {key.name for key in CHARGER_KEYS}
    assert tuple(KEYS_OF_KIND) == tuple(RECORD_OF_KIND)


def test_what_is_assumed_of_a_wind_generator(boat_file):
    assert assumed(boat_file('kind = "wind"')) == {
        "charger.diameter": ("1.15 m", "that of the invented curve"),
        "charger.curve": (
            "generic",
            "an invented rotor of 1.15 m; your own readings are better",
        ),
        "charger.height": ("3 m", "a pole at the stern; common practice, no source"),
        "charger.wind_angle": (
            "110 deg",
            "a passage is laid out for winds abaft the beam; common practice, no source",
        ),
        "charger.cutout": ("20 m/s", "stopped by hand in a gale; common practice, no source"),
        "charger.wiring": ("3 %", "cable; common practice, no source"),
        "charger.regulated": ("true", "holds the bank's voltages"),
        "charger.temp_comp": ("0 mV/degC", "no sensor on the bank; common practice, no source"),
        "charger.absorption": ("14.4 V", "as usual for agm"),
        "charger.float": ("13.5 V", "as usual for agm"),
    }


def test_what_is_assumed_of_shore_power(boat_file):
    assert assumed(boat_file('kind = "shore"\nrated = "20 A"')) == {
        "charger.hours": ("00:00-24:00", "plugged in all the time alongside"),
        "charger.temp_comp": ("0 mV/degC", "no sensor on the bank; common practice, no source"),
        "charger.absorption": ("14.4 V", "as usual for agm"),
        "charger.float": ("13.5 V", "as usual for agm"),
    }


def test_what_is_assumed_of_generators_in_the_water(boat_file):
    towed, shaft = (assumed(boat_file(f'kind = "{kind}"')) for kind in ("towed", "shaft"))
    assert towed["charger.from"] == ("0 kn", "its curve tells where it begins")
    assert towed["charger.to"][1].startswith("taken in before it skips or breaks")
    assert towed["charger.motoring"] == ("false", "taken in under engine")
    assert shaft["charger.to"][1].startswith("the shaft is locked")
    assert "charger.motoring" not in shaft
    assert (towed["charger.diameter"][0], shaft["charger.diameter"][0]) == ("0.3 m", "0.4 m")


def test_a_rotor_of_known_size_scales_the_invented_curve(boat_file, chargers_of):
    told = assumed(boat_file('kind = "towed"\ndiameter = "15 cm"'))
    assert told["charger.curve"] == (
        "generic",
        "an invented rotor of 0.3 m, scaled to yours by area; your own readings are better",
    )
    whole, half = chargers_of('kind = "towed"', 'kind = "towed"\ndiameter = "15 cm"')
    assert half.powers_W == pytest.approx([power_W / 4.0 for power_W in whole.powers_W])


def test_a_curve_of_an_unknown_rotor_is_believed_and_that_is_told(boat_file):
    told = assumed(boat_file('kind = "wind"\ncurve = "wind.csv"'))
    assert "charger.curve" not in told
    assert told["charger.diameter"] == (
        "unknown",
        "then its curve is not checked against any limit",
    )


def test_names_are_the_kinds_and_a_number_where_there_are_two(boat_file, chargers_of):
    two = ('kind = "wind"', 'kind = "towed"\nname = "hydro"', 'kind = "wind"')
    assert [charger.name for charger in chargers_of(*two)] == ["wind 1", "hydro", "wind 2"]
    assert "charger.cutout (wind 1, wind 2)" in assumed(boat_file(*two))


def test_setpoints_are_the_banks_and_nobodys_where_nothing_regulates(boat_file):
    at_24_V = BATTERY + 'nominal = "24 V"\n'
    found = boat_file('kind = "towed"', battery=at_24_V)
    assert assumed(found)["charger.absorption"] == ("28.8 V", "as usual for agm")
    assert found.boat.chargers[0].absorption_V is None
    free = assumed(boat_file('kind = "towed"\nregulated = false'))
    assert not {"charger.absorption", "charger.float", "charger.temp_comp"} & set(free)


KINDS_EXPECTED = "one of wind, towed, shaft, transom, shore"


@pytest.mark.parametrize(
    ("charger", "message"),
    [
        (
            'name = "mill"',
            f"boat.toml:4: charger: no kind\n  expected  kind: {KINDS_EXPECTED}",
        ),
        (
            'kind = "wnd"',
            "boat.toml:5: charger.kind: 'wnd' is not known here; did you mean 'wind'?\n"
            f"  expected  {KINDS_EXPECTED}",
        ),
        (
            'kind = "shore"',
            "boat.toml:4: charger: no rated\n  expected  rated: the most that a charger on shore "
            "power gives the bank, for example 20 A",
        ),
        (
            'kind = "shore"\nrated = "300 W"',
            "boat.toml:6: charger.rated: '300 W' is a power\n  expected  the most that a charger "
            "on shore power gives the bank, for example 20 A",
        ),
        (
            'kind = "wind"\nrated = "20 A"',
            "boat.toml:6: charger.rated: means nothing for kind 'wind'\n  expected  one of kind, "
            "name, curve, diameter, height, wind_angle, cutout, wiring, regulated, absorption, "
            "float, temp_comp",
        ),
        (
            'kind = "wind"\nhight = "3 m"',
            "boat.toml:6: charger.hight: unknown key; did you mean 'height'?\n  expected  height, "
            "how high a wind generator's hub is above the sea, for example 3 m",
        ),
        (
            'kind = "shaft"\nmotoring = true',
            "boat.toml:6: charger.motoring: the engine turns the shaft then\n  expected  false",
        ),
        (
            'kind = "towed"\nfrom = "12 kn"',
            "boat.toml:6: charger.from: it would be in the water from 12 kn to 10 kn\n"
            "  expected  from below to, for example 3 kn and 8 kn",
        ),
        (
            'kind = "towed"\nregulated = false\nfloat = "13.5 V"',
            "boat.toml:7: charger.float: it has no regulator: regulated is false\n"
            "  expected  no such line",
        ),
        (
            'kind = "towed"\nfloat = "14.6 V"',
            "boat.toml:6: charger.float: float at 14.6 V is above absorption at 14.4 V\n"
            "  expected  a float voltage below the absorption voltage, for example 13.5 V and "
            "14.4 V",
        ),
        (
            'kind = "towed"\ndiameter = "3"',
            "boat.toml:6: charger.diameter: '3' has no unit\n  expected  the width of its circle "
            "of blades, or of the propeller, for example 1.15 m",
        ),
        (
            'kind = "towed"\ncurve = "hydro.csv"',
            "boat.toml:6: charger.curve: 'hydro.csv': no such file\n  expected  a CSV file with "
            "columns speed_kn and power_W, or no such line",
        ),
        (
            'kind = "wind"\ncurve = ""',
            "boat.toml:6: charger.curve: '': is a folder, not a file\n  expected  a CSV file with "
            "columns wind_kn and power_W, or no such line",
        ),
        (
            'kind = "wind"\ncurve = 7',
            "boat.toml:6: charger.curve: 7 has no unit; write it with its unit, in quotes\n"
            '  expected  a CSV file of its power at each speed, for example "my-curve.csv"',
        ),
        (
            'kind = "wind"\ncurve = "water.csv"',
            "water.csv:1: no column 'wind'; found: speed_kn, power_W\n  expected  wind, apparent "
            "wind at the hub, more in every row; rename 'speed_kn' to wind_kn",
        ),
        (
            'kind = "wind"\ncurve = "wind.csv"\ndiameter = "30 cm"',
            "wind.csv:3:2: power (column B): '60' is more than the 26 W that any rotor of 0.3 m "
            "can take there (Betz)\n  expected  less; is the unit of the speeds right, and "
            "diameter in boat.toml?\n  row       10,60",
        ),
    ],
)
def test_a_mistake_is_told_in_a_sailors_words(boat_file, charger, message):
    found = boat_file(charger)
    assert messages(found) == [message]
    assert found.boat is None


def test_two_of_one_name_are_refused(boat_file):
    chargers = ('kind = "wind"\nname = "mill"', 'kind = "towed"\nname = "mill"')
    assert messages(boat_file(*chargers)) == [
        "boat.toml:9: charger.name: 'mill' is given twice\n  expected  a name of its own for each"
    ]


def test_single_brackets_are_refused(tmp_path):
    path = tmp_path / "boat.toml"
    path.write_text(BATTERY + '[charger]\nkind = "wind"\n')
    assert messages(collect_boat(path)) == [
        "boat.toml:4: charger: needs double square brackets\n"
        "  expected  one line [[charger]] before each of them"
    ]


def test_what_is_wrong_in_a_curve_comes_after_all_of_boat_toml(boat_file):
    found = boat_file(
        'kind = "wind"\ncurve = "bad.csv"',
        'kind = "towed"\nwhat = 1',
        bad="wind_kn,power_W\n1,0\n1,2\nx,3\n",
    )
    assert [message.split(": ")[0] for message in messages(found)] == [
        "boat.toml:9",
        "bad.csv:3:1",
        "bad.csv:4:1",
    ]
