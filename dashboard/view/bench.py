"""What the bench page shows, worked out from a `Board`, the time and the settings: pure."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from barrelfit.dashboard.board.model import Board, Gauge, Link, Place, place_of
from barrelfit.dashboard.board.places import feature_words, place_words
from barrelfit.dashboard.shown import Shown, age_text
from barrelfit.dashboard.view.pairing import Pairing, pairing_view
from barrelfit.dashboard.view.passes import PassMarks, pass_marks
from barrelfit.dashboard.view.sentences import in_words
from barrelfit.dashboard.words import say, say_or_raw

STALE_MS: Final = 2_000
SILENT_MS: Final = 2_000
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
class Reason:
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
    reasons: tuple[Reason, ...]
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
class Result:
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
    place: Place | None
    ask: str
    progress: str
    passes: PassMarks
    result: Result | None
    verdict: VerdictView | None
    parts: tuple[PartRow, ...]
    edge: str
    levels: tuple[Level, ...]
    directions: tuple[str, ...]
    pairing: Pairing | None


def bench_view(board: Board, now_ns: int, link: Link, shown: Shown) -> BenchView:
    """Work out the bench page's slow part."""
    levels, directions = _levels(board, shown)
    return BenchView(
        bench=board.bench,
        job=job_text(board),
        trouble=trouble(board, now_ns, link),
        note=_note(board),
        place=board.place,
        ask=_ask(board, shown),
        progress=say("progress", done=board.done, total=board.total) if board.total else "",
        passes=pass_marks(board, shown),
        result=_result(board, shown),
        verdict=verdict_view(board, board.last_verdict, shown) if board.last_verdict else None,
        parts=part_rows(board),
        edge=_edge(board, shown),
        levels=levels,
        directions=directions,
        pairing=pairing_view(board.matched, shown) if board.matched else None,
    )


def job_text(board: Board) -> str:
    """The job as shown, empty when the bench has named none."""
    return say("job", job=board.job) if board.job else ""


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
    return _bench_trouble(board)


def _bench_trouble(board: Board) -> str:
    if board.not_recording:
        return say("not_recording", reason=board.not_recording)
    gauge = shown_gauge(board)
    if gauge is not None and gauge.state == "lost":
        return gauge_lost_text(gauge)
    if gauge is not None and gauge.fault:
        return say("gauge_fault", gauge=gauge.name, fault=gauge.fault)
    return ""


def gauge_lost_text(gauge: Gauge) -> str:
    """Say that a gauge is lost, with the reason when the bench gave one."""
    if gauge.reason:
        return say("gauge_lost", gauge=gauge.name, reason=gauge.reason)
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


def shown_gauge(board: Board) -> Gauge | None:
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


def _figure_state(gauge: Gauge, age_ms: int, bench: str) -> str:
    if gauge.state == "lost":
        return "lost"
    return "live" if age_ms <= STALE_MS and bench == "online" else "stale"


def figure_decimals(gauge: Gauge, shown: Shown) -> int:
    """Decimals of the live figure: the gauge's own; one or two more where the unit is not its."""
    if shown.unit == "mm":
        return min(gauge.decimals + (1 if gauge.unit == "inch" else 0), 6)
    return min(gauge.decimals if gauge.unit == "inch" else gauge.decimals + 2, 7)


def _ask(board: Board, shown: Shown) -> str:
    if board.set_done is not None:
        counts = {key: board.set_done.get(key, 0) for key in VERDICTS}
        return say("all_done", **counts)
    if board.asked is None:
        return say("wait_ask")
    return in_words(str(board.asked.get("sentence", "")), shown)


def _result(board: Board, shown: Shown) -> Result | None:
    if board.last_result is None:
        return None
    kind, data = board.last_result
    place = place_words(place_of(data.get("at")))
    if kind == "refused":
        head = say("refused_head", at=place)
        told = [in_words(str(data.get(key, "")), shown) for key in ("sentence", "advice")]
        return Result("refused", head, told[0], (told[1],))
    size = shown.length(int(data["size_nm"]))
    interval = say(
        "interval", low=shown.length(int(data["low_nm"])), high=shown.length(int(data["high_nm"]))
    )
    notes = tuple(in_words(str(note), shown) for note in data.get("notes") or ())
    return Result("sized", place, size, (interval, *notes))


def verdict_view(board: Board, about: str, shown: Shown) -> VerdictView:
    """A verdict as shown, findings worst first, an override beside the rules' own verdict."""
    data = board.judged[about]
    verdict = str(data.get("verdict", "undecided"))
    findings = sorted(data.get("findings") or (), key=lambda f: -int(f.get("severity", 0)))
    override = board.overrides.get(about)
    text = ""
    if override is not None:
        word = say_or_raw(str(override.get("verdict", "")))
        text = say(
            "overridden",
            verdict=word,
            who=override.get("who", ""),
            reason=override.get("reason", ""),
        )
    return VerdictView(
        verdict=verdict,
        word=say_or_raw(verdict),
        about=about,
        reasons=tuple(_reason(finding, shown) for finding in findings),
        todo=in_words(str(data.get("todo", "") or ""), shown),
        overridden=text,
    )


def _reason(finding: Mapping[str, Any], shown: Shown) -> Reason:
    value_nm, limit_nm = finding.get("value_nm"), finding.get("limit_nm")
    origin = in_words(str(finding.get("limit_from", "") or ""), shown)
    value = limit = ""
    if isinstance(value_nm, int) and isinstance(limit_nm, int):
        value_text, limit_text = shown.apart(value_nm, limit_nm)
        value = say("value_is", value=value_text)
        limit = say("limit_from", limit=limit_text, origin=origin or "?")
    elif isinstance(value_nm, int):
        value = say("value_is", value=shown.length(value_nm))
    if not limit and origin:
        limit = say("limit_origin_only", origin=origin)
    return Reason(finding_words(finding, shown), value, limit)


def finding_words(finding: Mapping[str, Any], shown: Shown) -> str:
    """A finding's sentence, its lengths as the board shows them."""
    held = (finding.get(key) for key in ("value_nm", "limit_nm"))
    exact = [nm for nm in held if isinstance(nm, int)]
    return in_words(str(finding.get("sentence", "")), shown, *exact)


def part_rows(board: Board) -> tuple[PartRow, ...]:
    """The set's progress: parts in the plan's order, each with its features' states."""
    places = [place for place, _ in board.features] or sorted(board.sizes)
    rows: dict[str, list[Cell]] = {}
    for place in places:
        rows.setdefault(place[0], []).append(Cell(feature_words(place), _cell_state(board, place)))
    return tuple(
        PartRow(part, verdict_key(board, part), tuple(cells)) for part, cells in rows.items()
    )


def _cell_state(board: Board, place: Place) -> str:
    if place == board.place and board.set_done is None:
        return "now"
    if place in board.sizes:
        return "done"
    return "refused" if board.refusals.get(place) else "open"


def verdict_key(board: Board, about: str) -> str:
    """A part's or pair's verdict as its key; `none` before it can be acted on."""
    data = board.judged.get(about)
    return str(data.get("verdict", "none")) if data and board.measured(about) else "none"


def _edge(board: Board, shown: Shown) -> str:
    """How far from its edge the feature in hand is measured, empty when it is at no set place."""
    nm = board.from_edge_nm.get(board.place) if board.place else None
    return shown.length(nm, EDGE_DIGITS[shown.unit]) if nm is not None else ""


def _levels(board: Board, shown: Shown) -> tuple[tuple[Level, ...], tuple[str, ...]]:
    """Depths and directions the plan has for this feature, from the top down."""
    place = board.place
    if place is None:
        return (), ()
    same = [p for p, _ in board.features if p[0] == place[0] and p[1] == place[1]] or [place]
    first = {p[2]: p for p in reversed(same) if p[2]}
    names = list(dict.fromkeys(p[2] for p in same if p[2]))
    heights = [board.from_edge_nm.get(first[name]) for name in names]
    deepest = max((nm for nm in heights if nm is not None), default=0)
    levels = []
    for number, (name, nm) in enumerate(zip(names, heights, strict=True), start=1):
        known = nm is not None and deepest > 0
        down = nm / deepest * DEEPEST if nm is not None and known else number / (len(names) + 1)
        text = shown.length(nm, EDGE_DIGITS[shown.unit]) if nm is not None else ""
        levels.append(Level(name, text, down))
    return tuple(levels), tuple(dict.fromkeys(p[3] for p in same if p[3]))
