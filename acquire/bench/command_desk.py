"""What viewers may ask of a running session: entries, temperatures, the pedal, overrides.

Pure: commands in, an answer and an event out. The event is on disk before the answer is sent. A
command is one JSON object with `kind` and an `id` of the sender's, which the answer carries:

- `entry`: `at` (part, feature, depth, direction), `text`, `unit`, `who`, and to insist on a held
  entry `confirms` (the same text again) or `why`.
- `temperature`: `of` (part, gauge or room) and `milli_celsius`; an unusual one is sent twice.
- `pedal`: `action` (next, again, back or undo), for a bench without a pedal.
- `wanted`: `at`, the feature that `who` wants to measure now.
- `override_challenge`, `override`, `override_sign_in`, `override_vouched`, `override_ask`: see
  `acquire.bench.override_desk`.
"""

from typing import Final, Literal

import msgspec

from barrelfit.acquire.bench.override_desk import COMMAND_BYTES_MAX, Answer, OverrideDesk
from barrelfit.acquire.bus.payloads import RefusedError, decoded
from barrelfit.acquire.journal.events import Event
from barrelfit.rules.engine.doubts import temperature_question
from barrelfit.rules.errors import RulesError
from barrelfit.rules.events import EntryMade, PedalPressed, TemperatureTaken, Wanted
from barrelfit.rules.model import FeatureId
from barrelfit.rules.uncertainty.temperature import check_temperature


class _Entry(msgspec.Struct, tag_field="kind", tag="entry", frozen=True):
    id: str
    at: FeatureId
    text: str
    unit: str
    who: str
    confirms: bool = False
    why: str = ""


class _Temperature(msgspec.Struct, tag_field="kind", tag="temperature", frozen=True):
    id: str
    of: Literal["part", "gauge", "room"]
    milli_celsius: int


class _Pedal(msgspec.Struct, tag_field="kind", tag="pedal", frozen=True):
    id: str
    action: Literal["next", "again", "back", "undo"]


class _Wanted(msgspec.Struct, tag_field="kind", tag="wanted", frozen=True):
    id: str
    at: FeatureId
    who: str = ""


_Command = _Entry | _Temperature | _Pedal | _Wanted


_OWN: Final = msgspec.json.Decoder(_Command)


class CommandDesk:
    """Takes every command of one session."""

    def __init__(self, overrides: OverrideDesk) -> None:
        self._overrides = overrides
        self._asked: tuple[str, int] | None = None  # an unusual temperature, until it is said again

    def hear(self, seq: int, event: Event) -> None:
        """Follow the session's records."""
        self._overrides.hear(seq, event)

    def take(self, payload: bytes, now_ns: int, utc_s: float) -> tuple[Answer, Event | None]:
        """Take one command; gives the answer and the event to be journaled before it is sent.

        Args:
            payload: the command as it came.
            now_ns: monotonic time.
            utc_s: wall time in seconds since 1970.
        """
        try:
            command = decoded(payload, _OWN, COMMAND_BYTES_MAX)
        except RefusedError:
            return self._overrides.take(payload, now_ns, utc_s)
        if isinstance(command, _Temperature):
            return self._temperature(command, now_ns)
        return _own(command, now_ns)

    def _temperature(self, command: _Temperature, now_ns: int) -> tuple[Answer, Event | None]:
        """Take a temperature; an unusual one counts when it is said again."""
        said = (command.of, command.milli_celsius)
        try:
            check_temperature(command.milli_celsius, command.of)
        except RulesError as error:
            return _refused(command.id, "range", error.problems[0]), None
        question = temperature_question(command.milli_celsius)
        if question is not None and said != self._asked:
            self._asked = said
            sentence = f"temperature of the {command.of}: {question} Send it again if it is so"
            return _refused(command.id, "doubt", sentence), None
        self._asked = None
        taken = TemperatureTaken(now_ns, command.of, command.milli_celsius)
        return {"id": command.id, "ok": True}, taken


def _refused(command: str, code: str, sentence: str) -> Answer:
    return {"id": command, "ok": False, "code": code, "sentence": sentence}


def _own(command: _Entry | _Pedal | _Wanted, now_ns: int) -> tuple[Answer, Event | None]:
    answer: Answer = {"id": command.id, "ok": True}
    if isinstance(command, _Pedal):
        return answer, PedalPressed(now_ns, command.action)
    if isinstance(command, _Wanted):
        return answer, Wanted(now_ns, command.at, command.who)
    return answer, EntryMade(
        t_ns=now_ns,
        at=command.at,
        text=command.text,
        unit=command.unit,
        who=command.who,
        confirms=command.confirms,
        why=command.why,
    )
