"""A machinist at the bench: looks at the board, takes part and gauge, sweeps, moves on.

The board is all it knows: `look` is called with what is shown (asked, sized, refused, done), and
the hand answers as a person does, after a moment. It knows nothing of how a size is found.

All times are simulated seconds; all chance comes from the `random.Random` given.
"""

import math
import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from barrelfit.simulators import sweeps
from barrelfit.simulators.gauge import Gauge, GaugeTraits
from barrelfit.simulators.hand import Hand, Motion, WaveWander
from barrelfit.simulators.player import PartNow, Player, still
from barrelfit.simulators.scenario import Fumble, GaugePlan, Place, Scenario

STALE_NEWS_S = 5.0
PATIENCE = 3  # how often an unanswered sweep is lengthened before the hand gives it up
_LEFT_EARLY_PASSES = (1, 2)
_AHEAD_S = 0.35  # the hand goes on before it has come to a stop
_GAP_MM = 0.6  # a screw is opened at least this far over a part before it is closed


@dataclass(slots=True)
class Station:
    """One gauge on the bench with the hand that would use it."""

    plan: GaugePlan
    player: Player
    hand: Hand
    parts: list[PartNow]
    known: dict[Place, int] = field(default_factory=dict)


class Machinist:
    """Works through what the board asks, with every gauge of a scenario."""

    def __init__(self, scenario: Scenario, chance: random.Random) -> None:
        self._scenario, self._chance = scenario, chance
        self.stations = {g.name: _station(g, scenario, chance) for g in scenario.gauges}
        self._slips = list(scenario.fumbles)
        self._asked: Place | None = None
        self._station: Station | None = None
        self._next_s = math.inf  # when to begin or lengthen the sweep of what is asked
        self._lengthened = 0
        self._began_s = 0.0
        self._slipping = False  # in the middle of a slip nobody looks at the board
        self.done = False

    def look(self, seen: Mapping[str, object], now_s: float) -> None:
        """Take in what the board shows now."""
        kind = seen.get("look")
        if kind == "asked":
            self._take(seen, now_s)
        elif "part" in seen and _place(seen) != self._asked:
            return  # about something the hand has already left behind
        elif kind == "sized":
            self._withdraw(now_s)
            self._asked = None
        elif kind == "refused" and self._heeds_refusal(now_s):
            self._withdraw(now_s)
            self._plan_start(now_s + self._chance.uniform(1.5, 3.0))
        elif kind == "done":
            self._withdraw(now_s)
            self._asked, self.done = None, True

    def act(self, now_s: float) -> None:
        """Begin or lengthen a sweep whose time has come."""
        if self._asked is None or self._station is None or now_s < self._next_s:
            return
        if self._lengthened > PATIENCE:  # nobody answers: put it down for a while, try again
            self._withdraw(now_s)
            self._plan_start(now_s + self._chance.uniform(4.0, 6.0))
            return
        if not self._lengthened:
            self._began_s = now_s
        motions = self._lengthen(now_s) if self._lengthened else self._begin()
        self._lengthened += 1
        self._station.hand.add(motions, not_before_s=now_s)
        self._next_s = self._station.hand.busy_until_s - _AHEAD_S

    def _heeds_refusal(self, now_s: float) -> bool:
        """Whether a refusal can be about the sweep under way.

        One that comes before it, or soon after its begin, tells of the attempt before: a hand that
        laid the part down again for it would never finish a sweep on a slow board.
        """
        sweeping = self._lengthened > 0 and not self._slipping
        return sweeping and now_s - self._began_s > STALE_NEWS_S

    def _take(self, seen: Mapping[str, object], now_s: float) -> None:
        place = _place(seen)
        if self._scenario.part_at(place, now=True) is None:
            self._asked = None
            return
        if place == self._asked:
            return
        self._withdraw(now_s)
        self._asked = place
        self._station = self._station_for(str(seen.get("gauge") or ""), place)
        # A gauge in a bore is only turned or lowered; a piston is put down and another taken.
        swap_s = (1.2, 2.5) if place.feature == "bore" else (3.0, 4.5)
        self._plan_start(now_s + self._chance.uniform(*swap_s))

    def _station_for(self, gauge: str, place: Place) -> Station | None:
        """The gauge asked for, else one that fits the feature."""
        if gauge in self.stations:
            return self.stations[gauge]
        inside = place.feature == "bore"
        fits = [s for s in self.stations.values() if (s.plan.movement == "bore") == inside]
        return fits[0] if fits else None

    def _plan_start(self, at_s: float) -> None:
        free = self._station.hand.busy_until_s if self._station else 0.0
        self._next_s = max(at_s, free + 0.8)
        self._lengthened = 0
        self._slipping = False

    def _begin(self) -> list[Motion]:
        """First motions of an attempt, with a scripted slip if there is one here."""
        station, place = self._station, self._asked
        if station is None or place is None:
            return []
        slip = self._slip_at(place)
        if slip is None:
            return self._sweep(station, place, self._chance.randint(4, 6), leave=False)
        self._slipping = True
        self._lengthened = PATIENCE  # after a slip the hand lays the part down
        if slip.how == "chords-only":
            return self._beside(station, place) + sweeps.air(5.0)
        few = self._chance.randint(*_LEFT_EARLY_PASSES)
        first = self._sweep(station, place, few, leave=True)
        if slip.how == "left-early":
            return first + sweeps.air(5.0)
        other = Place(slip.with_part or place.part, place.feature, place.depth, place.direction)
        second = self._sweep(station, other, 2, leave=True)
        return first + sweeps.air(0.4) + second + sweeps.air(5.0)

    def _beside(self, station: Station, place: Place) -> list[Motion]:
        """A whole sweep that never comes to the crest, or to the upright."""
        stretch = sweeps.Stretch(5, _number(station, place, self._scenario))
        if station.plan.movement == "bore":
            return sweeps.one_sided_rocks(stretch, self._chance)
        face_mm = station.plan.face_mm
        if station.plan.movement == "screw":
            motions = _screw_sweep(station, stretch, self._chance)
            return sweeps.beside(motions, self._chance, face_mm)
        return sweeps.chords(stretch, self._chance, face_mm)

    def _slip_at(self, place: Place) -> Fumble | None:
        for slip in self._slips:
            if Place(slip.part, slip.feature, slip.depth, slip.direction) == place:
                self._slips.remove(slip)
                return slip
        return None

    def _lengthen(self, now_s: float) -> list[Motion]:
        """A few more passes: the board has not said yet that it is enough."""
        station, place = self._station, self._asked
        if station is None or place is None:
            return []
        stands = station.hand.standing(now_s)
        begin = stands.tilt_rad if station.plan.movement == "bore" else stands.offset_mm
        passes = self._chance.randint(3, 4)
        return self._sweep(station, place, passes, leave=False, begin=begin)

    def _sweep(
        self,
        station: Station,
        place: Place,
        passes: int,
        *,
        leave: bool,
        begin: float | None = None,
    ) -> list[Motion]:
        stretch = sweeps.Stretch(passes, _number(station, place, self._scenario), begin, leave)
        plan, chance = station.plan, self._chance
        if plan.movement == "to-and-fro":
            return sweeps.to_and_fro(stretch, chance, plan.face_mm)
        if plan.movement == "in-and-out":
            return sweeps.in_and_out(stretch, chance, plan.face_mm)
        if plan.movement == "bore":
            return sweeps.bore(stretch, chance)
        return _screw_sweep(station, stretch, chance)

    def _withdraw(self, now_s: float) -> None:
        """Stop after the motion under way and bring the part out of the gauge."""
        self._next_s = math.inf
        if self._station is None:
            return
        self._station.hand.drop_rest(now_s)
        self._station.hand.add(_out_of(self._station, now_s), not_before_s=now_s)


def _place(seen: Mapping[str, object]) -> Place:
    keys = ("part", "feature", "depth", "direction")
    return Place(*(str(seen.get(key) or "") for key in keys))


def _station(plan: GaugePlan, scenario: Scenario, chance: random.Random) -> Station:
    movement = {"to-and-fro": "following", "in-and-out": "following"}.get(
        plan.movement, plan.movement
    )
    inside = plan.movement == "bore"
    traits = GaugeTraits(
        movement=movement,
        digit_nm=plan.digit_nm,
        rate_hz=plan.rate_hz,
        face_mm=plan.face_mm,
        tip_mm=plan.tip_mm,
        rest_mm=_rest_mm(movement, scenario),
        noise_um=plan.noise_um,
        bounce_share=plan.bounce_share,
        missed_share=plan.missed_share,
        zero_um=plan.zero_um,
        expansion_per_k=11.5e-6,
        gauge_c=scenario.room.gauge_c,
    )
    tilt = scenario.hand.rock_tilt_deg if inside else scenario.hand.tilt_deg
    hand = Hand(
        WaveWander(math.radians(tilt), chance),
        WaveWander(math.radians(0.4), chance),
    )
    parts: list[PartNow] = []
    return Station(plan, Player(Gauge(traits, chance), hand, parts), hand, parts)


def _rest_mm(movement: str, scenario: Scenario) -> float:
    """Where the gauge stands in the air, so that every part of the scenario moves it."""
    skirts: Sequence[float] = [p.skirt.size_mm for p in scenario.pistons.values()]
    bores: Sequence[float] = [b.size_mm + b.wear_mm for b in scenario.barrels.values()]
    if movement == "bore":
        return round(max(bores, default=84.0) + 0.8, 2)
    if movement == "screw":
        return round(max(skirts, default=84.0) + 1.5, 2)
    return round(min(skirts, default=84.0) - 1.2, 2)


def _number(station: Station, place: Place, scenario: Scenario) -> int:
    """The part's number among those this gauge has had in it."""
    if place not in station.known:
        part = scenario.part_at(place, now=True)
        if part is not None:
            station.known[place] = len(station.parts)
            station.parts.append(still(part))
    return station.known[place]


def _screw_sweep(station: Station, stretch: sweeps.Stretch, chance: random.Random) -> list[Motion]:
    """Open far enough over the part first, wherever the screw was left."""
    size_mm = station.parts[stretch.part](0.0).size_mm
    gap_mm = station.player.gauge.opening_mm - size_mm
    opening = []
    if gap_mm < _GAP_MM:
        opening = [Motion((_GAP_MM - gap_mm) / 1.5, None, winding_mm_s=1.5)]
        gap_mm = _GAP_MM
    return opening + sweeps.screw(stretch, chance, station.plan.face_mm, gap_mm=gap_mm)


def _out_of(station: Station, now_s: float) -> list[Motion]:
    """From where the hand is, out of the gauge; a screw is wound up."""
    end = station.hand.standing(now_s)
    if end.part is None:
        return []
    if station.plan.movement == "screw":
        return [Motion(0.6, end.part, winding_mm_s=1.5)]
    if abs(end.offset_mm) == sweeps.OUT_MM or abs(end.tilt_rad) == sweeps.OUT_RAD:
        return []
    if station.plan.movement == "bore":
        out = math.copysign(sweeps.OUT_RAD, end.tilt_rad or 1.0)
        return [Motion(1.0, end.part, (0.0, 0.0), (end.tilt_rad, out))]
    out_mm = math.copysign(sweeps.OUT_MM, end.offset_mm or 1.0)
    return [Motion(0.8, end.part, (end.offset_mm, out_mm))]
