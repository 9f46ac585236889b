"""What the machinist sees of a bench, printed as looks: `python -m tests.system.board_eyes FOLDER`.

A board's own ear and fold: the bench is found by its link in the session folder, heard on its bus,
and only what proves to be its own is taken. While the bus is away nothing new is seen.
"""

import asyncio
import json
import sys
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from barrelfit.acquire.clock import RunningClock
from barrelfit.dashboard.board.hub import Hub
from barrelfit.dashboard.board.model import Board, Link
from barrelfit.rules.model import FeatureId

LOOK_S = 0.05


class Eyes:
    """Looks at a board again and again, and says what is new on it, oldest first."""

    def __init__(self) -> None:
        self._seen = 0
        self._sessions: set[str] = set()

    def see(self, boards: Mapping[str, Board], _now_ns: int, _link: Link) -> list[dict[str, Any]]:
        """The looks for everything that the board shows since the last one."""
        found: list[tuple[int, dict[str, Any]]] = []
        sessions = {board.session for board in boards.values()}
        if sessions != self._sessions:  # each session counts its records from one on
            self._sessions, self._seen = sessions, 0
        for board in boards.values():
            state = board.state
            asked = state.asked
            found += [(s.seq, _look("sized", s.event.at)) for s in state.sizes.values()]
            found += [(r.seq, _look("refused", r.event.at)) for r in state.refused.values()]
            if asked is not None:
                what = _look("asked", asked.event.at) if asked.event.at else {"look": "done"}
                found.append((asked.seq, {**what, "gauge": asked.event.gauge}))
        new = sorted((one for one in found if one[0] > self._seen), key=lambda one: one[0])
        self._seen = max([self._seen, *(seq for seq, _ in new)])
        return [look for _, look in new]


def _look(kind: str, at: FeatureId) -> dict[str, Any]:
    return {"look": kind, **asdict(at)}


async def _watch(folder: Path) -> None:
    hub, eyes = Hub(RunningClock(), folder), Eyes()
    async with asyncio.TaskGroup() as group:
        group.create_task(hub.run(None))
        while True:
            for look in hub.look(eyes.see):
                sys.stdout.write(json.dumps(look) + "\n")
                sys.stdout.flush()
            await asyncio.sleep(LOOK_S)


if __name__ == "__main__":
    asyncio.run(_watch(Path(sys.argv[1])))
