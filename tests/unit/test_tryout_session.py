"""What the page is told as values are moved: what `simulate` says of the same passage."""

import base64
import threading
import time
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from tried import BOAT, LOADS, MEMBERS, Page, STEP_h, folder_in, listed, session_of

from powersim import api
from powersim.errors import InputError
from powersim.inputs.folder import load_folder
from powersim.planning.days_left import days_left
from powersim.planning.measures import MEASURES, measure_of, measured
from powersim.report.days_left_text import days_left_told
from powersim.report.differences_told import difference_told, measure_told
from powersim.report.fan_svg import fan_svg
from powersim.report.figure_fan import fan_figure
from powersim.report.files import answer
from powersim.report.simulated import simulated_text
from powersim.report.verdict_view import verdict_view, word_of
from powersim.tryout import session
from powersim.tryout.changes import values_of
from powersim.tryout.superseded import Superseded


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    """A page whose folder nobody writes to."""
    return Page(session_of(folder_in(tmp_path_factory.mktemp("tried") / "passage")))


@pytest.fixture
def own(tmp_path):
    """A folder of the test's own."""
    return folder_in(tmp_path / "passage")


def simulated(folder, values=None):
    """The passage as `simulate` has it, worked out from nothing; each once for all tests."""
    values = values or {}
    passage = load_folder(folder, values=values)
    return worked_out(replace(passage, values=tuple(map(repr, values.items()))))


@cache
def worked_out(passage):
    ready = api.prepare(passage, step_h=STEP_h, members=MEMBERS)
    return replace(ready.simulate(), forcing=ready.forcing)


CHANGES = {
    "nothing": {},
    "a load left off": {"loads.laptop": None},
    "a load's draw": {"loads.tiller pilot.draw": "3 A"},
    "a larger bank": {"battery.capacity": "200 Ah"},
    "the rule": {"charging.start": "65 %", "charging.run": "2 h"},
    "the readings": {"charging.read_at": "05:00, 13:00, 21:00"},
    "a panel": {'panel."rail no. 2".power': "120 W"},
    "a week later": {"passage.depart": "2026-09-12 09:00"},
}


@pytest.mark.parametrize("changes", CHANGES.values(), ids=CHANGES)
def test_it_says_what_simulate_says(page, changes):
    told = page.ask("answer", changes)
    result = simulated(page.session.folder, values_of(listed(changes)))
    summary = answer(result)
    verdict = verdict_view(summary, weeks=result.ensemble.weeks)
    assert told["verdict"]["word"] == word_of(summary["holds"])
    assert told["verdict"]["holds"] is summary["holds"]
    assert told["verdict"]["sentence"] == str(verdict.why)
    by_measure = measured(result.ensemble, result.passage.boat)
    assert [(one["id"], one["told"]) for one in told["measures"]] == [
        (name, measure_told(measure_of(name), values)) for name, values in by_measure.items()
    ]
    own = fan_figure(simulated(page.session.folder)) if changes else None
    assert told["picture"] == str(fan_svg(fan_figure(result), files=own))
    assert told["changed"] == [
        {"place": one.place, "told": one.told} for one in result.passage.changed
    ]


def test_differences_are_those_of_the_same_members(page):
    changes = {"battery.capacity": "200 Ah", "loads.laptop.on": "1 h/day"}
    before, after = (simulated(page.session.folder, values) for values in ({}, changes))
    boat = before.passage.boat
    then, now = (measured(one.ensemble, boat) for one in (before, after))
    told = {one["id"]: one["difference"] for one in page.ask("answer", changes)["measures"]}
    assert told == {
        one.id: difference_told(one, one.difference(then[one.id], now[one.id])) for one in MEASURES
    }
    litres = float(np.mean(now["burnt"] - then["burnt"]))
    assert told["burnt"].startswith(f"{abs(litres):.1f} L {'more' if litres > 0 else 'less'}")


def test_the_verdict_stands_as_the_command_prints_it(page):
    """Line breaks aside."""
    text = " ".join(simulated_text(simulated(page.session.folder)).split())
    verdict = page.ask("answer")["verdict"]
    assert f"{verdict['word']} {verdict['sentence']}" in text


def test_what_to_do_next_is_said_where_it_fails(page):
    changes = {"battery.capacity": "40 Ah", "charging.by_engine": "false"}
    told = page.ask("answer", changes)["verdict"]
    result = simulated(page.session.folder, values_of(listed(changes)))
    text = " ".join(simulated_text(result).split())
    assert told["word"] == "FAILS"
    assert told["next"].partition("'powersim")[0] in text
    holds = page.ask("answer", {"fuel.tank": "200 L", "battery.capacity": "400 Ah"})["verdict"]
    assert (holds["word"], holds["next"]) == ("HOLDS", None)


def test_without_a_change_there_is_no_difference(page):
    assert {one["difference"] for one in page.ask("answer")["measures"]} == {""}


def test_the_labels_have_the_boats_own_fuel(page):
    labels = {one["id"]: one["label"] for one in page.ask("answer")["measures"]}
    assert labels["left"] == "diesel left at landfall"


@pytest.mark.parametrize(
    ("place", "value", "text", "expected"),
    [
        (
            "battery.capacity", "30",
            "battery.capacity: '30' has no unit",
            "charge at the 20-hour rate, for example 220 Ah",
        ),
        (
            "battery.capacity", "3,5 Ah",
            "battery.capacity: '3,5 Ah' has a comma in its number; write a decimal point, as in "
            "45.5, and nothing between thousands",
            "charge at the 20-hour rate, for example 220 Ah",
        ),
        (
            "battery.capacity", "",
            "battery.capacity: is empty",
            "charge at the 20-hour rate, for example 220 Ah",
        ),
        (
            "battery.capacity", None,
            "battery.capacity: no capacity",
            "capacity: charge at the 20-hour rate, for example 220 Ah",
        ),
        (
            "panel.arch.power", None,
            "panel.arch.power: no power",
            "power: the label's power of one panel, for example 100 W",
        ),
        (
            "loads.laptop.draw", None,
            "loads.laptop.draw: is empty",
            "power or current while on, for example 36 W or 3 A",
        ),
        (
            "loads.laptop.draw", "32",
            "loads.laptop.draw: '32' has no unit",
            "power or current while on, for example 36 W or 3 A",
        ),
        (
            "loads.laptop.on", "25 h/day",
            "loads.laptop.on: '25 h/day' is more than a day",
            "a share of the time, for example 5 %, 2 h/day or 12 min/day",
        ),
        (
            "passage.depart", "2026-13-05",
            "passage.depart: there is no '2026-13-05' in the calendar or on the clock",
            "a date and time in UTC, for example 2026-09-05 09:00",
        ),
    ],
)  # fmt: skip
def test_a_slip_is_told_beside_its_field_and_the_last_good_answer_stays(
    page, place, value, text, expected
):
    good = page.ask("answer", {"battery.floor": "45 %"})
    with pytest.raises(InputError) as caught:
        page.ask("answer", {"battery.floor": "45 %", place: value})
    (problem,) = caught.value.problems
    assert (problem.place, problem.text, problem.expected) == (place, text, expected)
    again = page.ask("answer", {"battery.floor": "45 %"})
    assert again | {"number": 0} == good | {"number": 0}


def test_a_value_that_another_one_rules_out_is_told_where_that_stands(page):
    """The start stands in the file, and is no longer below the stop that was typed."""
    with pytest.raises(InputError) as caught:
        page.ask("answer", {"charging.stop": "70 %", "charging.run": None})
    assert {one.place for one in caught.value.problems} == {"charging.start"}


@pytest.mark.parametrize(
    "changes",
    [
        {},
        None,
        "battery.capacity",
        [1],
        [{"place": "battery.capacity"}],
        [{"value": "300 Ah"}],
        [{"place": 3, "value": "300 Ah"}],
        [{"place": "battery.capacity", "value": ["300 Ah"]}],
        [{"place": "panel.new", "value": {"power": {"x": "50 W"}}}],
        [{"place": "x" * 5000, "value": "300 Ah"}],
        [{"place": "battery.capacity", "value": "x" * 5000}],
    ],
)
def test_changes_of_another_form_are_refused(page, changes):
    with pytest.raises(InputError, match="this page"):
        page.session.answer({"changes": changes, "number": page.number + 1})


@pytest.mark.parametrize("place", ["", ".", "nowhere", "battery", "../../etc/passwd", "loads.x.y"])
def test_a_place_that_there_is_not_is_told(page, place):
    with pytest.raises(InputError) as caught:
        page.ask("answer", {place: "300 Ah"})
    assert [one.place for one in caught.value.problems] == [place]


def test_a_newer_question_breaks_off_the_one_at_work(page):
    """The older one is in the midst of its passages; what it had done so far is not kept."""
    page.ask("answer")  # so that there is something to keep, whichever tests came before
    asked, told = page.session, []
    kept = asked._now.trials.known
    first, changes = page.number + 1, listed({"loads.ais.draw": "4.5 W"})
    page.number += 2
    begun, turn = threading.Event(), asked._turns.turn

    def slow(number, *, page):
        found = turn(number, page=page)

        class Slow:
            def __enter__(self):
                go_on = found.__enter__()

                def waits(done_frac=0.0):
                    if number == first and done_frac > 0.0:  # among its members
                        begun.set()
                        while asked._turns._latest[""] == first:
                            time.sleep(0.001)
                    go_on(done_frac)

                return waits

            def __exit__(self, *error):
                return found.__exit__(*error)

        return Slow()

    def ask(number):
        try:
            told.append(asked.answer({"changes": changes, "number": number})["number"])
        except Superseded:
            told.append("broken off")

    asked._turns.turn = slow
    try:
        older = threading.Thread(target=ask, args=(first,))
        older.start()
        assert begun.wait(30)
        asked.answer({"changes": [], "number": first + 1})
        older.join(60)
    finally:
        del asked._turns.turn
    assert told == ["broken off"]
    assert {id(one) for one in asked._now.trials.known} <= {id(one) for one in kept}


def test_boat_and_alive_wait_for_nothing(page):
    with page.session._turns.whole():
        assert page.session.questions["boat"]({})["ready"] in (True, False)
        assert page.session.questions["alive"]({})["state"]["changed_on_disk"] is False


@pytest.mark.parametrize("capacity", ["40 Ah", "60 Ah"])
def test_how_long_the_bank_lasts_is_told_as_simulate_tells_it(page, capacity):
    told = page.ask("days", {"battery.capacity": capacity})
    result = simulated(page.session.folder, {"battery.capacity": capacity})
    left = days_left(result, members=MEMBERS, seed=1)
    sentence = str(days_left_told(result, left.departure, left.worst))
    assert [one["told"] in sentence for one in told["rows"]] == [True] * 3
    assert told["moment"] in sentence
    assert "days shorter" in told["rows"][0]["difference"]


def test_what_a_load_costs_is_the_passage_without_it(page):
    changes = {"charging.start": "85 %"}
    told = page.ask("cost", changes, load="tiller pilot")
    with_it, without = (
        measured((one := simulated(page.session.folder, values)).ensemble, one.passage.boat)
        for values in (changes, changes | {"loads.tiller pilot": None})
    )
    for name, measure in (("litres", "burnt"), ("chance", "fails")):
        one = measure_of(measure)
        expected = difference_told(one, one.difference(without[measure], with_it[measure]))
        assert told[name] == expected
    assert told["litres"].endswith(")")
    assert page.ask("cost", changes, load="loads.tiller pilot")["litres"] == told["litres"]
    assert not told["stays_on"]
    off = page.ask("cost", changes | {"loads.ais.role": "lookout", "loads.ais": None}, load="ais")
    assert (off["litres"], off["chance"], off["stays_on"]) == ("", "", True)
    with pytest.raises(InputError, match="no such load"):
        page.ask("cost", changes, load="lapdog")


@pytest.mark.slow
def test_the_card_is_that_of_the_changed_passage(page):
    pages = page.ask("card", {"charging.start": "65 %"})["pages"]
    assert all(base64.b64decode(one["png"]).startswith(b"\x89PNG") for one in pages)
    assert (pages[0]["wide_mm"], pages[0]["high_mm"]) == (148.0, 210.0)
    assert "65 %" in pages[0]["words"]
    assert "Four days south" in pages[0]["words"]


@pytest.mark.slow
def test_the_card_warns_of_a_lookout_that_is_left_off(own):
    (own / "loads.csv").write_text("load,draw,role\nais,3 W,lookout\n", encoding="utf-8")
    page = Page(session_of(own))

    def first_page(changes):
        return " ".join(page.ask("card", changes)["pages"][0]["words"].split())

    assert "Ais, your lookout while you sleep, is left off; keep it on" in first_page(
        {"loads.ais": None}
    )
    assert "your lookout while you sleep" not in first_page({})


def test_files_that_were_changed_on_disk_are_told_and_read_again_when_asked_for(own):
    page = Page(session_of(own))
    before = page.ask("answer")
    assert before["state"] == {"changed_on_disk": False, "files": []}
    (own / "boat.toml").write_text(BOAT.replace('"90 Ah"', '"200 Ah"'), encoding="utf-8")
    state = {"changed_on_disk": True, "files": ["boat.toml"]}
    assert page.ask("alive")["state"] == state
    still = page.ask("answer", {"battery.capacity": "90 Ah"})
    assert still["state"] == state
    assert [one["told"] for one in still["measures"]] == [one["told"] for one in before["measures"]]
    again = page.ask("read_again")
    assert again["state"]["changed_on_disk"] is False
    after = page.ask("answer")
    summary = answer(simulated(own))
    assert after["verdict"]["sentence"] == str(verdict_view(summary).why)
    assert after["measures"] != before["measures"]


def test_a_folder_with_mistakes_is_mended_on_the_page(own):
    (own / "boat.toml").write_text(BOAT.replace('"90 Ah"', '"9O Ah"'), encoding="utf-8")
    page = Page(session_of(own))
    page.session.get_ready()
    with pytest.raises(InputError) as caught:
        page.ask("answer")
    assert [one.place for one in caught.value.problems] == ["battery.capacity"]
    mended = page.ask("answer", {"battery.capacity": "90 Ah"})
    folder_in(own)
    assert mended["verdict"]["sentence"] == str(verdict_view(answer(simulated(own))).why)
    assert {one["difference"] for one in mended["measures"]} == {""}


def test_a_departure_of_the_command_is_where_the_page_begins(own):
    (own / "boat.toml").write_text(
        BOAT.replace('depart = "2026-09-05 09:00"', "# later"), encoding="utf-8"
    )
    page = Page(session_of(own, depart="2026-09-12 09:00"))
    changes = page.ask("boat")["changes"]
    assert changes == [{"place": "passage.depart", "value": "2026-09-12 09:00"}]
    assert page.session.answer({"changes": changes, "number": 9})["verdict"]["word"]
    page.session.save({"changes": changes, "into": "files"})
    assert page.ask("boat")["changes"] == []
    assert page.fields()["passage.depart"]["text"] == "2026-09-12 09:00"


@pytest.mark.parametrize(
    ("changes", "place", "begins"),
    [
        (
            {"battery.capacity": "9 Ah"}, "battery.capacity",
            "battery.capacity: '9 Ah' is not the usual 40 Ah to 2000 Ah; look again:",
        ),
        ({"loads.ais": None}, None, "Ais, your lookout while you sleep, is left off; keep it on"),
        ({"loads.ais.on": "0 %"}, None, "Ais, your lookout while you sleep, is left off; keep"),
        (
            {"loads.ais.role": "", "loads.ais": None}, None,
            "Ais, your lookout while you sleep, is left off",
        ),
        ({"loads.lantern": None}, None, "No light that shines all night under sail: Rules 20(b)"),
        ({"battery.capacity": "20 Ah"}, None, "Already in average weather: the bank is flat and"),
        ({"battery.chemistry": "lifepo4"}, None, "The alternator is to give more than half of its"),
        ({"battery.chemistry": "lifepo4"}, None, "The floor goes with it to 20 %, from 50 %"),
        ({"battery.chemistry": "lifepo4"}, None, "Lithium needs its protection system"),
    ],
)  # fmt: skip
def test_it_warns_of_what_a_change_brings(own, changes, place, begins):
    """In the words of `check` and `simulate`, and of nothing that the files deserve themselves."""
    boat = BOAT.replace("[alternator]", '[alternator]\nnameplate = "75 A"').replace("45 A", "40 A")
    (own / "boat.toml").write_text(boat, encoding="utf-8")
    (own / "loads.csv").write_text(
        "load,draw,on,when,window,role,spread\n"
        "lantern,2.5 W,,sailing,night,sailing lights,\n"
        "steaming light,9 W,,motoring,night,power lights,\n"
        "ais,3 W,,any,,lookout,\n"
        "pilot,2 A,40 %,any,,pilot,20 %\n",
        encoding="utf-8",
    )
    page = Page(session_of(own))
    assert page.ask("answer")["warnings"] == []
    if "battery.chemistry" in changes:
        changes = changes | {"alternator.charging": "60 A"}
    found = page.ask("answer", changes)["warnings"]
    assert [one for one in found if one["place"] == place and one["text"].startswith(begins)]
    assert not [
        one for one in found if "its count is 0" in one["text"] or "so meant" in one["text"]
    ]


def test_a_default_that_hangs_on_what_was_changed_moves_with_it(page):
    """A bank of lithium has a lower floor, a smaller engine burns less; the reader says both."""
    moved = {
        one["place"]: one["default"]
        for one in page.ask("answer", {"battery.chemistry": "lifepo4", "engine.rated": "7 kW"})[
            "defaults"
        ]
    }
    fields = page.fields()
    assert (fields["battery.floor"]["default"], moved["battery.floor"]) == ("50 %", "20 %")
    assert moved["engine.motoring_burn"] == "1.05 L/h"
    assert "battery.at_departure" not in moved
    assert not {place for place in moved if fields[place]["given"]}
    assert page.ask("answer")["defaults"] == []


def test_what_was_answered_of_late_is_kept_and_no_more_of_it(page, monkeypatch):
    monkeypatch.setattr(session, "_MOST_KEPT", 3)
    now = page.session._now
    for charge in ("71 %", "72 %", "73 %", "74 %", "71 %"):
        page.ask("answer", {"charging.start": charge})
    assert len(now._answers) == 3
    known = now.trials.known
    page.ask("answer", {"charging.start": "74 %"})
    assert now.trials.known == known


def test_light_and_a_plan_of_the_command_are_read_once_for_all_changes(own, tmp_path):
    light, plan = tmp_path / "light.csv", tmp_path / "plan.csv"
    hours = range(24)
    light.write_text(
        "time,ghi_W_m2\n" + "".join(f"2026-09-06 {hour:02}:00,80\n" for hour in hours),
        encoding="utf-8",
    )
    plan.write_text("start_utc,run_min\n2026-09-06 09:30,60\n", encoding="utf-8")
    sources = {"irradiance": light, "engine_plan": plan}
    page = Page(session_of(own, **sources))
    changes = {"battery.capacity": "60 Ah"}
    told = [page.ask("answer"), page.ask("answer", changes)]
    for asked, values in zip(told, ({}, changes), strict=True):
        passage = load_folder(own, values=values, **sources)
        ready = api.prepare(passage, step_h=STEP_h, members=MEMBERS)
        assert asked["verdict"]["sentence"] == str(verdict_view(answer(ready.simulate())).why)
    plain = Page(session_of(own)).ask("answer", changes)
    assert plain["measures"] != told[1]["measures"]
    light.write_text("time,ghi_W_m2\n2026-09-06 00:00,80\n", encoding="utf-8")
    assert page.ask("answer", {"battery.capacity": "61 Ah"})["state"]["files"] == ["light.csv"]
    light.unlink()
    page.ask("answer", {"battery.capacity": "62 Ah"})  # it was read, and is not asked for again


def test_what_is_got_ready_is_there_when_the_page_asks(own, monkeypatch):
    page = Page(session_of(own))
    assert page.ask("boat")["ready"] is False
    page.session.get_ready()
    assert page.ask("boat")["ready"] is True
    monkeypatch.setattr(session, "answer_of", None)
    assert page.ask("answer")["verdict"]["word"]


def test_fewer_than_two_passages_show_no_difference(own):
    with pytest.raises(ValueError, match="members must be 2 or more"):
        session_of(own, members=1)


def test_a_boat_without_an_engine_has_nothing_to_say_of_fuel(own):
    cut = BOAT[: BOAT.index("[alternator]")] + BOAT[BOAT.index("[[supply]]") :]
    (own / "boat.toml").write_text(cut, encoding="utf-8")
    (own / "loads.csv").write_text(LOADS, encoding="utf-8")
    route = (own / "route.csv").read_text("utf-8")
    (own / "route.csv").write_text(
        route.replace("2 h at start; ", "").replace("20 % of calms", ""), encoding="utf-8"
    )
    page = Page(session_of(own))
    ids = [one["id"] for one in page.ask("answer", {"loads.laptop": None})["measures"]]
    assert ids == ["fails", "floor", "dark", "lowest"]
    assert page.ask("cost", {}, load="ais")["litres"] == ""
