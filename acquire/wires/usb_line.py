"""The one door to pyusb: gauges that type, and gauges with a vendor's own end point.

Until we take it, the system's keyboard driver holds such a gauge and its keys reach whatever
window is in front. It is detached here, again after every replug, where the udev rule has not done
so already (`usb_rule`), and stays detached until the next plug.
"""

import contextlib
import errno
import re
from pathlib import Path
from typing import Any, Final

import usb.core
import usb.util

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.wires.busy_port import BusyError
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.acquire.wires.ports_found import holders
from barrelfit.acquire.wires.thread_source import LineLostError
from barrelfit.acquire.wires.usb_listed import (
    NO_LIBRARY,
    is_boot_keyboard,
    no_rights,
    socket_of,
)
from barrelfit.acquire.wires.usb_rule import EXPECTED, PORT_NAME, how_to_install
from barrelfit.acquire.wires.usb_tree import Plugged
from barrelfit.rules.said import NOTHING, Said, said, written

READ_MS: Final = 300
REPORT_BYTES: Final = 8
VENDOR_CLASS: Final = 0xFF

# "Nothing yet" has another number on each system, and pyusb's own class does not cover them all.
_NOTHING_YET: Final = frozenset({errno.ETIMEDOUT, 110, 60, 10060})
_TIMED_OUT: Final = re.compile(r"time[d-]?[ -]?out", re.IGNORECASE)
_GONE: Final = said("usb_gone")
_NO_OUTPUT: Final = said("usb_no_output")
_SET_PROTOCOL: Final = 0x0B
_SET_IDLE: Final = 0x0A
_TO_INTERFACE: Final = 0x21


def check_usb(gauge: str, port: str, backend: Any = None) -> Said | None:  # noqa: ANN401
    """Say what keeps a USB gauge from being read; None for nothing."""
    if not PORT_NAME.fullmatch(port):
        return said("of_gauge", gauge=gauge, what=said("of_file", file=port, what=EXPECTED))
    try:
        why = _why_unfit(found_device(port, backend), port)
    except UserError as error:
        why = error.problems[0]
    except OSError as error:
        why = written(error.strerror or str(error))
    return said("of_gauge", gauge=gauge, what=why) if why else None


def _why_unfit(device: Any, port: str) -> Said:  # noqa: ANN401  pyusb ships no types
    """Why a device must not be used: without rights it can't be, without its rule its keys leak."""
    try:
        numbers = [i.bInterfaceNumber for c in device for i in c if is_boot_keyboard(i)]
        held = [n for n in numbers or [0] if device.is_kernel_driver_active(n)]
    except NotImplementedError:  # systems without such drivers
        return NOTHING
    except usb.core.USBError as error:
        return no_rights(port) if error.errno == errno.EACCES else NOTHING
    finally:
        usb.util.dispose_resources(device)
    if not (held and numbers):
        return NOTHING
    return said("types_to_system", port=port, do=how_to_install(port))


def is_away(port: str) -> bool:
    """Whether no device of a port's name is plugged in; a wrong name or no library is no answer."""
    try:
        return not _devices(port, None)
    except UserError:
        return False
    except OSError:
        return True


def found_device(port: str, backend: Any = None) -> Any:  # noqa: ANN401  pyusb ships no types
    """The one USB device of a port's name.

    Raises:
        UserError: two devices have the name, or libusb is missing.
        OSError: there is none.
    """
    devices = _devices(port, backend)
    if len(devices) > 1:
        raise UserError([said("two_devices", port=port)])
    return devices[0]


def _devices(port: str, backend: Any) -> list[Any]:  # noqa: ANN401  pyusb ships no types
    match = PORT_NAME.fullmatch(port)
    if match is None:
        raise UserError([said("of_file", file=port, what=EXPECTED)])
    vendor, product, wanted, socket = int(match[1], 16), int(match[2], 16), match[3], match[4]
    try:
        found = usb.core.find(find_all=True, idVendor=vendor, idProduct=product, backend=backend)
        devices = list(found or [])
    except usb.core.NoBackendError:
        raise UserError([NO_LIBRARY]) from None
    if wanted:
        devices = [device for device in devices if _serial_number(device) == wanted]
    if socket:
        devices = [device for device in devices if socket_of(device) == socket]
    if not devices:
        raise OSError(errno.ENODEV, f"port {port} is not there; plug the gauge in")
    return devices


def _is_nothing_yet(error: usb.core.USBError) -> bool:
    """Whether a read only took too long; some libraries say so in words alone."""
    if isinstance(error, usb.core.USBTimeoutError) or error.errno in _NOTHING_YET:
        return True
    return error.errno is None and bool(_TIMED_OUT.search(str(error)))


def _plugged(port: GaugePort, device: Any) -> Plugged | None:  # noqa: ANN401
    """What the system's tree says of a device; None where it says nothing."""
    plug = f"{device.bus}:{device.address}"
    return next((p for p in port.listed() if p.plug == plug), None)


def _gauges_own(port: GaugePort, backend: Any) -> tuple[Any, Plugged | None]:  # noqa: ANN401
    """The device of a gauge's port, and what the system's tree says of it.

    Raises:
        UserError: there are two, or it is not the one that was read before.
        OSError: there is none.
    """
    for device in _devices(port.name, backend):
        port.check(_plugged(port, device))
    device = found_device(port.name, backend)
    return device, _plugged(port, device)


def _serial_number(device: Any) -> str:  # noqa: ANN401  pyusb ships no types
    try:
        return device.serial_number or ""
    except (usb.core.USBError, ValueError):
        return ""


class UsbLine:
    """An open USB gauge: one report of a keyboard, or one packet of a bulk end point, a read.

    Args:
        port: of a name like `usb:1209:0001`, and what is known of the device there.
        types: whether it is a keyboard; else its vendor interface's end points carry bytes.
        backend: of pyusb; None for libusb.

    Raises:
        UserError: no rights, no libusb, two devices of that name, or another than before.
        BusyError: another program holds it.
        OSError: it is not there.
    """

    def __init__(
        self,
        port: GaugePort,
        *,
        types: bool,
        backend: Any = None,  # noqa: ANN401  pyusb ships no types
    ) -> None:
        self._device, found = _gauges_own(port, backend)
        self._types = types
        self._claimed: int | None = None
        self._detached: list[int] = []
        try:
            self._take()
        except usb.core.USBError as error:
            self.close()
            if error.errno == errno.EACCES:
                raise UserError(
                    [said("of_port", name=port.name, what=no_rights(port.name))]
                ) from None
            if error.errno == errno.EBUSY:
                raise self._busy(port.name) from None
            why = said("of_port", name=port.name, what=error.strerror)
            raise OSError(error.errno or errno.EIO, why) from None
        except LookupError:
            self.close()
            kind = "keyboard" if types else "vendor"
            raise UserError([said("no_input_interface", name=port.name, kind=kind)]) from None
        port.opened(found)

    def read(self) -> bytes:
        """What arrived; empty for nothing yet. Raises LineLostError when the gauge is gone."""
        try:
            data = bytes(self._input.read(self._input.wMaxPacketSize, READ_MS))
        except usb.core.USBError as error:
            if _is_nothing_yet(error):
                return b""
            if error.errno == errno.EPIPE:
                with contextlib.suppress(usb.core.USBError):
                    self._input.clear_halt()
                    return b""
            raise LineLostError(_GONE) from None
        if self._types and len(data) != REPORT_BYTES:
            return b""  # a short or empty report is no key
        return data

    def write(self, data: bytes) -> None:
        """Send bytes to the gauge's output end point. Raises LineLostError when it is gone."""
        if self._output is None:
            raise LineLostError(_NO_OUTPUT)
        try:
            self._output.write(data, READ_MS)
        except usb.core.USBError:
            raise LineLostError(_GONE) from None

    def close(self) -> None:
        """Give the gauge back to the system; what types stays without the system's keyboard driver.

        Else keys would reach the system from here to the next plug.
        """
        if self._claimed is not None:
            with contextlib.suppress(usb.core.USBError):
                usb.util.release_interface(self._device, self._claimed)
            self._claimed = None
        while self._detached and not self._types:
            with contextlib.suppress(usb.core.USBError, NotImplementedError):
                self._device.attach_kernel_driver(self._detached.pop())
        with contextlib.suppress(usb.core.USBError):
            usb.util.dispose_resources(self._device)

    def _busy(self, port: str) -> BusyError:
        node = Path(f"/dev/bus/usb/{self._device.bus:03d}/{self._device.address:03d}")
        others = tuple(holders(node)) or said("another_program")
        return BusyError(said("port_in_use", port=port, others=others), node)

    def _take(self) -> None:
        """Detach, configure where needed, claim, and choose the end points."""
        interface = next((i for c in self._device for i in c if self._fits(i)), None)
        if interface is None:
            raise LookupError
        number = interface.bInterfaceNumber
        for held in {i.bInterfaceNumber for c in self._device for i in c}:
            self._detach(held)
        try:
            self._device.get_active_configuration()
        except usb.core.USBError as error:
            if error.errno in {errno.EACCES, errno.ENODEV}:
                raise
            self._device.set_configuration()
        usb.util.claim_interface(self._device, number)
        self._claimed = number
        inputs = [e for e in interface if e.bEndpointAddress & 0x80]
        outputs = [e for e in interface if not e.bEndpointAddress & 0x80]
        self._input = inputs[0]
        self._output = outputs[0] if outputs else None
        if self._types:
            self._plain_reports(number)

    def _detach(self, number: int) -> None:
        with contextlib.suppress(NotImplementedError):  # systems without such drivers
            if self._device.is_kernel_driver_active(number):
                self._device.detach_kernel_driver(number)
                self._detached.append(number)

    def _plain_reports(self, number: int) -> None:
        """Ask for eight-byte reports, sent on change only; a device may refuse either."""
        for request in (_SET_PROTOCOL, _SET_IDLE):
            with contextlib.suppress(usb.core.USBError):
                self._device.ctrl_transfer(_TO_INTERFACE, request, 0, number, None, READ_MS)

    def _fits(self, interface: Any) -> bool:  # noqa: ANN401  pyusb ships no types
        has_input = any(e.bEndpointAddress & 0x80 for e in interface)
        if not self._types:
            return interface.bInterfaceClass == VENDOR_CLASS and has_input
        return is_boot_keyboard(interface) and has_input
