"""[heavy_weather]: read, defaults where something hangs on them, mistakes and doubts."""

import pytest

from powersim.inputs.boat import collect_boat
from powersim.inputs.boat_heavy_weather import HEAVY_WEATHER_KEYS
from powersim.records import HeavyWeather, Sea

BATTERY = '[battery]\nchemistry = "flooded"\ncapacity = "220 Ah"\n[passage]\nspeed = "5 kn"\n'
TABLE = """[heavy_weather]
lie_to_above = "34 kn"
no_engine_above = "28 kn"
spray_above = "24 kn"
rough_above = "22 kn"
very_rough_above = "30 kn"
"""


@pytest.fixture
def read(tmp_path):
    def read(text, **values):
        path = tmp_path / "boat.toml"
        path.write_text(BATTERY + text, encoding="utf-8")
        return collect_boat(path, values=values)

    return read


def test_without_the_table_no_sea_counts_and_check_says_so(read):
    found = read("")
    assert found.boat.heavy_weather == HeavyWeather()
    assert found.boat.heavy_weather.strengths_kn == ()
    assert found.boat.heavy_weather.seas == (Sea(),)
    (assumed,) = (one for one in found.assumptions if "heavy_weather" in one.place)
    assert (assumed.place, assumed.value) == ("boat.toml heavy_weather", "none")


def test_every_strength_adds_to_what_holds_below_it(read):
    heavy = read(TABLE).boat.heavy_weather
    assert heavy.strengths_kn == (22.0, 24.0, 28.0, 30.0, 34.0)
    assert heavy.seas == (
        Sea(),
        Sea(pilot_frac=1.5),
        Sea(pilot_frac=1.5, sun_frac=0.7),
        Sea(pilot_frac=1.5, sun_frac=0.7, engine=False),
        Sea(pilot_frac=2.0, sun_frac=0.7, engine=False),
        Sea(pilot_frac=2.0, sun_frac=0.7, engine=False, lies_to=True),
    )
    assert heavy.lying == "hove-to"


def test_only_what_something_hangs_on_is_assumed(read):
    found = read('[heavy_weather]\nlie_to_above = "34 kn"\nlie_to = "drifting"\n')
    assert found.boat.heavy_weather.lying == "drifting"
    assumed = [one.place.removeprefix("boat.toml ") for one in found.assumptions]
    assert [one for one in assumed if "heavy" in one] == ["heavy_weather.sea_lasts"]
    assert not any("heavy" in one.place for one in read("[heavy_weather]\n").assumptions)


@pytest.mark.parametrize("key", [key for key in HEAVY_WEATHER_KEYS if "above" in key.name])
def test_each_strength_can_be_set_where_there_is_no_table(read, key):
    heavy = read("", **{f"heavy_weather.{key.name}": "27 kn"}).boat.heavy_weather
    assert heavy.strengths_kn == (27.0,)
    assert heavy.seas[0] == Sea() != heavy.seas[1]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            '[heavy_weather]\nlie_to = "at anchor"\n',
            "boat.toml:7: heavy_weather.lie_to: 'at anchor' is not known here\n"
            "  expected  hove-to or drifting",
        ),
        (
            '[heavy_weather]\nlie_to_above = "34"\n',
            "boat.toml:7: heavy_weather.lie_to_above: '34' has no unit\n"
            "  expected  wind above which she lies to, for example 34 kn",
        ),
        (
            '[heavy_weather]\nrough_above = "30 kn"\nvery_rough_above = "22 kn"\n',
            "boat.toml:8: heavy_weather.very_rough_above: '22 kn' is not above rough_above, "
            "'30 kn'\n  expected  more wind than rough_above, for example 22 kn and 30 kn",
        ),
        (
            '[heavy_weather]\ngale = "34 kn"\n',
            "boat.toml:7: heavy_weather.gale: unknown key\n  expected  one of lie_to_above, "
            "lie_to, no_engine_above, spray_above, spray_yield, rough_above, rough_pilot, "
            "very_rough_above, very_rough_pilot, sea_lasts",
        ),
        (
            "heavy_weather = 3\n",
            "boat.toml:1: heavy_weather: 3 is not a table\n"
            "  expected  its keys under a line [heavy_weather]",
        ),
    ],
)
def test_a_mistake_is_told(tmp_path, text, message):
    path = tmp_path / "boat.toml"
    whole = BATTERY + text if text.startswith("[") else text + BATTERY
    path.write_text(whole, encoding="utf-8")
    found = collect_boat(path)
    assert found.boat is None
    assert [str(one).replace(f"{path}", "boat.toml") for one in found.problems] == [message]


def test_a_key_without_its_strength_is_asked_about(read):
    found = read('[heavy_weather]\nspray_yield = "60 %"\n')
    assert found.boat.heavy_weather.strengths_kn == ()
    (doubt,) = found.doubts
    assert doubt.text == "heavy_weather.spray_yield: '60 %' has no effect without spray_above"


def test_a_record_made_in_python_is_held_to_the_same():
    with pytest.raises(ValueError, match=r"very_rough_above_kn 22\.0 must be above"):
        HeavyWeather(rough_above_kn=22.0, very_rough_above_kn=22.0)
    with pytest.raises(ValueError, match="lie_to must be hove-to or drifting, got 'anchored'"):
        HeavyWeather(lie_to="anchored")
