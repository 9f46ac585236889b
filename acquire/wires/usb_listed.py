"""USB devices that type, as the system lists them: gauges, pedals and ordinary keyboards alike."""

from dataclasses import dataclass
from typing import Any, Final

HID_CLASS: Final = 3
BOOT_KEYBOARD: Final = (1, 1)

NO_LIBRARY = (
    "USB gauges that type can't be listed: the library libusb is missing "
    "(Debian: sudo apt install libusb-1.0-0); serial gauges are not affected"
)
NO_RIGHTS = (
    "no permission: install barrelfit's udev rule (`barrelfit gauges --udev-rule`) and plug the "
    "gauge in again"
)


@dataclass(frozen=True, slots=True)
class Typist:
    """A USB device with a keyboard interface; `name` is what a bench file calls its port."""

    name: str
    product: str
    wrong: str = ""


def typists() -> tuple[list[Typist], str]:
    """The USB devices that type, and a sentence where they can't be listed."""
    import usb.core  # noqa: PLC0415  an optional door: the rest runs without libusb

    try:
        devices = list(usb.core.find(find_all=True) or [])
    except usb.core.NoBackendError:
        return [], NO_LIBRARY
    found = [_typist(device) for device in devices if _types(device)]
    return sorted(found, key=lambda t: t.name), ""


def port_name(vendor: int, product: int, serial_number: str) -> str:
    """The port name of a USB device: `usb:1209:0001`, with its serial number if it has one."""
    tail = f":{serial_number}" if serial_number else ""
    return f"usb:{vendor:04x}:{product:04x}{tail}"


def _types(device: Any) -> bool:  # noqa: ANN401  pyusb ships no types
    """Whether any interface is a boot keyboard."""
    import usb.core  # noqa: PLC0415

    try:
        return any(
            interface.bInterfaceClass == HID_CLASS
            and (interface.bInterfaceSubClass, interface.bInterfaceProtocol) == BOOT_KEYBOARD
            for configuration in device
            for interface in configuration
        )
    except usb.core.USBError:
        return False


def _typist(device: Any) -> Typist:  # noqa: ANN401  pyusb ships no types
    import usb.core  # noqa: PLC0415

    vendor, product = device.idVendor, device.idProduct
    try:
        serial_number = device.serial_number or ""
        title = device.product or ""
    except (usb.core.USBError, ValueError):  # without rights: "no langid"
        return Typist(port_name(vendor, product, ""), "", NO_RIGHTS)
    return Typist(port_name(vendor, product, serial_number), title)
