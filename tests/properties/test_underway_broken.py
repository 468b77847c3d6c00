"""`powersim underway` with logs kept by tired hands: an answer or a message, never a fault.

The whole command is slow, so that few examples of it are run every time. To look further:
HYPOTHESIS_PROFILE=explore UNDERWAY_EXAMPLES=1000 python -m pytest tests/properties
"""

import contextlib
import io
import json
import math
import os
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from logged import write_logged

from powersim.cli.main import run

EXAMPLES = int(os.environ.get("UNDERWAY_EXAMPLES", "0"))
#: Thirty hours southwards from the demo's departure, at 09:00 on 5 September.
ROUTE = "waypoint,position,speed\nStart,52 00 N 20 00 W,5 kn\nEnd,49 30 N 20 00 W,\n"
NAMES = ["time", "position", "soc", "voltage", "resting_h", "current", "engine_h", "dip",
         "cans_left", "absorb_A", "fuel_added", "solar_Ah", "cloud", "note"]  # fmt: skip
ROWS = [
    ["2026-09-05 10:00", "", "100 %", "12.70 V", "", "", "812.3", "84 L", "5", "", "", "100",
     "6", "let go"],
    ["2026-09-05 18:00", "51 15 N 20 W", "93 %", "", "", "-3 A", "813.1", "24.1 cm", "100 L", "4 A",
     "", "109", "6/8", ""],
    ["2026-09-06 06:00", "50 15 N 20 W", "", "12.50 V", "3 h", "", "813.1", "", "", "", "0 L",
     "110", "", '"grey, wet"'],
]  # fmt: skip
NOW = "2026-09-06 12:00"
BAD_TIMES = ["", "noon", "2026-09-05", "2026-13-45 99:99", "1066-01-01 10:00", "2026-09-05 08:59",
             "2031-01-01 00:00", "2026-09-06 25:00", "2026-09-05 10:00", "2026-09-05 18:00 ship x",
             "2026-09-06 06:00:10", "9" * 400, "nan", "0", "\ufeff"]  # fmt: skip
CELLS = ["", "-", "?", "nan", "inf", "-inf V", "1e999 V", "-1 h", "-3", "0", "1e308", "9" * 400,
         "12,4 V", "12.4 V", "300 L", "-5 L", "5 furlongs", "3 parsec", "0 cm", "26.9 cm", "72 %",
         "101 %", "7 kn", "90 N 180 E", "-90, 180", "51 N 20 W", "0 N 0 E", "51 N 160 E", "812.2",
         "813.2", "900", "110", "1e6", "2 x 20 L", "2 x", "x", "3 h", "1000 h", "9/8", "\u2028",
         "\x00", "\x1b[31m", "☠", '""', "#"]  # fmt: skip
cell = st.sampled_from(CELLS) | st.text(max_size=12)
#: What a bad entry may change of the answer.
COUNTED = ("set_aside", "entries")


def seldom(count):
    """So many examples of the whole command, or as many as were asked for."""
    return settings(
        max_examples=EXAMPLES or count,
        suppress_health_check=list(HealthCheck),  # one folder for all; large draws
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = write_logged(tmp_path_factory.mktemp("tired") / "passage")
    (folder / "route.csv").write_text(ROUTE, encoding="utf-8")
    return folder


def as_text(rows, end="\n"):
    return end.join(",".join(cells) for cells in [NAMES, *rows]) + end


def quoted(text):
    return '"' + text.replace('"', '""') + '"'


def underway(folder, log):
    """The answer to a log of these bytes, None where it is refused, and all that was said."""
    path = folder / "log.csv"
    path.write_bytes(log)
    before = path.stat().st_mtime_ns
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        quick = ("--now", NOW, "--no-plan", "--members", "20", "--step", "60 min")
        code = run(["underway", str(folder), *quick, "--json"])
    said = err.getvalue()
    assert code in (0, 2), said
    assert (path.read_bytes(), path.stat().st_mtime_ns) == (log, before)
    assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f\u2028]", said)
    if code == 2:
        assert out.getvalue() == ""
        assert f"{path}:" in said
        return None, said
    answer = json.loads(out.getvalue(), parse_constant=lambda name: pytest.fail(name))
    assert len(re.findall(r"^Set aside: ", said, re.MULTILINE)) == len(answer["set_aside"])
    assert all(one.startswith(f"{path}:") for one in answer["set_aside"])
    for factor in answer["factors"].values():
        assert 0.0 < factor["p10"] <= factor["factor"] <= factor["p90"] < math.inf
    assert 0.0 <= answer["now"]["soc"]["p10"] <= answer["now"]["soc"]["p90"] <= 1.0
    return answer, said


@pytest.fixture(scope="module")
def undisturbed(folder):
    """The answer to the log without a bad entry."""
    answer, said = underway(folder, as_text(ROWS).encode())
    assert said == ""
    return answer


def numbers(answer):
    return {key: value for key, value in answer.items() if key not in COUNTED}


@seldom(5)
@given(st.data())
def test_any_cells_give_an_answer_or_a_message(folder, data):
    rows = [list(row) for row in ROWS]
    for _ in range(data.draw(st.integers(1, 12))):
        row = data.draw(st.sampled_from(rows))
        at = data.draw(st.integers(0, len(NAMES) - 1))
        bad = data.draw(st.sampled_from(BAD_TIMES) if at == 0 else cell)
        row[at] = quoted(bad) if data.draw(st.booleans()) else bad
    rows += data.draw(st.lists(st.sampled_from(rows), max_size=3))
    rows = data.draw(st.permutations(rows))
    text = as_text(rows, data.draw(st.sampled_from(["\n", "\r\n", "\r"])))
    log = data.draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "latin-1"]))
    underway(folder, text.encode(log, "replace"))


@seldom(3)
@given(st.integers(0, 700), st.integers(0, 200), st.binary(max_size=6), st.booleans())
def test_torn_files_give_an_answer_or_a_message(folder, at, cut, put, to_the_end):
    whole = as_text(ROWS).encode()
    underway(folder, whole[:at] + put + (b"" if to_the_end else whole[at + cut :]))


@seldom(5)
@given(st.data())
def test_a_bad_entry_changes_no_number_of_the_rest(folder, undisturbed, data):
    rest = ",".join(quoted(data.draw(cell)) for _ in NAMES[1:-1]) + ",tired"
    bad = data.draw(
        st.sampled_from(
            [
                f"{quoted(data.draw(st.sampled_from(BAD_TIMES)))},{rest}",  # at no time of its own
                f"2026-09-06 02:00{',12,4 V' * 9}",  # decimal commas: more cells than headings
                '2026-09-06 02:00,"51 N" 20 W',  # a quotation mark within a cell
                "2026-09-06 02:00,91 N 181 E,172 %,125 V,-3 h,9 mA h,8O7.1,9 m,2 x,-4 A,x,-1,9/8,",
                "2026-09-06 02:00,51 N 60 W,,,,,950.1,300 L,900 L,,,17,,far off and fast",
            ]
        )
    )
    lines = [*as_text(ROWS).splitlines(), bad]
    # Of two entries at one time the first in the file stays: the bad one comes last.
    order = [*data.draw(st.permutations(lines[1:-1])), bad]
    answer, said = underway(folder, "\n".join([lines[0], *order, ""]).encode("utf-8", "replace"))
    assert "log.csv:5" in said
    assert numbers(answer) == numbers(undisturbed)
