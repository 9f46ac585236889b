"""A bench that is set up: the ports that are listened to, what is taught, the file that is written.

It holds the ports of all gauges until the file is written, or it is closed.
"""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from barrelfit.acquire.clock import Clock, RunningClock
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_writer import ChosenGauge, set_up_text, write_bench
from barrelfit.acquire.inputs.gauge_profiles import load_profile, profile_names, save_profile
from barrelfit.acquire.inputs.shelf import file_text, parse_toml, shipped_names
from barrelfit.acquire.wires.gauge_listener import GaugeListener, PortHeard
from barrelfit.acquire.wires.one_reading import ear_at
from barrelfit.acquire.wires.ports_found import FoundPort, found_ports
from barrelfit.drivers.outcome import WireReading
from barrelfit.drivers.recognise import ProfileFit
from barrelfit.drivers.teaching.lesson import Lesson
from barrelfit.drivers.teaching.samples import sample


class SetUp:
    """One bench's set-up; made once in the board's process.

    Args:
        file: the bench file that it is for, there or not yet.
        done: to be called once the page says that the file is written and the ports are free.
        clock: stamps what arrives.
        found: lists the ports that something is plugged into.
    """

    def __init__(
        self,
        file: Path,
        done: Callable[[], None],
        clock: Clock | None = None,
        found: Callable[[], Sequence[FoundPort]] = found_ports,
    ) -> None:
        self.file = file
        self.lessons: dict[str, Lesson] = {}
        self.finished = False
        self.done = done
        self._clock = clock or RunningClock()
        self._found = found
        self._listeners: dict[str, GaugeListener] = {}
        self._profiles = [load_profile(name) for name in profile_names()]
        self._own: dict[str, str] = {}
        for gauge in self.before.get("gauge", ()):
            self._know(str(gauge.get("profile", "")))
            self.listen_to(str(gauge.get("port", "")))

    def _know(self, profile: str) -> None:
        """A profile that was taught for this bench before is looked for, too."""
        if profile.endswith(".toml") and Path(profile).exists():
            known = load_profile(profile)
            self._own[known.id] = profile
            self._profiles.append(known)

    def own_file(self, heard: PortHeard) -> str:
        """The file of a port's profile where it was taught, empty where it is a shipped one."""
        return self._own.get(heard.fit.profile.id, "") if heard.fit is not None else ""

    @property
    def before(self) -> dict[str, Any]:
        """The tables of the file as it is, empty where there is none."""
        return parse_toml(file_text(self.file), str(self.file)) if self.file.exists() else {}

    def sheets(self) -> tuple[str, ...]:
        """The sheets to choose from: the file's own first."""
        own = self.before.get("sheet")
        names = shipped_names("rules", "sheets")
        return tuple(dict.fromkeys((str(own), *names) if own else names))

    def look(self) -> list[PortHeard]:
        """What is known of every port; what was plugged in meanwhile is listened to, too."""
        if not self.finished:
            for port in self._found():
                self.listen_to(port.name, port.product)
        return [listener.heard for listener in self._listeners.values()]

    def listen_to(self, port: str, product: str = "") -> None:
        """Listen to one more port; one that could not be opened is tried again."""
        listener = self._listeners.get(port)
        if port and (listener is None or (listener.heard.wrong and not product)):
            made = GaugeListener(port, product, self._profiles, ear_at, self._clock)
            self._listeners[port] = made
            made.start()

    def teach(self, port: str, baud: int = 0) -> None:
        """Begin a lesson at a port."""
        self.lessons[port] = Lesson()
        self._listeners[port].teach(baud)

    def told(self, port: str, shown: str) -> None:
        """What the display showed for the reading that was sent.

        Raises:
            DriverError: what was typed is no number with its unit.
        """
        heard, lesson = self._listeners[port].heard, self.lessons[port]
        lesson.baud = heard.baud
        lesson.take(sample(heard.sent, shown))
        self._listeners[port].taken()

    def leave_out(self, port: str) -> None:
        """The reading that was sent is not told of."""
        self._listeners[port].taken()

    def save_taught(self, port: str) -> Path:
        """Save what was proven, and read the gauge with it; gives the file.

        Raises:
            UserError: it can't be written.
        """
        lesson = self.lessons[port]
        proposal, last = lesson.proposal, lesson.samples[-1]
        if proposal is None or not lesson.proven:
            raise UserError([])
        profile = proposal.profile
        path = save_profile(proposal.text, self.file.parent, profile.id)
        reading = WireReading(last.raw, 0, last.shown.value, last.shown.unit, last.shown.length_nm)
        line = profile.port
        fit = ProfileFit(profile, line.bits, line.parity, 3, reading, profile.sends == "free")
        self._own[profile.id] = str(path)
        self._listeners[port].follow(fit)
        del self.lessons[port]
        return path

    def finish(
        self,
        bench: str,
        who: str,
        sheet: str,
        gauges: Sequence[ChosenGauge | str],
        *,
        may_replace: bool,
    ) -> None:
        """Write the file, and let go of the ports.

        Raises:
            UserError: the file would not be right, or is there and may not be replaced.
        """
        before = file_text(self.file) if self.file.exists() else ""
        text = set_up_text(bench, who, sheet, gauges, before)
        write_bench(self.file, text, may_replace=may_replace)
        self.finished = True
        self.close()

    def close(self) -> None:
        """Let go of the ports."""
        for listener in self._listeners.values():
            listener.close()
