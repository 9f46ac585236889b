"""What would the verdicts be with another sheet, variant, group or guard band?

The sizes are the session's own; only what they are held against changes. Nothing of it is ever
written into the session: the answer is marked as a what-if wherever it is shown.
"""

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

import msgspec

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.fold.sizes import first_sizes, standing_sizes
from barrelfit.acquire.inputs.set_file import sheet_of
from barrelfit.acquire.inputs.set_now import facts_of, folded, opened_now
from barrelfit.acquire.inputs.setup import setup_of
from barrelfit.acquire.inputs.shelf import parse_toml
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.bench.sizing import part_material
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.events import Judged
from barrelfit.rules.judge import judge_pair, judge_set, outcome_said
from barrelfit.rules.judge.evidence import Evidence, Question
from barrelfit.rules.model import FeatureId, Judgement, Size
from barrelfit.rules.said import NOTHING, Said, decimal, said

_KEYS: Final = ("variant", "group")


@dataclass(frozen=True, slots=True)
class Changes:
    """What is to be different; None and empty: as it was.

    `sheet_name` is how the user called the other sheet, for messages.
    """

    sheet_text: str = ""
    sheet_name: str = ""
    variant: str = ""
    group: str = ""
    guard_factor: float | None = None

    @property
    def sentence(self) -> Said:
        """The changes in words; nothing where there is none."""
        factor = self.guard_factor
        changes = (
            said("change_sheet", name=self.sheet_name) if self.sheet_text else NOTHING,
            said("change_variant", name=self.variant) if self.variant else NOTHING,
            said("change_group", name=self.group) if self.group else NOTHING,
            NOTHING if factor is None else said("change_guard", factor=decimal(f"{factor:g}")),
        )
        some = tuple(filter(None, changes))
        return said("listed", parts=some) if some else NOTHING


@dataclass(frozen=True, slots=True)
class AsRecorded:
    """A session's own: what it was opened with, the sizes that stand, the last verdicts given.

    The set in `opening` has the facts that were told since. `firsts` are the first sizes of what
    was measured twice for a verdict's sake, `questions` what of the facts waits for an answer.
    """

    opening: SessionOpened
    sizes: Mapping[FeatureId, Size]
    firsts: Mapping[FeatureId, Size]
    judged: Mapping[str, Judged]
    questions: tuple[Question, ...] = ()


@dataclass(frozen=True, slots=True)
class WhatIfAnswer:
    """One part or pair: the verdict that was given, and what it would be."""

    about: str
    was: str
    now: Judgement

    @property
    def changed(self) -> bool:
        """Whether the verdict would be another."""
        return self.was != self.now.verdict.value


def as_recorded(records: Iterable[Record]) -> AsRecorded:
    """Fold a session's records.

    Raises:
        UserError: they do not begin with a session's opening.
    """
    opening, state = folded(records)
    judged = {about: stood.event for about, stood in state.judged.items()}
    questions = facts_of(setup_of(opening), state).questions
    opening = opened_now(opening, state)
    return AsRecorded(opening, standing_sizes(state), first_sizes(state), judged, questions)


def changed_setup(opened: SessionOpened, changes: Changes) -> Setup:
    """The session's setup with the changes in it.

    Raises:
        UserError: the set text names no variant or group that could be changed.
        RulesError: the sheet is not right, or the set does not fit it.
    """
    set_text = opened.set_text
    for key, value in zip(_KEYS, (changes.variant, changes.group), strict=True):
        if value:
            set_text = _with_key(set_text, key, value)
    changed = msgspec.structs.replace(opened, set_text=set_text)
    if changes.sheet_text:
        sheet = sheet_of(changes.sheet_text, changes.sheet_name)
        changed = msgspec.structs.replace(
            changed,
            sheet_text=changes.sheet_text,
            sheet_id=sheet.id,
            sheet_revision=sheet.revision,
        )
    if changes.guard_factor is not None:
        changed = msgspec.structs.replace(changed, guard_factor=changes.guard_factor)
    return setup_of(changed)


def answers(recorded: AsRecorded, setup: Setup) -> list[WhatIfAnswer]:
    """Judge every part and pair anew, holding the session's sizes against another setup."""
    judged = recorded.judged
    evidence = _evidence(recorded, setup)
    whole = judge_set(evidence)
    pairs = {judgement.about: judgement for judgement in whole.pairs}
    for about in judged:
        piston, joined, barrel = about.partition("+")
        if joined and about not in pairs:
            pairs[about] = judge_pair(evidence, piston, barrel)
    found = [*whole.parts, *(pairs[about] for about in sorted(pairs))]
    return [
        WhatIfAnswer(now.about, judged[now.about].verdict.value if now.about in judged else "", now)
        for now in found
    ]


def pairing_of(recorded: AsRecorded, setup: Setup) -> Said:
    """Which piston would run in which barrel."""
    pairing = judge_set(_evidence(recorded, setup)).pairing
    seats = [said("seat", piston=s.piston or "?", barrel=s.barrel or "?") for s in pairing.seats]
    told = (outcome_said(pairing.outcome), *seats, *pairing.sentences)
    return said("pairing_told", told=told)


def cautions(recorded: AsRecorded, setup: Setup) -> list[Said]:
    """What a reader must know: sizes that another material would have put elsewhere at 20 °C."""
    own = setup_of(recorded.opening)
    bench, other = (Bench(each, {}, each.temperatures) for each in (own, setup))
    found: list[Said] = []
    for at in recorded.sizes:
        was, now = part_material(bench, at).name, part_material(other, at).name
        if was != now:
            found.append(said("corrected_as", at=str(at), was=was, now=now))
    return found


def _evidence(recorded: AsRecorded, setup: Setup) -> Evidence:
    return Evidence(
        setup.sheet,
        setup.engine,
        recorded.sizes,
        setup.guard_factor,
        recorded.questions,
        firsts=recorded.firsts,
    )


def _with_key(text: str, key: str, value: str) -> str:
    """A set file's text with another value of one of its own keys."""
    changed = re.sub(rf"(?m)^{key}\s*=.*$", f"{key} = {json.dumps(value)}", text, count=1)
    if parse_toml(changed, "set") != {**parse_toml(text, "set"), key: value}:
        raise UserError([said("set_names_no", key=key)])
    return changed
