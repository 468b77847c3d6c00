"""However broken the files of a passage are, the answer is a Passage or an InputError."""

import math
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from powersim.errors import InputError
from powersim.inputs.folder import load_folder
from powersim.inputs.positions import parse_angle, parse_position
from powersim.inputs.starter import demo_files, starter_files
from powersim.inputs.text import ReadingError, quoted
from powersim.inputs.toml_lines import line_at, parse_toml
from powersim.records import Passage

QUICK = settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
GPX = (
    '<?xml version="1.0"?>\n<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">\n'
    '<rte><rtept lat="39" lon="-28"><name>A</name></rtept><rtept lat="37" lon="-28"/></rte>\n'
    '<trk><trkseg><trkpt lat="1" lon="2"/></trkseg></trk><wpt lat="1" lon="2"/>\n</gpx>\n'
)
DEMO, STARTER = demo_files(), starter_files()
# Signs that mean something in these files come up more often than others.
SCRAPS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        ["", "\n", '"', "'", "[", "]", "[[", "{", "=", "#", ",", ";", "-", "0", "9e999", "nan",
         "1e308", "-1", "0 Ah", "1e-300 Ah", "200 %", "inf", "true", "\x00", "\u2028", "°", "<",
         "<!DOCTYPE x>", '""', "[panel]\n", "[[panel]]\n", "a.b = 1\n", "180 E", "90 N 0 E"]
    ),
)  # fmt: skip


@st.composite
def broken(draw, whole):
    """A good file with some pieces cut out, doubled or replaced."""
    text = draw(st.sampled_from(whole))
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(text)))
        end = min(len(text), start + draw(st.integers(0, 30)))
        text = text[:start] + draw(st.one_of(SCRAPS, st.just(text[start:end] * 2))) + text[end:]
    return text


@st.composite
def other_values(draw):
    """A good boat.toml, some of whose values are exchanged for another's or for nonsense."""
    lines = draw(st.sampled_from([DEMO["boat.toml"], STARTER["boat.toml"]])).splitlines()
    values = [line.partition("=")[2] for line in lines if "=" in line]
    for _ in range(draw(st.integers(1, 6))):
        place = draw(st.integers(0, len(lines) - 1))
        key, equals, _ = lines[place].partition("=")
        if equals:
            value = draw(st.one_of(st.sampled_from(values), SCRAPS.map(lambda scrap: f'"{scrap}"')))
            lines[place] = f"{key.lstrip('# ')}= {value}"
    return "\n".join(lines)


def load(**changed):
    """Load a folder that differs from the demo; what comes back is a Passage or InputError."""
    files = DEMO | {name.replace("_", "."): text for name, text in changed.items()}
    with tempfile.TemporaryDirectory() as name:
        for file, text in files.items():
            if text is not None:
                content = text if isinstance(text, bytes) else text.encode("utf-8", "replace")
                (Path(name) / file).write_bytes(content)
        try:
            return load_folder(name)
        except InputError as error:
            return error


def check(answer):
    """A passage that can be sailed, or problems that say something in printable words."""
    if isinstance(answer, Passage):
        assert len(answer.waypoints) >= 2
        assert math.isfinite(answer.boat.battery.real_capacity_Ah)
        return
    assert answer.problems
    for problem in answer.problems:
        assert problem.text
        assert problem.line is None or problem.line >= 1
        assert all(letter.isprintable() or letter == "\n" for letter in str(problem))


@QUICK
@given(broken([DEMO["boat.toml"], STARTER["boat.toml"]]))
def test_a_broken_boat_file_gives_no_traceback(text):
    check(load(boat_toml=text))


@QUICK
@given(other_values())
def test_a_boat_file_with_other_values_gives_no_traceback(text):
    check(load(boat_toml=text))


@QUICK
@given(broken([DEMO["route.csv"], STARTER["route.csv"]]))
def test_a_broken_route_gives_no_traceback(text):
    check(load(route_csv=text))


@QUICK
@given(broken([GPX]))
def test_a_broken_gpx_gives_no_traceback(text):
    check(load(route_csv=None, route_gpx=text))


@QUICK
@given(st.sampled_from(["boat_toml", "route_csv", "route_gpx"]), st.binary(max_size=200))
def test_bytes_of_any_kind_give_no_traceback(name, content):
    files = {"route_csv": None} if name == "route_gpx" else {}
    check(load(**(files | {name: content})))


@QUICK
@given(st.text(max_size=60))
def test_text_of_any_kind_is_a_position_or_says_why(text):
    for parse in (parse_position, lambda text: parse_angle(text, "longitude")):
        reason = None
        try:
            parse(text)
        except ReadingError as error:
            reason = error.reason
        assert reason is None or quoted(text) in reason


@QUICK
@given(
    st.floats(-90, 90, allow_subnormal=False),
    st.floats(-180, 180, allow_subnormal=False),
    st.sampled_from(["°", " "]),
)
def test_a_position_written_on_a_chart_comes_back(lat_deg, lon_deg, mark):
    """To half of the last digit: 0.00005 minutes of arc is 1e-6 degrees, or 0.1 m."""

    def charted(degrees, letters):
        minutes = round(abs(degrees) * 60, 4)
        letter = letters[degrees < 0]
        return f"{int(minutes // 60)}{mark}{minutes % 60:07.4f}{letter}"

    text = f"{charted(lat_deg, 'NS')} {charted(lon_deg, 'EW')}"
    if "60.0000" in text:  # 59.99999 minutes, rounded up by the format
        return
    found = parse_position(text)
    assert abs(found[0] - lat_deg) < 1e-6
    assert abs(found[1] - lon_deg) % 360 < 1e-6 or abs(found[1] - lon_deg) > 359.999999


KEYS = st.text(alphabet="abc_-", min_size=1, max_size=4)
VALUES = st.sampled_from(
    ['"x"', "1", "'y # z'", '"""\n[no]\nk = 1\n"""', "[\n1,\n2]", "{ a = 1, b = 2 }", "true"]
)
TABLES = st.dictionaries(KEYS, st.dictionaries(KEYS, VALUES, max_size=4), max_size=4)


@QUICK
@given(TABLES, st.booleans())
def test_the_line_of_a_key_is_where_it_was_written(tables, repeated):
    lines, places = [], {}
    for table, keys in tables.items():
        path = (table, 0) if repeated else (table,)
        lines.append(f"[[{table}]]" if repeated else f"[{table}]  # a note")
        places[path] = len(lines)
        for key, value in keys.items():
            places[(*path, key)] = len(lines) + 1
            lines += f"{key} = {value}".split("\n")
    _, found, problems = parse_toml("\n".join(lines), file="a.toml")
    assert problems == []
    assert {path: line_at(found, path) for path in places} == places
