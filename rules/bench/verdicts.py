"""What a bench says of parts, pairs and the whole set, each only where it is news."""

from collections.abc import Iterable

from barrelfit.rules.bench.state import Bench
from barrelfit.rules.events import Judged, Matched, MatchedPair, Output, SetDone
from barrelfit.rules.judge import SetJudgement, judge_pair, judge_part, judge_set
from barrelfit.rules.model import Judgement, Verdict
from barrelfit.rules.said import Said


def judge_parts(bench: Bench, parts: Iterable[str]) -> list[Output]:
    """The verdicts on parts that are others than before."""
    return [j for part in parts for j in _news(bench, judge_part(bench.evidence, part))]


def judge_pairs(bench: Bench, parts: Iterable[str]) -> list[Output]:
    """The verdicts on the pairs that came in together, once both parts are measured."""
    waiting = {p.at.part for p in bench.plan if p.at not in bench.sizes}
    barrels = bench.setup.engine.of_kind("barrel")
    pairs = [
        pair
        for part in parts
        for pair in ((barrel.mate, barrel.id) for barrel in barrels if barrel.mate)
        if part in pair and waiting.isdisjoint(pair)
    ]
    found = (judge_pair(bench.evidence, *pair) for pair in dict.fromkeys(pairs))
    return [j for judgement in found for j in _news(bench, judgement)]


def judge_all(bench: Bench) -> tuple[list[Output], SetDone]:
    """The verdicts on the whole set with its pairing, and their count."""
    whole = judge_set(bench.evidence)
    verdicts = [judgement.verdict for judgement in whole.parts]
    pairs = tuple(
        MatchedPair(s.cylinder, s.bank, s.piston, s.barrel, s.tight_nm, s.loose_nm)
        for s in whole.pairing.seats
    )
    match = Matched(str(whole.pairing.outcome), pairs, whole.pairing.spread_nm, _said_of(whole))
    done = SetDone(
        serviceable=verdicts.count(Verdict.SERVICEABLE),
        rework=verdicts.count(Verdict.REWORK),
        discard=verdicts.count(Verdict.DISCARD),
        undecided=verdicts.count(Verdict.UNDECIDED),
    )
    news = [j for judgement in (*whole.parts, *whole.pairs) for j in _news(bench, judgement)]
    return [*news, match], done


def _said_of(whole: SetJudgement) -> tuple[Said, ...]:
    """What is to be said of the pairing: its own sentences, and why there is none."""
    trouble = whole.pairing.trouble
    if trouble is None:
        return whole.pairing.sentences
    mend = trouble.mend.steps if trouble.mend is not None else ()
    return (*whole.pairing.sentences, *trouble.broken, *trouble.reasons, *mend)


def _news(bench: Bench, judgement: Judgement) -> list[Judged]:
    """The judgement as an event, unless it says what was said before."""
    event = Judged(judgement.about, judgement.verdict, judgement.findings, judgement.todo)
    if bench.judged.get(event.about) == event:
        return []
    bench.judged[event.about] = event
    return [event]
