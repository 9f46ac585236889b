"""What every disk promises a journal: this machine's, and the one in memory that tests break."""

from pathlib import Path

import pytest

from barrelfit.acquire.journal.disk import RealDisk, write_all
from tests.acquire.fake_disk import FakeDisk


@pytest.fixture(params=[RealDisk, FakeDisk])
def disk(request):
    return request.param()


def written(disk, path: Path, data: bytes) -> None:
    file = disk.append_to(path)
    write_all(file, data)
    file.sync()
    file.close()


def test_what_was_written_is_read_back_in_pieces(disk, tmp_path):
    path = tmp_path / "a"
    assert disk.size(path) is None
    written(disk, path, b"0123456789")
    assert disk.size(path) == 10
    assert disk.read(path, 0, 4) == b"0123"
    assert disk.read(path, 4, 100) == b"456789"
    assert disk.read(path, 10, 5) == b""


def test_a_file_opened_again_grows_at_its_end(disk, tmp_path):
    path = tmp_path / "a"
    written(disk, path, b"one")
    written(disk, path, b"two")
    assert disk.read(path, 0, 100) == b"onetwo"


def test_an_empty_file_is_there(disk, tmp_path):
    path = tmp_path / "a"
    disk.append_to(path).close()
    disk.sync_folder(tmp_path)
    assert disk.size(path) == 0
    assert disk.read(path, 0, 10) == b""


def test_a_cut_file_grows_from_where_it_was_cut(disk, tmp_path):
    path = tmp_path / "a"
    file = disk.append_to(path)
    write_all(file, b"whole line\nhalf")
    file.truncate(11)
    write_all(file, b"next\n")
    file.sync()
    file.close()
    assert disk.read(path, 0, 100) == b"whole line\nnext\n"


def test_a_removed_file_is_gone_and_removing_it_again_is_no_error(disk, tmp_path):
    path = tmp_path / "a"
    written(disk, path, b"x")
    disk.remove(path)
    disk.remove(path)
    disk.sync_folder(tmp_path)
    assert disk.size(path) is None
