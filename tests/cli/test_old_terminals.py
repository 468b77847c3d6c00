"""Terminals that lack signs: plainer ones stand in, and nothing that can be read is lost.

Code pages 437 and 850 (cmd.exe), 1252 (Windows) and plain ASCII, as Python's own codecs have them.
"""

import pytest
from logged import NOW, write_logged

from powersim.cli.plain_signs import PLAINLY

ENCODINGS = ("cp437", "cp850", "cp1252", "ascii")
STEP = ("--step", "60 min")
COMMANDS = {
    "check": (),
    "budget": (),
    "simulate": (*STEP, "--no-figures", "--members", "3"),
    "endurance": STEP,
    "plan": (*STEP, "--members", "20"),
    "compare": (*STEP, "--members", "20", "--no-figures", "--depart", "2026-10-01"),
    "size": (*STEP, "--members", "20", "--jobs", "1", "--no-figures", "--battery", "100Ah"),
    "sounding": ("20cm",),
    "underway": (*STEP, "--members", "20", "--now", NOW, "--no-plan"),
    "report": STEP,
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = write_logged(tmp_path_factory.mktemp("old") / "passage")
    boat, loads = folder / "boat.toml", folder / "loads.csv"
    boat.write_text(boat.read_text("utf-8").replace("an invented 9 m sloop", "Marie-José"), "utf-8")
    loads.write_text(loads.read_text("utf-8").replace("music", "naïve “music”…"), "utf-8")
    return folder


SLOW = ("report",)


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=[pytest.mark.slow] * (name in SLOW)) for name in COMMANDS]
)
def test_no_sign_of_a_commands_answer_becomes_a_question_mark(name, call, folder, undrawn):
    said = "".join(call(name, folder, *COMMANDS[name])[1:])
    assert said.strip()
    for encoding in ENCODINGS:
        plain = said.encode(encoding, PLAINLY).decode(encoding)
        assert plain.count("?") == said.count("?"), encoding
        assert len(plain.splitlines()) == len(said.splitlines())


@pytest.mark.parametrize("arguments", [("--help",), ("demo", "--help"), ("nosuch",)])
def test_nor_one_of_its_help(call, arguments):
    said = "".join(call(*arguments)[1:])
    for encoding in ENCODINGS:
        assert said.encode(encoding, PLAINLY).decode(encoding).count("?") == said.count("?")


def test_what_stands_in():
    """As a pilot book without the signs would print it."""
    shown = "–5 °C at 64°09'N 022°00'W, heel 15°, 3 × 20 L, ≥ 12.4\u00a0V".encode("ascii", PLAINLY)
    assert shown == b"-5 C at 64d09'N 022d00'W, heel 15 deg, 3 x 20 L, >= 12.4 V"
    assert "Ærøskøbing, Łódź, São Tomé, Straße".encode("ascii", PLAINLY) == (
        b"Aeroskobing, Lodz, Sao Tome, Strasse"
    )
    assert "15°, –".encode("cp437", PLAINLY).decode("cp437") == "15°, -"


def test_letters_without_a_likeness_are_question_marks():
    assert "日本丸".encode("cp437", PLAINLY) == b"???"


def test_a_stream_of_the_command_uses_them(python):
    """In a process of its own, since the test's streams are not a terminal's."""
    script = (
        "import sys; from powersim.cli.streams import make_ready; make_ready(); "
        r"print('38\u00b0 \u2013 \u2026'); print('\u2013', file=sys.stderr)"
    )
    assert python(script, PYTHONIOENCODING="ascii")[1:] == ("38 deg - ...\n", "-\n")
