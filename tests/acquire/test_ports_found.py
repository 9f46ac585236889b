"""Names that last: by serial number where it is the adapter's own, else by socket, with a note."""

import os
import sys
import tomllib
from pathlib import Path

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.wires.ports_found import (
    NO_UDEV_NOTE,
    Adapter,
    appeared_s,
    holders,
    links_in,
    named_ports,
    twins,
    what_is_wrong,
)

TWINS = [Adapter("/dev/ttyUSB0", "1a86:7523"), Adapter("/dev/ttyUSB1", "1a86:7523")]
ID, PATH = "/dev/serial/by-id/", "/dev/serial/by-path/"


def names(adapters, by_id, by_path):
    return [(p.device, p.name, p.note) for p in named_ports(adapters, by_id, by_path)]


def test_an_adapter_with_a_serial_number_of_its_own_goes_by_it():
    adapter = Adapter("/dev/ttyUSB3", "0403:6001", "A50285BI")
    by_id, by_path = {"/dev/ttyUSB3": ID + "a"}, {"/dev/ttyUSB3": PATH + "1"}
    assert names([adapter], by_id, by_path) == [("/dev/ttyUSB3", ID + "a", "")]


def test_twins_without_a_serial_number_go_by_their_sockets():
    by_id = {"/dev/ttyUSB1": ID + "one-for-both"}  # the system lists only the last one
    by_path = {"/dev/ttyUSB0": PATH + "1", "/dev/ttyUSB1": PATH + "2"}
    note = "bound to this socket: the adapter has no serial number"
    assert names(TWINS, by_id, by_path) == [
        ("/dev/ttyUSB0", PATH + "1", note),
        ("/dev/ttyUSB1", PATH + "2", note),
    ]


def test_two_adapters_with_one_serial_number_go_by_their_sockets():
    twins = [Adapter(f"/dev/ttyUSB{n}", "0403:6001", "0001") for n in (0, 1)]
    by_path = {"/dev/ttyUSB0": PATH + "1", "/dev/ttyUSB1": PATH + "2"}
    found = names(twins, {"/dev/ttyUSB1": ID + "x"}, by_path)
    assert [name for _, name, _ in found] == [PATH + "1", PATH + "2"]
    assert all("another adapter has the same serial number, 0001" in note for *_, note in found)


def test_the_two_ports_of_one_adapter_are_told_by_their_links():
    ports = [Adapter(f"/dev/ttyUSB{n}", "0403:6010", "0001", socket="1-2") for n in (0, 1)]
    by_id = {f"/dev/ttyUSB{n}": f"{ID}two-if0{n}" for n in (0, 1)}
    assert [name for _, name, _ in names(ports, by_id, {})] == list(by_id.values())
    other = Adapter("/dev/ttyUSB2", "0403:6010", "0001", socket="1-3")
    assert twins("/dev/ttyUSB0", [*ports, other]) == ["/dev/ttyUSB2"]
    assert twins("/dev/ttyUSB0", [*ports, Adapter("/dev/ttyUSB2", "0403:6010", "0002")]) == []


def test_without_any_link_the_note_says_so():
    assert names(TWINS[:1], {}, {}) == [("/dev/ttyUSB0", "/dev/ttyUSB0", NO_UDEV_NOTE)]
    by_id = {"/dev/ttyUSB0": ID + "only"}
    ((_, name, note),) = names(TWINS[:1], by_id, {})
    assert (name, "no serial number" in note) == (ID + "only", True)


def test_links_are_read_from_a_folder(tmp_path):
    device = tmp_path / "ttyUSB0"
    device.touch()
    folder = tmp_path / "by-id"
    folder.mkdir()
    (folder / "usb-adapter").symlink_to(device)
    assert links_in(folder) == {str(device): str(folder / "usb-adapter")}
    assert links_in(tmp_path / "none") == {}


def test_what_is_wrong_with_a_port(tmp_path):
    assert what_is_wrong(tmp_path / "gone") == "it has just been unplugged"
    master, slave = os.openpty()
    device = os.ttyname(slave)
    fake = tmp_path / "proc"
    (fake / "77" / "fd").mkdir(parents=True)
    (fake / "77" / "comm").write_text("terminal\n")
    (fake / "77" / "fd" / "3").symlink_to(device)
    (fake / "78").mkdir()
    assert holders(Path(device), fake) == ["process 77 (terminal)"]
    assert what_is_wrong(Path(device)) == ""
    os.close(slave)
    os.close(master)


def test_a_holder_whose_files_are_hidden_is_known_by_its_lock(tmp_path):
    device = tmp_path / "port"
    device.touch()
    file = device.stat()
    place = f"{os.major(file.st_dev):02x}:{os.minor(file.st_dev):02x}:{file.st_ino}"
    (tmp_path / "79").mkdir()
    (tmp_path / "79" / "comm").write_text("prober\n")
    (tmp_path / "locks").write_text(
        f"1: FLOCK  ADVISORY  WRITE 79 {place} 0 EOF\n"
        f"1: -> FLOCK  ADVISORY  WRITE 80 {place} 0 EOF\n"
        "2: POSIX  ADVISORY  READ 81 00:00:1 0 EOF\n"
    )
    assert holders(device, tmp_path) == ["process 79 (prober)"]


def test_when_a_device_appeared_is_what_udev_noted(tmp_path):
    terminal = Path("/dev/null")
    assert appeared_s(terminal, tmp_path) is None
    (tmp_path / "c1:3").write_text("I:12345678\nE:ID_BUS=usb\n")
    assert appeared_s(terminal, tmp_path) == 12.345678
    assert appeared_s(tmp_path / "gone", tmp_path) is None


def test_without_rights_the_group_and_the_command_are_named(tmp_path, monkeypatch):
    device = tmp_path / "port"
    device.touch(0o600)
    monkeypatch.setattr(os, "access", lambda *_: False)  # the tests may run as root
    said = what_is_wrong(device)
    assert f"sudo usermod -a -G {device.group()} $USER" in said


def test_the_command_prints_rule_and_unit(capsys):
    assert run_cli(["gauges", "--udev-rule"]) == 0
    rule = capsys.readouterr().out
    assert 'ENV{ID_MM_DEVICE_IGNORE}="1"' in rule
    assert "uaccess" in rule
    assert "666" not in rule
    assert run_cli(["gauges", "--udev-rule", "usb:1209:0001", "usb:1209:0002:SN1"]) == 0
    filled = capsys.readouterr().out
    assert filled.startswith(rule)
    own = filled[len(rule) :]
    assert own.count('ATTR{driver/unbind}="$kernel"') == 2
    assert own.count('ATTRS{idVendor}=="1209", ATTRS{idProduct}=="0002"') == 2
    for wrong in (["--udev-rule", "/dev/ttyUSB0"], ["usb:1209:0001"]):
        assert run_cli(["gauges", *wrong]) == 2
        assert capsys.readouterr().err.startswith("barrelfit: ")
    assert run_cli(["gauges", "--service"]) == 0
    unit = capsys.readouterr().out
    assert f"ExecStart={sys.executable} -m barrelfit.acquire run" in unit


def test_the_command_lists_what_is_there_or_says_that_nothing_is(capsys):
    assert run_cli(["gauges"]) in (0, 1)
    assert capsys.readouterr().out.strip()
    assert run_cli(["gauges", "--json"]) in (0, 1)


def test_what_is_shipped_for_the_system_is_packed():
    project = tomllib.loads(Path("pyproject.toml").read_text(encoding="utf-8"))
    packed = project["tool"]["setuptools"]["package-data"]["barrelfit.acquire"]
    assert "system/*" in packed
