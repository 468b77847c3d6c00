"""What a notebook asks: each function takes a passage, and its options mean what a command's do."""

import inspect
import json
from datetime import UTC, datetime, timedelta

import click
import pytest
from builders import boat_of, in_average, passage_of
from logged import NOW, write_logged

import powersim
from powersim.cli.main import powersim as command_line
from powersim.cli.main import run
from powersim.errors import InputError
from powersim.report.budget_text import budget_dict
from powersim.report.endurance_dict import endurance_dict
from powersim.report.underway_dict import underway_dict

#: Options that are `with_` of a passage in a notebook.
OF_WITH = {"set_values", "without"}
#: Options that go to `load`, and those that say where an answer goes and where it is worked out.
OF_LOAD = {"folder", "depart", "forecast", "irradiance", "or_climatology", "engine_plan"}
OF_SCREEN = {
    *("out", "no_figures", "figure_format", "as_json", "quiet", "force", "resume"),
    *("as_table", "into", "lines_file"),
}
#: What a function calls an option otherwise: for Python has lists of numbers.
RENAMED = {
    "battery": "batteries_Ah",
    "solar": "solars_W",
    "alternator": "alternators_A",
    "chemistry": "chemistries",
    "log_file": "log",
    "logger_file": "logger",
    "trial_file": "trial",
    "folders": "passages",
}
COMMANDS = (
    *("budget", "compare", "simulate", "endurance", "ladder", "plan", "size", "sounding"),
    "underway",
)


@pytest.fixture(scope="module")
def passage():
    return passage_of(days=3.0)


@pytest.fixture(scope="module")
def result(passage):
    return in_average(passage, step_h=1.0)


@pytest.fixture
def folder(tmp_path):
    """A short passage, as a command and a notebook both find it."""
    (tmp_path / "boat.toml").write_text(
        '[passage]\ndepart = "2026-09-05 09:00"\n'
        '[battery]\nchemistry = "agm"\ncapacity = "200 Ah"\n'
        '[[panel]]\nname = "arch"\npower = "100 W"\n[[controller]]\nrated = "20 A"\n'
        '[alternator]\ncharging = "45 A"\n[engine]\nrated = "12 kW"\n'
        '[fuel.tank]\nshape = "box"\nlength = "1 m"\nwidth = "50 cm"\nheight = "20 cm"\n',
        encoding="utf-8",
    )
    (tmp_path / "loads.csv").write_text("load,draw,on\npilot,2 A,40 %\n", encoding="utf-8")
    (tmp_path / "route.csv").write_text(
        "waypoint,position,speed\nA,40 N 30 W,5 kn\nB,36 N 30 W,\n", encoding="utf-8"
    )
    return tmp_path


def options_of(name):
    """The options of a command that a function of the same name can have, and their defaults."""
    command = command_line.get_command(None, name)
    context = click.Context(command)
    for each in command.params:
        names_a_line = name in ("endurance", "ladder") and each.name == "without"
        if each.name in OF_LOAD | OF_SCREEN | OF_WITH and not names_a_line:
            continue
        default = each.get_default(context)
        if default is not None and type(default).__name__ != "Sentinel":
            default = each.type_cast_value(context, default)
        yield RENAMED.get(each.name, each.name), default


@pytest.mark.parametrize("name", COMMANDS)
def test_a_function_has_the_options_of_its_command_and_their_defaults(name):
    has = inspect.signature(getattr(powersim, name)).parameters
    asked = dict(options_of(name))
    assert set(asked) <= set(has)
    for option, default in asked.items():
        if isinstance(default, int | float | str):
            assert has[option].default == default, option
        else:  # nothing given, or nothing listed
            assert has[option].default in (None, (), inspect.Parameter.empty), option


def test_the_options_are_found():
    """Else the test above would hold of nothing."""
    assert dict(options_of("plan")) == {
        "step_h": 0.25,
        "members": 300,
        "seed": 1,
        "risk_frac": 0.05,
    }
    assert set(dict(options_of("endurance"))) == {
        *("from_date", "without", "beyond", "step_h", "members", "seed")
    }


def test_endurance_takes_a_passage_what_is_prepared_of_it_and_its_result(passage, result):
    asked = (passage, powersim.prepare(passage, step_h=1.0), result)
    tables = [powersim.endurance(one, step_h=1.0, costs=False, members=1) for one in asked]
    lines = [[(line.loss, line.loads, line.days_to_flat) for line in t.lines] for t in tables]
    assert lines[0] == lines[1] == lines[2]
    assert lines[0]


def test_a_moment_is_said_as_after_from_or_as_a_date(passage, result):
    moment = passage.depart_utc + timedelta(hours=30)
    typed = moment.strftime("%Y-%m-%d %H:%M")
    tables = [
        powersim.endurance(result, costs=False, members=1, **where)
        for where in ({"from_date": typed}, {"from_date": moment}, {"from_h": 30.0})
    ]
    assert [table.from_h for table in tables] == [30.0, 30.0, 30.0]
    worst = [
        powersim.endurance(result, costs=False, members=1, **where)
        for where in ({"from_date": " Worst "}, {"from_h": "worst"})
    ]
    assert worst[0].from_h == worst[1].from_h == worst[0].worst.step
    with pytest.raises(InputError) as caught:
        powersim.endurance(passage, from_date="2027-01-01", step_h=1.0)
    assert str(caught.value) == (
        "from: '2027-01-01' is not within the passage\n"
        "  expected  a moment from 2026-09-05 09:00 to 2026-09-08 08:54 UTC, for example "
        "2026-09-05, or day 1 to day 4; or worst"
    )


def test_the_budget_of_a_chosen_day(passage):
    """At 30 W ship's time is two hours behind UTC, so that her day begins at 02:00 UTC."""
    found = powersim.budget(passage, dates=["2026-09-06"])
    (day,) = found.days
    assert day.start_utc_s == datetime(2026, 9, 6, 2, tzinfo=UTC).timestamp()
    # 1 A all day, by hand: 24 Ah.
    assert next(row.charge_Ah for row in day.rows if row.load == "instruments") == pytest.approx(
        24.0
    )


def test_what_is_no_passage_is_refused_in_words():
    for ask in (powersim.simulate, powersim.endurance, powersim.budget, powersim.plan):
        with pytest.raises(TypeError) as caught:
            ask("my-boat")
        assert str(caught.value) == (
            "expected a passage, as powersim.load('my-passage') gives it; got 'my-boat'"
        )


def test_a_dip_by_its_text_and_in_metres(folder):
    """A box of 1 m by 0.5 m; of the stick 1 cm may be wet above the level, half of it is taken off.

    10.5 cm on the stick is a level of 10 cm: 1 m * 0.5 m * 0.1 m = 0.05 m3, which is 50 L.
    """
    passage = powersim.load(folder)
    found = powersim.sounding(passage, "10.5 cm", cans="2 x 20 L")
    assert (found.tank_L, found.cans_L) == (pytest.approx(50.0), 40.0)
    assert powersim.sounding(passage, 0.105, cans="40 L") == found
    with pytest.raises(InputError) as caught:
        powersim.sounding(passage, 0.6)
    assert str(caught.value) == (
        "depth: '60 cm' is over the brim of a tank that is full at 20 cm\n"
        "  expected  a depth on the stick, 0 cm to 21 cm, the last 1 cm only wet, for example 10cm"
    )


def test_a_dip_of_a_boat_without_an_engine():
    with pytest.raises(InputError) as caught:
        powersim.sounding(passage_of(boat=boat_of(engine=None)), "10 cm")
    assert "there is no [fuel], so no tank to sound" in str(caught.value)


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        (["budget"], lambda passage: budget_dict(powersim.budget(passage), name=passage.name)),
        (
            ["endurance", "--step", "60 min", "--from", "worst", "--members", "1"],
            lambda passage: endurance_dict(
                powersim.endurance(passage, from_date="worst", step_h=1.0, members=1),
                in_average(passage, step_h=1.0),
            ),
        ),
    ],
    ids=lambda words: words[0] if isinstance(words, list) else "",
)
def test_a_command_prints_what_its_function_gives(folder, capsys, words, answer):
    assert run([*words, str(folder), "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert json.loads(json.dumps(answer(powersim.load(folder)))) == printed


def test_each_of_the_cheapest_sizes_has_a_rule_where_that_is_asked_for():
    passage = passage_of(days=1.0)
    quick = {"members": 20, "step_h": 1.0, "risk_frac": 0.9, "jobs": 1}
    sized = powersim.size(passage, **quick, replan=True)
    assert [rule.choice for rule in sized.rules] == [one.point.choice for one in sized.front]
    assert sized.rules[0].choice.battery_Ah == 220.0
    assert powersim.size(passage, **quick).rules == ()


def test_another_chemistry_is_read_from_the_files():
    with pytest.raises(ValueError, match="load the passage from a folder"):
        powersim.size(passage_of(), chemistries=["agm"], members=20)


def test_the_log_is_answered_as_the_command_answers_it(tmp_path, capsys):
    folder = write_logged(tmp_path / "passage")
    passage = powersim.load(folder)
    found = powersim.underway(passage, now=NOW, members=20, step_h=1.0, no_plan=True)
    words = ["underway", str(folder), "--now", NOW, "--members", "20", "--step", "60 min"]
    assert run([*words, "--no-plan", "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    answer = underway_dict(found.posterior, found.forecast, found.new_rule, found.sessions)
    assert json.loads(json.dumps(answer)).items() <= printed.items()
    assert found.new_rule is None
    assert len(found.log.readings) == 6
    shown = " ".join(repr(found).split())
    assert shown.startswith("Underway(log=CheckedLog(...), posterior=Posterior(...), ")


def test_a_log_is_named_where_there_is_no_folder():
    with pytest.raises(ValueError, match="not read from a folder; name its log"):
        powersim.underway(passage_of())


def test_the_names_are_listed_and_no_other_is_there():
    assert dir(powersim) == powersim.__all__
    assert all(hasattr(powersim, name) for name in powersim.__all__)
    assert not hasattr(powersim, "simluate")
