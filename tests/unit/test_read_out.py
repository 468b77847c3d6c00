"""What lies over a picture: buttons where their data are, and words that stay words."""

import re
from itertools import pairwise

import pytest
from builders import in_average
from hand_worked import passage_of
from markupsafe import Markup

from powersim.report.charge_look import NARROW, WIDE
from powersim.report.figures import plot_soc
from powersim.report.read_out import Strip, read_out


@pytest.fixture(scope="module")
def drawn():
    result = in_average(passage_of(), step_h=1.0)
    return {"": plot_soc(result, look=WIDE), "narrow-": plot_soc(result, look=NARROW)}


def test_buttons_lie_where_their_data_are(drawn):
    """Quarters of the axes, by hand."""
    low, high = drawn[""].get_xlim()
    edges = [low + (high - low) * part / 4.0 for part in range(5)]
    strips = [
        Strip(start=one, end=other, words=f"<{place}>")
        for place, (one, other) in enumerate(pairwise(edges))
    ]
    text = str(read_out(Markup("<svg></svg>"), drawn, strips, name="soc", legend="a & b", first=2))
    assert re.findall(r"--at:([\d.]+);--part:([\d.]+)", text) == [
        *(("0.0000", "0.2500"), ("0.2500", "0.2500"), ("0.5000", "0.2500"), ("0.7500", "0.2500")),
    ]
    assert "<legend>a &amp; b</legend>" in text
    assert "&lt;2&gt;" in text
    buttons = re.findall(r"<input [^>]*>", text)
    assert [" checked" in button for button in buttons] == [False, False, True, False]
    assert {re.search(r'name="([^"]*)"', button)[1] for button in buttons} == {"soc-at"}


def test_the_style_sheet_is_told_where_the_axes_are_in_each_width(drawn):
    strips = [Strip(start=0, end=1, words="x")]
    text = str(read_out(Markup(""), drawn, strips, name="a", legend="b", first=0))
    for prefix, ax in drawn.items():
        box = ax.get_position()
        for edge, share in {
            "left": box.x0, "across": box.x1 - box.x0, "top": 1 - box.y1, "high": box.y1 - box.y0,
        }.items():  # fmt: skip
            (told,) = re.findall(rf"--{prefix}{edge}:([\d.]+)%", text)
            assert float(told) == pytest.approx(100 * share, abs=0.01)


def test_there_is_room_for_the_longest_words(drawn):
    """73 letters are two lines of 72, and three of 33."""
    strips = [Strip(start=0, end=1, words="x"), Strip(start=1, end=2, words="y" * 73)]
    text = str(read_out(Markup(""), drawn, strips, name="a", legend="b", first=0))
    assert "--lines:2;--narrow-lines:3" in text


def test_a_number_stays_with_its_unit(drawn):
    strips = [Strip(start=0, end=1, words="median 69 %, charging 1.2 h")]
    text = str(read_out(Markup(""), drawn, strips, name="a", legend="b", first=0))
    assert "median 69\u00a0%, charging 1.2\u00a0h" in text
