"""Piston rings: side clearance in the groove, by feeler or from widths, and the closed gap."""

from typing import Final

from barrelfit.rules.compare import Found, Value, above, advised, below, over, under
from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.model import Severity
from barrelfit.rules.said import Said, length, said
from barrelfit.rules.uncertainty.decide import Zone

PLACES_LEAST = 3  # a groove is tried in three or four places around the piston


def side_feeler_goes_in(
    ring: str, leaf_nm: int, limit: Limit, went_in: int, *, said_new: bool
) -> Found | None:
    """R101: a leaf of the largest side clearance (or thicker) goes in beside a new ring.

    A groove is tried with a new ring, as is asked: nobody needs to say so.

    Okay: ring top leaf 0.12 limit ..0.12 went_in 0 said_new yes
    Found discard: ring top leaf 0.12 limit ..0.12 went_in 1 said_new yes
    Found discard: ring top leaf 0.12 limit ..0.12 went_in 1 said_new no
    Okay: ring top leaf 0.08 limit ..0.12 went_in 4 said_new yes
    """
    if _stays_allowed(leaf_nm, limit, went_in):
        return None
    leaf, places = length(leaf_nm), _times(went_in)
    if said_new:
        sentence = said("leaf_in_beside_new", ring=ring, leaf=leaf, places=places)
        advice = said("do_another_piston_groove")
    else:
        sentence = said("leaf_in", ring=ring, leaf=leaf, places=places)
        advice = said("do_another_piston_or_new_ring")
    terms = leaf_nm, limit.upper_nm, limit.upper_from
    return Found("R101", Severity.DISCARD, sentence, advice, *terms)


def side_feeler_beside_used(ring: str, leaf_nm: int, limit: Limit, went_in: int) -> Found | None:
    """R114: a leaf of the largest side clearance goes in beside a used ring: which one is worn?

    Okay: ring top leaf 0.12 limit ..0.12 went_in 0
    Found rework: ring top leaf 0.12 limit ..0.12 went_in 4
    Okay: ring top leaf 0.08 limit ..0.12 went_in 4
    """
    if _stays_allowed(leaf_nm, limit, went_in):
        return None
    leaf, places = length(leaf_nm), _times(went_in)
    sentence = said("leaf_in_beside_used", ring=ring, leaf=leaf, places=places)
    terms = leaf_nm, limit.upper_nm, limit.upper_from
    return Found("R114", Severity.REWORK, sentence, said("do_try_new_ring_leaf"), *terms)


def _stays_allowed(leaf_nm: int, limit: Limit, went_in: int) -> bool:
    """Whether a leaf went in nowhere, or is thinner than the largest side clearance."""
    return not went_in or limit.upper_nm is None or leaf_nm < limit.upper_nm


def side_feeler_stays_out(ring: str, leaf_nm: int, limit: Limit, stayed_out: int) -> Found | None:
    """R102: a leaf of the smallest side clearance (or thinner) does not go in somewhere.

    Okay: ring oil leaf 0.02 limit 0.02.. stayed_out 0
    Found undecided: ring oil leaf 0.02 limit 0.02.. stayed_out 2
    Okay: ring oil leaf 0.06 limit 0.02.. stayed_out 4
    """
    if not stayed_out or limit.lower_nm is None or leaf_nm > limit.lower_nm:
        return None
    leaf, places = length(leaf_nm), _times(stayed_out)
    sentence = said("leaf_stays_out", ring=ring, leaf=leaf, places=places)
    terms = leaf_nm, limit.lower_nm, limit.lower_from
    return Found("R102", Severity.UNDECIDED, sentence, said("do_clean_groove"), *terms)


def side_untried(ring: str, places: int) -> Found | None:
    """R103: the groove was tried in fewer than three places, or not at all.

    Okay: ring top places 3
    Found undecided: ring top places 2
    Found undecided: ring top places 0
    """
    if places >= PLACES_LEAST:
        return None
    sentence = said("side_untried", ring=ring)
    if places:
        sentence = said("side_tried_only", ring=ring, places=_times(places))
    return Found("R103", Severity.UNDECIDED, sentence, said("do_try_places"))


def side_least_untried(ring: str, least_nm: int, *, tried: bool) -> Found | None:
    """R109: the smallest side clearance, where the sheet has one, was not tried.

    Okay: ring top least 0 tried no
    Okay: ring top least 0.04 tried yes
    Found undecided: ring top least 0.04 tried no
    """
    if tried or not least_nm:
        return None
    sentence = said("side_least_untried", ring=ring, least=length(least_nm))
    return Found("R109", Severity.UNDECIDED, sentence, said("do_try_leaf_all_round"))


def side_too_large(ring: str, side: Value, limit: Limit) -> Found | None:
    """R104: a new ring would have too much side clearance as well: the groove is worn out.

    Okay: ring top side 0.06±0.002 limit ..0.12
    Found discard: ring top side 0.13±0.002 limit ..0.12
    Found undecided: ring top side 0.119±0.002 limit ..0.12
    """
    found = over("R104", Severity.DISCARD, said("side_of_new_here", ring=ring), side, limit)
    return advised(found, said("do_another_piston_groove"))


def ring_thin(ring: str, side: Value, limit: Limit) -> Found | None:
    """R110: the side clearance is above its limit: groove and ring are two parts.

    A new ring is tried first; only if it has too much as well is the groove worn out.

    Okay: ring top side 0.06±0.002 limit ..0.12
    Found rework: ring top side 0.13±0.002 limit ..0.12
    Found undecided: ring top side 0.119±0.002 limit ..0.12
    """
    found = over("R110", Severity.REWORK, said("side", ring=ring), side, limit)
    return advised(found, said("do_try_new_ring"))


def ring_wide(ring: str, width: Value, limit: Limit) -> Found | None:
    """R115: a ring is wider than a new one: another ring, or a wrong number.

    Okay: ring top width 1.488±0.002 limit ..1.49
    Okay: ring top width 1.492±0.002 limit ..1.49
    Found undecided: ring top width 1.54±0.002 limit ..1.49
    """
    if above(width, limit) is not Zone.OUTSIDE or limit.upper_nm is None:
        return None
    new, origin = length(limit.upper_nm), limit.upper_from
    sentence = said("ring_wide", ring=ring, width=width.said, new=new, origin=origin)
    terms = width.nm, limit.upper_nm, limit.upper_from
    return Found("R115", Severity.UNDECIDED, sentence, said("do_measure_ring"), *terms)


def side_contradicts(ring: str, thin_nm: int, thick_nm: int) -> Found | None:
    """R111: a thicker leaf went in where a thinner one stayed out; both 0 when none did.

    Okay: ring top thin 0 thick 0
    Found undecided: ring top thin 0.12 thick 0.15
    """
    if not thick_nm:
        return None
    sentence = said("leaves_contradict", ring=ring, thick=length(thick_nm), thin=length(thin_nm))
    return Found("R111", Severity.UNDECIDED, sentence, said("do_try_both_leaves"), thick_nm)


def widths_contradict(ring: str, side: Value, leaf_nm: int) -> Found | None:
    """R112: by its widths the groove would take a leaf that stayed out everywhere; 0 when none did.

    Okay: ring top side 0.06±0.002 leaf 0.12
    Okay: ring top side 0.13±0.002 leaf 0
    Okay: ring top side 0.121±0.002 leaf 0.12
    Found undecided: ring top side 0.20±0.002 leaf 0.12
    """
    if not leaf_nm or above(side, Limit(upper_nm=leaf_nm)) is not Zone.OUTSIDE:
        return None
    sentence = said("widths_contradict", ring=ring, side=side.said, leaf=length(leaf_nm))
    return Found("R112", Severity.UNDECIDED, sentence, said("do_measure_widths"), leaf_nm)


def widths_too_tight(ring: str, side: Value, leaf_nm: int) -> Found | None:
    """R113: by its widths the groove would not take a leaf that went in everywhere; 0 when none.

    Okay: ring top side 0.13±0.002 leaf 0.12
    Okay: ring top side 0.06±0.002 leaf 0
    Okay: ring top side 0.119±0.002 leaf 0.12
    Found undecided: ring top side 0.06±0.002 leaf 0.12
    """
    if not leaf_nm or below(side, Limit(lower_nm=leaf_nm)) is not Zone.OUTSIDE:
        return None
    sentence = said("widths_too_tight", ring=ring, side=side.said, leaf=length(leaf_nm))
    return Found("R113", Severity.UNDECIDED, sentence, said("do_measure_widths"), leaf_nm)


def side_too_small(ring: str, side: Value, limit: Limit) -> Found | None:
    """R105: the side clearance is below its limit: dirt, or the wrong ring.

    Okay: ring top side 0.06±0.002 limit 0.04..
    Found undecided: ring top side 0.03±0.002 limit 0.04..
    """
    return under("R105", Severity.UNDECIDED, said("side", ring=ring), side, limit)


def gap_too_large(ring: str, gap: Value, limit: Limit) -> Found | None:
    """R106: the closed gap is above its limit; another ring mends it.

    Okay: ring top gap 0.50±0.01 limit ..0.90
    Found rework: ring top gap 0.95±0.01 limit ..0.90
    Found undecided: ring top gap 0.905±0.01 limit ..0.90
    """
    found = over("R106", Severity.REWORK, said("gap", ring=ring), gap, limit)
    return advised(found, said("do_renew_ring"))


def gap_too_small(ring: str, gap: Value, limit: Limit) -> Found | None:
    """R107: the closed gap is below its limit; a ring that closes when hot seizes the engine.

    Okay: ring top gap 0.50±0.01 limit 0.30..
    Found rework: ring top gap 0.20±0.01 limit 0.30..
    Found undecided: ring top gap 0.30±0.01 limit 0.30..
    """
    found = under("R107", Severity.REWORK, said("gap", ring=ring), gap, limit)
    return advised(found, said("do_file_ends_sharp"))


def gap_unmeasured(ring: str, *, measured: bool) -> Found | None:
    """R108: the ring's closed gap has no size yet.

    Okay: ring top measured yes
    Found undecided: ring top measured no
    """
    if measured:
        return None
    sentence = said("gap_unmeasured", ring=ring)
    return Found("R108", Severity.UNDECIDED, sentence, said("do_measure_gap"))


def _times(places: int) -> Said:
    return said("one_place") if places == 1 else said("places", count=places)


RULES = (
    ring_wide,
    side_feeler_goes_in,
    side_feeler_beside_used,
    side_feeler_stays_out,
    side_untried,
    side_too_large,
    side_too_small,
    gap_too_large,
    gap_too_small,
    gap_unmeasured,
    side_least_untried,
    ring_thin,
    side_contradicts,
    widths_contradict,
    widths_too_tight,
)

WORDS: Final[dict[str, str]] = {
    "one_place": "1 place",
    "places": "{count} places",
    "leaf_in": "{ring} ring: the {leaf} leaf goes into the groove in {places}",
    "leaf_in_beside_new": "{ring} ring: the {leaf} leaf goes into the groove beside a new ring in"
    " {places}",
    "leaf_in_beside_used": "{ring} ring: the {leaf} leaf goes into the groove beside a used ring in"
    " {places}",
    "do_another_piston_groove": "another piston: its groove is worn out",
    "do_another_piston_or_new_ring": "another piston: its groove is worn out; if a used ring lay in"
    " it, try a new one first",
    "do_try_new_ring_leaf": "try a new ring first; the piston's groove is worn out only if the leaf"
    " goes in beside that too",
    "leaf_stays_out": "{ring} ring: the {leaf} leaf stays out in {places}",
    "do_clean_groove": "clean the groove, check that the ring is the right one, and try again",
    "side_untried": "{ring} ring: side clearance against its largest was tried not at all",
    "side_tried_only": "{ring} ring: side clearance against its largest was tried in {places} only",
    "do_try_places": "try it in three or four places",
    "side_least_untried": "{ring} ring: nothing shows that the side clearance is at least {least}",
    "do_try_leaf_all_round": "try the leaf of that thickness all round",
    "side": "{ring} ring: side clearance",
    "side_of_new_here": "{ring} ring: side clearance of a new ring in this groove",
    "do_try_new_ring": "try a new ring first; the piston's groove is worn out only if that has too"
    " much too",
    "ring_wide": "{ring} ring: width {width}, and a new one has {new} ({origin})",
    "do_measure_ring": "measure it again, and see that it is this engine's ring: none grows",
    "leaves_contradict": "{ring} ring: the {thick} leaf goes in where {thin} stays out",
    "do_try_both_leaves": "one of the two was put down wrongly: try both leaves again, in the same"
    " places",
    "widths_contradict": "{ring} ring: side clearance {side} by its widths, and yet the {leaf} leaf"
    " stays out everywhere",
    "widths_too_tight": "{ring} ring: side clearance {side} by its widths, and yet the {leaf} leaf"
    " goes in everywhere",
    "do_measure_widths": "measure groove and ring again, and try the leaf again",
    "gap": "{ring} ring: closed gap",
    "do_file_ends_sharp": "file the ends square, or take another ring; ring edges are sharp",
    "gap_unmeasured": "{ring} ring: the closed gap has no size yet",
    "do_measure_gap": "push the ring square into its bore with the piston and measure the gap",
}
