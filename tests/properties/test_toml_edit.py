"""TOML of any structure and spelling reads as asked once it is changed, as `tomllib` reads it."""

import copy
import tomllib

from hypothesis import given, settings
from hypothesis import strategies as st

from powersim.inputs.toml_edit import as_they_stand, identical, toml_as_asked
from powersim.inputs.toml_text import written_key, written_value

KEYS = ("a", "b", "c d", "e", "f.g", "h")
VALUES = ("1 W", 'a "q"', "it's", 3, 1.5, True, ["a", "b"], [], "# no", "[x]", "é ü")


def table(chance, depth=0):
    """A table with others in it, two deep."""
    found = {key: chance.choice(VALUES) for key in chance.sample(KEYS, chance.randint(0, 4))}
    if depth < 2 and chance.random() < 0.4:
        found["sub"] = table(chance, depth + 1)
    if depth < 2 and chance.random() < 0.3:
        found["many"] = [table(chance, 2) or {"a": 1} for _ in range(chance.randint(1, 3))]
    return found


def are_tables(value):
    return isinstance(value, list) and bool(value) and isinstance(value[0], dict)


def lines_of(chance, names, content):
    """A table as somebody could write it: inline, with dots or with headings, and with notes."""
    below = []
    for key, value in content.items():
        form = chance.choice(("inline", "dots", "heading"))
        nested = isinstance(value, dict) and any(isinstance(one, dict) for one in value.values())
        if isinstance(value, dict) and value and form == "dots" and not nested:
            for inner, one in value.items():
                yield f"{written_key(key, inner)} = {written_value(one)}"
        elif (isinstance(value, dict) or are_tables(value)) and form != "inline":
            below.append((key, value))
        else:
            sign = chance.choice((" = ", "=", "   = "))
            note = chance.choice(("", "  # n", "# (was 2)", " #x"))
            yield f"{chance.choice(('', '  '))}{written_key(key)}{sign}{written_value(value)}{note}"
            if chance.random() < 0.1:
                yield chance.choice(("", "# a note of its own"))
    for key, value in below:
        for one in value if isinstance(value, list) else [value]:
            yield from [""] if chance.random() < 0.7 else []
            yield from ["# over it"] if chance.random() < 0.3 else []
            head = written_key(*names, key)
            yield (f"[[{head}]]" if isinstance(value, list) else f"[{head}]") + "  # h"
            yield from lines_of(chance, (*names, key), one)


def change(chance, content):
    """Set, take out and add a few things."""
    for _ in range(chance.randint(1, 3)):
        key = chance.choice([*content, "new one", "n", "a"])
        value = content.get(key)
        if are_tables(value):
            change(chance, chance.choice(value))
        elif isinstance(value, dict):
            change(chance, value)
        elif key in content and chance.random() < 0.4:
            del content[key]
        else:
            content[key] = chance.choice(VALUES)


@settings(max_examples=150, deadline=None)
@given(chance=st.randoms(use_true_random=False), ends=st.sampled_from(["\n", "\r\n"]))
def test_it_reads_as_asked_whatever_its_form(chance, ends):
    document = {
        name: [table(chance) for _ in range(chance.randint(1, 3))]
        if name == "panel"
        else table(chance)
        for name in chance.sample(("battery", "panel", "fuel", "x y"), chance.randint(1, 4))
    }
    text = ends.join(lines_of(chance, (), document)) + chance.choice(("", ends))
    assert identical(tomllib.loads(text), document)
    asked = copy.deepcopy(document)
    for name in document:
        if chance.random() < 0.1:
            del asked[name]
        elif chance.random() < 0.7:
            value = asked[name]
            change(chance, chance.choice(value) if isinstance(value, list) else value)
    if chance.random() < 0.2:
        asked["new"] = table(chance)
    made = toml_as_asked(
        text, asked, paths=as_they_stand(document), noted=lambda note, before: "(was)"
    )
    assert made is not None
    assert identical(tomllib.loads(made), asked)
    if identical(asked, document):
        assert made == text
