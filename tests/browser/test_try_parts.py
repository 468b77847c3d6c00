"""The parts of the page of `powersim try` that reckon: steps, what is changed, when it is asked.

They are modules, so they are fetched from the server as the page fetches them; no boat is asked.
"""

import json

import pytest
from chromium import Chromium, found, missing

from powersim.tryout.assets_table import read_assets
from powersim.tryout.server import Server

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(missing() is not None, reason=str(missing())),
]
AMP_HOURS = {"by": 10, "least": 1, "most": 20000, "decimals": 0}
LITRES = {"by": 0.1, "least": 0.1, "most": 500, "decimals": 4}
HOURS = {"by": 0.5, "least": 0.5, "most": 24, "decimals": 1}


@pytest.fixture(scope="module")
def page():
    with Server({}, assets=read_assets()) as server, Chromium(found()) as browser:
        browser.driver.get(server.bare_address)
        yield browser


def run(page, module, names, body):
    """What a piece of script comes to that has names of a module."""
    return page.value(
        f"(async () => {{ const {{ {names} }} = await import('/{module}.js'); {body} }})()"
    )


@pytest.mark.parametrize(
    ("text", "step", "steps", "wanted"),
    [
        ("220 Ah", AMP_HOURS, 1, "230 Ah"),
        ("220 Ah", AMP_HOURS, -10, "120 Ah"),
        ("6Ah", AMP_HOURS, -1, "1Ah"),  # no less than the least
        ("19995 Ah", AMP_HOURS, 1, "20000 Ah"),
        ("0.5131 L/h", LITRES, 1, "0.6131 L/h"),
        ("0.3 L/h", LITRES, -1, "0.2 L/h"),  # and not 0.19999999999999998
        (" 2 h", HOURS, 1, "2.5 h"),
        (".5 h", HOURS, 1, "1 h"),
        ("2026-12-30 09:00", {"days": 1}, 2, "2027-01-01 09:00"),
        ("2028-02-28", {"days": 1}, 1, "2028-02-29"),
        ("2026-03-01 09:00 UTC", {"days": 1}, -10, "2026-02-19 09:00 UTC"),
        ("never", AMP_HOURS, 1, None),
        ("soon", {"days": 1}, 1, None),
    ],
)
def test_a_step_keeps_the_unit_and_the_ends(page, text, step, steps, wanted):
    asked = f"return stepped({json.dumps(text)}, {json.dumps(step)}, {steps});"
    assert run(page, "stepping", "stepped", asked) == wanted


def test_what_is_left_off_takes_no_values_until_it_is_back(page):
    found = run(
        page,
        "changes",
        "Changes",
        """
        sessionStorage.clear();
        const changes = new Changes();
        changes.of("/boat", []);
        changes.set("loads.laptop.draw", "40 W");
        changes.set("loads.laptop 2.draw", "5 W");
        changes.set("loads.laptop", null);
        const off = changes.list();
        changes.undo("loads.laptop");
        return [off, changes.list()];
        """,
    )
    draw, other = (
        {"place": "loads.laptop.draw", "value": "40 W"},
        {"place": "loads.laptop 2.draw", "value": "5 W"},
    )
    assert found == [[other, {"place": "loads.laptop", "value": None}], [draw, other]]


def test_changes_are_there_after_a_reload_and_belong_to_one_folder(page):
    found = run(
        page,
        "changes",
        "Changes",
        """
        sessionStorage.clear();
        const asked = [{ place: "passage.depart", value: "2026-09-12" }];
        const first = new Changes();
        first.of("/boat", asked);
        const begun = first.list();
        first.undo("passage.depart");
        first.set("battery.capacity", "300 Ah");
        const again = new Changes();
        again.of("/boat", asked);
        const other = new Changes();
        other.of("/other boat", []);
        return [begun, again.list(), other.list()];
        """,
    )
    assert found == [
        [{"place": "passage.depart", "value": "2026-09-12"}],
        [{"place": "battery.capacity", "value": "300 Ah"}],
        [],
    ]


def test_ticks_ask_at_once_steps_wait_for_the_answer_and_typing_for_the_hand(page):
    """Each answer takes 100 ms here. Ten steps meanwhile ask once more, and not ten times."""
    found = run(
        page,
        "pace",
        "Pace",
        """
        const begun = [];
        const rest = (ms) => new Promise((done) => setTimeout(done, ms));
        const pace = new Pace(async (number) => { begun.push(number); await rest(100); });
        const count = async (how, times, ms) => {
          begun.length = 0;
          for (let at = 0; at < times; at += 1) pace.begin(how);
          const first = begun.length;
          await rest(ms);
          return [first, begun.length];
        };
        const steps = await count("stepped", 10, 350);
        const ticks = await count("at once", 3, 250);
        const typed = await count("typed", 10, 450);
        return [steps, ticks, typed, begun.every((each) => each > 1_700_000_000_000)];
        """,
    )
    assert found == [[1, 2], [3, 3], [0, 1], True]


def test_a_held_number_keeps_its_unit_on_the_line(page):
    held = run(page, "made", "held", 'return held("your risk is 5 % and 2 h, of 200 passages");')
    assert held == "your risk is 5\u00a0% and 2\u00a0h, of 200 passages"
