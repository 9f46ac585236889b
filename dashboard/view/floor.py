"""What the floor page shows: every bench at once, and what waits for the lead. Pure."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from barrelfit.dashboard.board.model import Board, GaugeSeen, Link
from barrelfit.dashboard.board.places import place_words
from barrelfit.dashboard.shown import Shown, age_text
from barrelfit.dashboard.view.bench import (
    SILENT_MS,
    alarm_of,
    bench_state,
    gauge_lost_text,
    job_text,
    progress_text,
)
from barrelfit.dashboard.view.verdicts import verdict_key
from barrelfit.dashboard.words import say, say_or_raw
from barrelfit.rules.engine.catalogue import lacks
from barrelfit.rules.events import Judged
from barrelfit.rules.manner import told
from barrelfit.rules.model import Severity, Verdict


@dataclass(frozen=True, slots=True)
class GaugeLine:
    """A gauge in one line: its name, state and the age of its last reading."""

    name: str
    state: str
    age: str


@dataclass(frozen=True, slots=True)
class Card:
    """One bench on the floor page; `share` is how much of the set is measured, 0…1.

    `alarm` is the kind of its trouble, empty without one; what it is stands among the needs.
    """

    bench: str
    job: str
    state: str
    doing: str
    progress: str
    share: float
    verdict: str
    about: str
    gauges: tuple[GaugeLine, ...]
    alarm: str


@dataclass(frozen=True, slots=True)
class Need:
    """What needs a person.

    Attributes:
        bench: where.
        about: the part or pair it is about; empty for a bench or a gauge.
        kind: one of `KINDS`.
        verdict: the verdict's key; empty where it is about no verdict.
        sentence: what is the matter.
        asked: who asks for another decision, and why.
    """

    bench: str
    about: str
    kind: str
    verdict: str
    sentence: str
    asked: str = ""


@dataclass(frozen=True, slots=True)
class FloorView:
    """All of the floor page."""

    cards: tuple[Card, ...]
    queue: tuple[Need, ...]
    summary: str
    trouble: str


KINDS: Final = ("not-recording", "not-counting", "silent", "gauge", "asked", "undecided")
"""What needs a person, the most urgent first."""
MISSING: Final = frozenset(lacks())
"""What is found where a size or a fact is not there yet."""


def by_name(name: str) -> list[tuple[int, str]]:
    """Order of names as people count: bench-2 stands before bench-11."""
    return [(int(part), "") if part.isdigit() else (-1, part) for part in re.split(r"(\d+)", name)]


def floor_view(boards: Mapping[str, Board], now_ns: int, link: Link, shown: Shown) -> FloorView:
    """Work out the floor page: benches by name, what needs a person by how urgent it is."""
    named = [boards[name] for name in sorted(boards, key=by_name)]
    cards = tuple(card(board, now_ns, link) for board in named)
    needs = [need for board in named for need in needs_of(board, now_ns, link, shown)]
    alarms = sum(bool(c.alarm) for c in cards)
    waiting = sum(bool(need.verdict) for need in needs)
    summary = say("floor_summary", benches=len(cards), waiting=waiting, alarms=alarms)
    return FloorView(
        cards,
        tuple(sorted(needs, key=lambda need: KINDS.index(need.kind))),
        summary if cards else "",
        "" if link.up else say("broker_down"),
    )


def card(board: Board, now_ns: int, link: Link) -> Card:
    """One bench's card."""
    done, state = board.state.done is not None, bench_state(board, now_ns, link)
    return Card(
        bench=board.bench,
        job=job_text(board),
        state=state,
        doing=say("set_finished") if done else place_words(board.place) or say("wait_ask"),
        progress=progress_text(board),
        share=1.0 if done else _share(board),
        verdict=verdict_key(board, board.last_verdict),
        about=board.last_verdict,
        gauges=tuple(gauge_line(gauge, state, now_ns) for gauge in board.gauges.values()),
        alarm=_alarm(board, now_ns, link)[0],
    )


def _share(board: Board) -> float:
    asked = board.state.asked
    return asked.event.done / asked.event.total if asked and asked.event.total else 0.0


def _alarm(board: Board, now_ns: int, link: Link) -> tuple[str, str]:
    """The bench's trouble, its kind and in a sentence; here any lost gauge counts.

    A bench that was switched off needs nobody, and without a bus nothing is known of any.
    """
    kind, sentence = alarm_of(board, now_ns, link)
    if kind in {"off", "bus"}:
        return "", ""
    lost = [gauge_lost_text(gauge) for gauge in board.gauges.values() if gauge.state == "lost"]
    return ("gauge", lost[0]) if lost and not kind else (kind, sentence)


def gauge_line(gauge: GaugeSeen, bench: str, now_ns: int) -> GaugeLine:
    """A gauge's state in words; one that answers but has been quiet is called silent.

    Where its `bench` is not online, nothing is known of the gauge now, whatever was said last.
    """
    age_ms = None if gauge.seen_at_ns is None else (now_ns - gauge.seen_at_ns) // 1_000_000
    state = gauge.state
    if bench != "online":
        state = "unknown"
    elif state == "answering" and age_ms is not None and age_ms > SILENT_MS:
        state = "present"
    return GaugeLine(gauge.name, state, "" if age_ms is None else age_text(age_ms))


def needs_of(board: Board, now_ns: int, link: Link, shown: Shown) -> list[Need]:
    """What of this bench needs a person: its alarm, then verdicts that only a person can settle."""
    kind, sentence = _alarm(board, now_ns, link)
    needs = [Need(board.bench, "", kind, "", sentence)] if kind else []
    state = board.state
    for about, stood in state.judged.items():
        judged, request = stood.event, state.override_asked.get(about)
        if about in state.overridden or not (request or _is_undecided(board, judged)):
            continue
        asked = ""
        if request is not None:
            asked = say("override_asked", who=request.event.who, reason=request.event.reason)
        verdict = judged.verdict.value
        first = told(judged.findings[0].sentence, shown) if judged.findings else say_or_raw(verdict)
        kind = "asked" if asked else "undecided"
        needs.append(Need(board.bench, about, kind, verdict, first, asked))
    return needs


def _is_undecided(board: Board, judged: Judged) -> bool:
    """Whether a verdict is undecided though nothing is missing that the bench asks for."""
    found = [one.code for one in judged.findings if one.severity == Severity.UNDECIDED]
    return (
        judged.verdict is Verdict.UNDECIDED
        and board.measured(judged.about)
        and not (found and set(found) <= MISSING)
    )


class FloorCues:
    """Remembers what one floor page has shown, so that what is new is heard and seen once."""

    def __init__(self) -> None:
        self._known: tuple[frozenset[str], frozenset[str]] | None = None

    def next(self, view: FloorView) -> list[list[str]]:
        """Cues for benches newly in trouble and for what newly waits; none for the past."""
        alarms = frozenset(card.bench for card in view.cards if card.alarm)
        queue = frozenset(f"{need.bench} {need.about}" for need in view.queue if need.verdict)
        before, self._known = self._known, (alarms, queue)
        if before is None:
            return []
        new_alarms = [["trouble", bench] for bench in sorted(alarms - before[0], key=by_name)]
        return new_alarms + [["waiting", entry] for entry in sorted(queue - before[1], key=by_name)]
