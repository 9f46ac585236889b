"""A gauge's port, and whether what stands there is the adapter that was read before.

A name by serial number can be another adapter's as well, and its link points to whichever is
there. After a loss only this adapter is taken again: the same plugging, the same socket, or, where
no other adapter ever had its serial number, one that was plugged in after the loss. Anything else
is told and left alone until a person says which adapter is the gauge's (on the board, or with
`barrelfit run --take`): else another gauge's readings would come under this one's name.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.wires.usb_tree import Plugged, all_plugged, plugged_at, sockets_taken
from barrelfit.rules.said import NOTHING, Said, said

BY_NUMBERS: Final = ("/dev/serial/by-id/", "usb:")
"""Ports whose names say what an adapter calls itself, not where it is."""

BY_PATH: Final = "/dev/serial/by-path/"


class OtherAdapterError(UserError):
    """What stands at a port is not the gauge's adapter, or may be another one.

    An adapter that is just being plugged in or out looks like another for a moment, while the
    system makes or takes away its entries: so this is told once two looks in a row say the same.
    """


@dataclass(slots=True)
class GaugePort:
    """One gauge's port with what is known of its adapter; outlives losses, and restarts as told.

    `known` is the adapter that was read last; `shared` names adapters that were there at the same
    time and can't be told apart; `chosen_by` is who said which adapter is the gauge's.

    Args:
        gauge: the gauge's id.
        name: the port's name, in the bench file or as a person said.
        at: finds the USB device behind a tty's node.
        listed: lists the USB devices that are plugged in.
        taken: names the sockets that something is in.
    """

    gauge: str
    name: str
    at: Callable[[Path], Plugged | None] = plugged_at
    listed: Callable[[], Sequence[Plugged]] = all_plugged
    taken: Callable[[], Sequence[str]] = sockets_taken
    known: Plugged | None = None
    shared: tuple[str, ...] = ()
    chosen_by: str = ""
    _stood: tuple[str, ...] = ()
    _sockets: Sequence[str] = field(default=())

    def choose(self, name: str, who: str) -> None:
        """Take a person's word: what stands at the port of this name is the gauge's adapter."""
        self.name, self.chosen_by = name, who
        self.known, self.shared = None, ()

    def check(self, found: Plugged | None) -> None:
        """Look at what stands at the port, before it is opened.

        Raises:
            OtherAdapterError: it is not the gauge's adapter, or it could be another one.
        """
        if found is None:
            return
        self._look(found)
        if why := self._why_not(found):
            what = said("port_and_do", name=self.name, why=why, do=self._what_to_do())
            raise OtherAdapterError([what])

    def opened(self, found: Plugged | None) -> None:
        """The port was opened, with this adapter behind it."""
        self.known, self._stood = found or self.known, ()

    def lost(self) -> None:
        """The port was lost: what stands there now under the same name is not the gauge's."""
        if self.known is not None:
            self._stood = tuple(p.plug for p in self._alike(self.known))

    def watch(self) -> Said:
        """Call now and then while the port is open: a sentence once its name comes to be shared."""
        if self.known is None or self.shared or not self._by_numbers:
            return NOTHING  # not worth a look at the sockets
        before, self._sockets = self._sockets, self.taken()
        if self._sockets == before or not self._look(self.known):
            return NOTHING
        return said("once_unplugged", both=self._both(), do=self._what_to_do())

    @property
    def _by_numbers(self) -> bool:
        return self.name.startswith(BY_NUMBERS) and "@" not in self.name

    def _look(self, own: Plugged) -> bool:
        """Note who else has the numbers of `own` now, where the port goes by them; whether so."""
        if self.shared or not self._by_numbers:
            return False
        others = [p for p in self._alike(own) if p.socket != own.socket]
        if others:
            self.shared = tuple(p.called for p in (own, *others))
        return bool(others)

    def _alike(self, own: Plugged) -> list[Plugged]:
        numbers = (own.usb, own.serial_number)
        return [p for p in self.listed() if (p.usb, p.serial_number) == numbers]

    def _why_not(self, found: Plugged) -> Said:
        """Why the adapter there is not taken; empty where it is."""
        known = self.known
        if known is not None and known.is_plugging_of(found):
            return NOTHING
        if self.shared:
            return self._both()
        if known is None:
            return NOTHING
        if known.numbers != found.numbers:
            return said("another_adapter", now=found.called, was=known.called)
        if known.socket == found.socket or self.name.startswith(BY_PATH) or "@" in self.name:
            return NOTHING
        return self._why_not_moved(known, found)

    def _why_not_moved(self, known: Plugged, found: Plugged) -> Said:
        """Why an adapter of the same numbers in another socket is not taken; empty where it is."""
        if not found.serial_number:
            return said("no_number_moved", now=found.called, socket=known.socket)
        if found.plug in self._stood:
            return said("stood_before", now=found.called, was=known.called)
        return NOTHING

    def _both(self) -> Said:
        return said("under_one_name", adapters=tuple(self.shared))

    def _what_to_do(self) -> Said:
        return said("say_which_socket", gauge=self.gauge)
