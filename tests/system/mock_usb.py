"""A programmable USB keyboard below the real libusb: umockdev's testbed and an ioctl handler.

Run by Debian's python3 (which has gi) under `umockdev-wrapper`; its arguments are the program to
run inside. Commands come as lines on standard input: `type TEXT`, `unplug`, `plug`, `end`.
Structures and numbers: Linux include/uapi/linux/usbdevice_fs.h; descriptors: USB 2.0 chapter 9.
"""

import collections
import contextlib
import errno
import os
import struct
import subprocess
import sys
import threading

import gi

gi.require_version("UMockdev", "1.0")
from gi.repository import GLib, UMockdev  # noqa: E402  after the version is chosen

NODE = "/dev/bus/usb/001/004"
PORT = "/sys/devices/pci0000:00/0000:00:14.0/usb1/1-2"
DEVICE = struct.pack("<BBHBBBBHHHBBBB", 18, 1, 0x200, 0, 0, 0, 8, 0x1209, 1, 0x100, 0, 2, 3, 1)
CONFIGURATION = (
    struct.pack("<BBHBBBBB", 9, 2, 34, 1, 1, 0, 0xA0, 50)
    + struct.pack("<BBBBBBBBB", 9, 4, 0, 0, 1, 3, 1, 1, 0)
    + struct.pack("<BBHBBBH", 9, 0x21, 0x111, 0, 1, 0x22, 63)
    + struct.pack("<BBBBHB", 7, 5, 0x81, 3, 8, 10)
)
TEXTS = {2: "Test gauge", 3: "SN0001"}
KEYS = dict(zip("1234567890", range(0x1E, 0x28), strict=True)) | {".": 0x37, "-": 0x2D, "~": 0x28}


def number(direction, code, size):
    return direction << 30 | size << 16 | ord("U") << 8 | code


REQUESTS = {
    number(3, 0, 24): "control",
    number(2, 10, 56): "submit",
    number(0, 11, 0): "discard",
    number(1, 12, 8): "reap",
    number(1, 13, 8): "reap",
    number(1, 8, 260): "driver",
    number(2, 5, 4): "configure",
    number(2, 4, 8): "alternate",
    number(2, 15, 4): "claim",
    number(2, 16, 4): "release",
    number(2, 21, 4): "clear",
    number(2, 26, 4): "abilities",
    number(3, 18, 16): "interface",
    number(2, 27, 264): "take",
}
FINE = (0, 0)
DISCONNECT, CONNECT = number(0, 22, 0), number(0, 23, 0)


def description():
    text = (DEVICE + CONFIGURATION).hex().upper()
    lines = [
        "P: /devices/pci0000:00/0000:00:14.0/usb1/1-2",
        f"N: bus/usb/001/004={text}",
        "E: DEVNAME=/dev/bus/usb/001/004",
        "E: DEVTYPE=usb_device",
        "E: SUBSYSTEM=usb",
        "E: BUSNUM=001",
        "E: DEVNUM=004",
        "E: MAJOR=189",
        "E: MINOR=3",
        "A: busnum=1\\n",
        "A: devnum=4\\n",
        "A: speed=12\\n",
        "A: bConfigurationValue=1\\n",
        "A: idVendor=1209\\n",
        "A: idProduct=0001\\n",
        f"H: descriptors={text}",
        "",
        "P: /devices/pci0000:00/0000:00:14.0/usb1/1-2/1-2:1.0",
        "E: DEVTYPE=usb_interface",
        "E: SUBSYSTEM=usb",
        "",
    ]
    return "\n".join(lines) + "\n"


class Keyboard:
    """What the kernel would know of the device."""

    def __init__(self):
        self.plugged()

    def plugged(self):
        """Freshly plugged: the kernel's own driver holds it."""
        self.driver = "usbhid"
        self.reports = collections.deque()
        self.waiting = []
        self.done = collections.deque()
        self.gone = False

    def answer(self, setup):
        kind, request, value, _, length = struct.unpack("<BBHHH", setup)
        if (kind, request) != (0x80, 6):
            return b"" if kind == 0x21 else None
        which, index = value >> 8, value & 255
        if which == 1:
            return DEVICE[:length]
        if which == 2:
            return CONFIGURATION[:length]
        if which == 3 and index == 0:
            return b"\x04\x03\x09\x04"[:length]
        if which == 3 and index in TEXTS:
            body = TEXTS[index].encode("utf-16le")
            return (bytes([len(body) + 2, 3]) + body)[:length]
        return None

    def pump(self):
        for urb in list(self.waiting):
            if self.gone:
                self.waiting.remove(urb)
                self.finish(urb, -errno.ESHUTDOWN, b"")
            elif self.reports:
                self.waiting.remove(urb)
                self.finish(urb, 0, self.reports.popleft())

    def finish(self, urb, status, payload):
        data, buffer, is_control = urb
        data.update(4, struct.pack("<i", status))
        data.update(28, struct.pack("<i", len(payload)))
        if payload and buffer is not None:
            buffer.update(8 if is_control else 0, payload)
        self.done.append(urb)


keyboard = Keyboard()


def content(data):
    got = data.retrieve()
    return bytes(got[-1] if isinstance(got, tuple) else got)


def submit(data):
    kind = content(data)[0]
    (size,) = struct.unpack("<i", content(data)[24:28])
    buffer = data.resolve(16, size) if size else None
    urb = (data, buffer, kind == 2)
    if kind == 2:
        answer = keyboard.answer(content(buffer)[:8])
        keyboard.finish(urb, -errno.EPIPE if answer is None else 0, answer or b"")
    else:
        keyboard.waiting.append(urb)
        keyboard.pump()
    return FINE


def detach(data):
    _, code = struct.unpack("<iI", content(data)[:8])
    if code == DISCONNECT:
        held, keyboard.driver = keyboard.driver, None
        return (0, 0) if held else (-1, errno.ENODATA)
    if code == CONNECT:
        keyboard.driver = "usbhid"
        return 1, 0
    return -1, errno.ENOTTY


def abilities(data):
    data.update(0, struct.pack("<I", 0x1 | 0x4 | 0x8 | 0x10 | 0x20))
    return FINE


def driver(data):
    if not keyboard.driver:
        return -1, errno.ENODATA
    data.update(0, struct.pack("<I", 0) + keyboard.driver.encode().ljust(256, b"\0"))
    return FINE


def take(_):
    keyboard.driver = "usbfs"
    return FINE


def claim(data):
    return (-1, errno.EBUSY) if keyboard.driver not in {None, "usbfs"} else take(data)


def release(_):
    keyboard.driver = None
    return FINE


def configure(_):
    return (-1, errno.EBUSY) if keyboard.driver else FINE


def discard(_):
    if keyboard.waiting:
        keyboard.finish(keyboard.waiting.pop(0), -errno.ENOENT, b"")
    return FINE


def reap(data):
    keyboard.pump()
    if not keyboard.done:
        return -1, errno.ENODEV if keyboard.gone else errno.EAGAIN
    data.set_ptr(0, keyboard.done.popleft()[0])
    return FINE


ANSWERS = {
    "abilities": abilities,
    "driver": driver,
    "interface": detach,
    "take": take,
    "claim": claim,
    "release": release,
    "configure": configure,
    "submit": submit,
    "discard": discard,
    "reap": reap,
    "alternate": lambda _: FINE,
    "clear": lambda _: FINE,
}


def handle(_, client):
    request = client.get_request() & 0xFFFFFFFF
    name = REQUESTS.get(request, "")
    size = request >> 16 & 0x3FFF
    data = client.get_arg().resolve(0, size) if size else None
    if keyboard.gone and name not in {"reap", "discard", "release"}:
        client.complete(-1, errno.ENODEV)
    elif name not in ANSWERS:
        client.complete(-1, errno.ENOTTY)
    else:
        client.complete(*ANSWERS[name](data))
    return True


testbed = UMockdev.Testbed.new()
handler = UMockdev.IoctlBase()
handler.connect("handle-ioctl", handle)


def plug():
    testbed.add_from_string(description())
    testbed.attach_ioctl(NODE, handler)


def obey(line):
    word, _, text = line.partition(" ")
    if word == "type":
        for character in text:
            keyboard.reports += [bytes([0, 0, KEYS[character], 0, 0, 0, 0, 0]), bytes(8)]
    elif word == "unplug":
        keyboard.gone = True
        testbed.uevent(PORT, "remove")
        testbed.remove_device(PORT + "/1-2:1.0")
        testbed.remove_device(PORT)
    elif word == "plug":
        keyboard.plugged()
        with contextlib.suppress(GLib.Error):
            testbed.detach_ioctl(NODE)
        plug()
    return False


def main():
    plug()
    loop = GLib.MainLoop()
    program = subprocess.Popen(  # noqa: S603  what the test names
        sys.argv[1:],
        stdin=subprocess.DEVNULL,
        env={**os.environ, "UMOCKDEV_DIR": testbed.get_root_dir()},
    )

    def wait():
        program.wait()
        GLib.idle_add(loop.quit)

    def listen():
        for line in sys.stdin:
            if line.strip() == "end":
                program.terminate()
            else:
                GLib.idle_add(obey, line.rstrip("\n"))
        program.terminate()

    for work in (wait, listen):
        threading.Thread(target=work, daemon=True).start()
    loop.run()


main()
