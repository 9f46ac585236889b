"""A bench as the step knows it: its setup, and all that has happened so far."""

from dataclasses import dataclass, field, replace

from barrelfit.rules.bench.alike import Alike, put_off
from barrelfit.rules.bench.facts import FactsSoFar
from barrelfit.rules.bench.found import AsFound
from barrelfit.rules.bench.phases import (
    Armed,
    ByHand,
    Done,
    Hold,
    Leaving,
    Phase,
    ToTell,
    Waiting,
    Watch,
    Why,
)
from barrelfit.rules.bench.scales import Pan
from barrelfit.rules.bench.setup import GaugeOnBench, Setup
from barrelfit.rules.bench.unseen import unseen_again
from barrelfit.rules.engine.parts import EngineSet
from barrelfit.rules.events import Judged
from barrelfit.rules.judge.evidence import Evidence, Question
from barrelfit.rules.judge.plan import PlannedFeature, features, weighable, whole_way
from barrelfit.rules.model import FeatureId, Size
from barrelfit.rules.told import FactHeld, FactTaken
from barrelfit.rules.uncertainty.temperature import Temperatures


@dataclass(slots=True)
class Bench:
    """Everything a session has come to; owned by `rules.bench.step`, which changes it in place.

    `asks` counts what was asked for; `firsts` are the first sizes of what was measured twice for a
    verdict's sake. `asked_again` holds these features, and those that were not to be measured
    again; `put_off` those the pedal put off; `history` those that have a size, in the order in
    which they were taken. `alike` are parts that may be one, `settled` those that are not (feature
    and both parts), `once_more` what is measured again because nobody has answered yet.
    `begun_anew` are those of which a sweep came to nothing before they had a size: the part came
    out; `went_on` those whose sweep went on after it had been out. `untold` are services that are
    away and without which nobody sees what is asked for.
    `beside` looks at what the plan's gauges hold while another one is asked for, by gauge name;
    `pans` look at the scales. `now_ns` is when something happened last, `heard_ns` what that was
    when an ask came back as a record.
    `awaits_board`: the bench has a board of its own, which must have shown an ask, too. `seen` is
    what stood there to be seen last; `chosen_ns` is when the person chose by whose choice something
    happens now. `facts` is what was told of the set, of which `setup.engine` is made; `read_as` is
    how each size was read. `left` are facts that were put off twice: nobody is asked for them any
    more. `done` is what an undo takes back, the last first; `who` is at the bench.
    """

    setup: Setup
    sizes: dict[FeatureId, Size]
    temperatures: Temperatures
    phase: Phase = field(default=Done())
    asks: int = 0
    judged: dict[str, Judged] = field(default_factory=dict)
    firsts: dict[FeatureId, Size] = field(default_factory=dict)
    asked_again: set[FeatureId] = field(default_factory=set)
    put_off: list[FeatureId] = field(default_factory=list)
    history: list[FeatureId] = field(default_factory=list)
    alike: list[Alike] = field(default_factory=list)
    settled: set[tuple[str, str, str]] = field(default_factory=set)
    once_more: list[FeatureId] = field(default_factory=list)
    begun_anew: set[FeatureId] = field(default_factory=set)
    went_on: set[FeatureId] = field(default_factory=set)
    held: dict[tuple[FeatureId, str], str] = field(default_factory=dict)
    untold: set[str] = field(default_factory=set)
    beside: dict[str, Watch] = field(default_factory=dict)
    pans: dict[str, Pan] = field(init=False)
    now_ns: int = 0
    heard_ns: int = 0
    awaits_board: bool = False
    seen: FeatureId | None = None
    chosen_ns: int | None = None
    facts: FactsSoFar = field(init=False)
    read_as: dict[Size, AsFound] = field(default_factory=dict)
    left: set[FeatureId] = field(default_factory=set)
    done: list[FeatureId | FactTaken | FactHeld] = field(default_factory=list)
    who: str = ""
    _evidence: Evidence | None = None
    _planned: tuple[EngineSet, tuple[PlannedFeature, ...]] | None = None

    def __post_init__(self) -> None:
        """Begin with the facts that the session was opened with."""
        self.facts = FactsSoFar.of(self.setup.keys)
        self.who = self.who or self.setup.who
        self.pans = {name: Pan(scale) for name, scale in self.setup.scales.items()}

    @property
    def evidence(self) -> Evidence:
        """What the rules may look at now."""
        setup = self.setup
        places = [planned.at for planned in self.plan] if self.alike else []
        alike = tuple(q for pair in self.alike for q in pair.questions(places))
        asked = (*alike, *self._after_put_off, *self.facts.questions)
        now = Evidence(
            setup.sheet, setup.engine, self.sizes, setup.guard_factor, asked, self.firsts
        )
        known = self._evidence
        if known is None or known.engine is not now.engine or known != now:
            known = self._evidence = replace(now, sizes=dict(self.sizes), firsts=dict(self.firsts))
        return known

    @property
    def _after_put_off(self) -> tuple[Question, ...]:
        """What is open of parts after those whose second sweep the pedal put off."""
        places = [at for at in self.asked_again if at in self.sizes and at not in self.firsts]
        return tuple(put_off(sorted(places, key=str), self.sizes, self.history))

    @property
    def plan(self) -> tuple[PlannedFeature, ...]:
        """Everything gauges must measure on this set, in order."""
        setup = self.setup
        if self._planned is None or self._planned[0] is not setup.engine:
            self._planned = (setup.engine, features(setup.sheet, setup.engine))
        return self._planned[1]

    @property
    def way(self) -> tuple[PlannedFeature, ...]:
        """Everything the plan asks for on this set, facts and sizes, in order."""
        return whole_way(self.setup.sheet, self.setup.engine) if self.asks_facts else self.plan

    @property
    def may_ask(self) -> tuple[PlannedFeature, ...]:
        """What a person may choose: all of the way; where there is a scale, any part's mass."""
        if not self.setup.scales:
            return self.way
        masses = weighable(self.setup.sheet, self.setup.engine)
        return (*self.way, *(p for p in masses if p not in self.way))

    @property
    def asks_facts(self) -> bool:
        """Whether the plan asks for facts."""
        return bool(self.setup.engine.steps)

    @property
    def asked(self) -> PlannedFeature | None:
        """What is asked for, None when nothing is left."""
        return None if isinstance(self.phase, Done) else self.phase.ask.planned

    @property
    def gauge(self) -> GaugeOnBench | None:
        """The gauge that is asked for."""
        return None if isinstance(self.phase, Done | ByHand | ToTell) else self.phase.gauge

    @property
    def hold(self) -> Hold | None:
        """What the gauge in use may hold now."""
        match self.phase:
            case Armed(touched=True) as armed:
                return Hold(armed.gauge, armed.of, armed.stays)
            case Armed(held=hold):
                return hold
            case Leaving() as leaving:
                return leaving.hold
            case Waiting(watch=watch):
                return watch.hold
            case _:
                return None

    def put_aside(self) -> None:
        """Another gauge may be asked for: what this one holds is looked at from now on."""
        phase = self.phase
        if not isinstance(phase, Done | ByHand | ToTell):
            self.beside[phase.gauge.name] = self.watch_on(phase)

    def watch_on(self, phase: Waiting | Armed | Leaving) -> Watch:
        """What goes on looking at what the present phase's gauge holds, when the phase ends."""
        if isinstance(phase, Armed):
            hold = self.hold
            return Watch(phase.gauge, hold, phase.unseen if hold is None else None)
        return phase.watch or Watch(phase.gauge, self.hold)

    def look_beside(self) -> None:
        """Begin to look at all gauges that the plan may ask for."""
        for planned in self.plan:
            gauge = self.setup.gauge_for(planned.gauge_kind, planned.about_nm)
            if gauge is not None and gauge.name not in self.beside:
                self.beside[gauge.name] = Watch(gauge)

    def nobody_saw(self, gauge: str = "") -> None:
        """Nobody saw what came of what is in a gauge, or on a scale; empty: in any."""
        for name, watch in self.beside.items():
            if gauge in {"", name}:
                watch.interrupted(self.stood_asked(name))
        for name, pan in self.pans.items():
            if gauge in {"", name}:
                pan.interrupted()

    def stood_asked(self, gauge: str) -> FeatureId | None:
        """What could be seen to be asked of a gauge up to now; None for nothing."""
        at = self.seen or (self.asked.at if self.asked is not None else None)
        planned = next((p for p in self.plan if p.at == at), None)
        if planned is None:
            return None
        used = self.setup.gauge_for(planned.gauge_kind, planned.about_nm)
        return at if used is not None and used.name == gauge else None

    def begin_unseen(self, armed: Armed) -> None:
        """Begin to sweep anew after a time in which nobody saw the gauge."""
        self.phase = fresh = Armed.fresh(armed.ask, armed.gauge, self.hold)
        if fresh.held is None:
            fresh.unseen = unseen_again(
                armed.gauge, armed.unseen, self.stood_asked(armed.gauge.name)
            )

    def why(self, at: FeatureId) -> Why:
        """Why a feature gets a size now; a value that nobody asked for is a new one."""
        if not isinstance(self.phase, Done) and self.phase.ask.at == at:
            return self.phase.ask.why
        return "anew" if at in self.sizes else "first"

    @property
    def doubted(self) -> set[str]:
        """The parts that may be others than they are named."""
        alike = {name for pair in self.alike for name in pair.names}
        return alike | {question.at.part for question in self._after_put_off}

    def forget(self, at: FeatureId) -> None:
        """A feature's size stands no more."""
        self.sizes.pop(at, None)
        self.firsts.pop(at, None)
        self.asked_again.discard(at)
        self.went_on.discard(at)
        self.history = [other for other in self.history if other != at]
        self.done = [other for other in self.done if other != at]

    def forget_alike(self, at: FeatureId) -> None:
        """A part has another size now: whatever it was alike to, and what was said of that."""
        self.weigh_anew(at)
        self.settled = {s for s in self.settled if s[0] != at.feature or at.part not in s[1:]}

    def weigh_anew(self, at: FeatureId) -> None:
        """A part has one size more or less: whether it is alike to another is open again.

        The doubt stays for as long as another of its places has a size: that may be of the other
        part still, however this one is measured anew.
        """
        others = (a for a in self.sizes if (a.part, a.feature) == (at.part, at.feature) and a != at)
        if any(others):
            return
        kept = [a for a in self.alike if a.feature != at.feature or at.part not in a.names]
        self.alike = kept
        doubted = {(a.feature, name) for a in kept for name in a.names}
        self.once_more = [p for p in self.once_more if (p.feature, p.part) in doubted]

    def set_temperature(self, of: str, milli_celsius: int) -> None:
        """Take a temperature of `part`, `gauge` or `room` for the sizes to come."""
        key = f"{of}_milli_celsius"
        self.temperatures = replace(self.temperatures, **{key: milli_celsius})
