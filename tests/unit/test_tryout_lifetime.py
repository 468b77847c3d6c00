"""How long the server of the page lives, by a clock that the test sets."""

import pytest

from powersim.tryout.lifetime import IDLE_s, Lifetime


class Clock:
    def __init__(self):
        self.now_s = 0.0

    def __call__(self):
        return self.now_s


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def lifetime(clock):
    return Lifetime(clock=clock)


def lived(lifetime, clock, seconds):
    """Whether it is over by then, looked at every second as `wait` does."""
    for _ in range(int(seconds)):
        clock.now_s += 1.0
        if lifetime.tick():
            return True
    return False


def asked(lifetime):
    with lifetime.asked():
        pass


def test_it_ends_when_nobody_comes(lifetime, clock):
    assert not lived(lifetime, clock, IDLE_s - 1.0)
    assert lived(lifetime, clock, 2.0)


def test_a_page_in_the_background_keeps_it_alive(lifetime, clock):
    """Browsers let such a page speak once a minute."""
    for _ in range(120):
        asked(lifetime)
        assert not lived(lifetime, clock, 60.0)


def test_a_quarter_of_an_hour_after_the_last_word_it_ends(lifetime, clock):
    lived(lifetime, clock, IDLE_s - 10.0)
    asked(lifetime)
    assert not lived(lifetime, clock, IDLE_s - 1.0)
    assert lived(lifetime, clock, 2.0)


def test_a_night_in_which_the_laptop_slept_counts_for_nothing(lifetime, clock):
    asked(lifetime)
    clock.now_s += 9.0 * 3600.0
    assert not lifetime.tick()
    assert not lived(lifetime, clock, IDLE_s - 10.0)
    assert lived(lifetime, clock, 20.0)


def test_a_question_at_work_for_an_hour_keeps_it_alive(lifetime, clock):
    with lifetime.asked():
        assert not lived(lifetime, clock, 3600.0)
    assert not lived(lifetime, clock, IDLE_s - 1.0)


def test_it_knows_whether_a_page_has_come(lifetime):
    assert not lifetime.heard.is_set()
    asked(lifetime)
    assert lifetime.heard.is_set()


def test_it_can_be_ended_at_once(lifetime):
    lifetime.end()
    lifetime.wait()
