"""A board that hung, and shows what it is told just as the hand comes with what it took before.

Of all moments that is the one in which a part may come to count for what nobody has read yet. By
chance alone it is hit hardly once in ten thousand sessions.
"""

from dataclasses import dataclass, field

from tests.world.bench import Bench, Span

LASTS_ON = 1.5  # a board that is stopped with a greater amount waits for the hand
LASTS_MAX_S = 60.0


@dataclass
class HungBoard:
    """Lets a board that was stopped hang on until just after the hand has looked at it."""

    bench: Bench
    _spans: list[tuple[Span, float]] = field(default_factory=list)
    _known: object = None

    def stopped(self, span: Span, amount: float) -> None:
        """The board is stopped for a time; half of what `amount` is beyond `LASTS_ON` is in s."""
        stops = self.bench.down.setdefault("board stopped", [])
        stops.append(span)
        if amount > LASTS_ON:
            longer = Span(span.end_s, span.end_s + LASTS_MAX_S)
            stops.append(longer)
            self._spans.append((longer, (amount - LASTS_ON) / 2))

    def looked(self, knows: object) -> None:
        """Hear at every moment what the hand knows: it has looked when that is another."""
        if knows == self._known:
            return
        self._known, now_s = knows, self.bench.clock.now_s
        for span, after_s in self._spans:
            if span.begin_s <= now_s < span.end_s - after_s:
                span.end_s = now_s + after_s
