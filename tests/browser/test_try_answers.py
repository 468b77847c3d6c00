"""The page of `try` in a real browser answers as `simulate` does of files changed by hand.

Needs Chromium and its driver (Debian: apt install chromium chromium-driver) and selenium; without
them these tests are skipped.
"""

import csv
import json
import math
import re
import statistics
import sys

import driven
import pytest
import tried
from page_client import Served

from powersim.cli.main import run
from powersim.inputs.starter import demo_files

pytestmark = driven.NEEDED
FEW = ("--members", str(tried.MEMBERS), "--step", "60 min", "--no-figures")


@pytest.fixture(autouse=True)
def without_faults(page):
    """Nothing on the console and nothing forbidden, in any of these tests."""
    yield
    assert page.faults() == []


@pytest.fixture
def opened(page, served):
    """Its page, with nothing changed."""
    page.afresh(served.address)
    return page


class Simulated:
    """What `simulate` says of files and writes."""

    def __init__(self, folder, capsys, *options):
        self.code = run(["simulate", str(folder), *options])
        self.said = " ".join(capsys.readouterr().out.split())
        results = folder / "results"
        self.summary = json.loads((results / "summary.json").read_text("utf-8"))
        with (results / "members.csv").open(encoding="utf-8") as file:
            self.members = list(csv.DictReader(file))

    def column(self, name):
        return [float(row[name]) for row in self.members]


@pytest.fixture(scope="module")
def as_files_say(tmp_path_factory):
    """A copy of the passage that no page has seen."""
    return tried.folder_in(tmp_path_factory.mktemp("files") / "four days")


def agrees(page, simulated):
    """Verdict and figures on the page are those that `simulate` prints and writes."""
    verdict, members = simulated.summary["verdict"], len(simulated.members)
    word, short, why = (page.text(f"#{name}") for name in ("word", "short", "why"))
    assert word == ("HOLDS" if simulated.code == 0 else "FAILS")
    sentence = f"{short.removesuffix('.')}: {why[:1].lower()}{why[1:].removesuffix('.')}"
    assert f"{word} {sentence.removesuffix(': ')}" in simulated.said
    assert page.driver.title.startswith(f"{word}: ")
    for name in ("fails", "floor", "dark", "reserve"):
        frac = verdict[name]["frac"]
        told = f"{100.0 * frac:.1f} % ({round(frac * members)} of {members})"
        assert page.measure(name)[0] == told
    lowest, left = (simulated.summary["ensemble"][name] for name in ("lowest_soc", "fuel_left_L"))
    assert page.measure("lowest")[0] == (
        f"{100.0 * lowest['mean']:.0f} % (1 in 10 below {100.0 * lowest['p10']:.0f} %)"
    )
    assert page.measure("left")[0] == (
        f"{litres(left['mean'])} (1 in 10 below {litres(left['p10'])})"
    )


def litres(value):
    return f"{value:.1f} L" if value < 100 else f"{value:.0f} L"


def test_the_first_answer_is_that_of_simulate(opened, as_files_say, capsys):
    page = opened
    agrees(page, Simulated(as_files_say, capsys, *FEW))
    assert page.text("#name") == "Four days south"
    from_elsewhere = page.value(
        "performance.getEntriesByType('resource').map(each => each.name)"
        ".filter(each => !each.startsWith(location.origin + '/'))"
    )
    assert from_elsewhere == []
    assert page.measure("left")[1] == ""
    assert page.there("#picture svg .median")
    assert not page.there("#picture svg .quiet-median")


def differs_L(more_L):
    """How the page begins to tell of differences in litres, passage by passage.

    The mean, where its interval of 95 % leaves out 0. Student's t of 11 degrees of freedom is 2.201
    there (any table of it).
    """
    assert len(more_L) == 12
    mean_L = statistics.mean(more_L)
    if abs(mean_L) <= 2.201 * statistics.stdev(more_L) / math.sqrt(12):
        return "no difference that 12 passages can show"
    return f"{abs(mean_L):.1f} L {'more' if mean_L > 0 else 'less'} ("


def another_panel(page):
    """One that she has not got yet, from the button on."""
    page.press("Add a panel")
    page.type("power", "60 W")


#: What is done on the page, and the same typed into the files: (file, what stands there, instead).
CHANGES = {
    "the laptop left off": (
        lambda page: page.tick("loads.laptop"),
        ("loads.csv", "laptop,32 W,3 h/day", "laptop,0 W,3 h/day"),
    ),
    "more panel": (
        lambda page: page.type("panel.arch.power", "150 W"),
        ("boat.toml", 'power = "50 W" ', 'power = "150 W" '),
    ),
    "another panel": (
        another_panel,
        ("boat.toml", "[alternator]", '[[panel]]\nname = "new"\npower = "60 W"\n\n[alternator]'),
    ),
    "a week later": (
        lambda page: page.field("passage.depart").send_keys(*["\ue013"] * 7),  # arrow up
        ("boat.toml", "2026-09-05", "2026-09-12"),
    ),
}


@pytest.mark.parametrize("change", CHANGES)
def test_a_change_comes_to_what_simulate_says_of_it(opened, as_files_say, tmp_path, capsys, change):
    page = opened
    act, (name, old, new) = CHANGES[change]
    first, files = page.verdict, Simulated(as_files_say, capsys, *FEW)
    page.answered(lambda: act(page))
    copy = tried.folder_in(tmp_path / "copy")
    text = (copy / name).read_text("utf-8")
    assert text.count(old) == 1
    (copy / name).write_text(text.replace(old, new), encoding="utf-8")
    simulated = Simulated(copy, capsys, *FEW)
    agrees(page, simulated)
    pairs = zip(simulated.column("fuel_left_L"), files.column("fuel_left_L"), strict=True)
    assert page.measure("left")[1].startswith(differs_L([now - then for now, then in pairs]))
    assert page.there("#picture svg .quiet-median")
    assert page.value("document.querySelectorAll('#changed-list li').length") == 1
    page.answered(lambda: page.press("Undo all"))
    assert page.verdict == first
    assert not page.there("#changed-list")


def test_what_is_slow_fills_in_afterwards(opened):
    page = opened
    page.until("return document.querySelectorAll('#costs tr[data-load]').length === 4")
    page.until("return document.getElementById('slow-working').textContent === ''")
    assert page.text("#days tbody tr:last-child th") == "from the worst moment, until flat"
    assert page.text('#costs tr[data-load="laptop"] td') not in ("", "nothing")


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C is sent as a POSIX system does")
def test_the_demo_from_the_terminal_to_the_page(page, tmp_path, capsys):
    """As a sailor does it, with all members and steps, until the program behind it is ended."""
    laptop = "\nnavigation laptop,32 W,,{},"
    for folder, count in (("demo", 1), ("copy", 0)):
        (tmp_path / folder).mkdir()
        for name, text in demo_files().items():
            text = text.replace(laptop.format(1), laptop.format(count))
            (tmp_path / folder / name).write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "powersim", "try", str(tmp_path / "demo"), "--no-browser"]
    program = Served(command, None, cwd=tmp_path)
    try:
        page.open(program.address)
        page.answered(lambda: page.tick("loads.navigation laptop"))
        agrees(page, Simulated(tmp_path / "copy", capsys, "--no-figures"))
        assert program.stopped() == (130, "powersim: stopped\n")
    finally:
        program.kill()
    page.driver.execute_script("window.dispatchEvent(new Event('focus'))")
    page.until("return document.querySelector('[data-notice=ended]') !== null")
    assert "powersim try" in page.text("[data-notice=ended]")
    page.driver.get("about:blank")
    # The browser itself says that nobody answers, or no longer: a question may be on its way.
    nobody = re.compile("net::ERR_(CONNECTION_REFUSED|CONNECTION_RESET|EMPTY_RESPONSE)")
    assert all(nobody.search(one) for one in page.faults())
