"""A figure as a piece of a page: bars of one look are one outline, and every bar is still there."""

import re
import xml.etree.ElementTree as ET

import pytest
from builders import in_average
from hand_worked import passage_of, with_panels

from powersim.report.figures import plot_energy, plot_soc
from powersim.report.inline_svg import inline_svg

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def result():
    return in_average(passage_of(boat=with_panels()), step_h=1.0)


def parsed(text):
    """As XML, with the names that HTML would know declared."""
    space = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    return ET.fromstring(str(text).replace("<svg ", f"<svg {space} ", 1))


def test_bars_of_one_look_are_one_outline_and_none_is_lost(result):
    ax = plot_energy(result)
    bars = [bar for container in ax.containers for bar in container]
    root = parsed(inline_svg(ax, name="energy", title="a title", description="words"))
    filled = [path for path in root.iter(f"{SVG}path") if "fill: url" in path.get("style", "")]
    hatched = {(bar.get_facecolor(), bar.get_hatch()) for bar in bars if bar.get_hatch()}
    # One outline for each hatch in the picture and one before its name.
    assert len(filled) == 2 * len(hatched) > 0
    outlines = [
        outline
        for path in root.iter(f"{SVG}path")
        if path.get("clip-path")
        for outline in re.findall("M[^M]*z", path.get("d"))
    ]
    assert len(outlines) == len(bars)


def test_names_are_its_own(result):
    text = str(inline_svg(plot_soc(result), name="one", title="a title", description="words"))
    assert set(re.findall(r'(?:id="|url\(#|href="#)([a-z]+)-', text)) == {"one"}
    assert "metadata" not in text
    assert "<style" not in text


def test_its_colours_are_the_page_s(result):
    """So that all of it turns dark: what is no name of a colour would stay as it is by day."""
    text = str(inline_svg(plot_energy(result), name="one", title="a title", description="words"))
    assert re.findall(r"#[0-9a-fA-F]{6}\b", text) == []
    assert {"var(--loads)", "var(--engine)", "var(--paper)"} <= set(
        re.findall(r"var\([a-z-]+\)", text)
    )


def test_outlines_are_told_to_a_hundredth_of_a_point(result):
    text = str(inline_svg(plot_soc(result), name="one", title="a title", description="words"))
    numbers = re.findall(r"\d+\.(\d+)", " ".join(re.findall(r'\bd="([^"]*)"', text)))
    assert max(map(len, numbers)) == 2
