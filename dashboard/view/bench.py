"""What the bench page shows, worked out from a `Board`, the time and the settings: pure."""

from dataclasses import dataclass
from typing import Final

from barrelfit.dashboard.board.model import Board, GaugeSeen, Link
from barrelfit.dashboard.board.places import feature_words, place_words
from barrelfit.dashboard.shown import MINUS, Shown, age_text, code_text
from barrelfit.dashboard.view.answer import AnswerView, answer_view
from barrelfit.dashboard.view.ending import SetResult, set_result
from barrelfit.dashboard.view.passes import PassMarks, caution, pass_marks
from barrelfit.dashboard.view.stage import Stage, stage_of
from barrelfit.dashboard.view.telling import TellingView, telling_view
from barrelfit.dashboard.view.verdicts import verdict_key
from barrelfit.dashboard.view.where import Level, edge_text, levels_of
from barrelfit.dashboard.words import say, say_or_raw
from barrelfit.rules.manner import told
from barrelfit.rules.model import FeatureId

STALE_MS: Final = 2_000
SILENT_MS: Final = 2_000
RULES_SILENT_MS: Final = 4_000
NS_PER_MS: Final = 1_000_000
ASK_KINDS: Final = {
    "no_job": "no-job",
    "ask_alike": "question",
    "ask_sure": "question",
    "ask_undecided": "again",
    "ask_below": "again",
    "ask_above": "again",
}
"""What sort of ask it is, by what is said; all others ask for something new."""


@dataclass(frozen=True, slots=True)
class Figure:
    """The live reading: its text without unit, and whether it is live, old, lost or none."""

    text: str
    sign: str
    state: str
    age_ms: int
    gauge: str


@dataclass(frozen=True, slots=True)
class Cell:
    """One feature in the set's progress: `state` is open, now, done or refused."""

    label: str
    state: str


@dataclass(frozen=True, slots=True)
class PartRow:
    """One part in the set's progress with its verdict's key (`none` before there is one).

    `decided` says what a lead has decided otherwise.
    """

    part: str
    verdict: str
    cells: tuple[Cell, ...]
    decided: str = ""


@dataclass(frozen=True, slots=True)
class AskView:
    """What is asked for: the feature in words, how, and whether it is a question or once more.

    `kind` is `ask`, `again` (the same once more), `by-hand` (no gauge of the bench measures it),
    `question` (about parts that are alike), `no-job` or `none`.
    """

    kind: str
    what: str
    how: str
    progress: str


@dataclass(frozen=True, slots=True)
class BenchView:
    """All of the bench page except the trace's points and the live figure."""

    bench: str
    job: str
    stage: Stage
    trouble: str
    note: str
    caution: str
    place: FeatureId | None
    ask: AskView
    passes: PassMarks
    answer: AnswerView | None
    result: SetResult | None
    parts: tuple[PartRow, ...]
    edge: str
    levels: tuple[Level, ...]
    directions: tuple[str, ...]
    telling: TellingView


def bench_view(board: Board, now_ns: int, link: Link, shown: Shown) -> BenchView:
    """Work out the bench page's slow part."""
    levels, directions = levels_of(board, shown)
    return BenchView(
        bench=board.bench,
        job=job_text(board),
        stage=stage_of(board, now_ns),
        trouble=trouble(board, now_ns, link),
        note=_note(board),
        caution=caution(board, shown, now_ns),
        place=board.place,
        ask=ask_view(board, shown),
        passes=pass_marks(board, shown),
        answer=answer_view(board, shown),
        result=set_result(board, shown),
        parts=part_rows(board),
        edge=edge_text(board, shown),
        levels=levels,
        directions=directions,
        telling=telling_view(board, shown),
    )


def ask_view(board: Board, shown: Shown) -> AskView:
    """What is asked for now, or why nothing is."""
    asked = board.state.asked
    if asked is None:
        return AskView("none", "", say("wait_ask"), "")
    at = asked.event.at
    is_fact = any(fact.at == at for fact in board.facts_asked)
    sentence = told(asked.event.sentence, shown)
    what = at.part if at is not None and is_fact else place_words(at)
    kind = ASK_KINDS.get(asked.event.sentence.key, "ask" if what else "none")
    if kind == "question":
        once = asked.event.sentence.key == "ask_alike"
        words = say("question") if once else say("question_sure")
        return AskView(kind, words, sentence, progress_text(board))
    if kind == "ask" and not is_fact and not asked.event.gauge:
        kind = "by-hand"
    return AskView(kind, what, _without(what, sentence), progress_text(board))


def _without(what: str, sentence: str) -> str:
    """A sentence without the words that stand large above it.

    >>> _without("B1 bore top thrust", "B1 bore, top, 12 mm below the top")
    'top, 12 mm below the top'
    """
    told_already, rest = what.split(), sentence.split()
    while told_already and rest and rest[0].rstrip(",:") == told_already[0].rstrip(","):
        ended = rest[0].endswith((",", ":"))
        del told_already[0], rest[0]
        if ended:
            break
    return " ".join(rest)


def job_text(board: Board) -> str:
    """The job as shown, empty when the bench has named none."""
    return say("job", job=board.job) if board.job else ""


def progress_text(board: Board) -> str:
    """How much of the set is measured, empty before the bench has asked for anything."""
    asked = board.state.asked
    if asked is None or not asked.event.total:
        return ""
    return say("progress", done=asked.event.done, total=asked.event.total)


def silent_ms(board: Board, now_ns: int) -> int | None:
    """Milliseconds since the bench was heard, None when it never was."""
    return None if board.heard_at_ns is None else (now_ns - board.heard_at_ns) // 1_000_000


def bench_state(board: Board, now_ns: int, link: Link) -> str:
    """The bench as a word: online, offline or unknown. A retained "online" alone is no proof."""
    if not link.up:
        return "unknown"
    if board.daemon == "offline":
        return "offline"
    silence = silent_ms(board, now_ns)
    return "unknown" if silence is None or silence > SILENT_MS else "online"


def trouble(board: Board, now_ns: int, link: Link) -> str:
    """The one sentence that matters most while something is wrong, empty when all is well."""
    return alarm_of(board, now_ns, link)[1]


def alarm_of(board: Board, now_ns: int, link: Link) -> tuple[str, str]:
    """What is wrong, by its kind and in a sentence; both empty when all is well.

    Kinds are those that need a person (`view.floor.KINDS`), `off` and `bus`.
    """
    if not link.up:
        return "bus", say("broker_down")
    state = bench_state(board, now_ns, link)
    if state == "offline":
        return "off", say("daemon_offline")
    if state == "unknown":
        silence = silent_ms(board, now_ns)
        if silence is None:
            return "silent", say("daemon_waiting", bench=board.bench)
        return "silent", say("daemon_unknown", age=age_text(silence))
    return _bench_alarm(board, now_ns)


def _bench_alarm(board: Board, now_ns: int) -> tuple[str, str]:
    if board.not_recording:
        return "not-recording", say("not_recording", reason=board.not_recording)
    rules = board.services.get("rules")
    if rules is not None and rules.state == "away":
        return "not-counting", say("rules_away", reason=told(rules.reason))
    moved_ns = board.rules_moved_ns
    if moved_ns is not None and now_ns - moved_ns > RULES_SILENT_MS * NS_PER_MS:
        age = age_text((now_ns - moved_ns) // NS_PER_MS)
        return "not-counting", say("not_counting", age=age)
    gauge = shown_gauge(board)
    if gauge is not None and gauge.state == "lost":
        return "gauge", gauge_lost_text(gauge)
    if gauge is not None and gauge.fault:
        return "gauge", say(
            "gauge_fault",
            gauge=gauge.name,
            fault=code_text("fault_seen", "fault", gauge.fault),
        )
    return "", ""


def gauge_lost_text(gauge: GaugeSeen) -> str:
    """Say that a gauge is lost, with the reason when the bench gave one."""
    if gauge.reason:
        return say("gauge_lost", gauge=gauge.name, reason=told(gauge.reason))
    return say("gauge_lost_bare", gauge=gauge.name)


def _note(board: Board) -> str:
    """What is worth knowing but stops nothing: another gauge that is lost, messages missed."""
    shown = board.gauge_shown
    lost = [g for g in board.gauges.values() if g.state == "lost" and g.name != shown]
    if lost:
        return gauge_lost_text(lost[0])
    if board.conflict is not None:
        return say("conflict", seq=board.conflict)
    if board.missed:
        return say("missed", count=board.missed)
    return say("bad_messages", count=board.bad) if board.bad else ""


def shown_gauge(board: Board) -> GaugeSeen | None:
    """The gauge whose figure is shown, None before any was heard."""
    return board.gauges.get(board.gauge_shown)


def figure(board: Board, now_ns: int, link: Link, shown: Shown) -> Figure:
    """The live figure; an old one keeps its digits, is marked, and tells its age."""
    gauge = shown_gauge(board)
    if gauge is None or gauge.seen_at_ns is None or (gauge.nm is None and not gauge.mass):
        name = gauge.name if gauge else ""
        state = "lost" if gauge and gauge.state == "lost" else "none"
        return Figure("–", shown.sign, state, 0, name)  # noqa: RUF001  a dash, not a minus
    age_ms = max((now_ns - gauge.seen_at_ns) // 1_000_000, 0)
    text, sign = figure_text(gauge, shown)
    return Figure(
        text=text,
        sign=sign,
        state=_figure_state(gauge, age_ms, bench_state(board, now_ns, link)),
        age_ms=age_ms,
        gauge=gauge.name,
    )


def figure_text(gauge: GaugeSeen, shown: Shown) -> tuple[str, str]:
    """The number that a gauge shows, and its unit: of a scale its own, whatever lengths are in."""
    if gauge.nm is not None:
        return shown.number(gauge.nm, figure_decimals(gauge, shown)), shown.sign
    return shown.marked(gauge.mass).replace("-", MINUS), gauge.unit


def _figure_state(gauge: GaugeSeen, age_ms: int, bench: str) -> str:
    if gauge.state == "lost":
        return "lost"
    return "live" if age_ms <= STALE_MS and bench == "online" else "stale"


def figure_decimals(gauge: GaugeSeen, shown: Shown) -> int:
    """Decimals of the live figure: the gauge's own; one or two more where the unit is not its."""
    if shown.unit == "mm":
        return min(gauge.decimals + (1 if gauge.unit == "inch" else 0), 6)
    return min(gauge.decimals if gauge.unit == "inch" else gauge.decimals + 2, 7)


def part_rows(board: Board) -> tuple[PartRow, ...]:
    """The set's progress: parts in the plan's order, each with its features' states."""
    places = [f.at for f in board.features] or sorted(board.state.sizes, key=str)
    rows: dict[str, list[Cell]] = {}
    for place in places:
        cell = Cell(feature_words(place), _cell_state(board, place))
        rows.setdefault(place.part, []).append(cell)
    return tuple(
        PartRow(part, verdict_key(board, part), tuple(cells), _decided(board, part))
        for part, cells in rows.items()
    )


def _decided(board: Board, part: str) -> str:
    stood = board.state.overridden.get(part)
    return say("lead_decided", verdict=say_or_raw(stood.event.verdict)) if stood else ""


def _cell_state(board: Board, place: FeatureId) -> str:
    state = board.state
    if place == state.at and state.done is None:
        return "now"
    if place in state.sizes:
        return "done"
    return "refused" if place in state.refused else "open"
