"""The wheel and the source distribution: their version, all they should hold, nothing besides."""

import os
import shutil
import subprocess
import sys
import tarfile
import zipfile
from email.parser import Parser
from pathlib import Path

import pytest

import powersim

pytest.importorskip("hatchling", reason="to build a wheel takes the extra 'test'")

ROOT = Path(__file__).parents[2]
NAME = f"powersim-{powersim.__version__}"
INFO = f"{NAME}.dist-info"
#: What stands beside the folders; .gitignore says what of them is left out.
ALONE = ("README.md", "DEVELOPERS.md", "LICENSE", ".gitignore", "pyproject.toml")
FOLDERS = (".ci", "docs", "loads", "powersim", "tests")
#: What tests, commands and installs leave in a working folder.
LEFT_BEHIND = (
    "build/lib/powersim/planning/no_longer_there.py",
    "docs/__pycache__/measured.pyc",
    "loads/iceland-to-cabo-verde/results/hourly.csv",
    "my-boat/boat.toml",
    "node_modules/axe-core/axe.js",
    "powersim/__pycache__/api.pyc",
    "powersim-demo/boat.toml",
)


def build(tree, kind, out):
    """The one file of this kind that is built from a folder; no network, nothing installed."""
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", kind, "-d", str(out)],
        cwd=tree,
        check=True,
        capture_output=True,
    )
    (made,) = out.iterdir()
    return made


def files_of(*folders):
    """Path from the root -> bytes, of all files that belong to the project."""
    return {
        path.relative_to(ROOT).as_posix(): path.read_bytes()
        for folder in folders
        for path in (ROOT / folder).rglob("*")
        if path.is_file() and not {"__pycache__", "results"} & set(path.relative_to(ROOT).parts)
    }


@pytest.fixture(scope="module")
def tree(tmp_path_factory):
    """A copy of the working folder, with things lying about in it."""
    copy = tmp_path_factory.mktemp("tree")
    for name in ALONE:
        shutil.copy(ROOT / name, copy)
    for name in FOLDERS:
        shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in LEFT_BEHIND:
        path = copy / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("left behind")
    return copy


@pytest.fixture(scope="module")
def wheel(tree, tmp_path_factory):
    return build(tree, "wheel", tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def sdist(tree, tmp_path_factory):
    return build(tree, "sdist", tmp_path_factory.mktemp("sdist"))


@pytest.fixture(scope="module")
def unpacked(sdist, tmp_path_factory):
    """The folder that comes out of the source distribution."""
    folder = tmp_path_factory.mktemp("unpacked")
    with tarfile.open(sdist) as archive:
        archive.extractall(folder, filter="data")
    (inside,) = folder.iterdir()
    return inside


def test_the_wheel_has_the_version_one_package_and_the_command(wheel):
    assert wheel.name == f"{NAME}-py3-none-any.whl"
    with zipfile.ZipFile(wheel) as archive:
        assert {name.split("/")[0] for name in archive.namelist()} == {"powersim", INFO}
        about = Parser().parsestr(archive.read(f"{INFO}/METADATA").decode())
        commands = archive.read(f"{INFO}/entry_points.txt").decode()
    assert (about["Name"], about["Version"]) == ("powersim", powersim.__version__)
    assert commands.split() == ["[console_scripts]", "powersim", "=", "powersim.cli.start:main"]


def test_the_wheel_holds_the_code_its_data_and_the_shipped_passages(wheel):
    with zipfile.ZipFile(wheel) as archive:
        held = {name: archive.read(name) for name in archive.namelist() if INFO not in name}
        licence = archive.read(f"{INFO}/licenses/LICENSE")
    code = files_of("powersim")
    loads = {f"powersim/{name}": content for name, content in files_of("loads").items()}
    assert {"powersim/sky/data/ocean_climatology.npz", "powersim/py.typed"} <= set(code)
    assert "powersim/loads/iceland-to-cabo-verde/boat.toml" in loads
    assert sorted(held) == sorted(code | loads)
    assert held == code | loads
    assert licence == (ROOT / "LICENSE").read_bytes()


def test_the_source_distribution_holds_tests_docs_and_loads(sdist, unpacked):
    assert (sdist.name, unpacked.name) == (f"{NAME}.tar.gz", NAME)
    held = {
        path.relative_to(unpacked).as_posix(): path.read_bytes()
        for path in unpacked.rglob("*")
        if path.is_file()
    }
    about = Parser().parsestr(held.pop("PKG-INFO").decode())
    assert (about["Name"], about["Version"]) == ("powersim", powersim.__version__)
    expected = files_of(*FOLDERS) | {name: (ROOT / name).read_bytes() for name in ALONE}
    assert "tests/unit/test_package.py" in expected
    assert sorted(held) == sorted(expected)
    assert held == expected


def test_the_source_distribution_makes_the_same_wheel(wheel, unpacked, tmp_path):
    """Without git, and without what lay about."""
    again = build(unpacked, "wheel", tmp_path / "again")
    assert again.name == wheel.name
    assert again.read_bytes() == wheel.read_bytes()


def test_what_is_installed_finds_the_demo_and_says_its_version(wheel, tmp_path):
    """Unpacked as pip does, away from the source."""
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(tmp_path / "installed")
    asked = (
        "import powersim.cli.start, powersim.inputs.starter as starter\n"
        "print(powersim.__file__, *sorted(starter.demo_files().values()), sep='\\n')\n"
        "powersim.cli.start.main()"
    )
    told = subprocess.run(
        [sys.executable, "-c", asked, "--version"],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(tmp_path / "installed"), "PYTHONIOENCODING": "utf-8"},
        check=True,
        capture_output=True,
        encoding="utf-8",
    ).stdout
    demo = ROOT / "loads" / "iceland-to-cabo-verde"
    texts = sorted(
        (demo / name).read_text("utf-8") for name in ("boat.toml", "loads.csv", "route.csv")
    )
    at = tmp_path / "installed" / "powersim" / "__init__.py"
    assert told == "\n".join([str(at), *texts, f"powersim {powersim.__version__}\n"])
