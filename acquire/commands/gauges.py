"""`barrelfit gauges`: what is plugged in, by which name, with which rights, and what is wrong."""

import json
from collections.abc import Iterable
from typing import Annotated

import typer

from barrelfit.acquire.errors import UserError
from barrelfit.rules.said import said

Ports = Annotated[
    list[str] | None,
    typer.Argument(metavar="usb:VVVV:PPPP", help="USB gauges and pedals, for --udev-rule."),
]
UdevRule = Annotated[
    bool, typer.Option("--udev-rule", help="Print the udev rule for gauges, then end.")
]
Service = Annotated[
    bool, typer.Option("--service", help="Print the systemd unit of a bench, then end.")
]
BoardService = Annotated[
    bool, typer.Option("--board-service", help="Print the board's systemd unit, then end.")
]
KioskService = Annotated[
    bool, typer.Option("--kiosk-service", help="Print the screen's systemd unit, then end.")
]


def gauges(
    ports: Ports = None,
    *,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object a line.")] = False,
    udev_rule: UdevRule = False,
    service: Service = False,
    board_service: BoardService = False,
    kiosk_service: KioskService = False,
) -> int:
    """List the serial adapters and USB keyboards that are plugged in.

    The name in front is the one for a bench file: it means the same gauge after any replug. A
    gauge that types looks like any keyboard; only you know which one it is.

    On Linux two system services can get in the way: ModemManager sends its own commands to new
    serial adapters, and brltty takes some for braille displays. The udev rule keeps the first
    away; remove the second if you need no braille display.

    `--udev-rule usb:1209:0001` fills the rule in for USB gauges and pedals that type: it lets
    barrelfit take them, and takes the kernel's keyboard driver off them at every plug, so that not
    one key reaches the system.

    Example:
      barrelfit gauges --udev-rule usb:1209:0001 > 70-barrelfit.rules

    Exit code: 0 when nothing is wrong, 1 when something is.
    """
    from barrelfit.acquire.inputs.units import Unit, unit_text

    if ports and not udev_rule:
        raise UserError([said("ports_for_rule", ports=ports[0])])
    if udev_rule:
        print(_rule_for(ports or ()), end="")
        return 0
    units: dict[Unit, bool] = {"bench": service, "board": board_service, "kiosk": kiosk_service}
    for unit in (name for name, wanted in units.items() if wanted):
        print(unit_text(unit), end="")
        return 0
    return _list(as_json=as_json)


def _rule_for(ports: Iterable[str]) -> str:
    from barrelfit.acquire.inputs.shelf import system_text
    from barrelfit.acquire.wires.usb_rule import typing_rule

    return "\n".join([system_text("70-barrelfit.rules"), *(typing_rule(port) for port in ports)])


def _list(*, as_json: bool) -> int:
    """Print what is plugged in; gives the exit code."""
    from barrelfit.acquire.wires.ports_found import found_ports
    from barrelfit.acquire.wires.usb_listed import typists
    from barrelfit.rules.manner import told

    rows = [
        {"name": p.name, "device": p.device, "product": p.product, "note": p.note, "wrong": p.wrong}
        for p in found_ports()
    ]
    keyboards, sentence = typists()
    rows += [
        {
            "name": t.name,
            "device": "",
            "product": t.product,
            "note": "types",
            "wrong": told(t.wrong),
        }
        for t in keyboards
    ]
    for row in rows:
        print(json.dumps(row, ensure_ascii=False) if as_json else _lines(row))
    if sentence:
        print(json.dumps({"wrong": told(sentence)}) if as_json else told(sentence))
    if not rows and not as_json:
        print("nothing is plugged in that could be a gauge: no serial adapter, no USB keyboard")
    return 1 if sentence or any(row["wrong"] for row in rows) else 0


def _lines(row: dict[str, str]) -> str:
    title = " ".join(part for part in (row["device"], row["product"]) if part)
    lines = [row["name"], *(f"    {text}" for text in (title, row["note"]) if text)]
    if row["wrong"]:
        lines.append(f"    wrong: {row['wrong']}")
    return "\n".join(lines)
