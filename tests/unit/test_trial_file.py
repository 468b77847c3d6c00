"""trial.csv: what can be read of it, and what is set aside and named."""

import pytest

from powersim.errors import InputError
from powersim.inputs.trial import MOST_READINGS, read_trial


def test_a_row_is_read_idle_then_on_then_off(write_file):
    text = "load,off,on,idle,voltage\nvhf radio,0.31 A,5.4 A,560 mA,12.62 V\n"
    trial = read_trial(write_file("trial.csv", text))
    told = [(one.column, one.shown_A, one.step_A, one.voltage_V) for one in trial.readings]
    assert told == [
        ("idle", 0.56, pytest.approx(0.001), 12.62),
        ("on", 5.4, pytest.approx(0.01), 12.62),  # as fine as 0.31 A: a last zero gets lost
        ("off", 0.31, pytest.approx(0.01), 12.62),
    ]
    assert {one.loads for one in trial.readings} == {("vhf radio",)}
    assert trial.set_aside == ()


def test_bare_numbers_are_amperes_and_volts(write_file):
    trial = read_trial(write_file("trial.csv", "load,on,voltage\nlamp,0.8,12.6\n"))
    (one,) = trial.readings
    assert (one.shown_A, one.voltage_V, one.counted) == (0.8, 12.6, False)


def test_a_count_over_a_time_is_a_mean_current(write_file):
    """1.3 Ah in half an hour are 2.6 A; the last digit, 0.1 Ah, is 0.2 A."""
    text = "load,on,counted_over\nlaptop,1.3 Ah,30 min\nlaptop,1.3,30 min\n"
    for one in read_trial(write_file("trial.csv", text)).readings:
        assert (one.shown_A, one.step_A, one.counted) == (
            pytest.approx(2.6),
            pytest.approx(0.2),
            True,
        )


def test_a_spreadsheet_of_another_country_is_read(write_file):
    """Semicolons and decimal commas, in UTF-16: two loads of one switch are quoted there."""
    text = 'sep=;\nload;idle;on;voltage\nvhf radio;0,56;5,4 A;12,62\n"lamp; fan";;1,20;\n'
    trial = read_trial(write_file("trial.csv", text.encode("utf-16")))
    assert trial.set_aside == ()
    told = [(one.loads, one.shown_A, one.step_A, one.voltage_V) for one in trial.readings]
    assert told == [
        (("vhf radio",), 0.56, pytest.approx(0.01), 12.62),
        (("vhf radio",), 5.4, pytest.approx(0.01), 12.62),
        (("lamp", "fan"), 1.2, pytest.approx(0.01), None),
    ]


def test_nothing_one_some_and_all_are_switched(write_file):
    text = "load,on,off\n,,0.3\nlamp; fan ,1.2,\nall off,,0.3\n"
    trial = read_trial(write_file("trial.csv", text))
    assert [(one.loads, one.everything) for one in trial.readings] == [
        ((), False),
        (("lamp", "fan"), False),
        ((), True),
    ]


def test_what_the_printed_sheet_has_in_its_first_column_may_be_copied(write_file):
    text = "load,on,off\n(nothing on),,0.3\nvhf radio (0.25 / 5.00),5.4,\nlaptop (- / 2.91),3.1,\n"
    trial = read_trial(write_file("trial.csv", text))
    assert [one.loads for one in trial.readings] == [(), ("vhf radio",), ("laptop",)]
    assert trial.set_aside == ()


def test_a_bad_cell_is_set_aside_and_the_rest_of_its_row_counts(write_file):
    path = write_file("trial.csv", "load,on,off,voltage\nlamp,O.8 A,0.3 A,12.6 V\n")
    trial = read_trial(path)
    assert [one.column for one in trial.readings] == ["off"]
    assert [str(one) for one in trial.set_aside] == [
        f"{path}:2:2: on (column B): cannot read 'O.8 A'\n"
        "  expected  what the meter shows with it at work, for example 5.4 A\n"
        "  row       lamp,O.8 A,0.3 A,12.6 V"
    ]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("lamp,0.8 Ah,,", "'0.8 Ah' is a count, and counted_over does not say how long"),
        ("lamp,0.8 V,,", "'0.8 V' is a voltage"),
        ("lamp,9000 A,,", "'9000 A' comes to more than 2000 A"),
        (",0.8 A,,", "there is no one load in this row that could be on"),
        ("lamp,0.8 A,400 V,", "'400 V' is not between 6 V and 100 V"),
        ("lamp,0.8 A,,30", "'30' has no unit"),
    ],
)
def test_what_is_wrong_is_said(write_file, row, words):
    text = f"load,on,voltage,counted_over\n{row}\nfan,1.2 A,,\n"
    trial = read_trial(write_file("trial.csv", text))
    assert len(trial.set_aside) == 1
    assert words in str(trial.set_aside[0])
    assert trial.readings[-1].loads == ("fan",)


def test_a_torn_row_hides_none_below_it(write_file):
    text = 'load,on,note\nlamp,0.8,"dim\nfan,1.2,\npump,4.1,"all right"\n'
    trial = read_trial(write_file("trial.csv", text))
    assert [one.loads for one in trial.readings] == [("fan",), ("pump",)]
    assert [one.line for one in trial.set_aside] == [2]


@pytest.mark.parametrize("text", ["load,on\n", "load,note\nlamp,dim\n", "load,on\nlamp,\n", "\n"])
def test_without_a_reading_it_says_what_would_be_one(write_file, text):
    with pytest.raises(InputError) as caught:
        read_trial(write_file("trial.csv", text))
    assert "trial.csv" in str(caught.value)


def test_more_readings_than_anyone_takes_are_refused(write_file):
    text = "load,on\n" + "lamp,0.8\n" * (MOST_READINGS + 1)
    with pytest.raises(InputError, match=f"more than {MOST_READINGS} readings"):
        read_trial(write_file("trial.csv", text))
