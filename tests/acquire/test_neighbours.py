"""Benches of one folder see each other's heads, whatever else lies there."""

from barrelfit.acquire.bench.neighbours import Neighbours
from barrelfit.acquire.journal.lines import Head


def test_each_sees_the_others_head_until_it_leaves(tmp_path):
    one, two = Neighbours(tmp_path, "one"), Neighbours(tmp_path, "two")
    one.tell("one-1", Head(7, "ab" * 32, 100))
    two.tell("two-1", Head(9, "cd" * 32, 100))
    assert one.others() == [("two", ("two-1", 9, "cd" * 32))]
    assert two.others() == [("one", ("one-1", 7, "ab" * 32))]
    (tmp_path / "three.head").write_bytes(b"{")
    (tmp_path / "a b.head").write_bytes(b"{}")
    assert [name for name, _ in one.others()] == ["two"]
    two.leave()
    assert one.others() == []
    assert (tmp_path / "one.head").stat().st_mode & 0o777 == 0o600


def test_a_folder_that_is_gone_is_no_error(tmp_path):
    gone = Neighbours(tmp_path / "gone" / "file", "one")
    (tmp_path / "gone").write_bytes(b"")
    gone.tell("s", Head())
    assert gone.others() == []
    gone.leave()
