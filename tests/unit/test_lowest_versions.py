"""The lowest versions of pyproject.toml: that all are read by the script that tries them."""

import re
import tomllib
from pathlib import Path

import lowest_versions

ROOT = Path(__file__).parents[2]


def test_every_dependency_has_a_lowest_version_that_is_tried():
    """The script itself needs a package index, so no test runs it."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    asked = project["dependencies"] + project["optional-dependencies"]["forecast"]
    names = {re.match(r"[\w.-]+", one)[0] for one in asked}
    assert set(lowest_versions.lowest_versions()) == names >= {"numpy", "pint", "eccodes"}


def test_what_it_tries_is_there():
    assert [name for name in lowest_versions.TRIED if not (ROOT / name).is_file()] == []
