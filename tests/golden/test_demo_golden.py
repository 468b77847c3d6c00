"""The demo passage against its kept figures: notices change, proves nothing (README.md)."""

import pytest
from golden.renew import differences, kept, main_figures

#: Room for what other versions of the libraries may round otherwise.
REL = 1e-4


def test_the_demo_gives_the_figures_that_were_kept():
    record = kept()
    old, new = record["figures"], main_figures()
    same = old.keys() == new.keys() and all(
        new[name] == (pytest.approx(value, rel=REL) if isinstance(value, float) else value)
        for name, value in old.items()
    )
    assert same, (
        f"the demo has changed since version {record['version']}; if it was meant to, "
        "run python tests/golden/renew.py and show the difference:\n"
        + "\n".join(differences(old, new))
    )


def test_a_difference_is_told_by_name_from_what_to_what():
    old = {"a": 1.0, "b": 2.0, "c": None, "gone": 1}
    new = {"a": 1.0000000001, "b": 2.5, "c": 3.0, "came": 2}
    assert differences(old, new) == ["b: 2 -> 2.5", "c: None -> 3", "came: - -> 2", "gone: 1 -> -"]
