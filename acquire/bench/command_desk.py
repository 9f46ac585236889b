"""What viewers may ask of a running session: entries, temperatures, the pedal, overrides.

Pure: commands in, an answer and an event out. The event is on disk before the answer is sent. A
command must prove the device it comes from (`acquire.bus.proof`); only a lead's override proves
itself instead. It is one JSON object with `kind` and an `id` of the sender's, which the answer
carries:

- `entry`: `at` (part, feature, depth, direction), `text`, `unit`, `who`, and to insist on a held
  entry `confirms` (the same text again) or `why`.
- `fact`: `at` (part, the set file's key, ring, leaf), `value` as told (empty: taken back), `unit`,
  `who` (never empty), `by`, and to insist on a held one `confirms` (the same again) or `why`. With
  `ask` it answers the ask of that number: a leaf at its next place (in or out), a mark that is
  `unreadable` or `absent`, and `later` puts the ask off.
- `temperature`: `of` (part, gauge or room), `milli_celsius` and `who`; an unusual one is sent
  twice.
- `pedal`: `action` (next, again, back or undo) and `who`, for a bench without a pedal.
- `wanted`: `at`, the feature that `who` wants to measure now.
- `job`: `what` (new, pause, take-up or close) and `who`; of a new one `job` (the customer's
  reference), `sheet`, `variant`, `group`, `left_out`, `steps`, `asked_for`; to take one up its
  `session`.
- `sign_on`: `who` is at the bench from now on; a name that has a code with the `nonce` of a
  `sign_on_challenge` and its `proof` (`acquire.inputs.leads`). Without it such a name tells
  nothing.
- `take`: `gauge`, `port` and `who`, who says that what is at that port is the gauge's adapter: a
  gauge whose adapter was exchanged or has a twin is left alone until somebody says so.
- `override_challenge`, `override`, `override_sign_in`, `override_vouched`, `override_ask`: see
  `acquire.bench.override_desk`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Final, Literal

import msgspec

from barrelfit.acquire.bench.override_desk import COMMAND_BYTES_MAX, Answer, OverrideDesk
from barrelfit.acquire.bench.sign_on_desk import SignOnDesk
from barrelfit.acquire.bus.payloads import RefusedError, decoded
from barrelfit.acquire.bus.proof import Doorkeeper
from barrelfit.acquire.journal.events import Event
from barrelfit.acquire.journal.job_events import JobOrdered
from barrelfit.acquire.journal.port_events import AdapterChosen
from barrelfit.rules.engine.doubts import temperature_question
from barrelfit.rules.errors import RulesError
from barrelfit.rules.events import EntryMade, PedalPressed, TemperatureTaken, Wanted
from barrelfit.rules.manner import told
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import Said, said
from barrelfit.rules.told import FactTold
from barrelfit.rules.uncertainty.temperature import check_temperature

PROVE_THEMSELVES: Final = (
    "override_challenge", "override_sign_in", "override", "override_vouched",
)  # fmt: skip
TROUBLE: Final = {
    "unproved": "no device of this bench stands for it",
    "repeated": "it was sent before, or is older than ten seconds",
}
UNPROVED: Final = said("screen_unproved")


class _Entry(msgspec.Struct, tag_field="kind", tag="entry", frozen=True):
    id: str
    at: FeatureId
    text: str
    unit: str
    who: str
    confirms: bool = False
    why: str = ""


class _Fact(msgspec.Struct, tag_field="kind", tag="fact", frozen=True):
    id: str
    at: FeatureId
    value: str
    who: Annotated[str, msgspec.Meta(pattern=r"\S", max_length=62)]
    unit: str = ""
    by: Literal["board", "pedal", "phone", "gauge"] = "board"
    confirms: bool = False
    why: str = ""
    ask: Annotated[int, msgspec.Meta(ge=0)] = 0


class _Temperature(msgspec.Struct, tag_field="kind", tag="temperature", frozen=True):
    id: str
    of: Literal["part", "gauge", "room"]
    milli_celsius: int
    who: str = ""


class _Pedal(msgspec.Struct, tag_field="kind", tag="pedal", frozen=True):
    id: str
    action: Literal["next", "again", "back", "undo"]
    who: str = ""


class _Wanted(msgspec.Struct, tag_field="kind", tag="wanted", frozen=True):
    id: str
    at: FeatureId
    who: str = ""


class _Job(msgspec.Struct, tag_field="kind", tag="job", frozen=True):
    id: str
    what: Literal["new", "pause", "take-up", "close"]
    who: Annotated[str, msgspec.Meta(pattern=r"\S", max_length=62)]
    session: str = ""
    job: str = ""
    sheet: str = ""
    variant: str = ""
    group: str = ""
    left_out: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    asked_for: Annotated[str, msgspec.Meta(max_length=400)] = ""


class _SignOn(msgspec.Struct, tag_field="kind", tag="sign_on", frozen=True):
    id: str
    who: Annotated[str, msgspec.Meta(pattern=r"\S", max_length=62)]
    nonce: str = ""
    proof: str = ""


class _Challenge(msgspec.Struct, tag_field="kind", tag="sign_on_challenge", frozen=True):
    id: str
    who: Annotated[str, msgspec.Meta(pattern=r"\S", max_length=62)]


class _Take(msgspec.Struct, tag_field="kind", tag="take", frozen=True):
    id: str
    gauge: str
    port: str
    who: str


_Told = _Entry | _Fact | _Temperature | _Pedal | _Wanted | _Take | _Job
_Command = _Told | _SignOn | _Challenge


class _Any(msgspec.Struct, frozen=True):
    kind: str
    id: str = ""


_OWN: Final = msgspec.json.Decoder(_Command)
_ANY: Final = msgspec.json.Decoder(_Any)


@dataclass(frozen=True, slots=True)
class Moment:
    """When a command came: session time and this machine's monotonic time in ns, and UTC in s."""

    now_ns: int
    life_ns: int
    utc_s: float


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of a command.

    Attributes:
        answer: what is said to its sender, empty when nothing is.
        event: what is journaled before that.
        refused: why it was not let in, one sentence; empty for one that was.
    """

    answer: Answer
    event: Event | None = None
    refused: str = ""


class CommandDesk:
    """Takes every command of one session.

    Args:
        overrides: takes a lead's.
        door: knows the bench's devices.
        not_there: says in one sentence why what is at a port (second) can't be a gauge's (first),
            None where it can.
        job_problem: says in one sentence why an order of a job can't be followed, None where it
            can.
        people: knows who signs on, and with what code.
    """

    def __init__(
        self,
        overrides: OverrideDesk,
        door: Doorkeeper,
        not_there: Callable[[str, str], Said | None] = lambda gauge, _: said(
            "no_gauge_here", gauge=gauge
        ),
        job_problem: Callable[[JobOrdered], Said | None] = lambda _: said("no_jobs_here"),
        people: SignOnDesk | None = None,
    ) -> None:
        self._people = people or SignOnDesk({}, str)
        self._job_problem = job_problem
        self._not_there = not_there
        self._overrides = overrides
        self._asked: tuple[str, int] | None = None  # an unusual temperature, until it is said again
        self._door = door

    def hear(self, seq: int, event: Event) -> None:
        """Follow the session's records."""
        self._overrides.hear(seq, event)
        self._people.hear(event)

    def comes_from_a_device(self, payload: bytes, life_ns: int) -> bool:
        """Whether a command of the bench's own bus proves its device; it is not taken by that."""
        return self._door.would_let_in(payload, life_ns)

    def take(self, payload: bytes, now: Moment, *, is_own: bool) -> Taken:
        """Take one command; gives the answer and the event to be journaled before it is sent.

        Args:
            payload: the command as it came.
            now: when it came.
            is_own: whether it came on the bench's own bus, where its devices are.
        """
        proved = self._door.let_in(payload, now.life_ns) if is_own else "unproved"
        if isinstance(proved, str):
            return self._unproved(payload, now) if proved == "unproved" else _refused(proved)
        device, command = proved
        try:
            own = decoded(command, _OWN, COMMAND_BYTES_MAX)
        except RefusedError:
            return self._override(command, now)
        if isinstance(own, _Challenge):
            return Taken({"id": own.id, "ok": True, **self._people.challenge(own.who, now.life_ns)})
        if isinstance(own, _SignOn):
            return self._sign_on(own, command, device, now.life_ns)
        by = own.by if isinstance(own, _Fact) else ""
        if why := self._people.problem(own.who, by):
            return Taken(_no(own.id, "code", why))
        return self._told(own, device, now)

    def _sign_on(self, own: _SignOn, command: bytes, device: str, life_ns: int) -> Taken:
        """Somebody is at the bench from now on; a name that has a code only with it."""
        found = self._people.signs_on(command, (own.who, own.nonce, own.proof), device, life_ns)
        if isinstance(found, Said):
            return Taken(_no(own.id, "code", found))
        return Taken({"id": own.id, "ok": True}, found)

    def _told(self, own: _Told, device: str, now: Moment) -> Taken:
        if isinstance(own, _Temperature):
            return self._temperature(own, device, now.now_ns)
        if isinstance(own, _Take):
            return self._take(own, device)
        if isinstance(own, _Job):
            return self._job(own, device)
        return _own(own, device, now.now_ns)

    def _unproved(self, payload: bytes, now: Moment) -> Taken:
        """A command that no device of the bench stands for: a lead's override, or refused."""
        try:
            command = decoded(payload, _ANY, COMMAND_BYTES_MAX)
        except RefusedError as error:
            return Taken({}, None, error.problem)
        if command.kind in PROVE_THEMSELVES:
            return self._override(payload, now)
        return Taken(_no(command.id, "unproved", UNPROVED), None, TROUBLE["unproved"])

    def _override(self, command: bytes, now: Moment) -> Taken:
        answer, event = self._overrides.take(command, now.now_ns, now.utc_s)
        malformed = answer.get("code") == "malformed"
        return Taken(answer, event, told(said("override_malformed")) if malformed else "")

    def _temperature(self, command: _Temperature, device: str, now_ns: int) -> Taken:
        """Take a temperature; an unusual one counts when it is said again."""
        told_now = (command.of, command.milli_celsius)
        try:
            check_temperature(command.milli_celsius, command.of)
        except RulesError as error:
            return Taken(_no(command.id, "range", error.problems[0]))
        question = temperature_question(command.milli_celsius)
        if question is not None and told_now != self._asked:
            self._asked = told_now
            doubt = said("temperature_doubt", of=command.of, question=question)
            return Taken(_no(command.id, "doubt", doubt))
        self._asked = None
        taken = TemperatureTaken(now_ns, command.of, command.milli_celsius, command.who, device)
        return Taken({"id": command.id, "ok": True}, taken)

    def _job(self, command: _Job, device: str) -> Taken:
        """Take an order of a job, if it can be followed."""
        order = _ordered(command, device)
        if why := self._job_problem(order):
            return Taken(_no(command.id, "job", why))
        return Taken({"id": command.id, "ok": True}, order)

    def _take(self, command: _Take, device: str) -> Taken:
        """Take a person's word on which adapter is a gauge's."""
        gauge, port, who = command.gauge, command.port.strip(), command.who.strip()
        if not (port and who):
            return Taken(_no(command.id, "malformed", said("port_and_who_needed")))
        if why := self._not_there(gauge, port):
            return Taken(_no(command.id, "port", why))
        return Taken({"id": command.id, "ok": True}, AdapterChosen(gauge, port, who, device))


def _fact(command: _Fact, device: str, now_ns: int) -> FactTold:
    return FactTold(
        t_ns=now_ns,
        at=command.at,
        value=command.value,
        unit=command.unit,
        who=command.who.strip(),
        by=command.by,
        confirms=command.confirms,
        why=command.why,
        device=device,
        ask=command.ask,
    )


def _ordered(command: _Job, device: str) -> JobOrdered:
    return JobOrdered(
        what=command.what,
        who=command.who.strip(),
        device=device,
        session=command.session,
        job=command.job.strip(),
        sheet=command.sheet,
        variant=command.variant,
        group=command.group,
        left_out=command.left_out,
        steps=command.steps,
        asked_for=command.asked_for,
    )


def _no(command: str, code: str, sentence: Said) -> Answer:
    return {"id": command, "ok": False, "code": code, "sentence": sentence}


def _refused(how: str) -> Taken:
    """A command that is taken for none, and that nobody hears of: its id is another's."""
    return Taken({}, None, TROUBLE[how])


def _own(command: _Entry | _Fact | _Pedal | _Wanted, device: str, now_ns: int) -> Taken:
    answer: Answer = {"id": command.id, "ok": True}
    if isinstance(command, _Pedal):
        return Taken(answer, PedalPressed(now_ns, command.action, command.who, device))
    if isinstance(command, _Wanted):
        return Taken(answer, Wanted(now_ns, command.at, command.who, device))
    if isinstance(command, _Fact):
        return Taken(answer, _fact(command, device, now_ns))
    entry = EntryMade(
        t_ns=now_ns,
        at=command.at,
        text=command.text,
        unit=command.unit,
        who=command.who,
        confirms=command.confirms,
        why=command.why,
        device=device,
    )
    return Taken(answer, entry)
