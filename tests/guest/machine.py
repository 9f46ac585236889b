"""A guest of its own kernel in QEMU: a real ttyUSB, a real keyboard driver, hot unplug by QMP.

Always `-accel tcg`: nested KVM hangs such guests on some hosts.
"""

import json
import os
import shutil
import socket
import subprocess
from pathlib import Path
from typing import Any

import serial

HOUSE = Path(__file__).resolve().parents[2]
BOOT_S = 300
NEEDED = (
    *("aiomqtt", "annotated_doc", "annotated_types", "barrelfit-*.dist-info", "google_crc32c*"),
    *("iotcore*", "msgspec*", "numpy", "numpy.libs", "paho", "pydantic", "pydantic_core", "serial"),
    *("shellingham", "typer", "typing_extensions.py", "typing_inspection", "usb"),
)
"""What `barrelfit run` imports, as this installation has it; the guest's Python is 3.11 as well."""


class Machine:
    """Boots the guest of `GUEST_DIR` with today's code in it; a context manager.

    `options` go on the kernel's command line.
    """

    def __init__(self, base: Path, folder: Path, options: str = "") -> None:
        self.folder = folder
        self._pack(base)
        names = ("control", "monitor", "gauge", "twin")
        listeners = {name: self._listener(name) for name in names}
        command = ["qemu-system-x86_64", "-accel", "tcg,thread=multi", "-M", "q35", "-cpu", "max"]
        command += ["-smp", "2", "-m", "2048", "-nodefaults", "-no-user-config", "-no-reboot"]
        command += ["-display", "none", "-kernel", str(base / "vmlinuz")]
        command += ["-initrd", str(folder / "initrd")]
        line = "console=ttyS0 quiet panic=-1 mitigations=off random.trust_cpu=on"
        command += ["-append", f"{line} {options}"]
        command += ["-chardev", f"file,id=console,path={folder}/console.log"]
        command += ["-serial", "chardev:console"]
        for name in names:
            command += ["-chardev", f"socket,id={name},path={folder}/{name}"]
        command += ["-serial", "chardev:control", "-mon", "chardev=monitor,mode=control"]
        command += ["-device", "qemu-xhci,id=xhci"]
        self.process = subprocess.Popen(  # noqa: S603  Debian's program
            command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.STDOUT
        )
        ends = {name: self._accepted(listener) for name, listener in listeners.items()}
        self._control, self._monitor, self.gauge, self.twin = (ends[name] for name in names)
        self._control.settimeout(BOOT_S)
        self._monitor.settimeout(BOOT_S)
        self._gone: set[str] = set()
        self._answers = self._control.makefile("rb")
        self._events = self._monitor.makefile("rb")
        self._events.readline()
        self.tell("qmp_capabilities")

    def __enter__(self) -> "Machine":
        while b"ready" not in self._answers.readline():
            pass
        return self

    def __exit__(self, *_: object) -> None:
        try:
            self._control.sendall(b"quit\n")
            self.process.wait(30)
        except (OSError, subprocess.TimeoutExpired):
            self.process.kill()
            self.process.wait()
        ends = (self._control, self._monitor, self.gauge, self.twin)
        for end in (self._answers, self._events, *ends):
            end.close()

    def run(self, code: str) -> str:
        """Run Python in the guest; gives what it printed."""
        self._control.sendall(json.dumps(code).encode() + b"\n")
        answer = json.loads(self._answers.readline())
        assert "error" not in answer, answer["error"]
        return answer["out"]

    def tell(self, command: str, **arguments: Any) -> Any:
        """Give QEMU a command."""
        words = {"execute": command, "arguments": arguments}
        self._monitor.sendall(json.dumps(words).encode() + b"\n")
        while "event" in (answer := self._told()):
            pass
        assert "error" not in answer, answer
        return answer.get("return")

    def _told(self) -> dict[str, Any]:
        """What QEMU says next: an answer, or an event, of which devices that are gone are kept."""
        told: dict[str, Any] = json.loads(self._events.readline())
        if told.get("event") == "DEVICE_DELETED":
            self._gone.add(told["data"].get("device"))
        return told

    def plug_adapter(self, name: str, *, socket: str = "1", cable: str = "gauge") -> None:
        """Plug a USB serial adapter in; all have one serial number, as cheap ones do."""
        place = {"port": socket, "bus": "xhci.0", "serial": "GAUGE01", "chardev": cable}
        self.tell("device_add", driver="usb-serial", id=name, **place)

    def plug_keyboard(self, name: str) -> None:
        """Plug a USB keyboard in."""
        place = {"port": "2", "bus": "xhci.0", "serial": "KBD01"}
        self.tell("device_add", driver="usb-kbd", id=name, **place)

    def unplug(self, name: str) -> None:
        """Unplug a device, and wait until its place is free."""
        self.tell("device_del", id=name)
        while name not in self._gone:
            self._told()

    def type(self, *keys: str) -> None:
        """Press keys of the keyboard one after the other."""
        for key in keys:
            words = {"type": "qcode", "data": key}
            self.tell("send-key", keys=[words], **{"hold-time": 30})

    def _pack(self, base: Path) -> None:
        """Put today's code behind the image: the kernel unpacks archives one after the other."""
        inside = self.folder / "inside" / "test"
        inside.mkdir(parents=True)
        shutil.copy(Path(__file__).parent / "agent.py", inside)
        leave = shutil.ignore_patterns("__pycache__")
        for package in (HOUSE / "acquire", HOUSE / "drivers", HOUSE / "rules"):
            shutil.copytree(package, inside / "barrelfit" / package.name, ignore=leave)
        site = Path(str(serial.__file__)).parents[1]
        for name in NEEDED:
            for source in site.glob(name):
                if source.is_dir():
                    shutil.copytree(source, inside / source.name, ignore=leave)
                else:
                    shutil.copy(source, inside)
        script = f"find . -print0 | cpio --null -o -H newc --quiet > {self.folder}/code.cpio"
        subprocess.run(["/bin/sh", "-c", script], cwd=inside.parent, check=True)  # noqa: S603
        with (self.folder / "initrd").open("wb") as whole:
            for part in (base / "base.cpio", self.folder / "code.cpio"):
                with part.open("rb") as archive:
                    shutil.copyfileobj(archive, whole)

    def _listener(self, name: str) -> socket.socket:
        listener = socket.socket(socket.AF_UNIX)
        listener.bind(str(self.folder / name))
        listener.listen(1)
        listener.settimeout(30)
        return listener

    @staticmethod
    def _accepted(listener: socket.socket) -> socket.socket:
        with listener:
            end, _ = listener.accept()
        return end


def guest_folder() -> Path | None:
    """Where `build.sh` built the guest, None when it was not."""
    folder = os.environ.get("GUEST_DIR")
    built = folder and (Path(folder) / "base.cpio").exists()
    return Path(folder) if folder and built and shutil.which("qemu-system-x86_64") else None
