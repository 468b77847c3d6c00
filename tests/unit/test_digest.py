"""A digest is the same in every process, and another for anything that an answer hangs on."""

import os
import subprocess
import sys
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest
from builders import passage_of

from powersim.planning.digest import digest_of, digest_of_passage

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "loads" / "iceland-to-cabo-verde"
SCRIPT = (
    "import sys; from powersim.inputs.folder import load_folder; "
    "from powersim.planning.digest import digest_of_passage; "
    "print(digest_of_passage(load_folder(sys.argv[1])))"
)


@dataclass(frozen=True)
class One:
    a: object


@dataclass(frozen=True)
class Other:
    a: object


def test_every_process_gives_the_same():
    """Python shuffles its sets anew in every process; the demo's loads have some."""
    found = {
        subprocess.run(
            [sys.executable, "-c", SCRIPT, str(DEMO)],
            capture_output=True,
            text=True,
            check=True,
            env=os.environ | {"PYTHONPATH": str(ROOT), "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    }
    assert len(found) == 1
    assert len(found.pop().strip()) == 64


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (1, 1.0),
        (1, True),
        (None, "None"),
        ("a", ("a",)),
        (("ab",), ("a", "b")),
        ((("a",), "b"), ("a", ("b",))),
        (frozenset("a"), ("a",)),
        ({"a": 1}, {"b": 1}),
        (One(1), Other(1)),
        (One(1), One(2)),
        (0.1 + 0.2, 0.3),
        (np.zeros(2), np.zeros((2, 1))),
        (np.zeros(2), np.zeros(2, dtype=np.float32)),
        (np.arange(2.0), np.arange(2.0)[::-1]),
    ],
)
def test_different_things_have_different_digests(one, other):
    assert digest_of(one) != digest_of(other)


def test_the_order_of_sets_and_mappings_is_none():
    assert digest_of({"a": 1, "b": 2}) == digest_of({"b": 2, "a": 1})
    assert digest_of(frozenset("abc")) == digest_of(frozenset("cba"))


def test_where_a_passage_was_read_from_is_no_part_of_it():
    passage = passage_of(days=1.0)
    assert digest_of_passage(replace(passage, folder=Path("x"))) == digest_of_passage(passage)
    assert digest_of_passage(replace(passage, name="x")) != digest_of_passage(passage)
