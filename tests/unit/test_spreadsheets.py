"""Tables as spreadsheets of several countries save them are the plain ones, or are refused."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from powersim.errors import InputError
from powersim.inputs.decimals import (
    ANGLE,
    POSITION,
    QUANTITY,
    Decimals,
    as_in_table,
    decimals_of,
    with_points,
)
from powersim.inputs.loads import read_loads
from powersim.inputs.log import read_log
from powersim.inputs.route import read_route
from powersim.inputs.table import delimiter_of
from powersim.inputs.text import ReadingError

PASSAGE = (datetime(2026, 9, 5, 9, 0, tzinfo=UTC), datetime(2026, 12, 20, tzinfo=UTC))
PLAIN_LOG = (
    "time,position,voltage,soc_%,engine_h,monitor_Ah,dip_cm,note\n"
    '2026-09-12 06:30,52 10.5 N 27 31.0 W,12.65 V,72.5,1234.5,-35.2,23.5,"reefed; later, out"\n'
    "2026-09-13 18:05,52°04.0'N 28°02.5'W,12.4 V,70,1236,-41,22,\n"
)
#: As a German spreadsheet saves it: points in dates, commas in numbers, semicolons, old Windows.
GERMAN = (
    "sep=;\r\ntime;position;voltage;soc_%;engine_h;monitor_Ah;dip_cm;note\r\n"
    "12.09.2026 06:30;52 10,5 N 27 31,0 W;12,65;72,5;1.234,5;-35,2;23,5;"
    '"reefed; later, out"\r\n'
    "13.09.2026 18:05;52°04,0'N 28°02,5'W;12,4;70;1236;-41;22;\r\n"
).encode("cp1252")
#: As a French one does: a narrow blank between thousands, curly primes, a mark at the beginning.
FRENCH = (
    "time;position;voltage;soc;engine_h;monitor_Ah;dip;note\r\n"
    "12/09/2026 06:30;52°10,5’ N 27°31,0’ W;12,65 V;72,5\u00a0%;1\u202f234,5;\u221235,2;"
    '23,5\u202fcm;"reefed; later, out"\r\n'
    "13/09/2026 18:05;52°04,0′ N 28°02,5′ W;12,4 V;70 %;1\u202f236;-41;22 cm;\r\n"
).encode("utf-8-sig")
#: As one of the United States does, as "Unicode text": tabs, UTF-16, hours of twelve.
AMERICAN = (
    "date\ttime\tposition\tvoltage\tsoc\tengine_h\tmonitor_Ah\tdip_in\tnote\r\n"
    '9/12/2026\t6:30 AM\t52° 10.5\u2019 N, 27° 31.0\u2019 W\t12.65\t72.5%\t"1,234.5"\t-35.2\t'
    '9.251968503937\t"reefed; later, out"\r\n'
    "9/13/2026\t6:05 PM\t52 04.0 N 28 02.5 W\t12.4\t70%\t1236\t-41\t8.661417322835\t\r\n"
).encode("utf-16")


def entries(path, **told):
    """What a log says, its lines and cells aside."""
    log = read_log(path, **told)
    assert log.set_aside == ()
    return [replace(one, file="", line=0, row="", places={}) for one in log.entries]


@pytest.mark.parametrize("raw", [GERMAN, FRENCH, AMERICAN], ids=["de", "fr", "en-US"])
def test_a_log_of_a_spreadsheet_is_the_plain_one(write_file, raw):
    plain = entries(write_file("plain.csv", PLAIN_LOG))
    found = entries(write_file("log.csv", raw))
    for one, other in zip(plain, found, strict=True):
        assert other.dip_m == pytest.approx(one.dip_m, abs=1e-9)
        assert replace(other, dip_m=one.dip_m) == one


def test_what_was_taken_is_told(write_file):
    assert read_log(write_file("log.csv", AMERICAN)).taken == (
        "date: month first, since '9/13/2026 6:05 PM' cannot be read otherwise",
        "voltage: bare numbers are volts",
    )
    assert read_log(write_file("log.csv", FRENCH)).taken == (
        "time: day first, since '13/09/2026 18:05' cannot be read otherwise",
    )
    assert read_log(write_file("log.csv", PLAIN_LOG)).taken == ()


def test_dates_that_the_passage_tells_and_dates_that_ask(write_file):
    path = write_file("log.csv", "time,soc\n09/10/2026 08:00,70 %\n10/10/2026 08:00,71 %\n")
    with pytest.raises(InputError) as caught:
        read_log(write_file("asks.csv", "time,soc\n09/10/2026 08:00,70 %\n"), within=PASSAGE)
    assert str(caught.value).endswith(
        "asks.csv:2:1: time (column A): '09/10/2026 08:00' is 9 October 2026 or 10 September 2026, "
        "and the other lines do not tell which\n"
        "  expected  the heading time_dmy (day first) or time_mdy (month first); or the year "
        "first, as in 2026-09-12 08:00\n"
        "  row       09/10/2026 08:00,70 %"
    )
    log = read_log(path, within=PASSAGE)
    assert [one.soc for one in log.entries] == [0.71]  # 10/10 is one day either way
    assert len(log.set_aside) == 1
    named = path.read_text().replace("time", "time_dmy")
    log = read_log(write_file("named.csv", named))
    assert [datetime.fromtimestamp(one.clock_s, UTC).day for one in log.entries] == [9, 10]
    assert log.taken == ("time: day first, as its heading says",)


def test_an_entry_with_a_time_and_no_date_is_set_aside(write_file):
    log = read_log(write_file("log.csv", "date,time,soc\n2026-09-12,06:30,70 %\n,18:00,69 %\n"))
    assert [one.soc for one in log.entries] == [0.7]
    assert "date (column A): is empty" in str(log.set_aside[0])


@pytest.mark.parametrize(
    ("cell", "reason"),
    [
        ("time,voltage\n2026-09-12 06:30,12\n", "'12' has no unit, and may be half of a number"),
        ("time,soc\n2026-09-12 06:30,1\n", "'1' may be a share or percent"),
        ("time,soc\n2026-09-12 06:30,0.7\n", "'0.7' may be a share or percent"),
        ("time,dip\n2026-09-12 06:30,23.5\n", "'23.5' has no unit"),
        ("time;engine_h\n2026-09-12 06:30;1,234\n", "'1,234' may be 1.234 or 1234"),
        ("time;voltage;engine_h\n2026-09-12 06:30;12,65;1.234\n", "'1.234' may be 1.234 or 1234"),
        ("time;position\n2026-09-12 06:30;64,15 N 21,95 W\n", "may have 64.15 degrees, or 64"),
    ],
)
def test_what_may_be_two_things_is_set_aside(write_file, cell, reason):
    log = read_log(write_file("log.csv", cell))
    assert reason in str(log.set_aside[0])
    assert len(log.set_aside) == 1


def test_the_rest_of_a_table_tells_where_decimals_stand(write_file):
    text = "time;engine_h;voltage\n2026-09-12 06:30;1,234;12,65\n"
    assert read_log(write_file("log.csv", text)).entries[0].engine_h == 1.234


def test_halves_of_numbers_are_set_aside_where_commas_cut_them(write_file):
    """Unquoted commas: the second line is too long, so the third, which fits, is no better."""
    text = (
        "time,engine_h,gear_h,note\n2026-09-12 06:30,812,3,4,5,fine\n2026-09-13 06:30,813,4\n"
        "2026-09-14 06:30,814.2,5.0,\n"
    )
    log = read_log(write_file("log.csv", text))
    assert [(one.engine_h, one.gear_h) for one in log.entries] == [(None, None), (814.2, 5.0)]
    reasons = [problem.text for problem in log.set_aside if problem.line == 3]
    assert reasons == [
        "engine_h (column B): may be a part of '813,4', cut by its comma as in other lines",
        "gear_h (column C): may be a part of '813,4', cut by its comma as in other lines",
    ]
    sound = "time,engine_h,gear_h,note\n2026-09-13 06:30,813,4\n"
    (entry,) = read_log(write_file("sound.csv", sound)).entries
    assert (entry.engine_h, entry.gear_h) == (813.0, 4.0)


LOADS = (
    'load,draw,when,on,note\n"chart plotter",13.5 W,sailing;motoring,2.5 h/day,"5"" screen, dim"\n'
    "vhf,0.45 A,any,100 %,\n"
)
LOADS_GERMAN = (
    "load;draw;when;on;note\r\n"
    'chart plotter;13,5 W;"sailing;motoring";2,5 h/day;"5"" screen, dim"\r\n'
    "vhf;0,45 A;any;100 %;\r\n"
)
ROUTE = (
    "waypoint,position,speed,motoring\nÎle aux Cerfs,20 16.0 S 57 48.5 E,4.5 kn,2.5 h at start\n"
    "Réunion,20 55.5 S 55 17.0 E,,\n"
)
ROUTE_FRENCH = (
    "waypoint;position;speed;motoring\r\n"
    "Île aux Cerfs;20°16,0’S 57°48,5’E;4,5 kn;2,5 h at start\r\n"
    "Réunion;20°55,5’S 55°17,0’E;;\r\n"
)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_loads_and_route_of_a_spreadsheet_are_the_plain_ones(write_file, encoding):
    loads = read_loads(write_file("loads.csv", LOADS_GERMAN.encode(encoding)))
    assert loads == read_loads(write_file("plain.csv", LOADS))
    route = read_route(write_file("route.csv", ROUTE_FRENCH.encode(encoding)))
    assert route == read_route(write_file("plain.csv", ROUTE))


@pytest.mark.parametrize(
    ("text", "sign"),
    [
        ("load,draw\n", ","),
        ("load;draw\n", ";"),
        ("sep=;\nload,of all;draw\n", ";"),
        ('"sep=|"\nload|draw\n', "|"),
        ("sep=\t\r\nload\tdraw\r\n", "\t"),
        ('"load, or lamp; or both";draw\n', ";"),
        ('"# notes, of, the, kind";;\nload;draw;on\n', ";"),
    ],
)
def test_the_separator_is_named_or_found_in_the_heading(text, sign):
    assert delimiter_of(text) == sign


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("12,65 V", "12.65 V"),
        ("-0,125 A", "-0.125 A"),
        ("1.234,5", "1234.5"),
        ("1,234.5", "1234.5"),
        ("1\u202f234,5 h", "1234.5 h"),
        ("12\u00a0450 Wh", "12450 Wh"),
        ("12345,678", "12345.678"),
        ("2,5 h at start; 60 % of calms", "2.5 h at start; 60 % of calms"),
        ("06:00,12:00", "06:00,12:00"),
        ("1,2,3", "1,2,3"),
        ("1,234,567", "1,234,567"),
        ("12\u00a065 V", "12\u00a065 V"),
    ],
)
def test_a_quantity_gets_its_point(text, plain):
    assert with_points(text, QUANTITY, Decimals(separator=";")) == plain


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("52 10,5 N 27 31,0 W", "52 10.5 N 27 31.0 W"),
        ("52,17500 N 27,51667 W", "52.17500 N 27.51667 W"),
        ("64,15° N 21,95° W", "64.15° N 21.95° W"),
        ("N52-10,5 W027-31,0", "N52-10.5 W027-31.0"),
        ("N 52 10,27 31 W", "N 52 10,27 31 W"),
        ("52 10 N,27 31 W", "52 10 N,27 31 W"),
        ("52.175,-27.517", "52.175,-27.517"),
        ("64,15, -21,95", "64,15, -21,95"),
    ],
)
def test_a_position_gets_its_points_where_the_comma_is_no_other(text, plain):
    assert with_points(text, POSITION, Decimals(separator=";")) == plain


def test_one_angle_alone():
    assert with_points("52 10,5", ANGLE, Decimals()) == "52 10.5"
    with pytest.raises(ReadingError, match="or 64 degrees 15 minutes"):
        with_points("64,15", ANGLE, Decimals())


@pytest.mark.parametrize(
    ("decimals", "put"),
    [
        (Decimals(separator=","), "1.234 A"),
        (Decimals(separator=";"), "1,2340 A"),
        (Decimals(separator=";", comma=True), "1,234 A"),
        (Decimals(separator=";", point=True), "1.234 A"),
        (Decimals(separator=";", comma=True, point=True), "1,2340 A"),
    ],
)
def test_what_is_put_into_a_table_is_read_as_it_was_meant(decimals, put):
    assert as_in_table("1.234 A", decimals) == put
    assert float(with_points(put, QUANTITY, decimals).removesuffix(" A")) == 1.234


def test_decimals_are_shown_by_the_table():
    assert decimals_of(["1,234", "1.234"], separator=";") == Decimals(separator=";")
    assert decimals_of(["12,65 V", "5.0 A"], separator=";") == Decimals(
        separator=";", comma=True, point=True
    )
