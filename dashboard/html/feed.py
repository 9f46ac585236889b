"""What one open bench page is sent next: only what has changed since its last message. Pure.

A message has some of: `figure` (always), `stage` (which screen), `points` (readings as [ms, nm]),
`trace` (where to look and what counts), `blocks` (changed HTML by id), `cues` (to be heard once).
"""

from dataclasses import dataclass, field
from typing import Any

from barrelfit.dashboard.board.model import Board, Link
from barrelfit.dashboard.html.blocks import bench_blocks
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.bench import bench_state, bench_view, figure
from barrelfit.dashboard.view.passes import away_more, window_nm
from barrelfit.dashboard.view.stage import stage_of

POINTS_FIRST = 600  # a page that opens late is sent at most this much of the past


@dataclass(frozen=True, slots=True)
class Item:
    """One entry of a list on a page: its key, the address it leads to (or none), its HTML."""

    key: str
    href: str
    html: str


@dataclass(frozen=True, slots=True)
class Parts:
    """A page that is only blocks and lists."""

    blocks: dict[str, str] = field(default_factory=dict)
    lists: dict[str, list[Item]] = field(default_factory=dict)


class PartsFeed:
    """Remembers what one page of blocks and lists has, and works out the difference."""

    def __init__(self) -> None:
        self._blocks: dict[str, str] = {}
        self._lists: dict[str, dict[str, Item]] = {}

    def next(self, parts: Parts) -> dict[str, Any]:
        """The next message: changed blocks; of each changed list its order and changed items."""
        message: dict[str, Any] = {}
        blocks = {k: html for k, html in parts.blocks.items() if self._blocks.get(k) != html}
        if blocks:
            message["blocks"] = blocks
        lists = {}
        for name, items in parts.lists.items():
            had = self._lists.get(name, {})
            now = {item.key: item for item in items}
            changed = [[i.key, i.href, i.html] for i in items if had.get(i.key) != i]
            if changed or list(had) != list(now):
                lists[name] = {"order": list(now), "items": changed}
            self._lists[name] = now
        if lists:
            message["lists"] = lists
        self._blocks = parts.blocks
        return message


class BenchFeed:
    """Remembers what one page has, and works out the difference."""

    def __init__(self, shown: Shown) -> None:
        self._shown = shown
        self._blocks: dict[str, str] = {}
        self._trace: dict[str, Any] = {}
        self._points_taken: int | None = None
        self._points_of = ("", "")
        self._cues_heard: int | None = None
        self._slow: tuple[int, str, bool, str, str] | None = None
        self._stage = ""

    def next(self, board: Board, now_ns: int, link: Link) -> dict[str, Any]:
        """The next message for this page."""
        now = figure(board, now_ns, link, self._shown)
        message: dict[str, Any] = {
            "figure": {
                "text": now.text,
                "sign": now.sign,
                "state": now.state,
                "age_ms": now.age_ms,
                "gauge": now.gauge,
            }
        }
        self._add_points(board, message)
        slow = (
            board.slow,
            bench_state(board, now_ns, link),
            link.up,
            stage_of(board, now_ns),
            away_more(board, now_ns),
        )
        if slow != self._slow or slow[1] != "online":
            self._slow = slow
            self._add_slow(board, now_ns, link, message)
        self._add_cues(board, message)
        return message

    def _add_points(self, board: Board, message: dict[str, Any]) -> None:
        source = (board.session, board.points_gauge)
        if source != self._points_of or self._points_taken is None:
            self._points_of = source
            self._points_taken = max(board.points_taken - POINTS_FIRST, 0)
            message["fresh_trace"] = True
        fresh = min(board.points_taken - self._points_taken, len(board.points))
        self._points_taken = board.points_taken
        if fresh > 0:
            newest = [board.points[i] for i in range(len(board.points) - fresh, len(board.points))]
            message["points"] = [[p.t_ns // 1_000_000, p.nm] for p in newest]

    def _add_slow(self, board: Board, now_ns: int, link: Link, message: dict[str, Any]) -> None:
        view = bench_view(board, now_ns, link, self._shown)
        if view.stage != self._stage:
            message["stage"] = self._stage = view.stage
        blocks = bench_blocks(view)
        changed = {key: text for key, text in blocks.items() if self._blocks.get(key) != text}
        self._blocks = blocks
        if changed:
            message["blocks"] = changed
        trace = trace_marks(board)
        if trace != self._trace:
            self._trace = trace
            message["trace"] = trace

    def _add_cues(self, board: Board, message: dict[str, Any]) -> None:
        if self._cues_heard is not None:
            fresh = [cue for cue in board.cues if cue.number > self._cues_heard]
            if fresh:
                message["cues"] = [[cue.name, cue.about] for cue in fresh]
        self._cues_heard = board.cues_made


def trace_marks(board: Board) -> dict[str, Any]:
    """Where the trace looks (nm), where the sweep began and which spans count (ms)."""
    window = window_nm(board)
    sweep = board.state.sweep
    return {
        "low": window[0] if window else None,
        "high": window[1] if window else None,
        "contact": sweep.contact_ns // 1_000_000 if sweep else None,
        "spans": [
            [p.start_ns // 1_000_000, p.end_ns // 1_000_000, p.size_nm]
            for p in (sweep.passes if sweep else ())
        ],
    }
