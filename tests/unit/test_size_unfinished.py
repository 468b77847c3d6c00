"""What is finished of a search, kept in a file: read back to the last digit, or refused."""

import json
from dataclasses import replace

import pytest
from builders import boat_of, passage_of
from hypothesis import given, settings
from hypothesis import strategies as st
from size_made import point_of_size

from powersim.errors import InputError, OutputError
from powersim.planning.size_point import Study
from powersim.report.size_unfinished import UNFINISHED, Unfinished

PASSAGE = passage_of(days=1.0)
STUDY = Study(passage=PASSAGE, boats={"flooded": PASSAGE.boat}, members=200, seed=1, step_h=0.25)
POINTS = (
    point_of_size(fails_frac=0.1 + 0.2, floor_days_p10=1.0 / 3.0),
    point_of_size(battery_Ah=330.0, clips=True),
)


@pytest.fixture
def kept(tmp_path):
    """A file of two finished points."""
    unfinished = Unfinished(tmp_path, STUDY)
    for point in POINTS:
        unfinished.keep(point)
    unfinished.write()
    return tmp_path / UNFINISHED


def resumed(path, study=STUDY):
    unfinished = Unfinished(path.parent, study)
    unfinished.resume()
    return unfinished


def refusal(path, study=STUDY):
    with pytest.raises(InputError) as caught:
        resumed(path, study)
    return str(caught.value)


def test_points_come_back_to_the_last_digit(kept):
    assert tuple(resumed(kept).points.values()) == POINTS


def test_what_is_taken_over_is_kept_with_what_follows(kept):
    unfinished = resumed(kept)
    third = point_of_size(battery_Ah=440.0)
    unfinished.keep(third)
    unfinished.write()
    assert tuple(resumed(kept).points.values()) == (*POINTS, third)


def test_a_folder_that_was_moved_and_other_words_for_a_default_are_the_same_question(kept):
    moved = replace(STUDY, passage=replace(PASSAGE, folder=kept.parent, assumptions=()))
    assert len(resumed(kept, moved).points) == 2


def test_another_chemistry_beside_it_is_the_same_question(kept):
    """Every choice is answered by itself, so ranges may grow between two runs."""
    more = replace(STUDY, boats=STUDY.boats | {"lifepo4": boat_of(chemistry="lifepo4")})
    unfinished = resumed(kept, more)
    unfinished.keep(point_of_size(chemistry="lifepo4"))
    unfinished.write()
    assert len(resumed(kept, more).points) == 3
    other = replace(STUDY, boats=STUDY.boats | {"lifepo4": boat_of(chemistry="gel")})
    assert "answers another question: the boat" in refusal(kept, other)


def test_nothing_to_go_on_with(tmp_path):
    path = tmp_path / UNFINISHED
    assert refusal(path) == (
        f"{path}: no such file: there is nothing to go on with\n"
        "  expected  the same command without --resume"
    )


def test_other_options(kept):
    other = replace(STUDY, members=100, seed=7, step_h=0.5)
    assert refusal(kept, other) == (
        f"{kept}: answers another question: begun with --members 200, --seed 1, "
        '--step "15 min", and now it is --members 100, --seed 7, --step "30 min"\n'
        "  expected  what it was begun with; or --force in place of --resume to begin again"
    )


@pytest.mark.parametrize(
    "passage",
    [
        replace(PASSAGE, loads=PASSAGE.loads[1:]),
        replace(PASSAGE, boat=boat_of(capacity_Ah=220.0000001)),
        replace(PASSAGE, depart_utc=PASSAGE.depart_utc.replace(minute=1)),
    ],
)
def test_files_that_have_changed(kept, passage):
    study = replace(STUDY, passage=passage, boats={"flooded": passage.boat})
    assert refusal(kept, study) == (
        f"{kept}: answers another question: the boat, her loads, her route, the departure or the "
        "weather files have changed since\n"
        "  expected  the same passage as then; or --force in place of --resume to begin again"
    )


def changed(path, change):
    content = json.loads(path.read_text(encoding="utf-8"))
    change(content)
    path.write_text(json.dumps(content), encoding="utf-8")


def test_another_version(kept):
    changed(kept, lambda content: content["question"].update(powersim="0.0.9"))
    assert "begun with powersim 0.0.9, and now it is powersim " in refusal(kept)


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (lambda content: content.pop("points"), "cannot be read: not as powersim wrote it"),
        (
            lambda content: content.update(question=[]),
            "cannot be read: not as powersim wrote it",
        ),
        (
            lambda content: content["points"][0].pop("clips"),
            "holds a choice that cannot be read",
        ),
        (
            lambda content: content["points"][0].update(fuel_L="much"),
            "holds a choice that cannot be read",
        ),
        (
            lambda content: content["points"][0].update(fuel_L=None),
            "holds a choice that cannot be read",
        ),
        (
            lambda content: content["points"][1].update(choice="agm"),
            "holds a choice that cannot be read",
        ),
    ],
)
def test_a_file_that_was_edited(kept, change, reason):
    changed(kept, change)
    assert refusal(kept) == (
        f"{kept}: {reason}\n  expected  --force in place of --resume to begin again"
    )


@settings(max_examples=60)
@given(data=st.data())
def test_a_file_cut_or_changed_anywhere_gives_points_or_a_message(tmp_path_factory, data):
    folder = tmp_path_factory.mktemp("broken")
    unfinished = Unfinished(folder, STUDY)
    unfinished.keep(POINTS[0])
    unfinished.write()
    path = folder / UNFINISHED
    whole = path.read_bytes()
    at = data.draw(st.integers(0, len(whole) - 1))
    broken = data.draw(
        st.sampled_from((whole[:at], whole[:at] + b"\xff" + whole[at + 1 :]))
        | st.binary(max_size=3).map(lambda few: whole[:at] + few + whole[at + 1 :])
    )
    path.write_bytes(broken)
    again = Unfinished(folder, STUDY)
    message = ""
    try:
        again.resume()
    except InputError as error:
        message = str(error)
    assert bool(again.points) != bool(message)
    assert all(point.choice == choice for choice, point in again.points.items())


def test_a_file_in_the_way_is_not_lost_unasked(kept):
    with pytest.raises(OutputError) as caught:
        Unfinished(kept.parent, STUDY).refuse_to_lose()
    assert str(caught.value) == (
        f"{kept} holds what is finished of a search that was stopped; go on with it by --resume, "
        "or begin again with --force"
    )
    Unfinished(kept.parent / "elsewhere", STUDY).refuse_to_lose()
    assert not (kept.parent / "elsewhere").exists()
