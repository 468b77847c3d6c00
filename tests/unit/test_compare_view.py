"""What `compare` says: a table that ranks hides neither that none holds nor what is chance."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from compared_made import DEPART, choice_of, compared_of, outcome_made

from powersim.errors import Problem
from powersim.report.compare_names import names_of, rows_told
from powersim.report.compare_view import MOST_ROWS, care, compare_sections
from powersim.report.screen_text import screen_text


def told(found, **how):
    text = screen_text(compare_sections(found, **how))
    assert max(map(len, text.splitlines())) <= 80
    return text


def flat(found):
    return " ".join(told(found).split())


def of_200(*failing, **given):
    return [outcome_made(members=200, failing=count, **given) for count in failing]


def test_all_of_it():
    """Against the first: ten more of 200 fail, 5 points by (10 +- 1.96 * sqrt(12 - 100/202))/202:
    1.7 to 8.2; litres are 3 more in each."""
    first, second = of_200(2, 12)
    litres = second.measured | {"burnt": second.measured["burnt"] + 3.0}
    second = replace(second, measured=litres, landfall_utc=DEPART + timedelta(days=38))
    text = told(compared_of(first, second))
    assert text.startswith(
        "a passage for tests: 2 choices, each in the same 200 simulated passages. 1 HOLDS\n"
        "(row 1), 1 FAILS; your risk is 5 %.\n"
    )
    assert "1   5 Sep     5 Oct   holds  1.0 %    70 %     2.0  20.0 L  2.0 days" in text
    assert "2  12 Sep    13 Oct  FAILS?  6.0 %    70 %     2.0  23.0 L  2.0 days" in text
    assert "2  12 Sep  +5.0 (+1.7 to +8.2)      same    same  +3.0 ±0.1    same" in text
    assert "Row 1 fails least often, in 2 of 200; every other row fails more often" in text


def test_none_that_holds_is_said_first_and_none_is_offered():
    """With 40 and 42 of 200 the first is best by 2, which is chance; and neither is safe."""
    found = compared_of(*of_200(40, 42, 90))
    text = flat(found)
    assert ". NONE HOLDS: more of the passages fail than your risk of 5 %. Do not leave" in text
    assert "Row 1 fails least often, in 40 of 200. But 200 passages cannot tell row 2 from" in text
    assert "it need not be better. None of them holds." in text
    assert "Choose among" not in text


def test_what_fails_is_not_among_what_is_chosen_from():
    """9 of 200 hold and 11 fail; 200 passages cannot tell them apart."""
    text = flat(compared_of(*of_200(9, 11, 10)))
    assert "cannot tell any other row from that: it need not be better." in text
    assert "Choose among those that hold, rows 1 and 3, by what else counts." in text
    assert "Only row 1 of them holds." in flat(compared_of(*of_200(9, 11)))


def test_what_more_passages_may_say_otherwise_is_marked():
    text = flat(compared_of(*of_200(0, 9, 60)))
    assert "Too close to call with 200 passages, and marked '?': row 2." in text
    assert "--members 1000 tells more" in text
    assert "holds?" in text
    assert "FAILS?" not in text


def test_seasons_are_said_where_dates_differ_and_only_there():
    text = flat(compared_of(*of_200(0, 0)))
    assert "no hurricane or cyclone, no ice, no gale and no fog." in text
    assert "here it comes on 5 Oct." in text
    alike = [choice_of(), choice_of(told=("music left off",))]
    text = flat(compared_of(*of_200(0, 0), choices=alike))
    assert "hurricane" not in text
    assert " ".join(care().split()) in text


def test_rows_are_called_by_what_tells_them_apart():
    changed = ("battery.capacity 300 Ah (was 220 Ah)", "music left off")
    choices = [choice_of(), choice_of(told=changed)]
    text = told(compared_of(*of_200(0, 0), choices=choices))
    assert "1  as she is" in text
    assert "2  battery.capacity 300 Ah;" in text
    assert "music left off" in text
    assert "was 220 Ah" not in text
    assert "leaves" not in text
    folders = [choice_of(name="boats/mine"), choice_of(name="boats/yours")]
    names = names_of(compared_of(*of_200(0, 0), choices=folders))
    assert [names.boat(one) for one in folders] == ["mine", "yours"]
    alike = [choice_of(name="mine/now"), choice_of(name="yours/now")]
    names = names_of(compared_of(*of_200(0, 0), choices=alike))
    assert [names.boat(one) for one in alike] == ["mine/now", "yours/now"]


def test_everything_at_once_fits_the_page():
    """Folders, dates and values in one table, in two years."""
    choices = [
        choice_of(
            days_later=30 * at, name=f"a-folder-with-a-long-name-{at % 2}", told=(f"a.b {at}",)
        )
        for at in range(6)
    ]
    text = told(compared_of(*of_200(0, 1, 2, 30, 4, 5), choices=choices))
    assert "passages of two folders with the same number" in " ".join(text.split())
    assert "4 Dec 2026" in text


@pytest.mark.parametrize("worse", [1.0, -1.0])
def test_differences_as_large_as_can_be_fit_the_page(worse):
    """In 60 rows and two years: everything fails, from full to flat, for a thousand litres."""
    far = outcome_made(
        members=200,
        failing=200,
        burnt=1500.0,
        runs=99.0,
        lowest=0.01,
        days=np.linspace(20, 90, 200),
    )
    near = outcome_made(members=200, burnt=0.5, runs=0.0, lowest=0.99, days=1.0)
    first, other = (near, far) if worse > 0 else (far, near)
    choices = [choice_of(days_later=9 * at) for at in range(60)]
    text = told(compared_of(first, *[other] * 59, choices=choices))
    sign = "+" if worse > 0 else "-"
    assert f"{sign}100 ({sign}" in text
    assert f"{sign}1500 ±1" in text


def test_dark_cold_and_left_out_are_said():
    dark = outcome_made(members=20, dark=np.arange(20) < 1)
    cold = outcome_made(members=20, too_cold_h=30.0)
    problem = Problem(file="wind.grib", text="does not cover the boat")
    bare = outcome_made(members=20, left_out=(problem,))
    text = flat(compared_of(dark, cold, bare))
    assert "everything goes dark in some of the 20 passages: row 1 in 1" in text
    assert "leaves: on each of these dates at 09:00 UTC" in text
    assert "too cold to be charged for some time in row 2" in text
    assert "wind.grib is no use in row 3: in average weather without it, and" in text


def test_what_a_change_is_warned_of_stands_before_the_table():
    choices = [choice_of(), choice_of(told=("ais left off",)), choice_of(told=("c.d 2",))]
    warned = [replace(one, cautions=("Ais is left off; keep it on.",)) for one in choices[1:]]
    text = told(compared_of(*of_200(0, 0, 0), choices=[choices[0], *warned]))
    before, _, _ = text.partition("What each comes to")
    assert "- Rows 2 and 3: Ais is left off; keep it on.\n" in before


def test_nobody_is_offered_a_boat_without_what_is_needed_at_sea():
    choices = [choice_of(days_later=at) for at in range(4)]
    dark = [replace(choices[2], needed_is_off=True), replace(choices[3], needed_is_off=True)]
    text = flat(compared_of(*of_200(2, 1, 0, 0), choices=[*choices[:2], *dark]))
    assert "Choose among those that hold and leave nothing off that is needed at sea, rows" in text
    assert "rows 1 and 2, by what else counts." in text
    text = flat(compared_of(*of_200(2, 100, 0, 0), choices=[*choices[:2], *dark]))
    assert "Only row 1 of them holds and leaves nothing off that is needed at sea." in text
    text = flat(compared_of(*of_200(99, 100, 0, 1), choices=[*choices[:2], *dark]))
    assert "Those of them that hold leave off what is needed at sea." in text


def test_days_to_landfall():
    ends = np.array([1.0] + [np.inf] * 19)
    text = told(compared_of(outcome_made(members=20, days=ends), outcome_made(members=20)))
    assert "landfall\n" in text
    assert "no difference in days can be" in text


def test_a_boat_without_an_engine_has_no_columns_of_it():
    bare = []
    for outcome in (outcome_made(), outcome_made()):
        kept = {name: outcome.measured[name] for name in ("fails", "floor", "dark", "lowest")}
        bare.append(replace(outcome, measured=kept))
    text = told(compared_of(*bare))
    assert "burnt" not in text
    assert "a week" not in text


def test_long_tables_end_and_say_so():
    found = compared_of(*[outcome_made(members=20)] * (MOST_ROWS + 5))
    assert "5 more rows are in compare.csv" in told(found)
    assert f"\n{MOST_ROWS + 1} " not in told(found)


def test_quiet_is_verdict_and_table():
    text = told(compared_of(*of_200(0, 60)), brief=True)
    assert "1 HOLDS" in text
    assert "What each comes to" in text
    assert "Against row 1" not in text


def test_one_choice_is_no_comparison():
    text = flat(compared_of(*of_200(60)))
    assert "1 choice, in the same 200 simulated passages. It FAILS:" in text
    assert "least often" not in text


@pytest.mark.parametrize(
    ("places", "words"),
    [((0,), "row 1"), ((0, 1), "rows 1 and 2"), ((0, 1, 2, 4), "rows 1 to 3 and 5")],
)
def test_rows_in_words(places, words):
    assert rows_told(places) == words
