"""Snapshot, board, replay, report, index and what-if know the same sizes: those of the rules."""

import pytest
from sqlalchemy import select

from barrelfit.acquire.bus.mqtt_bus import BusMessage
from barrelfit.acquire.bus.plan_told import SetTold, planned_features
from barrelfit.acquire.bus.snapshot import SNAPSHOTS, Telling, state_of
from barrelfit.acquire.index.store import Store
from barrelfit.acquire.index.tables import SIZES
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.lines import Stamp, bus_copy
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.journal.writer import JournalFile
from barrelfit.acquire.redo.what_if import as_recorded
from barrelfit.acquire.report.source import lines_of
from barrelfit.dashboard.board.hub import Hub
from barrelfit.dashboard.board.player import SessionPlayer
from barrelfit.rules.events import TakenBack
from tests.acquire.answered_late import BORE, OPENING, SETUP, SKIRTS, AnsweredLate
from tests.dashboard.test_hub import StoppedClock, known

P1, P2, P3 = SKIRTS
BENCH, UTC = "bench-1", "2026-11-25T01:02:03.000000Z"


def two_undos():
    """Three sizes, a slip, then two undos before the rules have answered the first."""
    made = AnsweredLate()
    for at, text in ((P1, "84.931"), (BORE, "85.003"), (P2, "84.932")):
        made.typed(at, text)
        made.let()
    made.typed(P3, "8.4933")
    for _ in range(2):
        made.pressed("undo")
    pressed = len(made.records)
    made.let()
    answered = next(r.seq for r in made.records if isinstance(r.event, TakenBack))
    return made, (pressed, answered, len(made.records))


def written(records, path):
    """The journal of a session as far as these records, and its lines as the bus carries them."""
    stamps = iter(range(1, len(records) + 1))
    journal = JournalFile.create(path, RealDisk(), lambda: Stamp(next(stamps), UTC))
    for record in records:
        journal.append(record.event, record.because)
    journal.flush(now=True)
    lines = [bus_copy(line) for line in journal.lines_since(0, len(records))]
    journal.close()
    return lines


def told_to(hub, leaf, payload, *, retained=False):
    hub.receive(BusMessage(f"barrelfit/{BENCH}/{leaf}", payload, retained))


def batch(lines):
    return b'{"session":"%s","events":[%s]}' % (OPENING.session.encode(), b",".join(lines))


def sizes_of(state):
    return {str(at): stood.event.size_nm for at, stood in state.sizes.items()}


def of_the_board(lines, snapshot, at, folder):
    """A board that joined by a snapshot as of record `at`; 0: one that heard all."""
    hub = Hub(StoppedClock(), folder)
    if at:
        told_to(hub, "snapshot", snapshot, retained=True)
    told_to(hub, "journal", batch(lines[at:]))
    return sizes_of(known(hub, BENCH).state)


def snapshot_at(records, at):
    telling = Telling(BENCH, OPENING.session, lambda _: SetTold.of(SETUP))
    for record in records[:at]:
        telling.take(record)
    return telling.payload(at, UTC)


def of_the_player(path):
    player = SessionPlayer(path.stem, lambda: Session.open(path).records(), planned_features(SETUP))
    while not player.ended:
        player.command("step")
    return sizes_of(player.board.state)


def of_the_report(path):
    sizes = (line for line in lines_of(str(path)) if line["kind"] == "size")
    return {line["at"]: round(float(line["size_mm"]) * 1_000_000) for line in sizes}


def of_the_index(path):
    store = Store(path.with_suffix(".sqlite"))
    store.take(path)
    rows = store.rows(select(SIZES).where(SIZES.c.stands))
    store.close()
    words = ("part", "feature", "depth", "direction")
    return {"/".join(filter(None, (row[w] for w in words))): row["size_nm"] for row in rows}


def of_the_what_if(path):
    sizes = as_recorded(Session.open(path).records()).sizes
    return {str(at): size.size_nm for at, size in sizes.items()}


@pytest.mark.slow
def test_everybody_knows_the_same_sizes_before_between_and_after_the_answers(tmp_path):
    made, cuts = two_undos()
    seen, at = [], cuts[0] - 1  # between the two undos
    for cut in cuts:
        records, path = made.records[:cut], tmp_path / f"{cut}.jsonl"
        lines = written(records, path)
        answered = next((r.because for r in reversed(records) if r.because is not None), 1)
        wanted = {str(at): nm for at, nm in made.standing[answered].items()}
        seen.append(len(wanted))
        found = {
            "snapshot": sizes_of(state_of(SNAPSHOTS.decode(snapshot_at(records, cut)))),
            "board": of_the_board(lines, b"", 0, tmp_path),
            "late board": of_the_board(lines, snapshot_at(records, at), at, tmp_path),
            "replay": of_the_player(path),
            "report": of_the_report(path),
            "index": of_the_index(path),
            "what-if": of_the_what_if(path),
        }  # fmt: skip
        assert {who: sizes for who, sizes in found.items() if sizes != wanted} == {}, cut
    assert seen == [3, 2, 1]
