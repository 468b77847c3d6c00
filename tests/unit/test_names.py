"""A passage that is named after its ends is not named twice, on screen, card, plan and figure."""

from dataclasses import replace

import pytest
from builders import in_average
from hand_worked import passage_of

from powersim.planning.endurance import endurance
from powersim.report.card import card_of
from powersim.report.endurance_view import endurance_from_departure
from powersim.report.names import headed, named_by_ends
from powersim.report.page import report_html
from powersim.report.simulated import simulated_text


@pytest.mark.parametrize(
    ("name", "same"),
    [
        ("Reykjavik to Porto Novo", True),
        ("reykjavik_to_porto_novo", True),
        ("Reykjavik \N{EN DASH} Porto Novo", True),
        ("Reykjavik to Porto", False),
        ("Porto Novo to Reykjavik", False),
        ("Reykjavik to Porto Novo, second try", False),
        ("", False),
    ],
)
def test_a_name_is_that_of_the_ends(name, same):
    assert named_by_ends(name, "Reykjavik", "Porto Novo") is same
    ends = "Reykjavik to Porto Novo"
    assert headed(name, "Reykjavik", "Porto Novo") == (ends if same else f"{name}: {ends}")


@pytest.fixture(scope="module")
def result():
    return in_average(replace(passage_of(), name="A to B"))


def test_screen_card_and_page_name_it_once(result):
    assert simulated_text(result).startswith("A to B, 2.0 days, 245 nm\n")
    rows = endurance_from_departure(result)
    card = card_of(result, endurance=endurance(result, members=1))
    assert card.title == "A to B: hand-worked"
    assert card.passage.startswith("2.0 days, from Fri 1 May 2026. Made ")
    told = report_html(result, endurance=rows, cautions=(), standing=(), version="0")
    head = told.partition("<header>")[2].partition("<nav")[0]
    assert head.count("A to B") == 1
