"""The udev rule that keeps a typing device's keys from the system, filled in for its port's name.

The kernel's keyboard driver takes such a device at every plug, and until barrelfit has detached it
the keys go to whatever has the console or the desktop's focus. The rule has udev take the driver
off again as soon as it is bound; udev.7 says how a rule is written.
"""

import re
from typing import Final

from barrelfit.acquire.errors import UserError
from barrelfit.rules.said import Said, said

PORT_NAME: Final = re.compile(
    r"usb:([0-9a-f]{4}):([0-9a-f]{4})(?::([^\s:@]+))?(?:@(\d+-\d+(?:\.\d+)*))?"
)
EXPECTED: Final = said("usb_expected")
RULES_FILE: Final = "/etc/udev/rules.d/70-barrelfit.rules"


def typing_rule(port: str) -> str:
    """The rule's lines for one port's name.

    Raises:
        UserError: the name is no USB device's.
    """
    match = PORT_NAME.fullmatch(port)
    if match is None:
        raise UserError([said("of_file", file=port, what=EXPECTED)])
    device = f'ATTR{{idVendor}}=="{match[1]}", ATTR{{idProduct}}=="{match[2]}"'
    parent = device.replace("ATTR{", "ATTRS{")
    rights = 'MODE="0660", GROUP="dialout", TAG+="uaccess"'
    return (
        f"# {port}: barrelfit may take it, and the kernel's keyboard driver is taken off it.\n"
        "# Keys pressed in the very moment of a plug, before udev has run, can still pass. This\n"
        "# on the kernel's command line has its driver ignore the device altogether:\n"
        f"#   usbhid.quirks=0x{match[1]}:0x{match[2]}:0x0004\n"
        f'SUBSYSTEM=="usb", ENV{{DEVTYPE}}=="usb_device", {device}, {rights}\n'
        f'ACTION=="bind", SUBSYSTEM=="usb", DRIVER=="usbhid", {parent}, '
        'ATTR{driver/unbind}="$kernel"\n'
        f'SUBSYSTEM=="input", {parent}, ENV{{LIBINPUT_IGNORE_DEVICE}}="1"\n'
    )


def how_to_install(port: str) -> Said:
    """The commands that install the rule, as the end of a sentence."""
    return said("install_rule", port=port, file=str(RULES_FILE))
