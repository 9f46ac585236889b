"""One thing done for many: at once for one who comes alone, together for those who come close."""

import asyncio

import pytest

from barrelfit.acquire.gathered import Gathered

APART_S, LATE_S = 3.0, 4.0


class SetLoop(asyncio.SelectorEventLoop):
    """An event loop whose time stands where it was set."""

    now_s = 1000.0

    def time(self):
        return self.now_s


@pytest.fixture
def loop():
    made = SetLoop()
    yield made
    made.close()


@pytest.fixture
def gathered(loop):
    """What is gathered, and the moments at which it was done."""
    done = []

    async def made():
        return Gathered(lambda: done.append(loop.now_s - 1000.0), APART_S, LATE_S)

    return loop.run_until_complete(made()), done


def turn(loop, at_s):
    """Let the loop run once at a moment."""
    loop.now_s = 1000.0 + at_s
    loop.call_soon(loop.stop)
    loop.run_forever()


def wished(loop, gathered, moments):
    for at_s in moments:
        turn(loop, at_s)
        gathered.want()


def test_one_who_comes_alone_does_not_wait(loop, gathered):
    made, done = gathered
    wished(loop, made, [0, 50, 100])
    assert done == [0, 50, 100]


def test_of_many_the_first_after_a_while_has_it_done_for_all(loop, gathered):
    made, done = gathered
    wished(loop, made, [0, 1, 2, 3.5, 4.5, 5.5, 7])
    assert done == [0, 3.5, 7]
    turn(loop, 50)
    assert done == [0, 3.5, 7]


def test_where_nobody_comes_any_more_the_time_has_it_done(loop, gathered):
    made, done = gathered
    wished(loop, made, [0, 1, 2])
    turn(loop, 3.9)
    assert done == [0]
    turn(loop, 4)
    assert done == [0, 4]
    wished(loop, made, [5])
    turn(loop, 8)
    turn(loop, 50)
    assert done == [0, 4, 8]


def test_who_wants_it_again_while_it_is_done_is_heard(loop):
    done = []

    def work():
        done.append(loop.now_s - 1000.0)
        if len(done) == 1:
            made.want()

    async def begun():
        return Gathered(work, APART_S, LATE_S)

    made = loop.run_until_complete(begun())
    made.want()
    turn(loop, 4)
    assert done == [0, 4]


def test_what_was_ended_is_not_done_any_more(loop, gathered):
    made, done = gathered
    wished(loop, made, [0, 1])
    made.end()
    turn(loop, 50)
    assert done == [0]
