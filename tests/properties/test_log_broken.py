"""Logs kept by tired hands: anything gives entries or an InputError; the file stays as it was."""

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from powersim.errors import InputError
from powersim.inputs.log import LOG_FILE, log_columns, read_log

quick = settings(
    max_examples=100,
    suppress_health_check=[HealthCheck.function_scoped_fixture],  # each example writes anew
)
NAMES = [
    each.column.name for each in log_columns() if each.column.name not in ("ship_time", "date")
]
GOOD_CELLS = ["2026-09-12 06:30", "52 10 N 27 31 W", "72 %", "12.45 V", "3 h", "-3 A", "101.2 h",
              "3 h", "23 cm", "1/2", "40 L", "4 A", "0 L", "182 Ah", "-8 Ah", "6",
              "fine"]  # fmt: skip
GOOD = (",".join(NAMES) + "\n" + (",".join(GOOD_CELLS) + "\n") * 3).encode()
pieces = st.sampled_from(
    ["", ",", ";", '"', "\n", "\r", "#", "%", "-", "−", "nan", "inf", "1e999", "0", "9" * 400,
     "12,4 V", "V", "Ah", "\ufeff", "\u2028", "time", "ship", "2026-13-45 99:99", "91 N 181 E",
     "2 x 20 L", "x", "9/8"]
)  # fmt: skip


def read_or_refused(path):
    """Entries, or problems that are fit to be shown; the file is not touched."""
    before = path.read_bytes(), path.stat().st_mtime_ns
    try:
        log = read_log(path, can_L=20.0)
        assert log.entries
        problems = log.set_aside
    except InputError as error:
        log, problems = None, error.problems
        assert problems
    assert all(each.file == str(path) and each.text for each in problems)
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before
    return log


@quick
@given(st.text(max_size=200) | st.lists(pieces, max_size=40).map("".join))
def test_arbitrary_text_is_read_or_refused(write_file, text):
    content = text.encode("utf-8", "surrogatepass")
    read_or_refused(write_file(LOG_FILE, content))
    read_or_refused(write_file(LOG_FILE, b"time,soc,engine_h,dip\n" + content))


@quick
@given(st.integers(0, len(GOOD)), st.integers(0, 12), pieces | st.text(max_size=4))
def test_a_good_log_with_a_wound_is_read_or_refused(write_file, at, cut, put):
    wounded = GOOD[:at] + put.encode("utf-8", "surrogatepass") + GOOD[at + cut :]
    read_or_refused(write_file(LOG_FILE, wounded))


@quick
@given(st.data())
def test_a_bad_cell_leaves_the_other_rows_alone(write_file, data):
    column = data.draw(st.integers(0, len(NAMES) - 1))
    cell = data.draw(st.text(max_size=20) | st.lists(pieces, max_size=4).map("".join))
    cells = list(GOOD_CELLS)
    cells[column] = '"' + cell.replace('"', '""') + '"'
    good = ",".join(GOOD_CELLS)
    text = "\n".join([",".join(NAMES), good, ",".join(cells), good, ""])
    log = read_or_refused(write_file(LOG_FILE, text.encode("utf-8", "surrogatepass")))
    if log is not None:
        assert len(log.entries) >= 2
