"""Whether somebody has changed the files of a passage since they were read."""

import os

import pytest
from tried import BOAT, folder_in

from powersim.tryout.disk import snapshot

UNCHANGED = {"changed_on_disk": False, "files": []}


@pytest.fixture
def folder(tmp_path):
    return folder_in(tmp_path)


def test_files_that_stay_as_they_are(folder):
    assert snapshot(folder).state() == UNCHANGED


def test_a_file_that_is_written_with_something_else(folder):
    files = snapshot(folder)
    (folder / "boat.toml").write_text(BOAT.replace("90 Ah", "95 Ah"), encoding="utf-8")
    assert files.state() == {"changed_on_disk": True, "files": ["boat.toml"]}
    assert b"90 Ah" in files.contents["boat.toml"]
    assert snapshot(folder).state() == UNCHANGED


def test_one_that_is_saved_again_as_it_was(folder):
    files = snapshot(folder)
    (folder / "boat.toml").write_text(BOAT, encoding="utf-8")
    os.utime(folder / "boat.toml", (1, 1))
    assert files.state() == UNCHANGED


def test_one_that_is_put_in_its_place_within_the_same_moment(folder):
    """As an editor does that writes beside and renames: same size, same times."""
    files = snapshot(folder)
    status = (folder / "boat.toml").stat()
    other = folder / "other"
    other.write_text(BOAT.replace("90 Ah", "95 Ah"), encoding="utf-8")
    os.utime(other, ns=(status.st_atime_ns, status.st_mtime_ns))
    os.replace(other, folder / "boat.toml")
    assert files.state()["files"] == ["boat.toml"]


def test_files_that_go_or_come(folder):
    files = snapshot(folder)
    (folder / "route.csv").unlink()
    (folder / "route.gpx").write_text("<gpx/>", encoding="utf-8")
    assert files.state()["files"] == ["route.csv", "route.gpx"]


def test_files_elsewhere_count_by_what_the_system_says_of_them(folder, tmp_path_factory):
    weather = tmp_path_factory.mktemp("weather") / "forecast.grb"
    weather.write_bytes(b"GRIB")
    files = snapshot(folder, beside=[weather])
    assert weather.name not in files.contents
    weather.write_bytes(b"GRIB2")
    assert files.state()["files"] == ["forecast.grb"]


def test_a_folder_in_place_of_a_file(folder):
    (folder / "loads.csv").unlink()
    (folder / "loads.csv").mkdir()
    files = snapshot(folder)
    assert "loads.csv" not in files
    assert files.state() == UNCHANGED
