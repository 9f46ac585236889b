"""Writes readings as bytes, in the format a gauge's profile describes.

Only the profile's data is shared with the decoder (`drivers/profiles/*.toml`), never its code: a
reading is written by putting new sign and digits into the places that the profile's pattern finds
in its first example of a reading. The examples are the judge between the two.
"""

import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Protocol

from barrelfit.simulators.errors import SimulatorError
from barrelfit.simulators.writers import CountWriter, Tables, TextWriter


class Writer(Protocol):
    """Writes one reading as a whole frame: a length in nm, or a scale's mass in fg."""

    def write(self, amount: int, /) -> bytes:
        """The frame's bytes; raises SimulatorError when this gauge can't show that."""
        ...

    def switched(self, amount: int, /) -> bytes:
        """The frame after somebody pressed the gauge's unit button, rounded to its digits."""
        ...


class Encoder:
    """A gauge's way of speaking: frames for readings, and whether it waits to be asked."""

    def __init__(self, profile: Tables) -> None:
        self.profile_id = str(profile.get("id", "?"))
        self._request = str(profile.get("ask", {}).get("request", "")).encode("ascii")
        self._heard = b""
        kind = profile.get("frame", {}).get("kind")
        if kind not in {"line", "fixed"}:
            message = f"profile {self.profile_id} is typed on a keyboard, it has no line"
            raise SimulatorError([message])
        is_count = "count" in profile
        self._writer: Writer = CountWriter(profile) if is_count else TextWriter(profile)

    @classmethod
    def for_profile(cls, profile_id: str) -> "Encoder":
        """Encoder for a shipped profile; raises SimulatorError when there is none."""
        return cls(profile_tables(profile_id))

    @property
    def polled(self) -> bool:
        """Whether the gauge sends only when asked."""
        return bool(self._request)

    def asks(self, data: bytes) -> bool:
        """Whether these bytes complete a request."""
        self._heard = (self._heard + data)[-256:]
        if self._request and self._request in self._heard:
            self._heard = b""
            return True
        return False

    def encode(self, amount: int) -> bytes:
        """One frame for a reading of so many nm, or of a scale so many fg."""
        return self._writer.write(amount)

    def switched(self, amount: int) -> bytes:
        """One frame for the same after the gauge was switched to its other unit."""
        return self._writer.switched(amount)


def profile_ids() -> tuple[str, ...]:
    """Ids of the shipped profiles."""
    names = (entry.name for entry in files("barrelfit.drivers").joinpath("profiles").iterdir())
    return tuple(sorted(n.removesuffix(".toml") for n in names if n.endswith(".toml")))


def profile_tables(profile_id: str) -> Tables:
    """The parsed file of a shipped profile, or of a `.toml` file; raises SimulatorError."""
    if profile_id.endswith(".toml"):
        return tomllib.loads(Path(profile_id).read_text(encoding="utf-8"))
    if profile_id not in profile_ids():
        message = f"no profile is called '{profile_id}'; there are: {', '.join(profile_ids())}"
        raise SimulatorError([message])
    path = files("barrelfit.drivers").joinpath("profiles", f"{profile_id}.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))
