"""What was tried, put into the files or into a folder beside them: all of it or nothing."""

import os
import re

import pytest
from tried import BOAT, LOADS, ROUTE, Page, folder_in, session_of

from powersim.errors import InputError, OutputError
from powersim.inputs.folder import load_folder

CHANGES = {"battery.capacity": "200 Ah", "loads.laptop": None, "loads.ais.draw": "4 W"}
CURVE = "wind_kn,power_W\n6,0\n20,120\n40,300\n"


@pytest.fixture
def folder(tmp_path):
    return folder_in(tmp_path / "passage")


@pytest.fixture
def page(folder):
    return Page(session_of(folder))


def contents(folder):
    """Every file of a folder by its name, and folders too."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() if path.is_file() else None
        for path in folder.rglob("*")
    }


def test_the_files_have_it_with_their_backups_and_all_else_as_it_was(folder, page):
    told = page.ask("save", CHANGES, into="files")
    stamp = r"\.\d{4}-\d\d-\d\d-\d{4}"
    assert [re.sub(stamp, "", name) for name in told["backups"]] == ["boat.toml", "loads.csv"]
    boat, loads = ((folder / name).read_text("utf-8") for name in told["backups"])
    assert (boat, loads) == (BOAT, LOADS)
    now = (folder / "boat.toml").read_text("utf-8")
    assert now == BOAT.replace(
        'capacity = "90 Ah"            # as on the label',
        'capacity = "200 Ah"           # as on the label (was 90 Ah)',
    )
    assert (folder / "route.csv").read_text("utf-8") == ROUTE
    passage = load_folder(folder)
    assert passage.boat.battery.capacity_Ah == 200.0
    assert [load.count for load in passage.loads] == [1, 0, 1, 1]
    assert "boat.toml and loads.csv" in told["told"]
    assert all(name in told["told"] for name in told["backups"])
    assert list(told["changes"]) == [
        "battery.capacity 200 Ah (was 90 Ah)",
        "laptop left off",
        "ais draw 4 W (was 3 W)",
    ]


def test_the_files_own_answer_is_then_the_new_one(page):
    before, tried = page.ask("answer"), page.ask("answer", CHANGES)
    page.ask("save", CHANGES, into="files")
    fields = page.fields()
    assert fields["battery.capacity"]["text"] == "200 Ah"
    after = page.ask("answer")
    for name in ("verdict", "measures"):
        assert after[name] != before[name] or name == "verdict"
    assert [one["told"] for one in after["measures"]] == [one["told"] for one in tried["measures"]]
    assert after["verdict"]["sentence"] == tried["verdict"]["sentence"]
    assert {one["difference"] for one in after["measures"]} == {""}
    assert after["changed"] == []
    assert after["state"]["changed_on_disk"] is False


def test_a_new_folder_stands_beside_and_the_old_one_is_as_it_was(folder, page):
    (folder / "log.csv").write_text("time\n", encoding="utf-8")
    before = contents(folder)
    told = page.ask("save", CHANGES, into="new")
    new = folder.parent / "passage-2"
    assert told["told"] == f"Written as a new passage folder, {new}. Yours is as it was."
    assert told["backups"] == ()
    assert contents(folder) == before
    assert (new / "log.csv").read_bytes() == before["log.csv"]
    assert load_folder(new).boat.battery.capacity_Ah == 200.0
    page.ask("save", CHANGES, into="new")
    assert (folder.parent / "passage-3").is_dir()


@pytest.mark.parametrize(
    ("name", "there", "made"),
    [
        ("tern", (), "tern-2"),
        ("tern", ("tern-2", "tern-3"), "tern-4"),
        ("tern-2", ("tern",), "tern-3"),
        ("tern-2", ("tern", "tern-3"), "tern-4"),
        ("tern-2", (), "tern-2-2"),
        ("leaving 2026-9", (), "leaving 2026-9-2"),
    ],
)
def test_its_name_is_ours_and_free(tmp_path, name, there, made):
    folder = folder_in(tmp_path / name)
    for one in there:
        (tmp_path / one).mkdir()
    Page(session_of(folder)).ask("save", {"battery.capacity": "200 Ah"}, into="new")
    assert {path.name for path in tmp_path.iterdir()} == {name, made, *there}


def test_where_the_folder_is_typed_as_the_one_that_one_is_in(folder, monkeypatch):
    monkeypatch.chdir(folder)
    told = Page(session_of(".")).ask("save", {"battery.capacity": "200 Ah"}, into="new")
    assert (folder.parent / "passage-2" / "boat.toml").is_file()
    assert "passage-2" in told["told"]


@pytest.mark.parametrize("name", ["own.csv", "curves/own.csv"])
def test_curves_come_along(folder, page, name):
    (folder / "boat.toml").write_text(
        BOAT + f'\n[[charger]]\nkind = "wind"\ncurve = "{name}"\n', encoding="utf-8"
    )
    (folder / name).parent.mkdir(exist_ok=True)
    (folder / name).write_text(CURVE, encoding="utf-8")
    page.ask("read_again")
    assert page.ask("alive")["state"]["files"] == []
    page.ask("save", {"battery.capacity": "200 Ah"}, into="new")
    (charger,) = load_folder(folder.parent / "passage-2").boat.chargers
    assert charger.powers_W[-1] == 300.0
    (folder / name).write_text(CURVE.replace("300", "310") + "\n", encoding="utf-8")
    assert page.ask("alive")["state"]["files"] == ["own.csv"]
    with pytest.raises(OutputError, match=r"own\.csv changed on disk"):
        page.ask("save", {"battery.capacity": "210 Ah"}, into="files")


@pytest.mark.parametrize("into", ["files", "new"])
def test_nothing_is_written_over_what_somebody_has_changed(folder, page, into):
    (folder / "route.csv").write_text(ROUTE.replace("4.5 kn", "5 kn"), encoding="utf-8")
    before = contents(folder.parent)
    with pytest.raises(OutputError) as caught:
        page.ask("save", CHANGES, into=into)
    assert str(caught.value) == (
        "route.csv changed on disk since the page read the files; nothing was written. "
        "Read them again first."
    )
    assert contents(folder.parent) == before


def test_a_file_that_is_a_link_is_left_alone(folder, page):
    """In its place would be a plain file, and what it leads to would stay as it was."""
    (folder / "boat.toml").rename(folder.parent / "common.toml")
    (folder / "boat.toml").symlink_to("../common.toml")
    with pytest.raises(OutputError, match=r"^boat\.toml in .* leads to a file elsewhere; nothing"):
        page.ask("save", {"battery.capacity": "200 Ah"}, into="files")
    assert (folder / "boat.toml").is_symlink()
    assert (folder.parent / "common.toml").read_text(encoding="utf-8") == BOAT
    page.ask("save", {"battery.capacity": "200 Ah"}, into="new")


def test_a_page_in_another_tab_is_told_that_the_files_are_no_longer_those_that_it_shows(page):
    """And writes nothing until it has read them again."""
    mine, other = {"page": "mine"}, {"page": "other"}
    for one in (mine, other):
        page.ask("boat", **one)
    page.ask("save", {"battery.capacity": "200 Ah"}, into="files", **mine)
    assert page.ask("alive", **mine)["state"]["files"] == []
    for question in ("alive", "answer"):
        assert page.ask(question, **other)["state"] == {
            "changed_on_disk": True,
            "files": ["boat.toml"],
        }
    with pytest.raises(OutputError, match=r"^boat\.toml changed on disk"):
        page.ask("save", {"loads.laptop": None}, into="files", **other)
    assert page.ask("read_again", **other)["state"]["files"] == []
    page.ask("save", {"loads.laptop": None}, into="files", **other)
    assert page.ask("alive", **mine)["state"]["files"] == ["loads.csv"]


def test_nor_over_what_is_changed_in_the_last_moment(folder, page, monkeypatch):
    """Between the question whether files were changed and the writing."""
    from powersim.tryout import saving

    asked = saving._contents

    def late(reading, values):
        (folder / "boat.toml").write_text(BOAT + "# mine\n", encoding="utf-8")
        return asked(reading, values)

    monkeypatch.setattr(saving, "_contents", late)
    with pytest.raises(OutputError, match="changed meanwhile"):
        page.ask("save", CHANGES, into="files")
    assert (folder / "boat.toml").read_text("utf-8") == BOAT + "# mine\n"
    assert sorted(path.name for path in folder.iterdir()) == ["boat.toml", "loads.csv", "route.csv"]


def test_a_mistake_is_told_and_nothing_is_written(folder, page):
    before = contents(folder.parent)
    for into in ("files", "new"):
        with pytest.raises(InputError) as caught:
            page.ask("save", CHANGES | {"battery.capacity": "200"}, into=into)
        assert [one.place for one in caught.value.problems] == ["battery.capacity"]
    assert contents(folder.parent) == before


def test_what_would_say_something_else_is_not_written(folder, page, monkeypatch):
    """Whatever slips in the writer of texts, what is written is the passage that was told of."""
    from powersim.tryout import saving

    def slipped(held, values, *, folder):
        found = edited(held, values, folder=folder)
        text = found.texts["boat.toml"].replace('"45 A"', '"46 A"')
        return type(found)(texts=found.texts | {"boat.toml": text}, changed=found.changed)

    edited = saving.edited
    monkeypatch.setattr(saving, "edited", slipped)
    before = contents(folder.parent)
    for into in ("files", "new"):
        with pytest.raises(RuntimeError, match="something else of boat"):
            page.ask("save", CHANGES, into=into)
    assert contents(folder.parent) == before


@pytest.mark.parametrize("changes", [{}, {"battery.capacity": "90 Ah"}])
def test_where_nothing_differs_nothing_is_written(folder, page, changes):
    before = contents(folder.parent)
    with pytest.raises(OutputError, match="Nothing differs"):
        page.ask("save", changes, into="files")
    assert contents(folder.parent) == before


@pytest.mark.parametrize("into", [None, "", "../elsewhere", "/tmp/elsewhere", ["files"]])
def test_no_place_on_disk_comes_from_the_page(folder, page, into):
    before = contents(folder.parent)
    with pytest.raises(InputError, match="this page: asked to save into no place"):
        page.ask("save", CHANGES, into=into)
    assert contents(folder.parent) == before


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written_is_told(folder, page):
    folder.chmod(0o555)
    try:
        with pytest.raises(OutputError):
            page.ask("save", CHANGES, into="files")
    finally:
        folder.chmod(0o755)
    assert (folder / "boat.toml").read_text("utf-8") == BOAT


def test_a_mark_of_utf8_and_windows_line_ends_stay(folder):
    raw = b"\xef\xbb\xbf" + BOAT.replace("\n", "\r\n").encode("utf-8")
    (folder / "boat.toml").write_bytes(raw)
    Page(session_of(folder)).ask("save", {"battery.capacity": "200 Ah"}, into="files")
    now = (folder / "boat.toml").read_bytes()
    assert now.startswith(b"\xef\xbb\xbf")
    assert now.count(b"\r\n") == raw.count(b"\r\n")
    assert load_folder(folder).boat.battery.capacity_Ah == 200.0


@pytest.mark.parametrize("encoding", ["utf-16", "cp1252", "utf-8-sig"])
def test_a_list_of_a_spreadsheet_keeps_its_encoding_separator_and_commas(folder, encoding):
    text = (
        "sep=;\r\nload;draw;on;note\r\nlaptop;38,5 W;2,5 h/day;über Nacht aus\r\nais;3 W;100 %;\r\n"
    )
    (folder / "loads.csv").write_bytes(text.encode(encoding))
    page = Page(session_of(folder))
    assert page.fields()["loads.laptop.draw"]["text"] == "38.5 W"
    page.ask("save", {"loads.laptop.draw": "40.5 W", "loads.ais.draw": "2.25 W"}, into="files")
    raw = (folder / "loads.csv").read_bytes()
    assert raw.decode(encoding) == text.replace("38,5 W", "40,5 W").replace(
        "aus", "aus (was draw 38,5 W)"
    ).replace("3 W;100 %;", "2,25 W;100 %;(was draw 3 W)")
    assert [load.draw_W for load in load_folder(folder).loads] == [40.5, 2.25]


def test_a_sign_that_the_encoding_of_the_file_has_not_is_refused(folder):
    raw = "load;draw;note\r\nlaptop;38,5 W;über Nacht aus\r\n".encode("cp1252")
    (folder / "loads.csv").write_bytes(raw)
    page = Page(session_of(folder))
    with pytest.raises(InputError, match=r"encoding of Windows \(cp1252\), which has no 'ź'"):
        page.ask("save", {"loads.laptop.note": "późno"}, into="files")
    assert (folder / "loads.csv").read_bytes() == raw
