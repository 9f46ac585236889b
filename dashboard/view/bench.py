"""What the bench page shows, worked out from a `Board`, the time and the settings: pure."""

from dataclasses import dataclass
from typing import Final

from barrelfit.dashboard.board.model import Board, GaugeSeen, Link
from barrelfit.dashboard.board.places import feature_words, place_words
from barrelfit.dashboard.shown import Shown, age_text
from barrelfit.dashboard.view.pairing import PairingView, pairing_view
from barrelfit.dashboard.view.passes import PassMarks, pass_marks
from barrelfit.dashboard.view.telling import TellingView, telling_view
from barrelfit.dashboard.words import say, say_or_raw
from barrelfit.rules.events import Refused
from barrelfit.rules.manner import told, told_all
from barrelfit.rules.model import FeatureId, Finding

STALE_MS: Final = 2_000
SILENT_MS: Final = 2_000
RULES_SILENT_MS: Final = 4_000
NS_PER_MS: Final = 1_000_000
VERDICTS: Final = ("serviceable", "rework", "discard", "undecided")
EDGE_DIGITS: Final = {"mm": 1, "inch": 3}  # a height is found by eye and scale
DEEPEST: Final = 0.86  # where the deepest place is drawn, 0 at the barrel's top, 1 at its foot


@dataclass(frozen=True, slots=True)
class Figure:
    """The live reading: its text without unit, and whether it is live, old, lost or none."""

    text: str
    sign: str
    state: str
    age_ms: int
    gauge: str


@dataclass(frozen=True, slots=True)
class ReasonView:
    """One finding as shown: the sentence, the found value, the limit with its origin."""

    sentence: str
    value: str
    limit: str


@dataclass(frozen=True, slots=True)
class VerdictView:
    """A verdict as shown: word, what it is about, reasons (worst first), what to do."""

    verdict: str
    word: str
    about: str
    reasons: tuple[ReasonView, ...]
    todo: str
    overridden: str = ""


@dataclass(frozen=True, slots=True)
class Cell:
    """One feature in the set's progress: `state` is open, now, done or refused."""

    label: str
    state: str


@dataclass(frozen=True, slots=True)
class PartRow:
    """One part in the set's progress with its verdict's key (`none` before there is one)."""

    part: str
    verdict: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Level:
    """A depth of the bore in hand: its name, its length as text, its place 0 (top) to 1."""

    name: str
    text: str
    down: float


@dataclass(frozen=True, slots=True)
class ResultView:
    """The last size or refusal: a heading, the main text, and small lines below it."""

    kind: str
    head: str
    text: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BenchView:
    """All of the bench page except the trace's points."""

    bench: str
    job: str
    trouble: str
    note: str
    place: FeatureId | None
    ask: str
    progress: str
    passes: PassMarks
    result: ResultView | None
    verdict: VerdictView | None
    parts: tuple[PartRow, ...]
    edge: str
    levels: tuple[Level, ...]
    directions: tuple[str, ...]
    pairing: PairingView | None
    telling: TellingView


def bench_view(board: Board, now_ns: int, link: Link, shown: Shown) -> BenchView:
    """Work out the bench page's slow part."""
    levels, directions = _levels(board, shown)
    matched = board.state.matched
    return BenchView(
        bench=board.bench,
        job=job_text(board),
        trouble=trouble(board, now_ns, link),
        note=_note(board),
        place=board.place,
        ask=_ask(board, shown),
        progress=progress_text(board),
        passes=pass_marks(board, shown),
        result=_result(board, shown),
        verdict=verdict_view(board, board.last_verdict, shown) if board.last_verdict else None,
        parts=part_rows(board),
        edge=_edge(board, shown),
        levels=levels,
        directions=directions,
        pairing=pairing_view(matched.event, shown) if matched else None,
        telling=telling_view(board, shown),
    )


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
    if not link.up:
        return say("broker_down")
    state = bench_state(board, now_ns, link)
    if state == "offline":
        return say("daemon_offline")
    if state == "unknown":
        silence = silent_ms(board, now_ns)
        if silence is None:
            return say("daemon_waiting", bench=board.bench)
        return say("daemon_unknown", age=age_text(silence))
    return _bench_trouble(board, now_ns)


def _bench_trouble(board: Board, now_ns: int) -> str:
    if board.not_recording:
        return say("not_recording", reason=board.not_recording)
    rules = board.services.get("rules")
    if rules is not None and rules.state == "away":
        return say("rules_away", reason=told(rules.reason))
    moved_ns = board.rules_moved_ns
    if moved_ns is not None and now_ns - moved_ns > RULES_SILENT_MS * NS_PER_MS:
        return say("not_counting", age=age_text((now_ns - moved_ns) // NS_PER_MS))
    gauge = shown_gauge(board)
    if gauge is not None and gauge.state == "lost":
        return gauge_lost_text(gauge)
    if gauge is not None and gauge.fault:
        return say("gauge_fault", gauge=gauge.name, fault=gauge.fault)
    return ""


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
    if gauge is None or gauge.nm is None or gauge.seen_at_ns is None:
        name = gauge.name if gauge else ""
        state = "lost" if gauge and gauge.state == "lost" else "none"
        return Figure("–", shown.sign, state, 0, name)  # noqa: RUF001  a dash, not a minus
    age_ms = max((now_ns - gauge.seen_at_ns) // 1_000_000, 0)
    return Figure(
        text=shown.number(gauge.nm, figure_decimals(gauge, shown)),
        sign=shown.sign,
        state=_figure_state(gauge, age_ms, bench_state(board, now_ns, link)),
        age_ms=age_ms,
        gauge=gauge.name,
    )


def _figure_state(gauge: GaugeSeen, age_ms: int, bench: str) -> str:
    if gauge.state == "lost":
        return "lost"
    return "live" if age_ms <= STALE_MS and bench == "online" else "stale"


def figure_decimals(gauge: GaugeSeen, shown: Shown) -> int:
    """Decimals of the live figure: the gauge's own; one or two more where the unit is not its."""
    if shown.unit == "mm":
        return min(gauge.decimals + (1 if gauge.unit == "inch" else 0), 6)
    return min(gauge.decimals if gauge.unit == "inch" else gauge.decimals + 2, 7)


def _ask(board: Board, shown: Shown) -> str:
    state = board.state
    if state.done is not None:
        done = state.done.event
        return say(
            "all_done",
            serviceable=done.serviceable,
            rework=done.rework,
            discard=done.discard,
            undecided=done.undecided,
        )
    return say("wait_ask") if state.asked is None else told(state.asked.event.sentence, shown)


def _result(board: Board, shown: Shown) -> ResultView | None:
    if board.state.latest is None:
        return None
    event = board.state.latest.event
    place = place_words(event.at)
    if isinstance(event, Refused):
        head = say("refused_head", at=place)
        return ResultView(
            "refused", head, told(event.sentence, shown), (told(event.advice, shown),)
        )
    interval = say("interval", low=shown.length(event.low_nm), high=shown.length(event.high_nm))
    notes = told_all(event.notes, shown)
    return ResultView("sized", place, shown.length(event.size_nm), (interval, *notes))


def verdict_view(board: Board, about: str, shown: Shown) -> VerdictView:
    """A verdict as shown, findings worst first, an override beside the rules' own verdict."""
    judged = board.state.judged[about].event
    findings = sorted(judged.findings, key=lambda finding: -finding.severity)
    stood = board.state.overridden.get(about)
    text = ""
    if stood is not None:
        override = stood.event
        word = say_or_raw(override.verdict)
        text = say("overridden", verdict=word, who=override.who, reason=override.reason)
    return VerdictView(
        verdict=judged.verdict.value,
        word=say_or_raw(judged.verdict.value),
        about=about,
        reasons=tuple(_reason(finding, shown) for finding in findings),
        todo=told(judged.todo, shown),
        overridden=text,
    )


def _reason(finding: Finding, shown: Shown) -> ReasonView:
    value_nm, limit_nm = finding.value_nm, finding.limit_nm
    origin = told(finding.limit_from, shown)
    value = limit = ""
    if value_nm is not None and limit_nm is not None:
        value_text, limit_text = shown.apart(value_nm, limit_nm)
        value = say("value_is", value=value_text)
        limit = say("limit_from", limit=limit_text, origin=origin or "?")
    elif value_nm is not None:
        value = say("value_is", value=shown.length(value_nm))
    if not limit and origin:
        limit = say("limit_origin_only", origin=origin)
    return ReasonView(told(finding.sentence, shown), value, limit)


def part_rows(board: Board) -> tuple[PartRow, ...]:
    """The set's progress: parts in the plan's order, each with its features' states."""
    places = [f.at for f in board.features] or sorted(board.state.sizes, key=str)
    rows: dict[str, list[Cell]] = {}
    for place in places:
        cell = Cell(feature_words(place), _cell_state(board, place))
        rows.setdefault(place.part, []).append(cell)
    return tuple(
        PartRow(part, verdict_key(board, part), tuple(cells)) for part, cells in rows.items()
    )


def _cell_state(board: Board, place: FeatureId) -> str:
    state = board.state
    if place == state.at and state.done is None:
        return "now"
    if place in state.sizes:
        return "done"
    return "refused" if place in state.refused else "open"


def verdict_key(board: Board, about: str) -> str:
    """A part's or pair's verdict as its key; `none` before it can be acted on."""
    stood = board.state.judged.get(about)
    return stood.event.verdict.value if stood and board.measured(about) else "none"


def _edge(board: Board, shown: Shown) -> str:
    """How far from its edge the feature in hand is measured, empty when it is at no set place."""
    nm = board.from_edge_nm(board.place)
    return shown.length(nm, EDGE_DIGITS[shown.unit]) if nm is not None else ""


def _levels(board: Board, shown: Shown) -> tuple[tuple[Level, ...], tuple[str, ...]]:
    """Depths and directions the plan has for this feature, from the top down."""
    place = board.place
    if place is None:
        return (), ()
    planned = [f.at for f in board.features]
    same = [p for p in planned if (p.part, p.feature) == (place.part, place.feature)] or [place]
    first = {p.depth: p for p in reversed(same) if p.depth}
    names = list(dict.fromkeys(p.depth for p in same if p.depth))
    heights = [board.from_edge_nm(first[name]) for name in names]
    deepest = max((nm for nm in heights if nm is not None), default=0)
    levels = []
    for number, (name, nm) in enumerate(zip(names, heights, strict=True), start=1):
        known = nm is not None and deepest > 0
        down = nm / deepest * DEEPEST if nm is not None and known else number / (len(names) + 1)
        text = shown.length(nm, EDGE_DIGITS[shown.unit]) if nm is not None else ""
        levels.append(Level(name, text, down))
    return tuple(levels), tuple(dict.fromkeys(p.direction for p in same if p.direction))
