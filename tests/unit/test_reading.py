"""Files that are missing, broken, huge or not text: one clear Problem each, and no traceback."""

import os
from pathlib import Path

import pytest

from powersim.errors import InputError
from powersim.inputs.text import closest, did_you_mean, quoted, read_text

PLAIN = "\n  expected  a plain text file; in a spreadsheet, save as CSV in UTF-8"


def message(path):
    with pytest.raises(InputError) as caught:
        read_text(path)
    assert len(caught.value.problems) == 1
    return str(caught.value)


def test_text_comes_back_as_it_stands_without_its_byte_order_mark(write_file):
    path = write_file("a.csv", b"\xef\xbb\xbfload,draw\r\n38\xc2\xb0,1 W\r\n")
    assert read_text(path) == "load,draw\r\n38°,1 W\r\n"


def test_a_missing_file(tmp_path):
    path = tmp_path / "loads.csv"
    assert message(path) == f"{path}: no such file"


def test_a_file_that_is_called_otherwise_in_messages(tmp_path):
    with pytest.raises(InputError, match=r"\Aloads\.csv: no such file\Z"):
        read_text(tmp_path / "loads.csv", file="loads.csv")


def test_a_folder(tmp_path):
    assert message(tmp_path) == f"{tmp_path}: is a folder, not a file"


def test_a_file_inside_a_file(write_file):
    path = write_file("a.csv", "load,draw\n") / "loads.csv"
    assert message(path) == f"{path}: cannot be read (Not a directory)"


def test_a_name_that_no_file_can_have():
    assert message("loads\0.csv").startswith("loads\0.csv: cannot be read (")
    with pytest.raises(OSError, match="File name too long"):  # said in short where the command ends
        message("x" * 5000)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_is_refused_and_not_waited_for(tmp_path):
    path = tmp_path / "loads.csv"
    os.mkfifo(path)
    assert message(path) == f"{path}: is not an ordinary file"


def test_a_file_that_may_not_be_read(write_file, monkeypatch):
    path = write_file("loads.csv", "load,draw\n")

    def refuse(self, *args, **kwargs):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)  # chmod would not stop an administrator
    assert message(path) == f"{path}: may not be read (permission denied)"


@pytest.mark.parametrize("content", ["", "\n\n  \n", "# only\n  # comments\n", b"\xef\xbb\xbf"])
def test_an_empty_file(write_file, content):
    path = write_file("loads.csv", content)
    assert message(path) == (
        f"{path}: is empty\n  expected  at least a heading and one row, or one key"
    )


def test_a_huge_file_is_refused_from_its_size(tmp_path, monkeypatch):
    path = tmp_path / "loads.csv"
    with path.open("wb") as stream:
        stream.truncate(100_000_000)  # a hole: it takes no room on the disk

    def refuse(self, *args, **kwargs):
        raise AssertionError("a huge file was opened")

    monkeypatch.setattr(Path, "open", refuse)
    assert message(path) == (
        f"{path}: holds 100.0 MB\n  expected  at most 5 MB; is it the right file?"
    )


def test_a_binary_file(write_file):
    path = write_file("loads.csv", b"load,draw\n\x00\x01\x02")
    assert message(path) == f"{path}: is not text (it holds zero bytes)" + PLAIN


def test_a_spreadsheets_own_file(write_file):
    path = write_file("loads.csv", b"PK\x03\x04\x14\x00\x06\x00")
    assert message(path) == f"{path}: is a spreadsheet or an archive, not text" + PLAIN


def test_utf_16(write_file):
    path = write_file("loads.csv", "load,draw\n".encode("utf-16"))
    assert message(path) == f"{path}: is written in UTF-16, not UTF-8" + PLAIN


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["plain", "byte-order mark"])
def test_a_byte_that_is_not_utf_8_is_placed(write_file, mark):
    path = write_file("loads.csv", mark + b"load,draw\nlamp,1 W\nk\xfchler,3 A\n")
    assert message(path) == f"{path}:3: byte 0xfc in this line is not UTF-8" + PLAIN


def test_wording():
    assert quoted("3O W") == "'3O W'"
    assert quoted("x" * 100) == repr("x" * 57 + "...")
    assert closest("Sialing", ["sailing", "motoring"]) == "sailing"
    assert closest("xyz", ["sailing", "motoring"]) is None
    assert did_you_mean("sialing", ["sailing"]) == "; did you mean 'sailing'?"
    assert did_you_mean("xyz", ["sailing"]) == ""
