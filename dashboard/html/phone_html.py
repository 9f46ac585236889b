"""The pages of a phone beside the bench (`templates/phone.html`)."""

import json
from collections.abc import Sequence

from markupsafe import Markup

from barrelfit.dashboard.html.page_html import bench_html, live_data, manners, nav_of
from barrelfit.dashboard.html.templates import made
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.photos import PhotosView
from barrelfit.dashboard.view.telling import TellingView
from barrelfit.dashboard.words import say

DOCTYPE = "<!DOCTYPE html>"
LINKS = (("bench", "/"), ("tell", "/tell"), ("photos", "/photos"))


def short_html(words: str, nonce: str) -> str:
    """All that is served to whoever is not paired: one page, which can show a code it was given.

    Args:
        words: what is wrong, if anything.
        nonce: lets the page's own script run.
    """
    return DOCTYPE + made("phone", "short", words or say("phone_short"), nonce)


def phone_bench_html(bench: str, shown: Shown) -> str:
    """The bench, live, on a paired phone."""
    data = live_data("/live", shown, nav_of(_links("bench"), manners(shown)))
    html = Markup(bench_html())  # noqa: S704  a template made it
    return DOCTYPE + made("phone", "bench", say("bench", bench=bench), html, json.dumps(data))


def photos_html(view: PhotosView, shown: Shown) -> str:
    """The photos of a part, and how another is taken."""
    return DOCTYPE + made("phone", "photos", view, _nav("photos", shown), _words())


def tell_html(telling: TellingView, asked: str, shown: Shown) -> str:
    """The fact that is asked for now (`asked` in words), and how it is told."""
    return DOCTYPE + made("phone", "tell", telling, asked, _nav("tell", shown), _words())


def elsewhere_html(words: str) -> str:
    """What is not done on a phone."""
    return DOCTYPE + made("phone", "elsewhere", words)


def _nav(here: str, shown: Shown) -> Markup:
    return Markup(nav_of(_links(here), manners(shown)))  # noqa: S704  a template made it


def _words() -> str:
    """What a page's script says by itself."""
    return json.dumps({key: say(key) for key in ("photo_sending", "photo_not_sent")})


def _links(here: str) -> Sequence[tuple[str, str, bool]]:
    return [(page, path, page == here) for page, path in LINKS]
