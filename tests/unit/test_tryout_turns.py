"""One calculation at a time, a newer question before an older one."""

import threading
import time

import pytest

from powersim.tryout.superseded import Superseded
from powersim.tryout.turns import Turns


def test_a_newer_question_breaks_off_an_older_one():
    turns, told = Turns(), []

    def newer():
        with turns.turn(2):
            told.append("newer")

    with turns.turn(1) as go_on:
        go_on(0.1)
        asked = threading.Thread(target=newer)
        asked.start()
        while turns._latest[""] < 2:
            time.sleep(0.001)
        with pytest.raises(Superseded):
            go_on(0.2)
    asked.join(timeout=10)
    assert told == ["newer"]


def test_an_older_one_that_comes_late_is_not_begun():
    turns = Turns()
    with turns.turn(5):
        pass
    with pytest.raises(Superseded), turns.turn(4):
        raise AssertionError("it was begun")


def test_those_of_one_number_go_one_after_the_other():
    turns, done = Turns(), []

    def ask(name):
        with turns.turn(3) as go_on:
            done.append(f"{name} begins")
            go_on(1.0)
            done.append(f"{name} ends")

    threads = [threading.Thread(target=ask, args=(name,)) for name in ("days", "cost", "more")]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert len(done) == 6
    for begins, ends in zip(done[::2], done[1::2], strict=True):
        assert begins.removesuffix(" begins") == ends.removesuffix(" ends")


def test_one_that_waits_is_broken_off_too():
    turns, told = Turns(), []

    def wait():
        try:
            with turns.turn(2):
                told.append("begun")
        except Superseded:
            told.append("broken off")

    def newest():
        with turns.turn(3):
            told.append("newest")

    with turns.turn(1):
        threads = [threading.Thread(target=wait), threading.Thread(target=newest)]
        for number, one in enumerate(threads, 2):
            one.start()
            while turns._latest[""] < number:
                time.sleep(0.001)
    for one in threads:
        one.join(timeout=10)
    assert sorted(told) == ["broken off", "newest"]


def test_a_fault_gives_the_turn_away():
    turns = Turns()
    with pytest.raises(ValueError, match="oh"), turns.turn(1):
        raise ValueError("oh")
    with turns.turn(2) as go_on:
        go_on(0.5)


def test_a_page_that_is_opened_anew_may_count_from_the_start():
    turns = Turns()
    with turns.turn(900, page="before"):
        pass
    with turns.turn(1, page="anew") as go_on:
        go_on(0.5)


def test_a_page_in_another_tab_breaks_nothing_off():
    turns, told = Turns(), []

    def other():
        with turns.turn(2, page="other"):
            told.append("other")

    with turns.turn(1, page="one") as go_on:
        asked = threading.Thread(target=other)
        asked.start()
        while "other" not in turns._latest:
            time.sleep(0.001)
        go_on(0.5)
        told.append("one")
    asked.join(timeout=10)
    with turns.turn(1, page="one") as go_on:  # what fills in afterwards
        go_on(1.0)
    assert told == ["one", "other"]


def test_of_pages_without_end_only_some_are_known():
    turns = Turns()
    for number in range(1000):
        with turns.turn(5, page=f"page {number}"):
            pass
    assert len(turns._latest) == 100
    with pytest.raises(Superseded), turns.turn(4, page="page 999"):
        pass
