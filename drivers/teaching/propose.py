r"""Proposes a profile from sent readings, or says in a sentence why there can be none.

    proposal = propose([sample(b"+012.345\r", "12.345 mm"), …])      # three or more
    outcome(proposal.profile, sample(b"+012.400\r", "12.400 mm"))    # RIGHT

A proposal admits what was seen, and what follows from it: `drivers.teaching.forms`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from barrelfit.drivers.checksum import Checksum
from barrelfit.drivers.coded import Coded, said
from barrelfit.drivers.decode import Wire
from barrelfit.drivers.outcome import WireFault, WireReading
from barrelfit.drivers.profile import Profile, profile_from
from barrelfit.drivers.proving import decode_whole
from barrelfit.drivers.quantity import UNIT_NM
from barrelfit.drivers.teaching.cutting import Cut, bursts_freed, cuts, streams
from barrelfit.drivers.teaching.forms import SUM, Forms, Parts, forms_of, parted
from barrelfit.drivers.teaching.places import PACKED_VIEWS, TEXT_VIEWS, Place, View, places
from barrelfit.drivers.teaching.samples import SILENCE_MS, Sample, TeachError, parity_of
from barrelfit.drivers.teaching.sums import checksum_of
from barrelfit.drivers.teaching.telling import Teller, teller
from barrelfit.drivers.teaching.unsure import doubts
from barrelfit.drivers.teaching.writing import toml_of

NEEDED: Final = 3
RIGHT: Final = "right"
REFUSED: Final = "refused"
WRONG: Final = "wrong"

_COUNT_MIN: Final = 100
_PRESS_NS: Final = 400_000_000
_EXAMPLES_MAX: Final = 12


@dataclass(frozen=True, slots=True)
class Proposal:
    """A profile with its file's text, and sentences on what it can't be sure of."""

    profile: Profile
    text: str
    unsure: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Found:
    """All that was found out about the samples."""

    cut: Cut
    place: Place
    parts: list[Parts]
    texts: list[str]
    forms: Forms
    checksum: Checksum | None
    sign: Teller | None
    unit: Teller | None


def propose(samples: Sequence[Sample], *, baud: int = 9600, quiet_ms: int = 30) -> Proposal:
    """Propose a profile that reads all the samples as their displays showed them.

    Args:
        samples: three or more, in the order in which they were sent.
        baud: the rate at which they were heard.
        quiet_ms: the silence after opening the port that arms the gauge.

    Raises:
        TeachError: none can be had from these; the sentence says what would help.
    """
    _check(samples)
    parity = parity_of(samples)
    raws = bursts_freed(samples, parity)
    reasons: list[Coded] = []
    try:
        for cut in cuts(samples, raws):
            for found in _found(cut, samples, reasons):
                port = {"baud": baud, "bits": 8 if parity == "none" else 7, "parity": parity}
                try:
                    line = {**port, "stop": 1, "quiet_ms": quiet_ms}
                    proposal = _proposal(found, samples, line)
                except TeachError as error:
                    reasons += error.problems
                    continue
                if all(outcome(proposal.profile, one) == RIGHT for one in samples):
                    return proposal
    except TeachError as error:
        reasons += error.problems
    raise TeachError(list(dict.fromkeys(reasons))[:1] or [said("stands_nowhere")])


def outcome(profile: Profile, one: Sample) -> str:
    """What a profile makes of a sample: `RIGHT`, `REFUSED` (no reading at all) or `WRONG`."""
    wire = Wire(profile, port=profile.port, min_repeat_ms=0)
    heard = [o for t_ns, data in one.chunks for o in wire.feed(data, t_ns)] + wire.closed(0)
    readings = [o for o in heard if isinstance(o, WireReading)]
    if not readings:
        return REFUSED
    agrees = all((r.value, r.unit) == (one.shown.value, one.shown.unit) for r in readings)
    return RIGHT if agrees else WRONG


def _check(samples: Sequence[Sample]) -> None:
    if len(samples) < NEEDED:
        raise TeachError([said("readings_needed", needed=NEEDED, samples=len(samples))])
    large = {one.shown.count for one in samples if one.shown.count >= _COUNT_MIN}
    if len(large) < NEEDED:
        raise TeachError([said("three_needed")])
    for unit in {one.shown.unit for one in samples}:
        digits = {len(one.shown.fraction) for one in samples if one.shown.unit == unit}
        if len(digits) > 1:
            raise TeachError([said("typed_with_decimals", unit=unit, digits=tuple(sorted(digits)))])


def _found(cut: Cut, samples: Sequence[Sample], reasons: list[Coded]) -> Iterator[_Found]:
    shown = [one.shown for one in samples]
    checksum = checksum_of(cut.payloads)
    views = (*TEXT_VIEWS, *(PACKED_VIEWS if cut.kind == "fixed" else ()))
    for view in views:
        texts = [_text(view, payload, checksum) for payload in cut.payloads]
        for alike in places(view, texts, shown):
            if len(alike) > 1:
                reasons.append(said("stands_at_two_places"))
                continue
            place = alike[0]
            texts = _once_only(place, texts, parted(place, texts, shown))
            parts = parted(place, texts, shown)
            forms = forms_of(place, parts, shown)
            sign, unit = _tellers(place, samples, forms, reasons)
            if place.kind == "hex" and sign is None and any(s.minus and s.count for s in shown):
                continue
            yield _Found(cut, place, parts, texts, forms, checksum, sign, unit)


def _text(view: View, payload: bytes, checksum: Checksum | None) -> str:
    """A frame's text, its checksum blotted out."""
    text = list(view.text(payload))
    if checksum is not None:
        stop = len(payload) - checksum.tail
        for byte in range(stop - checksum.size, stop):
            for at in view.of_byte(byte, len(payload)):
                text[at] = SUM
    return "".join(text)


def _once_only(place: Place, texts: Sequence[str], parts: Sequence[Parts]) -> list[str]:
    """The texts, blotted out where they hold the number once more."""
    blotted = []
    for n, (text, part) in enumerate(zip(texts, parts, strict=True)):
        size = len(part.number)
        for spans in place.again:
            stop = spans[n][1]
            text = text[: stop - size] + SUM * size + text[stop:]  # noqa: PLW2901
        blotted.append(text)
    return blotted


def _tellers(
    place: Place, samples: Sequence[Sample], forms: Forms, reasons: list[Coded]
) -> tuple[Teller | None, Teller | None]:
    shown = [one.shown for one in samples]
    signs = [("-" if s.minus else "+") if s.count else "" for s in shown]
    sign = None
    if place.kind != "hex-signed" and "-" in signs:
        sign = teller("sign", signs, forms)
        if sign is None:
            reasons.append(said("nothing_tells_sign"))
    unit = None
    if len({s.unit for s in shown}) > 1:
        unit = teller("unit", [s.unit for s in shown], forms)
        if unit is not None and sign is not None and unit.where == sign.where == "after":
            unit = None
        if unit is None:
            reasons.append(said("nothing_tells_unit"))
    return sign, unit


def _proposal(found: _Found, samples: Sequence[Sample], port: Mapping[str, object]) -> Proposal:
    data = _data(found, samples, port)
    plain = {key: value for key, value in data.items() if key != "example"}
    draft = profile_from({**plain, "example": _NO_EXAMPLES}, "taught")
    examples = [_example(one) for one in samples[:_EXAMPLES_MAX]]
    spoiled = _spoiled(draft, samples[0].raw)
    if spoiled is None:
        raise TeachError([said("cut_taken_for_whole")])
    data["example"] = [*examples, spoiled]
    return Proposal(profile_from(data, "taught"), toml_of(data), tuple(_lines(found, samples)))


_NO_EXAMPLES: Final = [
    {"text": "-", "length_nm": 0, "source": "-"},
    {"text": "-", "fault": "-"},
]


def _lines(found: _Found, samples: Sequence[Sample]) -> list[str]:
    shown = [one.shown for one in samples]
    return [
        *found.forms.said,
        *doubts(found.place, found.parts, found.texts, shown, found.cut.kind),
    ]


def _data(
    found: _Found, samples: Sequence[Sample], port: Mapping[str, object]
) -> dict[str, object]:
    shown = samples[0].shown
    digit_nm = found.place.times * UNIT_NM[shown.unit] // 10 ** len(shown.fraction)
    lines = _lines(found, samples)
    name = f"taught-{_name(found, samples)}"
    data: dict[str, object] = {
        "schema": 1,
        "id": name,
        "title": f"Taught with {len(samples)} readings: {_name(found, samples).replace('-', ' ')}",
        "evidence": "capture",
        "sends": "free" if streams(samples, _PRESS_NS) else "button",
        "caution": " ".join(f"{line[:1].upper()}{line[1:]}." for line in lines),
        "gauge": {"digit_nm": digit_nm},
        "port": port,
        "frame": {**found.cut.table, "silence_ms": SILENCE_MS},
        "layout": _layout(found, samples),
    }
    if found.checksum is not None:
        c = found.checksum
        table = {"kind": c.kind, "form": c.form, "first": c.first, "gap": c.gap, "tail": c.tail}
        data["checksum"] = table
    if found.place.view.order:
        data["frame"] = {**found.cut.table, "silence_ms": SILENCE_MS} | {
            "nibbles": found.place.view.order
        }
    data["example"] = []
    return data


def _layout(found: _Found, samples: Sequence[Sample]) -> dict[str, object]:
    place, shown = found.place, samples[0].shown
    layout: dict[str, object] = {"pattern": _pattern(found)}
    if place.kind == "mark" and any("," in p.number for p in found.parts):
        layout["marks"] = ","
    if found.unit is None:
        layout["unit"] = shown.unit
        named = {shown.unit, "MM", "IN"} & {shown.unit, shown.unit.upper()}
        sides = ["".join((*p.before, " ", *p.after)) for p in found.parts]
        layout["unit_assumed"] = not any(all(name in side for side in sides) for name in named)
    else:
        layout["units"] = dict(found.unit.means)
    if found.sign is not None:
        layout["signs"] = dict(found.sign.means)
    if place.kind != "mark":
        layout["places"] = len(shown.fraction)
    if place.kind.startswith("hex"):
        layout["number"] = place.kind
        layout["times"] = place.times
    if place.view.backwards:
        layout["backwards"] = True
    return layout


def _pattern(found: _Found) -> str:
    forms, sign, unit = found.forms, found.sign, found.unit
    looks = [t.look for t in (sign, unit) if t is not None and t.where == "seen"]
    zone = _either(forms.zones, "sign" if sign is not None and sign.where == "zone" else "")
    after = next((n for n, t in (("sign", sign), ("unit", unit)) if t and t.where == "after"), "")
    return (
        f"(?s)(?={_either(forms.whole)}\\Z)"
        + "".join(looks)
        + _either(forms.before)
        + zone
        + _either(forms.numbers, "number")
        + "".join(_once_more(spans, found.texts) for spans in found.place.again)
        + _either(forms.after, after)
    )


def _once_more(spans: Sequence[tuple[int, int]], texts: Sequence[str]) -> str:
    """A look ahead at a place that must hold the same number again."""
    behind = {len(text) - stop for (_, stop), text in zip(spans, texts, strict=True)}
    if len(behind) != 1:
        raise TeachError([said("stands_twice")])
    return f"(?=.*(?P=number).{{{behind.pop()}}}\\Z)"


def _either(patterns: Sequence[str], group: str = "") -> str:
    longest = sorted(patterns, key=len, reverse=True)
    if group:
        return f"(?P<{group}>{'|'.join(longest)})"
    return longest[0] if len(longest) == 1 else f"(?:{'|'.join(longest)})"


def _example(one: Sample) -> dict[str, object]:
    shown = one.shown
    return {
        "hex": one.raw.hex(" "),
        "value": shown.value,
        "unit": shown.unit,
        "length_nm": shown.length_nm,
        "source": f"taught: the display showed {shown.value} {shown.unit}",
    }


def _spoiled(profile: Profile, raw: bytes) -> dict[str, object] | None:
    """An example of a frame that was cut: it is a fault."""
    for cut in (raw[1:], raw[:-1], raw[:-2], raw[2:]):
        heard = decode_whole(replace(profile), cut)
        if len(heard) == 1 and isinstance(heard[0], WireFault):
            return {"hex": cut.hex(" "), "fault": heard[0].fault}
    return None


def _name(found: _Found, samples: Sequence[Sample]) -> str:
    """A name by the wire's shape."""
    place, parts = found.place, found.parts
    plus = any("+" in p.zone for p in parts)
    words = [
        "headed" if any("".join(p.before) for p in parts) else "",
        "signed" if plus or found.sign is not None or place.kind == "hex-signed" else "",
        {"mark": "decimal", "implied": "implied-decimals", "hex": "counts"}.get(
            place.kind, "counts"
        ),
        "comma" if any("," in p.number for p in parts) else "",
        "backwards" if place.view.backwards else "",
        f"nibbles-{place.view.order}" if place.view.order else "",
        "inch" if {one.shown.unit for one in samples} == {"in"} else "",
        "tailed" if any("".join(p.after) for p in parts) else "",
        "checked" if found.checksum is not None else "",
        found.cut.name,
    ]
    return "-".join(word for word in words if word)
