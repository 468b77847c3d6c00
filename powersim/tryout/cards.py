"""The card of a trial, as pictures of its pages for the page to show and to print."""

from __future__ import annotations

import base64
from dataclasses import replace
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from powersim.tryout.trials import Trial


def card_pages(trial: Trial, *, own: Trial | None) -> list[dict[str, Any]]:
    """The pages of the card that `report --card` would write of the passage as it was changed.

    Parameters
    ----------
    trial : Trial
        The passage as it was changed.
    own : Trial or None
        As the files say; None where something is wrong with them.

    Returns
    -------
    list of dict
        A page each: "png" in base64, "wide_mm" and "high_mm" on paper, and its "words" from the
        top down, for whoever cannot see it.
    """
    from powersim.inputs.change_cautions import new_warnings
    from powersim.planning.endurance import endurance_as_simulated
    from powersim.planning.ladder import ladder_as_simulated
    from powersim.report.card import card_of
    from powersim.report.card_pages import draw_card
    from powersim.report.figures import page_pictures
    from powersim.report.paper import A5_MM

    result = trial.result
    if own is not None and own is not trial:
        # As the command does: on paper it is all that is told of what was changed.
        warned = (
            *result.passage.change_warnings,
            *new_warnings(result.passage, own.result.passage),
        )
        result = replace(result, passage=replace(result.passage, change_warnings=warned))
    card = card_of(
        result, endurance=endurance_as_simulated(result), ladder=ladder_as_simulated(result)
    )
    pages = draw_card(card)
    wide_mm, high_mm = A5_MM
    return [
        {
            "png": base64.b64encode(picture).decode("ascii"),
            "wide_mm": wide_mm,
            "high_mm": high_mm,
            "words": _words_on(page),
        }
        for page, picture in zip(pages, page_pictures(pages), strict=True)
    ]


def _words_on(page: Figure) -> str:
    words = (text.get_text().strip() for text in page.texts)
    return "\n".join(filter(None, words))
