"""Files that boat.toml names lie in the passage folder, and no way leads out of it."""

import os
from typing import NamedTuple

import pytest

from powersim.errors import InputError
from powersim.inputs.folder import load_folder

TANK = '[fuel.tank]\ntable = "{}"\n'
WIND = 'tank = "90 L"\n[[charger]]\nkind = "wind"\ncurve = "{}"\n'
SOUNDINGS = "depth_cm,litres\n0,0\n20,40\n40,90\n"
CURVE = "wind_kn,power_W\n7,0\n20,100\n"
BOAT = """
[passage]
depart = "2026-05-02 10:00"
[battery]
chemistry = "agm"
capacity = "200 Ah"
[alternator]
nameplate = "60 A"
[engine]
rated = "10 kW"
[fuel]
reserve = "10 L"
"""
LOADS = "load,draw,on\npilot,3 A,50 %\n"
ROUTE = "waypoint,lat,lon,speed\nA,38 00 N,028 00 W,5 kn\nB,38 00 N,026 00 W,\n"


@pytest.fixture
def read(tmp_path):
    """Read a passage folder whose boat.toml names a file, and give what is said of it."""

    def said(lines, name):
        folder = tmp_path / "mine"
        folder.mkdir(exist_ok=True)
        (folder / "boat.toml").write_text(BOAT + lines.format(name), encoding="utf-8")
        (folder / "loads.csv").write_text(LOADS, encoding="utf-8")
        (folder / "route.csv").write_text(ROUTE, encoding="utf-8")
        try:
            load_folder(folder)
        except InputError as error:
            return str(error).replace(str(folder), "mine")
        return None

    return said


class Named(NamedTuple):
    lines: str
    content: str
    place: str
    example: str


@pytest.mark.parametrize(
    "key",
    [
        Named(TANK, SOUNDINGS, "14: fuel.tank.table", "tank.csv"),
        Named(WIND, CURVE, "16: charger.curve", "my-curve.csv"),
    ],
    ids=["table", "curve"],
)
class TestEachKey:
    def test_a_file_beside_and_one_below_are_read(self, read, write_file, key):
        write_file("mine/own.csv", key.content)
        write_file("mine/below/own.csv", key.content)
        assert read(key.lines, "own.csv") is None
        assert read(key.lines, "below/own.csv") is None

    @pytest.mark.parametrize(
        ("name", "reason"),
        [
            ("/etc/passwd", "is a full path, not a file in the passage folder"),
            ("/dev/zero", "is a full path, not a file in the passage folder"),
            ("C:own.csv", "is a full path, not a file in the passage folder"),
            ("//host/share/own.csv", "is a full path, not a file in the passage folder"),
            ("../own.csv", "may lead out of the passage folder"),
            ("below/../../mine/own.csv", "may lead out of the passage folder"),
        ],
    )
    def test_a_path_that_leads_elsewhere_is_refused(self, read, write_file, key, name, reason):
        write_file("own.csv", key.content)
        assert read(key.lines, name) == (
            f"mine/boat.toml:{key.place}: '{name}' {reason}\n"
            f'  expected  the name of a file in the passage folder, for example "{key.example}"'
        )

    @pytest.mark.skipif(os.name != "posix", reason="making a link needs a right on Windows")
    @pytest.mark.parametrize("target", ["../own.csv", "/dev/zero", "link.csv"])
    def test_a_link_that_leads_out_is_refused(self, read, write_file, tmp_path, key, target):
        write_file("own.csv", key.content)
        (tmp_path / "mine").mkdir()
        (tmp_path / "mine" / "link.csv").symlink_to(target)
        reason = "cannot be the name of a file" if target == "link.csv" else "is a link that leads "
        assert read(key.lines, "link.csv").startswith(
            f"mine/boat.toml:{key.place}: 'link.csv' {reason}"
        )

    @pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs a kind of file that never ends")
    def test_what_is_no_ordinary_file_is_not_waited_for(self, read, tmp_path, key):
        (tmp_path / "mine").mkdir()
        os.mkfifo(tmp_path / "mine" / "pipe.csv")
        assert "is not an ordinary file" in read(key.lines, "pipe.csv")
