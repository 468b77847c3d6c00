"""Fixtures that more than one part of the tests uses."""

import pytest


@pytest.fixture
def write_file(tmp_path):
    """Write a file of text or bytes into the test's own folder; its path is returned."""

    def write(name, content):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        return path

    return write
