"""Other benches' head hashes: recorded first, now and then, and at the end."""

from barrelfit.acquire.journal.events import HeadSeen
from barrelfit.acquire.journal.head_watch import BENCHES_MAX, EVERY_NS, SILENT_NS, HeadWatch

HASHES = ["a" * 64, "b" * 64, "c" * 64]
S = 1_000_000_000


def test_the_first_head_is_recorded_then_one_every_few_minutes():
    watch = HeadWatch("bench1")
    said = [watch.heard("bench2", ("s2", n + 1, HASHES[0]), n * S) for n in range(0, 901, 1)]
    recorded = [event for events in said for event in events]
    assert [e.seq for e in recorded] == [1, 301, 601, 901]
    assert EVERY_NS == 300 * S


def test_a_bench_that_falls_silent_has_its_last_head_recorded_once():
    watch = HeadWatch("bench1")
    watch.heard("bench2", ("s2", 1, HASHES[0]), 0)
    watch.heard("bench2", ("s2", 9, HASHES[1]), S)
    assert watch.tick(S + SILENT_NS - 1) == []
    assert watch.tick(S + SILENT_NS) == [HeadSeen("bench2", "s2", 9, HASHES[1])]
    assert watch.tick(99 * S) == []


def test_a_new_session_ends_the_old_one():
    watch = HeadWatch("bench1")
    watch.heard("bench2", ("s2", 1, HASHES[0]), 0)
    watch.heard("bench2", ("s2", 9, HASHES[1]), S)
    said = watch.heard("bench2", ("s3", 1, HASHES[2]), 2 * S)
    assert said == [HeadSeen("bench2", "s2", 9, HASHES[1]), HeadSeen("bench2", "s3", 1, HASHES[2])]


def test_one_s_own_heartbeat_and_an_empty_journal_say_nothing():
    watch = HeadWatch("bench1")
    assert watch.heard("bench1", ("s1", 5, HASHES[0]), 0) == []
    assert watch.heard("bench2", ("s2", 0, HASHES[0]), 0) == []
    assert watch.tick(99 * S) == []


def test_a_flood_of_sessions_fills_no_journal():
    watch = HeadWatch("bench1")
    said = [watch.heard("bench2", (f"s{n}", 1, HASHES[0]), n * S // 1000) for n in range(10_000)]
    assert sum(map(len, said)) <= 2 * 10 + 1


def test_a_flood_of_names_fills_no_memory():
    watch = HeadWatch("bench1")
    for number in range(BENCHES_MAX + 50):
        watch.heard(f"b{number}", ("s", 1, HASHES[0]), 0)
    assert len(watch._seen) == BENCHES_MAX
