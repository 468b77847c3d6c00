"""What is made of a search for sizes: the page, the tables and the picture, from points by hand."""

import csv
import json
from dataclasses import replace
from itertools import combinations

import pytest
from builders import boat_of, passage_of
from size_made import point_of_size

from powersim.planning.size_front import compare_choices
from powersim.planning.size_point import Study
from powersim.report.figure_size import plot_size, size_figure
from powersim.report.size_files import size_files
from powersim.report.size_text import size_text

PASSAGE = passage_of(days=1.0)
STUDY = Study(passage=PASSAGE, boats={"flooded": PASSAGE.boat}, members=200, seed=1, step_h=0.25)
OWN = point_of_size(
    weight_kg=75.0, charging_h=25.0, fuel_L=40.0, fails_frac=0.3, floor_days_p10=2.54
)
LIGHT = point_of_size(
    chemistry="lifepo4", battery_Ah=200.0, weight_kg=70.0, charging_h=20.0, fails_frac=0.05
)
HEAVY = point_of_size(battery_Ah=400.0, solar_W=400.0, weight_kg=130.0, charging_h=5.0, clips=True)
BEATEN = point_of_size(battery_Ah=330.0, weight_kg=140.0, charging_h=5.5)
SIZED = compare_choices([OWN, LIGHT, HEAVY, BEATEN], risk_frac=0.05)


def page(sized=SIZED, study=STUDY, **given):
    text = size_text(sized, study, **given)
    assert max(map(len, text.splitlines())) <= 80
    return text


def test_the_tables_of_a_page():
    """Marked: 70 kg and 20 h, 130 kg and 5 h: 15 h saved for 60 kg are 0.25 h a kilogram."""
    text = page()
    assert text.startswith(
        "a passage for tests: 4 choices, each in the same 200 simulated passages. 3 are\n"
        "adequate: failing in no more than 5 % of them.\n"
    )
    assert (
        "                          alter-          below         engine          without\n"
        "   bank            solar   nator  weight  floor  fails   hours    fuel   engine\n"
        "-  --------------  -----  ------  ------  -----  -----  ------  ------  -------\n"
        "   flooded 220 Ah  200 W    45 A   75 kg   30 %   30 %  25.0 h  40.0 L      2.5\n"
    ) in text
    assert (
        "1  lifepo4 200 Ah   200 W    45 A   70 kg    5 %    5 %  20.0 h  30.0 L    never\n"
        "2  flooded 400 Ah  400 W*    45 A  130 kg    0 %    0 %   5.0 h  30.0 L    never\n"
    ) in text
    assert (
        "            engine           hours saved for each\n"
        "   weight    hours     fuel  kg over the lightest\n"
        "-  ------  -------  -------  --------------------\n"
        "1   -5 kg   -5.0 h  -10.0 L                     –\n"
        "2  +55 kg  -20.0 h  -10.0 L                0.25 h\n"
    ) in text
    # The boat as she is stands above, and not among the next best.
    after = text.partition("The next best\n")[2]
    assert "flooded 330 Ah" in after
    assert "flooded 220 Ah" not in after


def test_what_to_mind_is_told_where_it_holds():
    loaded = boat_of(engine={"charging_burn_loaded": True})
    study = replace(STUDY, passage=replace(PASSAGE, boat=loaded))
    sized = compare_choices([OWN, point_of_size(alternator_A=90.0)], risk_frac=0.05)
    words = " ".join(page(sized, study, stays=("controller.float = 13.5 V",)).split())
    assert "kept with every chemistry, as boat.toml says: controller.float = 13.5 V" in words
    assert "counted as burning the same by the hour, which flatters a larger one" in words
    assert "*: these panels" not in words
    words = " ".join(page().split())
    assert "*: these panels can give more than the solar controller is rated for" in words
    assert "kept with every chemistry" not in words
    assert "charging_burn" not in words
    assert "high-current wiring is for qualified people" in words
    # Of 200 members 5 % are 3 to 7 by the numbers of this point.
    assert "choice 1 fails in 5 % of 200 simulated passages; with ever more passages, " in words


def test_none_is_adequate():
    text = page(compare_choices([OWN, replace(LIGHT, fails_frac=0.2)], risk_frac=0.025))
    assert "None is\nadequate: failing in no more than 2.5 % of them." in text
    assert "\nThe nearest\n-----------\n" in text
    assert "Cheapest" not in text
    assert "goes dark" not in text
    dark = page(
        compare_choices([OWN, replace(LIGHT, fails_frac=0.2, flat_frac=0.1)], risk_frac=0.025)
    )
    choice = f"{LIGHT.choice.chemistry} {LIGHT.choice.battery_Ah:g} Ah, {LIGHT.choice.solar_W:g} W"
    assert f"all goes dark in some of the passages: {choice}" in " ".join(dark.split())
    brief = page(
        compare_choices([OWN, replace(LIGHT, fails_frac=0.2)], risk_frac=0.025), brief=True
    )
    assert "\nThe nearest\n-----------\n" in brief
    assert "The boat as she is" not in brief


def test_many_marked_choices_end_somewhere():
    many = [
        point_of_size(battery_Ah=100.0 + place, weight_kg=50.0 + place, charging_h=40.0 - place)
        for place in range(20)
    ]
    text = page(compare_choices([OWN, *many], risk_frac=0.05))
    assert "8 more are in size.csv." in " ".join(text.split())
    assert "flooded 111 Ah" in text
    assert "flooded 112 Ah" not in text


def test_wide_numbers_still_fit_a_page():
    wide = point_of_size(
        chemistry="lifepo4",
        battery_Ah=99999.0,
        solar_W=99999.0,
        alternator_A=1999.0,
        weight_kg=123456.0,
        charging_h=1000.0,
        fuel_L=1000.0,
        clips=True,
        floor_days_p10=366.0,
    )
    assert "123456 kg" in page(compare_choices([OWN, wide], risk_frac=0.05))


def test_every_choice_in_the_files():
    files = size_files(SIZED, STUDY, stays=("a = 1",), figures=False)
    assert list(files) == ["size.csv", "size.json"]
    rows = list(csv.DictReader(files["size.csv"].splitlines()))
    assert [row["mark"] for row in rows] == ["0", "1", "2", "0"]
    assert [row["adequate"] for row in rows] == ["no", "yes", "yes", "yes"]
    assert [float(row["added_kg"]) for row in rows] == [0.0, -5.0, 55.0, 65.0]
    assert [row["saved_h_per_kg"] for row in rows] == ["", "", "0.25", ""]
    assert [row["floor_days_p10"] for row in rows] == ["2.54", "", "", ""]
    answer = json.loads(files["size.json"])
    assert (answer["members"], answer["seed"], answer["risk_frac"]) == (200, 1, 0.05)
    assert (answer["adequate"], answer["kept"]) == (3, ["a = 1"])
    assert answer["choices"][2]["clips"] is True
    assert answer["choices"][1]["floor_days_p10"] is None
    assert list(answer["choices"][0]) == list(rows[0])


@pytest.mark.parametrize("kind", ["png", "svg"])
def test_the_picture_is_written_in_its_kind(tmp_path, kind):
    files = size_files(SIZED, STUDY, kind=kind)
    path = tmp_path / f"size.{kind}"
    files[path.name](path)
    assert path.read_bytes().startswith({"png": b"\x89PNG", "svg": b"<?xml"}[kind])


def test_the_numbers_of_the_picture():
    numbers = size_figure(SIZED, name="a passage")
    assert numbers.own == (75.0, 25.0)
    assert numbers.adequate == {
        "lifepo4": [(70.0, 20.0)],
        "flooded": [(130.0, 5.0), (140.0, 5.5)],
    }
    assert numbers.failing == {"flooded": [(75.0, 25.0)]}
    assert numbers.front == [(70.0, 20.0), (130.0, 5.0)]
    assert numbers.title == "a passage: 4 choices, 3 adequate"


def test_what_the_picture_shows_without_colour():
    ax = plot_size(SIZED, name="a passage")
    assert ax.get_xlabel() == "weight of bank, panels and alternator [kg]"
    assert ax.get_ylabel() == "engine run to charge, mean [h]"
    legend = {text.get_text() for text in ax.get_legend().get_texts()}
    marked = "cheapest adequate, numbered as in the tables"
    assert legend == {
        "flooded, fails too often",
        "lifepo4, adequate",
        "flooded, adequate",
        marked,
        "the boat as she is",
    }
    # Chemistries by their shapes, adequate ones filled, marked ones ringed and numbered.
    drawn = {one.get_label(): one for one in ax.collections}
    shapes = [
        drawn[f"{chemistry}, adequate"].get_paths()[0].vertices.tolist()
        for chemistry in ("flooded", "lifepo4")
    ]
    assert shapes[0] != shapes[1]
    assert len(drawn["flooded, fails too often"].get_facecolors()) == 0
    assert len(drawn["flooded, adequate"].get_facecolors()) == 1
    ringed = drawn[marked].get_offsets().tolist()
    assert ringed == [[70.0, 20.0], [130.0, 5.0]]
    assert ax.get_ylim()[0] <= 0.0


def test_every_point_has_its_name_beside_it():
    """What differs is said: all have the boat's own alternator, so it is in no name."""
    ax = plot_size(SIZED, name="a passage")
    names = {text.get_text(): text for text in ax.texts}
    assert {words: text.xy for words, text in names.items()} == {
        "as she is: flooded 220 Ah, 200 W": (75.0, 25.0),
        "1: lifepo4 200 Ah, 200 W": (70.0, 20.0),
        "2: flooded 400 Ah, 400 W": (130.0, 5.0),
        "flooded 330 Ah, 200 W": (140.0, 5.5),
    }


def test_names_of_a_crowd_lie_over_no_other():
    """Fifteen marked choices half a kilogram and half an hour apart."""
    from matplotlib.text import Text

    crowd = [
        point_of_size(
            battery_Ah=100.0 + place,
            weight_kg=60.0 + place / 2.0,
            charging_h=20.0 - place / 2.0,
        )
        for place in range(15)
    ]
    ax = plot_size(compare_choices([OWN, *crowd], risk_frac=0.05), name="a passage")
    ax.figure.draw_without_rendering()
    # Of the words alone, without the line that leads to their point.
    boxes = [Text.get_window_extent(text) for text in ax.texts]
    assert len(boxes) == 16
    assert not any(one.overlaps(other) for one, other in combinations(boxes, 2))
    frame = ax.get_window_extent()
    assert all(frame.x0 <= box.x0 < box.x1 <= frame.x1 for box in boxes)
