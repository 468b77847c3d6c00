"""Trials kept by tired hands and loggers cut off: anything gives an answer or an InputError.

What can be read is answered too: no sheet and no series leads to a fault further on.
"""

import json
import math

import numpy as np
import pytest
from builders import passage_of
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from powersim.errors import InputError
from powersim.inputs.logger import LOGGER_FILE, read_logger
from powersim.inputs.trial import TRIAL_COLUMNS, TRIAL_FILE, read_trial
from powersim.logbook.logger_days import logger_days
from powersim.logbook.logger_evidence import logger_evidence
from powersim.logbook.trial import sea_trial
from powersim.report.logger_view import logger_dict, logger_view
from powersim.report.screen_text import screen_text
from powersim.report.trial_dict import trial_dict
from powersim.report.trial_view import trial_view
from powersim.simulation.prepare import prepare

quick = settings(
    max_examples=30,
    suppress_health_check=[HealthCheck.function_scoped_fixture],  # each example writes anew
)
PASSAGE = passage_of(days=3.0)
HEAD = ",".join(column.name for column in TRIAL_COLUMNS)
TRIAL = (
    HEAD + "\n,,,0.3,12.7,,\nlaptop,0.5,2.7,0.3,12.6,,\npilot,,2.3 A,0.3 A,12.5 V,,x\n"
).encode()
ROWS = "".join(
    f"2026-09-{5 + hour // 24:02} {hour % 24:02}:00,12.5,{-2 if hour % 24 < 15 else 6},80\n"
    for hour in range(9, 75)
)
LOGGER = ("time,V,A,SOC\n" + ROWS).encode()
pieces = st.sampled_from(
    ["", ",", ";", '"', "\n", "\r", "#", "%", "-", "−", "nan", "inf", "1e999", "0", "9" * 400, "A",
     "12,4 V", "Ah", "mA", "\ufeff", "\u2028", "\0", "all", "laptop; pilot", "2026-13-45 99:99",
     "1e300", "-2000 A", "sep=|\n", "30 min", "1725500000", "12/09/2026 08:00"]
)  # fmt: skip


@pytest.fixture(scope="module")
def track():
    return prepare(PASSAGE, step_h=1.0).track


def answered_or_refused(read, path, answer):
    before, problems = path.read_bytes(), ()
    try:
        said, told = answer(read(path))
    except InputError as error:
        said, told, problems = "", {}, error.problems
    assert said or problems
    assert all(each.file == str(path) and each.text for each in problems)
    assert max(map(len, said.splitlines()), default=0) <= 80
    json.dumps(told, allow_nan=False)
    assert path.read_bytes() == before


def of_trial(trial):
    found = sea_trial(trial, PASSAGE)
    for one in found.draws:
        assert math.isnan(one.found) == bool(one.open_because)
        assert one.open_because or (math.isfinite(one.found) and one.sd > 0.0)
    return screen_text(trial_view(found, {})), trial_dict(found, {})


def of_logger(track):
    def answer(series):
        assert (np.diff(series.times_s) > 0.0).all()
        found = logger_days(series, PASSAGE.boat.battery, track)
        evidence = logger_evidence(series, found, depart_utc_s=PASSAGE.depart_utc.timestamp())
        assert all(math.isfinite(one.value) and one.sd > 0.0 for one in evidence.sums)
        sections = logger_view(series, found, counts=len(evidence.sums))
        return screen_text(sections), logger_dict(series, found, counts=len(evidence.sums))

    return answer


text = st.text(max_size=200) | st.lists(pieces, max_size=40).map("".join)


@quick
@given(text)
def test_arbitrary_text_is_answered_or_refused(write_file, track, text):
    content = text.encode("utf-8", "surrogatepass")
    for head in (b"", b"load,idle,on,off,voltage\n"):
        answered_or_refused(read_trial, write_file(TRIAL_FILE, head + content), of_trial)
    for head in (b"", b"time,V,A\n" + ROWS.replace(",80", "").encode()):
        answered_or_refused(read_logger, write_file(LOGGER_FILE, head + content), of_logger(track))


@quick
@given(st.data(), st.integers(0, 12), pieces | st.text(max_size=4))
def test_a_wounded_file_is_answered_or_refused(write_file, track, data, cut, put):
    piece = put.encode("utf-8", "surrogatepass")
    for good, read, name, answer in (
        (TRIAL, read_trial, TRIAL_FILE, of_trial),
        (LOGGER, read_logger, LOGGER_FILE, of_logger(track)),
    ):
        at = data.draw(st.integers(0, len(good)))
        path = write_file(name, good[:at] + piece + good[at + cut :])
        answered_or_refused(read, path, answer)


@quick
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["", "all", "laptop", "pilot", "laptop; pilot", "lights", "kettle"]),
            *[st.sampled_from(["", "0.3", "-2.5", "0", "1900", "2.75"])] * 3,
            st.sampled_from(["", "12.6"]),
        ),
        min_size=1,
        max_size=12,
    )
)
def test_any_order_of_switching_has_an_answer(write_file, rows):
    lines = ["load,idle,on,off,voltage", *(",".join(row) for row in rows)]
    answered_or_refused(read_trial, write_file(TRIAL_FILE, "\n".join(lines)), of_trial)
