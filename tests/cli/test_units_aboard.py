"""A boat in US gallons, inches, km and degF: no command prints a litre, and none a bare gallon."""

import io
import json
import re
from contextlib import redirect_stderr, redirect_stdout
from html import unescape

import pytest
from logged import NOW, write_logged

from powersim.api import load, simulate
from powersim.cli.main import COMMANDS, run
from powersim.records.units_aboard import printed_in
from powersim.report import figures
from powersim.report.figures import PLOTS
from powersim.tryout.session import Session

UNITS = "US gallons, inches, km, degF"
QUICK = ("--step", "60 min", "--members", "20")
#: How each command is called; FOLDER stands for the passage, another word for an option's value.
WALKED = {
    "check": ("FOLDER",),
    "budget": ("FOLDER",),
    "simulate": ("FOLDER", *QUICK, "--force", "--no-figures"),
    "endurance": ("FOLDER", *QUICK),
    "ladder": ("FOLDER", *QUICK),
    "plan": ("FOLDER", *QUICK, "--force"),
    "paper": ("FOLDER", *QUICK, "--force"),
    "compare": ("FOLDER", *QUICK, "--set", "fuel.reserve=60 L", "--jobs", "1", "--no-figures"),
    "size": ("FOLDER", *QUICK, "--battery", "200:300:100Ah", "--jobs", "1", "--no-figures"),
    "sounding": ("FOLDER", "9 1/4in"),
    "sounding --table": ("FOLDER", "--table"),
    "sounding over the brim": ("FOLDER", "99in"),
    "underway": ("FOLDER", *QUICK, "--now", NOW),
    "report": ("FOLDER", *QUICK, "--force"),
}
#: They say nothing of a passage of the sailor's: starters, the demo's own files, a page's address.
#: What the page says is asked below.
ELSEWHERE = {"demo", "new", "try", "sheet"}
METRIC = re.compile(
    r"(?<![\w/])L(?![\w'])|[Ll]itre|\bcm\b|\bnm\b|°C|(?<!US )(?<!imp )\bgal(lon)?s?\b"
)
#: What stays as it is, and why.
ALLOWED = (
    re.compile(r"fuel\.reserve 60 L|\(was 25 L\)"),  # a value as it was typed
    re.compile(r"(US|[Ii]mperial)\s+gallons?"),  # its own name, on one line or two
)
#: Coefficients and differences are those of labels and data sheets, by the degree Celsius.
DEGREES = re.compile(
    r"-?[\d.]+ (mV|%)/degC|from 25\s+degC|3\s+degC\s+above\s+the\s+air|plus\s+3\s+degC"
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = write_logged(tmp_path_factory.mktemp("aboard") / "passage")
    boat = folder / "boat.toml"
    text = boat.read_text(encoding="utf-8")
    boat.write_text(text.replace("[passage]", f'[passage]\nunits = "{UNITS}"'), encoding="utf-8")
    return folder


def told(name, folder):
    """Code and all that a command prints."""
    out, err = io.StringIO(), io.StringIO()
    words = [str(folder) if word == "FOLDER" else word for word in WALKED[name]]
    with redirect_stdout(out), redirect_stderr(err):
        code = run([name.split()[0], *words])
    return code, out.getvalue() + err.getvalue()


def metric_in(text):
    """Lines that speak of what is not aboard."""
    for allowed in (*ALLOWED, DEGREES):
        text = allowed.sub("", text)
    return [line for line in text.splitlines() if METRIC.search(line) or "degC" in line]


def test_every_command_is_walked():
    assert {name.split()[0] for name in WALKED} | ELSEWHERE == set(COMMANDS)


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=pytest.mark.slow) if name in ("plan", "paper", "report") else name
        for name in WALKED
    ],
)
def test_no_command_prints_what_is_not_aboard(name, folder, undrawn):
    code, text = told(name, folder)
    assert code == (2 if "brim" in name else code if code == 1 else 0)
    assert metric_in(text) == []
    if name not in ("budget", "ladder", "report"):
        assert re.search(r"\d (US gal|in)\b", text)
    lines = text.replace(str(folder), "passage").splitlines()
    assert name == "sounding over the brim" or max(map(len, lines)) <= 80
    if name == "report":
        look_at_page(folder)


@pytest.mark.parametrize("name", ["underway"])
def test_the_longest_unit_has_room_too(name, folder):
    boat = folder / "boat.toml"
    text = boat.read_text(encoding="utf-8")
    boat.write_text(text.replace("US gallons", "imperial gallons"), encoding="utf-8")
    try:
        _, said = told(name, folder)
    finally:
        boat.write_text(text, encoding="utf-8")
    assert metric_in(said) == []
    assert re.search(r"\d imp gal\b", said)
    assert max(map(len, said.splitlines())) <= 80


def look_at_page(folder):
    page = (folder / "results" / "report.html").read_text(encoding="utf-8")
    page = re.sub(r"<(style|script).*?</\1>", "", page, flags=re.DOTALL)
    words = unescape(re.sub(r"<[^>]+>", "\n", page)).replace("\u00a0", " ")
    assert metric_in(words) == []
    assert "The dip stick in US gallons" in words


def test_the_page_that_answers_and_its_card_print_what_is_aboard(folder, monkeypatch):
    monkeypatch.setattr(figures, "page_pictures", lambda pages: [b""] * len(pages))  # its words do
    session = Session(folder, members=12, step_h=1.0)
    asked = {"changes": [{"place": "fuel.reserve", "value": "12 US gal"}]}
    answers = [
        session.answer(asked | {"number": 1}),
        session.days(asked | {"number": 2}),
        session.cost(asked | {"number": 3, "load": "navigation laptop"}),
        session.card(asked),
    ]
    words = json.dumps(answers, ensure_ascii=False).replace("\\n", "\n").replace("\u00a0", " ")
    beside = r'<[^>]+>|"png": "[^"]*"|"litres":'  # marks, pictures, a key
    assert metric_in(re.sub(beside, "\n", words)) == []
    assert "diesel, US gal" in words  # on the card
    assert "stick, in" in words


def test_what_is_for_a_program_stays_in_litres(folder):
    """Keys name their units, so that no script has to ask which units are aboard."""
    plain = write_plainly(folder)
    for files in ("summary.json", "members.csv", "engine.csv"):
        numbers = [
            re.findall(r"(?<![\w.])-?\d+\.?\d*", without_words(one / "results" / files))
            for one in (folder, plain)
        ]
        assert numbers[0] == numbers[1], files


def without_words(path):
    """A file's numbers; sentences are printed, and so in the units aboard."""
    text = path.read_text(encoding="utf-8")
    return re.sub(r'"(warnings|text|advice|told)": .*', "", text)


def write_plainly(folder):
    plain = write_logged(folder.parent / "plain")
    for one in (folder, plain):
        with redirect_stdout(io.StringIO()):
            run(["simulate", str(one), *QUICK, "--force", "--no-figures"])
    return plain


def test_no_axis_of_a_picture_is_without_its_unit(folder):
    """Each axis with numbers along it names a unit in brackets; dates and places are none."""
    result = simulate(load(folder), step_h=1.0, members=12)
    for name, plot in PLOTS.items():
        with printed_in(result.passage.units):
            figure = plot(result).figure
        heads = [
            label.get_text()
            for ax in figure.axes
            for label in (ax.xaxis.label, ax.yaxis.label)
            if label.get_visible() and label.get_text()
        ]
        assert not any(METRIC.search(head) for head in heads), (name, heads)
        for head in heads:
            assert "[" in head or re.search(r"date|latitude|longitude", head), (name, head)
    fuel = result.plot_fuel()  # a notebook's picture is in them too
    assert fuel.get_ylabel() == "diesel that can be burnt [US gal]"
