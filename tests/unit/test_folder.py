"""A passage folder as a whole: one Passage, or every mistake in every file at once."""

from datetime import UTC, datetime

import pytest

from powersim.errors import InputError
from powersim.inputs.folder import load_folder

GOOD = {
    "boat.toml": '[passage]\ndepart = "2026-09-05 09:00"\nspeed = "4.5 kn"\n'
    '[battery]\nchemistry = "agm"\ncapacity = "200 Ah"\n[[supply]]\nname = "inverter"\n',
    "loads.csv": "load,draw,supply\nlaptop,30 W,inverter\n",
    "route.csv": "waypoint,position\nA,39 N 28 W\nB,38 N 28 W\n",
}
GPX = '<gpx version="1.1"><rte><rtept lat="39" lon="-28"/><rtept lat="37" lon="-28"/></rte></gpx>\n'


@pytest.fixture
def folder_of(tmp_path):
    """A passage folder with some files changed; None leaves one out."""

    def write(**changed):
        names = {name.replace("_", "."): text for name, text in changed.items()}
        folder = tmp_path / "passage"
        folder.mkdir()
        for name, text in (GOOD | names).items():
            if text is not None:
                (folder / name).write_text(text, encoding="utf-8")
        return folder

    return write


def problems_of(folder, **options):
    with pytest.raises(InputError) as caught:
        load_folder(folder, **options)
    return [str(problem).replace(f"{folder}/", "") for problem in caught.value.problems]


def test_a_good_folder_makes_a_passage(folder_of):
    folder = folder_of()
    passage = load_folder(str(folder))
    assert (passage.name, passage.folder) == ("passage", folder)
    assert passage.depart_utc == datetime(2026, 9, 5, 9, tzinfo=UTC)
    assert [waypoint.name for waypoint in passage.waypoints] == ["A", "B"]
    assert passage.waypoints[0].speed_kn == 4.5
    assert [load.supply for load in passage.loads] == ["inverter"]
    assert passage.ship_offset_h is None
    files = {one.place.split()[0] for one in passage.assumptions}
    assert files == {"boat.toml", "loads.csv", "route.csv"}


def test_settings_of_the_passage_are_taken(folder_of):
    boat = GOOD["boat.toml"].replace(
        "[battery]", 'name = "north"\nship_time = "UTC-1"\ncloud_model = "reed"\n[battery]'
    )
    passage = load_folder(folder_of(boat_toml=boat))
    assert (passage.name, passage.ship_offset_h, passage.cloud_model) == ("north", -1.0, "reed")


@pytest.mark.parametrize("route", [{}, {"route_csv": None, "route_gpx": GPX}])
def test_what_counts_as_calm_holds_for_every_leg(folder_of, route):
    boat = GOOD["boat.toml"].replace("[battery]", 'calm_below = "7 kn"\n[battery]')
    passage = load_folder(folder_of(boat_toml=boat, **route))
    assert [waypoint.calm_kn for waypoint in passage.waypoints] == [7.0, 7.0]
    assert passage.calm_below_kn is None  # no leg motors in calms


def test_where_calms_are_motored_what_counts_as_one_is_told(folder_of):
    calms = 'motoring = "20 % of calms"\n[battery]'
    folder = folder_of(boat_toml=GOOD["boat.toml"].replace("[battery]", calms))
    passage = load_folder(folder)
    assert passage.calm_below_kn == 5.0
    told = [one for one in passage.assumptions if "calm" in one.place]
    assert [(one.place, one.value) for one in told] == [("boat.toml passage.calm_below", "5 kn")]
    assert "common practice" in told[0].reason
    changed = load_folder(folder, values={"passage.calm_below": "6 kn"})
    assert changed.calm_below_kn == 6.0
    assert not [one for one in changed.assumptions if "calm" in one.place]


def test_a_route_from_a_plotter_does_as_well(folder_of):
    passage = load_folder(folder_of(route_csv=None, route_gpx=GPX))
    assert [waypoint.lat_deg for waypoint in passage.waypoints] == [39.0, 37.0]
    assert [waypoint.speed_kn for waypoint in passage.waypoints] == [4.5, None]


@pytest.mark.parametrize(
    "depart", ["2026-10-01 06:00", datetime(2026, 10, 1, 6), datetime(2026, 10, 1, 6, tzinfo=UTC)]
)
def test_a_departure_of_the_callers_goes_first(folder_of, depart):
    passage = load_folder(folder_of(), depart=depart)
    assert passage.depart_utc == datetime(2026, 10, 1, 6, tzinfo=UTC)


def test_a_departure_of_the_callers_stands_in_for_a_missing_one(folder_of):
    boat = GOOD["boat.toml"].replace('depart = "2026-09-05 09:00"\n', "")
    passage = load_folder(folder_of(boat_toml=boat), depart="2026-10-01")
    assert passage.depart_utc == datetime(2026, 10, 1, 12, tzinfo=UTC)


def test_a_departure_that_does_not_parse(folder_of):
    assert problems_of(folder_of(), depart="tomorrow") == [
        "depart: cannot read 'tomorrow' as a date\n"
        "  expected  a date and time in UTC, for example 2026-09-05 09:00"
    ]


def test_no_departure_anywhere(folder_of):
    boat = GOOD["boat.toml"].replace('depart = "2026-09-05 09:00"\n', "")
    assert problems_of(folder_of(boat_toml=boat)) == [
        "boat.toml:1: passage: no depart\n"
        "  expected  depart: a date and time in UTC, for example 2026-09-05 09:00"
    ]


def test_a_wrong_departure_is_told_once(folder_of):
    boat = GOOD["boat.toml"].replace("2026-09-05", "2026-09-31")
    assert problems_of(folder_of(boat_toml=boat)) == [
        "boat.toml:2: passage.depart: there is no '2026-09-31 09:00' in the calendar or on the "
        "clock\n  expected  a date and time in UTC, for example 2026-09-05 09:00"
    ]


def test_mistakes_of_all_files_are_told_at_once(folder_of):
    folder = folder_of(
        boat_toml=GOOD["boat.toml"].replace("200 Ah", "200 W"),
        loads_csv="load,draw,supply\nlaptop,3O W,invertor\n",
        route_csv="waypoint,position\nA,39 N 28 W\nB,98 N 28 W\n",
    )
    assert [problem.split("\n")[0] for problem in problems_of(folder)] == [
        "boat.toml:6: battery.capacity: '200 W' is a power",
        "loads.csv:2:2: draw (column B): cannot read '3O W'",
        "loads.csv:2:3: supply (column C): unknown supply 'invertor'; did you mean 'inverter'?",
        "route.csv:3:2: position (column B): '98 N 28 W' is a latitude above 90 degrees",
    ]


def test_a_boat_file_that_cannot_be_parsed_blames_no_load(folder_of):
    folder = folder_of(boat_toml="[battery]\ncapacity = 200 Ah\n")
    assert [problem.split("\n")[0] for problem in problems_of(folder)] == [
        "boat.toml:2: 'capacity = 200 Ah' needs quotes around its value",
        "route.csv:2: speed: no speed to the next waypoint",
    ]


def test_two_routes_and_no_route(folder_of):
    folder = folder_of(route_gpx=GPX)
    assert problems_of(folder) == [
        f"{folder}: holds both route.csv and route.gpx: which one?\n  expected  one of them"
    ]
    (folder / "route.csv").unlink()
    (folder / "route.gpx").unlink()
    assert problems_of(folder) == [
        f"{folder}: holds neither route.csv nor route.gpx\n  expected  one of them"
    ]


def test_a_route_from_a_plotter_may_have_any_name_if_it_is_the_only_one(folder_of):
    folder = folder_of(route_csv=None)
    (folder / "To_Apia.GPX").write_text(GPX, encoding="utf-8")
    (folder / "._To_Apia.gpx").write_text("left by a Macintosh", encoding="utf-8")
    passage = load_folder(folder)
    assert [waypoint.lat_deg for waypoint in passage.waypoints] == [39.0, 37.0]
    taken = next(one for one in passage.assumptions if one.place == "route")
    assert taken.value == "To_Apia.GPX"
    assert taken.reason == "the only GPX file in the folder; there is no route.csv"
    assert "To_Apia.GPX heel" in [one.place for one in passage.assumptions]
    (folder / "Back.gpx").write_text(GPX, encoding="utf-8")
    assert problems_of(folder) == [
        f"{folder}: holds neither route.csv nor route.gpx, and 2 other GPX files: Back.gpx, "
        "To_Apia.GPX: which one?\n  expected  one of them named route.gpx"
    ]
    (folder / "Back.gpx").rename(folder / "route.gpx")
    assert "route" not in [one.place for one in load_folder(folder).assumptions]


@pytest.mark.parametrize("content", [b"", b"\x00\x01\x02", b"\xff\xfe\x00", b"\xe9t\xe9\n"])
@pytest.mark.parametrize("name", ["boat.toml", "route.csv", "route.gpx"])
def test_empty_and_binary_files_are_refused_by_name(folder_of, name, content):
    folder = folder_of(**({"route_csv": None} if name == "route.gpx" else {}))
    (folder / name).write_bytes(content)
    assert any(problem.startswith(name) for problem in problems_of(folder))


def test_missing_files_are_all_named(folder_of):
    folder = folder_of(boat_toml=None, loads_csv=None)
    assert [problem.split("\n")[0] for problem in problems_of(folder)] == [
        "boat.toml: no such file",
        "loads.csv: no such file",
        "route.csv:2: speed: no speed to the next waypoint",
    ]


def test_a_missing_folder_says_how_to_make_one(tmp_path):
    folder = tmp_path / "nowhere"
    assert problems_of(folder) == [
        f"{folder}: no such folder\n"
        f"  expected  a passage folder; powersim new {folder} makes one to fill in"
    ]
    folder.write_text("")
    assert problems_of(folder)[0].startswith(f"{folder}: is a file, not a folder\n")
