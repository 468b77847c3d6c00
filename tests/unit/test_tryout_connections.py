"""Who gives way where all places are taken."""

import socket

import pytest

from powersim.tryout.connections import Connections


@pytest.fixture
def channel():
    """Make a connection, both of whose ends are closed with the test."""
    pairs = []

    def make():
        pairs.append(socket.socketpair())
        return pairs[-1][0]

    yield make
    for pair in pairs:
        for end in pair:
            end.close()


def is_ended(connection):
    connection.channel.setblocking(False)
    try:
        return connection.channel.recv(1) == b""
    except BlockingIOError:
        return False


def test_whoever_has_been_silent_longest_gives_way(channel):
    places = Connections(2)
    first, second = places.admit(channel()), places.admit(channel())
    third = places.admit(channel())
    assert [is_ended(one) for one in (first, second, third)] == [True, False, False]
    assert len(places) == 2


def test_whoever_has_shown_the_key_stays_longer(channel):
    places = Connections(2)
    page = places.admit(channel())
    places.begin(page)
    places.done(page)
    stranger = places.admit(channel())
    newcomer = places.admit(channel())
    assert [is_ended(one) for one in (page, stranger, newcomer)] == [False, True, False]


def test_of_pages_alone_the_one_heard_last_stays(channel):
    places = Connections(2)
    first, second = places.admit(channel()), places.admit(channel())
    for page in (second, first):
        places.begin(page)
        places.done(page)
    places.admit(channel())
    assert (is_ended(first), is_ended(second)) == (False, True)


def test_whoever_is_being_answered_is_never_ended(channel):
    places = Connections(1)
    page = places.admit(channel())
    places.begin(page)
    assert places.admit(channel()) is None
    assert not is_ended(page)
    places.done(page)
    assert places.admit(channel()) is not None
    assert is_ended(page)


def test_a_place_is_free_again_when_its_owner_leaves(channel):
    places = Connections(1)
    places.leave(places.admit(channel()))
    assert len(places) == 0
    places.admit(channel())


def test_all_are_ended_at_the_end(channel):
    places = Connections()
    both = [places.admit(channel()), places.admit(channel())]
    places.end_all()
    assert [is_ended(one) for one in both] == [True, True]
