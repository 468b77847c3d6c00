"""The lowest versions of pyproject.toml: that all are read by the script that tries them."""

import tomllib
from pathlib import Path

import lowest_versions
import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).parents[2]


def asked():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    return project["dependencies"] + project["optional-dependencies"]["forecast"]


def test_every_dependency_has_a_lowest_version_that_is_tried():
    """The script itself needs a package index, so no test runs it."""
    names = {one.name for one in map(Requirement, asked())}
    everywhere = names - {"numba"}  # which this computer may have no wheel for
    found = set(lowest_versions.lowest_versions()) - {"numba"}
    assert found == everywhere >= {"numpy", "pint", "eccodes"}


# numba's files on the index of packages, seen on 29 November 2026. In turn: system, processor
# (as platform.machine() has it), versions of Python, and what is asked for there.
WHEELS = [
    ("Linux", "x86_64", "3.11 3.12 3.13", ">=0.61"),
    ("Linux", "x86_64", "3.14 3.15", ">=0.63"),
    ("Linux", "aarch64", "3.11 3.12 3.13", ">=0.61"),
    ("Linux", "aarch64", "3.14 3.15", ">=0.63"),
    ("Darwin", "arm64", "3.11 3.12 3.13", ">=0.61"),
    ("Darwin", "arm64", "3.14 3.15", ">=0.63"),
    ("Windows", "AMD64", "3.11 3.12 3.13", ">=0.61"),
    ("Windows", "AMD64", "3.14 3.15", ">=0.63"),
    ("Windows", "ARM64", "3.12 3.13 3.14", ">=0.68"),
    ("Darwin", "x86_64", "3.11 3.12 3.13", "<=0.62.1,>=0.61"),
    # No wheels:
    ("Darwin", "x86_64", "3.14 3.15", None),
    ("Windows", "ARM64", "3.11 3.15", None),
    ("Windows", "x86", "3.11 3.13", None),
    ("Linux", "armv7l", "3.11 3.13", None),
    ("Linux", "armv6l", "3.11 3.13", None),
    ("Linux", "i686", "3.11 3.13", None),
    ("Linux", "riscv64", "3.13", None),
    ("Linux", "ppc64le", "3.13", None),
    ("FreeBSD", "amd64", "3.11", None),
    ("Linux", "x86_64", "3.16 3.20", None),
]


@pytest.mark.parametrize(("system", "machine", "pythons", "expected"), WHEELS)
def test_numba_is_asked_for_where_it_has_wheels(system, machine, pythons, expected):
    for python in pythons.split():
        environment = {
            "platform_system": system,
            "platform_machine": machine,
            "python_version": python,
            "python_full_version": f"{python}.0",
            "platform_python_implementation": "CPython",
        }
        found = [
            str(one.specifier)
            for one in map(Requirement, asked())
            if one.name == "numba" and one.marker.evaluate(environment)
        ]
        assert found == ([] if expected is None else [expected]), python
        lowest = lowest_versions.lowest_versions(environment)
        assert lowest.get("numba") == (expected and expected.split(">=")[1])
        environment["platform_python_implementation"] = "PyPy"
        assert "numba" not in lowest_versions.lowest_versions(environment)


def test_what_it_tries_is_there():
    assert [name for name in lowest_versions.TRIED if not (ROOT / name).is_file()] == []
