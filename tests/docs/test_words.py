"""The pages use one word for a thing, and name nothing of the code that is gone."""

import re

import pytest
from pages import PAGES, ROOT, name_of

#: A word that no page uses, and the one that stands for it.
NOT_USED = {
    "weathers": "simulated passages, or members",
    "mean sky": "average weather",
    "not taken": "surplus",
    "yardstick": "lower bound",
    "sticker": "label",
}
_CODE = re.compile(r"```.*?```|`[^`]*`|<!--.*?-->", re.DOTALL)
_SOURCES = {
    path: path.read_text(encoding="utf-8") for path in sorted((ROOT / "powersim").rglob("*.py"))
}
#: The entries of the changelog are of their day.
TODAY = [path for path in PAGES if path.name != "changelog.md"]
#: Their tables say where in the code a symbol is.
MODEL = [path for path in PAGES if path.parent.name == "model"]


def of_the_old(text):
    """Words of a page, outside code, that have another one in their place."""
    prose = " ".join(_CODE.sub("", text).replace("is not taken", "").split())
    return [word for word in NOT_USED if re.search(rf"\b{word}\b", prose, re.IGNORECASE)]


def lacking(text):
    """Names such as `module.function` or `Class.field` on a page, of a module or class that we
    have and which lacks them; and classes that we have not.
    """
    for owner, name in re.findall(r"`(\w+)\.([A-Za-z_]\w*)`", text):
        if owner[0].isupper():
            homes = [
                said for said in _SOURCES.values() if re.search(rf"^class {owner}\b", said, re.M)
            ]
        else:
            homes = [said for path, said in _SOURCES.items() if path.stem == owner]
        missed = not any(re.search(rf"\b{name}\b", said) for said in homes)
        if missed and name != "py" and (homes or owner[0].isupper()):
            yield f"{owner}.{name}"


@pytest.mark.parametrize("path", TODAY, ids=name_of)
def test_a_thing_has_one_word(path):
    assert {word: NOT_USED[word] for word in of_the_old(path.read_text(encoding="utf-8"))} == {}


@pytest.mark.parametrize("path", MODEL, ids=name_of)
def test_what_is_named_of_the_code_is_there(path):
    assert list(lacking(path.read_text(encoding="utf-8"))) == []


def test_an_old_word_and_a_gone_name_are_seen():
    assert of_the_old("Of 200\nWeathers, in the mean\nsky") == ["weathers", "mean sky"]
    assert of_the_old("The key `weathers`; a bank that is not taken for full") == []
    assert list(
        lacking("`Track.speed_kn`, `Track.pace`, `Nobody.speed_kn`, `bus.gone`, `a.b`")
    ) == [
        "Track.pace",
        "Nobody.speed_kn",
        "bus.gone",
    ]


def test_the_glossary_is_short():
    page = (ROOT / "docs" / "reference" / "glossary.md").read_text(encoding="utf-8")
    terms = re.findall(r"^\| ([^|]+) \|", page, re.MULTILINE)[2:]
    assert 20 <= len(terms) <= 35
    assert terms == sorted(terms, key=str.casefold)
