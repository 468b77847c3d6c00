"""One colour for one thing: contrast by the published formula, and never by colour alone."""

from itertools import combinations

import pytest

from powersim.report.palette import (
    COAST,
    GRID,
    GROUNDS,
    INK,
    LAND,
    LEAST_OF_A_MARK,
    LEAST_OF_WORDS,
    NIGHT,
    PAPER,
    SHADES,
    SOFT,
    THINGS,
    style_sheet,
    themed,
)


def luminance(color):
    """WCAG 2.1, definition of relative luminance (w3.org/TR/WCAG21/#dfn-relative-luminance)."""
    parts = [int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return sum(share * part for share, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one, other):
    """WCAG 2.1, definition of contrast ratio (w3.org/TR/WCAG21/#dfn-contrast-ratio)."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def test_the_formula_gives_what_is_published():
    """Black on white is 21, and #767676 on white just reaches 4.5 where #777777 does not (WebAIM,
    "Contrast and Color Accessibility"; from memory)."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert contrast("#777777", "#FFFFFF") < 4.5 < contrast("#767676", "#FFFFFF")


def test_what_is_asked_is_what_the_standard_asks():
    """WCAG 2.1: 1.4.11 asks 3:1 of graphics, 1.4.3 asks 4.5:1 of words."""
    assert (LEAST_OF_A_MARK, LEAST_OF_WORDS) == (3.0, 4.5)


@pytest.mark.parametrize("thing", THINGS, ids=lambda thing: thing.name)
@pytest.mark.parametrize("ground", [PAPER, NIGHT], ids=lambda shade: shade.name)
def test_marks_and_words_stand_out_by_day_and_in_the_dark(thing, ground):
    assert contrast(thing.mark, ground.light) >= LEAST_OF_A_MARK
    assert contrast(thing.word, ground.light) >= LEAST_OF_WORDS
    assert contrast(thing.dark, ground.dark) >= LEAST_OF_WORDS


@pytest.mark.parametrize("side", ["light", "dark"])
def test_words_can_be_read_on_every_ground(side):
    for ground in (PAPER, NIGHT, LAND):
        for words in (INK, SOFT):
            assert contrast(getattr(words, side), getattr(ground, side)) >= LEAST_OF_WORDS
    assert contrast(getattr(COAST, side), getattr(LAND, side)) >= LEAST_OF_A_MARK
    # Quiet: a grid and a night are there, and ask for no attention.
    for quiet in (GRID, NIGHT):
        assert 1.0 < contrast(getattr(quiet, side), getattr(PAPER, side)) < 2.0


def test_in_the_dark_nothing_is_white():
    """An eye used to the dark stays so: no more than three quarters of white's light."""
    assert max(luminance(shade.dark) for shade in SHADES) < 0.75


def test_every_colour_means_one_thing():
    lights = [shade.light for shade in SHADES]
    assert len({light.lower() for light in lights}) == len(lights)
    darks = [thing.dark for thing in THINGS] + [ground.dark for ground in GROUNDS]
    assert len({dark.lower() for dark in darks}) == len(darks)
    assert len({shade.name for shade in SHADES}) == len(SHADES)


def test_things_are_told_apart_without_colour():
    """Each line by its dash and each band by its hatch; two have none: sun and bank, which is a
    band among dashed lines only. What both lack is named beside where it is drawn."""
    for one, other in combinations(THINGS, 2):
        assert (one.dashes, one.hatch) != (other.dashes, other.hatch) or {one.name, other.name} == {
            "sun",
            "charge",
        }
    for look in ("dashes", "hatch"):
        looks = [getattr(thing, look) for thing in THINGS if getattr(thing, look)]
        assert len(set(looks)) == len(looks)


def test_a_picture_takes_the_names_of_its_colours():
    svg = '<rect fill="#B27B00"/><path style="stroke: #0063b1; fill: #123456"/>'
    assert themed(svg) == (
        '<rect style="fill: var(--sun)"/><path style="stroke: var(--charge); fill: #123456"/>'
    )


def test_the_style_sheet_has_every_name_in_both_schemes():
    light, dark = style_sheet().split("@media")
    assert dark.startswith(" screen and (prefers-color-scheme: dark)")  # on paper always light
    for shade in SHADES:
        assert f"--{shade.name}: {shade.light};" in light
        assert f"--{shade.name}: {shade.dark};" in dark
