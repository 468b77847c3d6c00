"""How a table's text lies in its file, and goes back there."""

import pytest

from powersim.errors import InputError
from powersim.inputs.encodings import encoded_like, windows_text
from powersim.inputs.text import read_sound_lines, read_text, text_of

TEXT = "load;note\r\nkühlbox;5° wärmer – “immer”\r\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-be", "cp1252"])
def test_a_table_is_read_in_what_it_is_and_written_so_again(encoding):
    raw = TEXT.encode(encoding)
    raw = b"\xfe\xff" + raw if encoding == "utf-16-be" else raw
    assert text_of(raw, file="loads.csv", is_table=True) == TEXT
    assert encoded_like(TEXT, raw, file="loads.csv") == raw
    other = encoded_like(TEXT.replace("kühl", "gefrier"), raw, file="loads.csv")
    assert text_of(other, file="loads.csv", is_table=True) == TEXT.replace("kühl", "gefrier")


def test_boat_toml_is_utf8_as_its_standard_has_it():
    """TOML v1.0.0: "A TOML file must be a valid UTF-8 encoded Unicode document." (from memory)"""
    for encoding in ("utf-16", "cp1252"):
        with pytest.raises(InputError, match="UTF-8"):
            text_of(TEXT.encode(encoding), file="boat.toml")


def test_signs_of_utf8_and_others_in_one_file_are_no_text():
    with pytest.raises(InputError, match="byte 0xb0 in this line is not UTF-8"):
        text_of(TEXT.encode("utf-8") + b"vhf;5\xb0\n", file="loads.csv", is_table=True)


@pytest.mark.parametrize("raw", [b"5 \x81 W", b"5 \x07\xb0 W", "5 °".encode()])
def test_what_is_no_text_of_windows(raw):
    """0x81 is no sign of it, a bell is none of any text, and the last is UTF-8."""
    assert windows_text(raw) is None


def test_utf16_that_breaks_off_is_told_and_utf32_is_not_taken_for_it(tmp_path):
    path = tmp_path / "loads.csv"
    path.write_bytes(TEXT.encode("utf-16")[:-1])
    with pytest.raises(InputError, match="begins as UTF-16 and does not go on so"):
        read_text(path, is_table=True)
    path.write_bytes(TEXT.encode("utf-32"))
    with pytest.raises(InputError, match="zero bytes"):
        read_text(path, is_table=True)


def test_a_log_in_utf16_that_breaks_off_loses_its_last_line(tmp_path):
    path = tmp_path / "log.csv"
    path.write_bytes("time,soc\n2026-09-12 06:30,72 %\n2026-09-13 06:30,71 %".encode("utf-16")[:-1])
    text, problems = read_sound_lines(path)
    assert text == "time,soc\n2026-09-12 06:30,72 %\n#\n"
    assert [(one.line, one.text) for one in problems] == [(3, "not text in UTF-16")]
