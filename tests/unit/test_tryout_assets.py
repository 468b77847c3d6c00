"""What is served without a key: a fixed list, and nothing of it from elsewhere."""

import re
from pathlib import Path

import powersim.tryout.assets_table as table
from powersim.tryout.assets_table import TABLE, read_assets

FOLDER = Path(table.__file__).with_name("assets")


def test_every_file_of_the_folder_is_served_and_no_other():
    assert {name for name, _ in TABLE.values()} == {path.name for path in FOLDER.iterdir()}


def test_each_is_what_its_kind_says():
    endings = {"html": "text/html", "css": "text/css", "js": "text/javascript", "svg": "image/svg"}
    for name, kind in TABLE.values():
        assert kind.startswith(endings[name.rpartition(".")[2]])


def test_nothing_is_asked_for_elsewhere_and_nothing_needs_a_wider_policy():
    """No address of another host, and nothing in line, which the policy would stop."""
    assets = read_assets()
    for path, asset in assets.items():
        text = asset.content.decode("utf-8")
        found = [one for one in re.findall(r"https?://[^\s\"'<>)]+", text) if "w3.org" not in one]
        assert found == [], path
        assert "@import" not in text
        assert "data:" not in text
    page = assets["/"].content.decode("utf-8")
    assert not re.search(r"<style|\sstyle=|\son\w+=|<script(?![^>]*\ssrc=)", page)
    named = set(re.findall(r'(?:src|href)="(/[^"]*)"', page))
    assert named <= set(assets)


def test_what_a_script_takes_in_is_served_too():
    assets = read_assets()
    for path, asset in assets.items():
        for name in re.findall(r'from "\./([^"]+)"', asset.content.decode("utf-8")):
            assert f"/{name}" in assets, path
