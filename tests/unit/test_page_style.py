"""The report's style sheet in a browser of 2018, which an old laptop at sea still has.

What each property needs is from memory: Chromium 63 to 71, Firefox 58 to 64, Safari 11 and 12.
"""

import re
from pathlib import Path

import pytest

import powersim.report

TEMPLATES = Path(powersim.report.__file__).parent / "templates"
STYLE = (TEMPLATES / "style.css").read_text(encoding="utf-8")
#: Properties that all of them know. Look up another one before it is added.
KNOWN = {
    "background", "border", "border-bottom", "border-collapse", "border-color",
    "border-left-width", "border-top", "box-sizing", "clip", "color", "content", "cursor",
    "display", "fill", "fill-opacity", "flex-wrap", "font", "font-family", "font-size",
    "font-variant-numeric", "font-weight", "grid-gap", "grid-template-columns", "height", "left",
    "line-height", "list-style", "margin", "margin-bottom", "margin-right", "margin-top",
    "max-width", "min-height", "min-width", "opacity", "orphans", "outline", "overflow",
    "overflow-wrap", "overflow-x", "padding", "padding-right", "page-break-after",
    "page-break-inside", "pointer-events", "position", "size", "stroke-linecap",
    "stroke-linejoin", "text-align", "text-decoration", "top", "vertical-align", "white-space",
    "widows", "width", "z-index",
}  # fmt: skip
#: Of one maker, which others drop without harm.
KNOWN |= {"-webkit-appearance"}
#: Newer ones, and what has to stand before each in the same rule.
NEEDS_BEFORE = {
    "appearance": "-webkit-appearance: none",
    "break-inside": "page-break-inside: avoid",
    "break-after": "page-break-after: avoid",
    "overflow-wrap: anywhere": "overflow-wrap: break-word",
}
#: Newer values, functions and at-rules.
NEWER = r"\b(?:min|max|clamp|env|color-mix|oklch|lab)\(|\d(?:dvh|svh|lvh|cq\w)\b|aspect-ratio|inset"
#: A selector that a browser does not know drops its whole rule.
NEWER_SELECTORS = r":is\(|:where\(|:has\(|:focus-visible|:not\([^)]*,|&"
DROPPED_WITHOUT_HARM = ("outline: none",)


def rules():
    """Selectors and declarations of each rule, those within @media too."""
    plain = re.sub(r"@media[^{]*\{", "", STYLE)
    return [
        (selectors.strip(), [one.strip() for one in body.split(";") if one.strip()])
        for selectors, body in re.findall(r"([^{}]+)\{([^{}]*)\}", plain)
    ]


def test_the_test_reads_the_whole_sheet():
    assert sum(len(body) for _, body in rules()) == STYLE.count(";")


@pytest.mark.parametrize(("selectors", "body"), rules(), ids=lambda part: str(part)[:40])
def test_a_rule_is_known_to_a_browser_of_2018(selectors, body):
    for place, declaration in enumerate(body):
        name, value = (part.strip() for part in declaration.split(":", 1))
        needed = NEEDS_BEFORE.get(name) or NEEDS_BEFORE.get(f"{name}: {value}")
        if needed:
            assert needed in body[:place], declaration
        else:
            assert name in KNOWN, declaration
        assert not re.search(NEWER, declaration), declaration
    if re.search(NEWER_SELECTORS, selectors):
        assert tuple(body) == DROPPED_WITHOUT_HARM


def test_what_keeps_the_menu_apart_is_a_margin():
    """`gap` in a flex box came in 2020 (Chromium 84) and 2021 (Safari 14.1)."""
    (menu,) = (body for selectors, body in rules() if selectors == "nav li")
    assert any(re.fullmatch(r"margin: 0 [\d.]+rem [\d.]+rem 0", one) for one in menu)
    for selectors, body in rules():
        if "display: flex" in body:
            assert not [one for one in body if "gap" in one], selectors


def test_no_other_style_is_hidden_in_the_templates():
    for path in TEMPLATES.glob("*.html"):
        assert " style=" not in path.read_text(encoding="utf-8")
