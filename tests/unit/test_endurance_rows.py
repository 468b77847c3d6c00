"""What endurance found, as rows for report and card."""

import pytest
from hand_worked import passage_of, waypoints_of, with_panels, without_engine

import powersim
from powersim.planning.endurance import endurance
from powersim.records import Load
from powersim.report.endurance_rows import endurance_rows


@pytest.fixture(scope="module")
def result():
    loads = (
        Load(name="vhf", draw_A=0.5, role="vhf"),
        Load(name="music", draw_A=1.0, priority="comfort"),
        Load(name="pilot", draw_A=4.0, priority="essential", role="pilot"),
    )
    passage = passage_of(boat=with_panels(), loads=loads, waypoints=waypoints_of(days=9))
    return powersim.simulate(passage, step_h=1.0)


def test_every_line_of_the_table_is_told(result):
    found, rows = endurance(result), endurance_rows(result)
    assert rows.load_sets == ("all loads", "without comfort", "essential only")
    told = {
        (row.loss, loads): lasts
        for row in rows.losses
        for loads, lasts in zip(rows.load_sets, row.lasts, strict=True)
    }
    assert len(told) == len(found.lines)
    for line in found.lines:
        to_floor, to_flat = told[line.loss, line.loads]
        for days, words in ((line.days_to_floor, to_floor), (line.days_to_flat, to_flat)):
            if days == float("inf"):
                assert words == "landfall"
            else:
                none = "at once" if line.at_once else "already"
                hours = days < 2.0
                shown = (
                    f"{24 * days:.0f} h" if hours else f"{days:.{1 if days < 9.95 else 0}f} days"
                )
                assert words == (none if days == 0 else shown)
    assert rows.notes == found.notes


def test_what_leaving_off_gains_without_what_is_never_left_off(result):
    rows = endurance_rows(result)
    assert [gain[0] for gain in rows.gains] == ["pilot", "music"]
    assert set(rows.order) == {"pilot", "music", "vhf"}


def test_the_diesel(result):
    rows = endurance_rows(result)
    by_name = {name: cells for name, *cells in rows.fuel}
    assert by_name["can be burnt"] == ["58.0 L", "58.0 L"]
    assert len(rows.fuel_told) == 2
    alone = powersim.simulate(passage_of(boat=without_engine()), step_h=1.0)
    assert endurance_rows(alone).fuel == ()
