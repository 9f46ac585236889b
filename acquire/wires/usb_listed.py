"""USB devices that type, as the system lists them: gauges, pedals and ordinary keyboards alike."""

from collections import Counter
from dataclasses import dataclass, replace
from typing import Any, Final

from barrelfit.acquire.wires.usb_rule import how_to_install
from barrelfit.rules.said import NOTHING, Said, said

HID_CLASS: Final = 3
BOOT_KEYBOARD: Final = (1, 1)

NO_LIBRARY = said("no_libusb")


@dataclass(frozen=True, slots=True)
class Typist:
    """A USB device with a keyboard interface; `name` is what a bench file calls its port.

    Two that call themselves the same are named by their sockets.
    """

    name: str
    product: str
    wrong: Said = NOTHING


def typists() -> tuple[list[Typist], Said]:
    """The USB devices that type, and what is said where they can't be listed."""
    import usb.core  # noqa: PLC0415  an optional door: the rest runs without libusb

    try:
        devices = list(usb.core.find(find_all=True) or [])
    except usb.core.NoBackendError:
        return [], NO_LIBRARY
    found = [(_typist(device), device) for device in devices if _types(device)]
    count = Counter(typist.name for typist, _ in found)
    told = [
        replace(typist, name=f"{typist.name}@{socket_of(device)}")
        if count[typist.name] > 1
        else typist
        for typist, device in found
    ]
    return sorted(told, key=lambda t: t.name), NOTHING


def socket_of(device: Any) -> str:  # noqa: ANN401  pyusb ships no types
    """The socket a device is in, as the system's tree names it: `1-2.4`."""
    return f"{device.bus}-{'.'.join(map(str, device.port_numbers or ()))}"


def port_name(vendor: int, product: int, serial_number: str) -> str:
    """The port name of a USB device: `usb:1209:0001`, with its serial number if it has one."""
    tail = f":{serial_number}" if serial_number else ""
    return f"usb:{vendor:04x}:{product:04x}{tail}"


def no_rights(port: str) -> Said:
    """What to do where this user may not use a USB device."""
    return said("no_usb_rights", do=how_to_install(port))


def is_boot_keyboard(interface: Any) -> bool:  # noqa: ANN401  pyusb ships no types
    """Whether an interface types as any keyboard does (HID 1.11, appendix B.1)."""
    boot = (interface.bInterfaceSubClass, interface.bInterfaceProtocol) == BOOT_KEYBOARD
    return bool(interface.bInterfaceClass == HID_CLASS and boot)


def _types(device: Any) -> bool:  # noqa: ANN401  pyusb ships no types
    """Whether any interface is a boot keyboard."""
    import usb.core  # noqa: PLC0415

    try:
        return any(
            is_boot_keyboard(interface) for configuration in device for interface in configuration
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
        name = port_name(vendor, product, "")
        return Typist(name, "", no_rights(name))
    return Typist(port_name(vendor, product, serial_number), title)
