"""Install powersim with the lowest versions that pyproject.toml allows, and try it with them.

    python tests/lowest_versions.py

Needs a package index that pip knows; takes some minutes and half a gigabyte in a temporary folder,
most of it the decoder of forecast files. What our dependencies need themselves is as new as they
allow. Exit code 0 if all that is tried works.
"""

import argparse
import subprocess
import sys
import tempfile
import tomllib
import venv
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parents[1]
#: Extras whose lowest versions are tried too; "test" is what tests them.
EXTRAS = ("forecast",)
#: Fast tests that go through every dependency: pint, pandas, pvlib, matplotlib, gpxpy and so on.
TRIED = (
    "tests/cli/test_check.py",
    "tests/cli/test_simulate.py",
    "tests/cli/test_write_back.py",
    "tests/cli/test_options.py",
    "tests/unit/test_units.py",
    "tests/unit/test_sun.py",
    "tests/docs/test_recomputed.py",
    "tests/unit/test_irradiance_formats.py",
    "tests/unit/test_gpx.py",
    "tests/unit/test_track.py",
    "tests/unit/test_figures.py",
    "tests/unit/test_figure_map.py",
    "tests/unit/test_inline_svg.py",
    "tests/unit/test_page.py",
    "tests/unit/test_cycle_life.py",
    "tests/unit/test_parallel.py",
    "tests/unit/test_compiling.py",
    "tests/unit/test_synthetic.py",
    "tests/unit/test_grib.py",
)


def main() -> int:
    """Start from the shell."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--set", action="append", default=[], metavar="NAME==VERSION",
                        help="try this version instead")  # fmt: skip
    given = parser.parse_args()
    lowest = lowest_versions() | dict(one.split("==") for one in given.set)
    print("\n".join(f"{name}=={version}" for name, version in lowest.items()))
    with tempfile.TemporaryDirectory(prefix="powersim-lowest-") as folder:
        return _tried(Path(folder), lowest)


def lowest_versions(environment: dict[str, str] | None = None) -> dict[str, str]:
    """Name -> lowest version, of what the project and these extras ask for on a computer.

    `environment` has what its markers are held against, where that is not this computer.
    """
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    asked = list(project["dependencies"])
    for extra in EXTRAS:
        asked += project["optional-dependencies"][extra]
    found = {}
    for one in map(Requirement, asked):
        if one.marker is not None and not one.marker.evaluate(environment):
            continue
        lowest = [part.version for part in one.specifier if part.operator == ">="]
        if len(lowest) != 1:
            raise SystemExit(f"pyproject.toml: '{one}' has no lowest version")
        if one.name in found:
            raise SystemExit(f"pyproject.toml: {one.name} is asked for twice on one computer")
        found[one.name] = lowest[0]
    return found


def _tried(folder: Path, lowest: dict[str, str]) -> int:
    constraints = folder / "lowest.txt"
    constraints.write_text("".join(f"{name}=={version}\n" for name, version in lowest.items()))
    venv.create(folder / "venv", with_pip=True)
    scripts = folder / "venv" / ("Scripts" if sys.platform == "win32" else "bin")
    python, powersim = str(scripts / "python"), str(scripts / "powersim")
    asked = f"{ROOT}[{','.join(EXTRAS)}]"
    tests = ("pytest>=8.0", "hypothesis>=6.100")
    for command in (
        [python, "-m", "pip", "install", "--quiet", "-c", str(constraints), asked, *tests],
        [powersim, "demo", str(folder / "demo")],
        [powersim, "report", str(folder / "demo"), "--card", "--members", "20", "--quiet"],
        # Deprecations of old versions are not ours to mend: no warning is an error here.
        [python, "-m", "pytest", "-q", "-W", "default", "-p", "no:cacheprovider", *TRIED],
    ):
        print(f"\n$ {' '.join(command)}", flush=True)
        # From the folder of the project, since its tests are not installed.
        code = subprocess.run(command, cwd=ROOT, check=False).returncode
        if code not in ((0, 1) if command[0] == powersim else (0,)):
            print(f"exit code {code}")
            return 1
    print("\nall of it works with the lowest versions")
    return 0


if __name__ == "__main__":
    sys.exit(main())
