"""A folder like the system's tree of USB devices: adapters are plugged in and out of it."""

import shutil
from functools import partial

from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.acquire.wires.usb_tree import all_plugged, plugged_at, sockets_taken


class UsbFolder:
    """`/sys` and `/run/udev/data` with what a test plugs in; every plugging gets a new number."""

    def __init__(self, folder):
        self.sys, self.udev = folder / "sys", folder / "udev"
        self._devices = self.sys / "bus" / "usb" / "devices"
        self._terminals = self.sys / "class" / "tty"
        for made in (self._devices, self._terminals, self.udev):
            made.mkdir(parents=True)
        self._number = 1

    def plug(self, socket, serial="SN1", usb="1209:0002", tty=None):
        """Plug an adapter in; `tty` is the name of its node."""
        self._number += 1
        place = self.sys / "devices" / "pci0000:00" / "usb1" / socket
        interface = place / f"{socket}:1.0"
        (interface / "tty0").mkdir(parents=True)
        vendor, product = usb.split(":")
        facts = {"idVendor": vendor, "idProduct": product, "busnum": "1", "serial": serial}
        for name, text in (facts | {"devnum": str(self._number)}).items():
            (place / name).write_text(text + "\n")
        (interface / "bInterfaceNumber").write_text("00\n")
        (self.udev / f"c189:{self._number - 1}").write_text(f"I:{self._number}000000\n")
        (self._devices / socket).symlink_to(place)
        if tty is not None:
            (self._terminals / tty).mkdir()
            (self._terminals / tty / "device").symlink_to(interface / "tty0")

    def unplug(self, socket):
        """Pull an adapter out."""
        link = self._devices / socket
        place = link.resolve()
        for node in self._terminals.iterdir():
            if place in (node / "device").resolve().parents:
                shutil.rmtree(node)
        link.unlink()
        shutil.rmtree(place)

    def port(self, name, gauge="m"):
        """A gauge's port that looks here."""
        return GaugePort(
            gauge,
            name,
            at=partial(plugged_at, sys=self.sys, udev=self.udev),
            listed=partial(all_plugged, self.sys, self.udev),
            taken=partial(sockets_taken, self.sys),
        )

    def at(self, socket):
        """The adapter in a socket."""
        return next(p for p in all_plugged(self.sys, self.udev) if p.socket == socket)
