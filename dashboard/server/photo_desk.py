"""Takes a photo that a phone sends: kept first, then told to the bench as a fact of its part."""

import asyncio
import secrets
import shutil
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Final

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.photo import keep_photo
from barrelfit.dashboard.board.hub import Hub
from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.pages.entry import fact_command
from barrelfit.dashboard.pages.override import send
from barrelfit.dashboard.view.parts import part_names
from barrelfit.dashboard.words import say
from barrelfit.rules.engine.set_facts import PHOTO_FOLDER, photo_at
from barrelfit.rules.manner import told, told_all
from barrelfit.rules.model import FeatureId

RECORD_S: Final = 4.0
"""How long the record of what was told is waited for."""
DONE, NO_PART, NOT_TAKEN = 200, 404, 409


@dataclass(frozen=True, slots=True)
class Became:
    """What became of a photo: a status of HTTP, and a sentence for whoever took it."""

    status: int
    sentence: str


class PhotoDesk:
    """Takes photos for one bench.

    Args:
        hub: where the bench is.
        bench: its name.
    """

    def __init__(self, hub: Hub, bench: str) -> None:
        self._hub = hub
        self._bench = bench

    async def take(self, part: str, data: bytes, who: str) -> Became:
        """Keep a photo of a part and tell it.

        Args:
            part: the part.
            data: the photo as the camera gave it.
            who: took it.
        """
        if not self._hub.look_at(self._bench, lambda board, _now, _link: part in _parts(board)):
            return Became(NO_PART, say("photo_no_part"))
        try:
            name = await asyncio.to_thread(_kept, self._hub.sessions, data)
        except UserError as error:
            return Became(NOT_TAKEN, "; ".join(told_all(error.problems)))
        except OSError as error:
            return Became(NOT_TAKEN, say("photo_not_kept", why=str(error.strerror)))
        return await self._tell(photo_at(part, name), name, who=who)

    async def take_back(self, part: str, file: str, who: str) -> Became:
        """Tell that a photo does not count; the record keeps it, and the file stays."""
        at = photo_at(part, f"{PHOTO_FOLDER}/{file}")
        return await self._tell(at, "", who=who, why=say("photo_back_why"))

    async def _tell(self, at: FeatureId, value: str, **said: str) -> Became:
        if not at.depth:
            return Became(NO_PART, say("photo_no_part"))
        command = fact_command(secrets.token_hex(8), at, value, "", by="phone", **said)
        page = self._hub.open_page(self._bench)
        try:
            reply = await asyncio.to_thread(send, command, partial(self._hub.ask, self._bench))
            if not reply.ok:
                return Became(NOT_TAKEN, reply.sentence)
            return await self._recorded(at, value, page)
        finally:
            self._hub.close_page(self._bench, page)

    async def _recorded(self, at: FeatureId, value: str, page: asyncio.Event) -> Became:
        """Wait until the bench's record says what became of it."""
        try:
            async with asyncio.timeout(RECORD_S):
                while True:
                    page.clear()
                    became = self._hub.look_at(
                        self._bench, lambda board, _now, _link: _outcome(board, at, value)
                    )
                    if became is not None:
                        return became
                    await page.wait()
        except TimeoutError:
            return Became(NOT_TAKEN, say("photo_waits"))


def _parts(board: Board) -> tuple[str, ...]:
    return tuple(name for name in part_names(board) if name)


def _outcome(board: Board, at: FeatureId, value: str) -> Became | None:
    facts = [stood.event for stood in board.state.facts if stood.event.at == at]
    if facts and facts[-1].value == value:
        return Became(DONE, say("photo_taken"))
    refused = board.state.fact_refused
    if refused is not None and refused.event.at == at and refused.event.value == value:
        return Became(NOT_TAKEN, told(refused.event.sentence))
    return None


def _kept(folder: Path, data: bytes) -> str:
    return keep_photo(folder, data, shutil.disk_usage(folder).free)
