"""Pictures as files: each kind is what it says, and the same every time."""

import xml.etree.ElementTree as ET

import pytest
from builders import in_average
from hand_worked import passage_of, without_engine
from made_ensemble import ensemble_of

from powersim.report.figures import FORMATS, PLOTS, figure_files, names_for

#: How files begin: ISO/IEC 15948 (PNG), ISO 32000-1 7.5.2 (PDF), XML 1.0.
BEGINNINGS = {"png": b"\x89PNG\r\n\x1a\n", "pdf": b"%PDF-", "svg": b"<?xml"}


@pytest.fixture(scope="module")
def result():
    from dataclasses import replace

    result = in_average(passage_of(), step_h=1.0)
    return replace(result, ensemble=ensemble_of(hours=len(result.hourly)))


def test_which_pictures_there_are(result):
    assert names_for(result) == tuple(PLOTS)
    alone = in_average(passage_of(boat=without_engine()), step_h=1.0)
    assert names_for(alone) == ("soc", "energy", "budget", "map")


@pytest.mark.parametrize("kind", FORMATS)
def test_each_kind_is_what_it_says_and_the_same_every_time(result, tmp_path, kind):
    ((name, draw),) = figure_files(result, names=["fuel"], kind=kind).items()
    assert name == f"fuel.{kind}"
    found = []
    for turn in range(2):
        path = tmp_path / f"{turn}.{kind}"
        draw(path)
        found.append(path.read_bytes())
    assert found[0] == found[1]
    assert found[0].startswith(BEGINNINGS[kind])


def test_letters_in_an_svg_stay_letters(result, tmp_path):
    figure_files(result, names=["fuel"], kind="svg")["fuel.svg"](tmp_path / "fuel.svg")
    words = "".join(ET.parse(tmp_path / "fuel.svg").getroot().itertext())
    assert "reserve 20.0 L" in words
    assert "two days: diesel that can be burnt" in words


@pytest.mark.parametrize("name", PLOTS)
def test_every_picture_is_a_method_of_the_result(result, name):
    assert getattr(result, f"plot_{name}")().get_title(loc="left").startswith("two days: ")
