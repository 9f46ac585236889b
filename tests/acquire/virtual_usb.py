"""A USB device behind pyusb's own backend interface: everything above it is the real code.

The codes of its errors are those of libusb on Linux (errno and libusb's own, libusb.h).
"""

import errno
import struct
import threading
from collections import deque
from types import SimpleNamespace

import usb.backend
from usb.core import USBError, USBTimeoutError

ERRORS = {
    errno.ENODEV: (-4, "No such device (it may have been disconnected)"),
    errno.ETIMEDOUT: (-7, "Operation timed out"),
    errno.EBUSY: (-6, "Resource busy"),
    errno.EPIPE: (-9, "Pipe error"),
    errno.EIO: (-1, "Input/Output Error"),
    errno.EACCES: (-3, "Access denied (insufficient permissions)"),
    errno.ENOENT: (-5, "Entity not found"),
}
KEYBOARD = (3, 1, 1)
VENDOR = (0xFF, 0, 0)


def usb_error(code):
    backend_code, text = ERRORS[code]
    kind = USBTimeoutError if code == errno.ETIMEDOUT else USBError
    return kind(text, backend_code, code)


class VirtualDevice:
    """One device with one interface; the test fills `arrives`, `faults`, and unplugs it."""

    def __init__(self, shape=KEYBOARD, serial_number="SN0001", product=1):
        self.shape = shape
        self.serial_number = serial_number
        self.product = product
        self.driver = shape == KEYBOARD  # the kernel's own holds it
        self.allowed = True
        self.held_by_other = False
        self.present = True
        self.claimed = False
        self.arrives = deque()
        self.faults = deque()
        self.sent = []
        self.asked = []
        self.detached = 0
        self.open = 0
        self.change = threading.Condition()

    def gives(self, *packets):
        with self.change:
            self.arrives.extend(packets)
            self.change.notify_all()

    def fails(self, *codes):
        with self.change:
            self.faults.extend(codes)
            self.change.notify_all()

    def unplug(self):
        with self.change:
            self.present = False
            self.driver = self.shape == KEYBOARD  # bound again at the next plug
            self.claimed = False
            self.change.notify_all()

    def plug(self):
        self.present = True


class VirtualBackend(usb.backend.IBackend):
    """Lists and serves virtual devices."""

    def __init__(self, *devices):
        self.devices = list(devices)

    def enumerate_devices(self):
        return (device for device in self.devices if device.present)

    def get_device_descriptor(self, dev):
        return SimpleNamespace(
            bLength=18,
            bDescriptorType=1,
            bcdUSB=0x200,
            bDeviceClass=0,
            bDeviceSubClass=0,
            bDeviceProtocol=0,
            bMaxPacketSize0=8,
            idVendor=0x1209,
            idProduct=dev.product,
            bcdDevice=0x100,
            iManufacturer=0,
            iProduct=2,
            iSerialNumber=3 if dev.serial_number else 0,
            bNumConfigurations=1,
            address=4,
            bus=1,
            port_number=2,
            port_numbers=(2,),
            speed=2,
        )

    def get_configuration_descriptor(self, dev, config):
        if config:
            raise IndexError(config)
        return SimpleNamespace(
            bLength=9,
            bDescriptorType=2,
            wTotalLength=34,
            bNumInterfaces=1,
            bConfigurationValue=1,
            iConfiguration=0,
            bmAttributes=0xA0,
            bMaxPower=50,
            extra_descriptors=[],
        )

    def get_interface_descriptor(self, dev, intf, alt, config):
        if intf or alt:
            raise IndexError(intf)
        kind, sub, protocol = dev.shape
        return SimpleNamespace(
            bLength=9,
            bDescriptorType=4,
            bInterfaceNumber=0,
            bAlternateSetting=0,
            bNumEndpoints=1 if dev.shape == KEYBOARD else 2,
            bInterfaceClass=kind,
            bInterfaceSubClass=sub,
            bInterfaceProtocol=protocol,
            iInterface=0,
            extra_descriptors=[],
        )

    def get_endpoint_descriptor(self, dev, ep, intf, alt, config):
        keyboard = dev.shape == KEYBOARD
        return SimpleNamespace(
            bLength=7,
            bDescriptorType=5,
            bEndpointAddress=(0x81, 0x02)[ep],
            bmAttributes=3 if keyboard else 2,
            wMaxPacketSize=8 if keyboard else 64,
            bInterval=10,
            bRefresh=0,
            bSynchAddress=0,
            extra_descriptors=[],
        )

    def open_device(self, dev):
        self._check(dev)
        if not dev.allowed:
            raise usb_error(errno.EACCES)
        dev.open += 1
        return dev

    def close_device(self, dev_handle):
        dev_handle.open -= 1

    def get_configuration(self, dev_handle):
        self._check(dev_handle)
        return 1

    def set_configuration(self, dev_handle, config_value):
        self._check(dev_handle)
        if dev_handle.driver:
            raise usb_error(errno.EBUSY)

    def claim_interface(self, dev_handle, intf):
        self._check(dev_handle)
        if dev_handle.driver or dev_handle.held_by_other:
            raise usb_error(errno.EBUSY)
        dev_handle.claimed = True

    def release_interface(self, dev_handle, intf):
        dev_handle.claimed = False

    def is_kernel_driver_active(self, dev_handle, intf):
        self._check(dev_handle)
        return dev_handle.driver

    def detach_kernel_driver(self, dev_handle, intf):
        dev_handle.driver = False
        dev_handle.detached += 1

    def attach_kernel_driver(self, dev_handle, intf):
        self._check(dev_handle)
        dev_handle.driver = True

    def clear_halt(self, dev_handle, ep):
        self._check(dev_handle)

    def ctrl_transfer(self, dev_handle, kind, request, *rest):  # value, index, data, timeout
        value, index, data, _ = rest
        self._check(dev_handle)
        dev_handle.asked.append((kind, request, value, index))
        if (kind, request) != (0x80, 6) or value >> 8 != 3:
            if kind == 0x21:
                return 0
            raise usb_error(errno.EPIPE)
        texts = {2: "Test gauge", 3: dev_handle.serial_number}
        text = texts.get(value & 0xFF, "")
        body = text.encode("utf-16le") if value & 0xFF else struct.pack("<H", 0x409)
        answer = bytes([len(body) + 2, 3]) + body
        size = min(len(answer), len(data))
        data[:size] = type(data)("B", answer[:size])
        return size

    def intr_read(self, dev_handle, ep, intf, buff, timeout):
        self._check(dev_handle)
        if not dev_handle.claimed:
            raise usb_error(errno.EIO)
        with dev_handle.change:
            came = dev_handle.change.wait_for(
                lambda: dev_handle.arrives or dev_handle.faults or not dev_handle.present,
                timeout / 1000,
            )
            self._check(dev_handle)
            if not came:
                raise usb_error(errno.ETIMEDOUT)
            if dev_handle.faults:
                raise usb_error(dev_handle.faults.popleft())
            packet = dev_handle.arrives.popleft()
        buff[: len(packet)] = type(buff)("B", packet)
        return len(packet)

    bulk_read = intr_read

    def bulk_write(self, dev_handle, ep, intf, data, timeout):
        self._check(dev_handle)
        dev_handle.sent.append(bytes(data))
        return len(data)

    @staticmethod
    def _check(device):
        if not device.present:
            raise usb_error(errno.ENODEV)
