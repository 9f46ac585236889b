"""The fixed HTML of the live pages (`templates/page.html`).

`live_page.js` fills the elements marked with `data-id`.
"""

from collections.abc import Sequence
from dataclasses import replace
from importlib.resources import files
from typing import Any, Final
from urllib.parse import urlencode

from barrelfit.dashboard.board.player import SPEEDS
from barrelfit.dashboard.html.templates import made
from barrelfit.dashboard.shown import Shown, manner_kept, settings_query
from barrelfit.dashboard.words import ENGLISH, say
from barrelfit.rules.manner import SIGN

LIVE_WORDS: Final = (
    "server_down",
    "server_silent",
    "connecting",
    "no_reading",
    "no_reading_for",
    "gauge_is",
    "live",
    "lost",
    "sound_on",
    "sound_off",
    "sound_touch",
    "speech_on",
    "speech_off",
    "seconds",
    "minutes",
    "thou",
)
KEPT_AS: Final = "barrelfit-manner"
"""The cookie in which a browser keeps how lengths are written."""
PAGES: Final = (
    ("bench", "/bench"),
    ("floor", "/floor"),
    ("jobs", "/jobs"),
    ("set", "/set"),
    ("parts", "/parts"),
    ("sessions", "/sessions"),
    ("gauges", "/gauges"),
    ("entry", "/entry"),
    ("phone", "/phone"),
)
OF_BENCH: Final = frozenset({"bench", "jobs", "set", "parts", "entry", "phone"})


def asset(name: str) -> str:
    """Text of one of this room's own files."""
    return files("barrelfit.dashboard.html").joinpath(name).read_text(encoding="utf-8")


def style() -> str:
    """The live pages' look: what they share, the bench's, the lead's."""
    return "\n".join(asset(f"{part}.css") for part in ("live", "bench", "lead"))


def script() -> str:
    """The live pages' script: one module of three files."""
    return "\n".join(asset(f"live_{part}.js") for part in ("sound", "trace", "page"))


def link_to(path: str, query: str, **parts: str) -> str:
    """Address of a page with its parts, and the page's settings kept; not yet escaped for HTML."""
    asked = "&".join(filter(None, (urlencode(parts), query)))
    return f"{path}?{asked}" if asked else path


def nav(here: str, bench: str, query: str, shown: Shown) -> str:
    """Links to the pages, the present one marked, and to other ways of writing lengths.

    `query` keeps what the page's address says of that.
    """
    return nav_of(_links(here, bench, query), manners(shown))


def nav_of(links: Sequence[tuple[str, str, bool]], ways: Sequence[tuple[str, str, bool]]) -> str:
    """Links to pages by their word, address and whether each is the present one; and `manners`."""
    return made("page", "nav", links, ways)


def head_html(title: str, here: str, bench: str, query: str, shown: Shown) -> str:
    """The head of a page of forms: its title and the links to the others."""
    return made("page", "head", title, _links(here, bench, query), manners(shown))


def manners(shown: Shown) -> list[tuple[str, str, bool]]:
    """How lengths may be written: the sign, where it is chosen, whether it is so now."""
    units = [(sign, replace(shown, unit=unit)) for unit, sign in SIGN.items()]
    marks = [(say(f"mark_{c}"), replace(shown, comma=c == "comma")) for c in ("point", "comma")]
    return [
        (sign, f"/manner?{urlencode({'to': manner_kept(manner)})}", manner == shown)
        for sign, manner in units + marks
    ]


def title_html(title: str) -> str:
    """The head of a page that is the only one."""
    return made("page", "title", title)


def _links(here: str, bench: str, query: str) -> list[tuple[str, str, bool]]:
    links = []
    for page, path in PAGES:
        parts = {"id": bench} if bench and page in OF_BENCH else {}
        links.append((page, link_to(path, query, **parts), page == here))
    return links


def choice_of_links(links: Sequence[tuple[str, str]]) -> str:
    """Large buttons that lead on, by name and address."""
    return made("page", "choice", links)


def code_html(picture: str, words: str) -> str:
    """A code to be scanned, as an address of data, and what it is in words."""
    return made("page", "code", picture, words)


def bench_html() -> str:
    """The bench page, empty."""
    return made("page", "bench", False, SPEEDS)  # noqa: FBT003  a template's argument


def replay_html() -> str:
    """The bench page for a replay: marked as one, with its buttons."""
    return made("page", "bench", True, SPEEDS)  # noqa: FBT003  a template's argument


def live_data(path: str, shown: Shown, links: str, live_word: str = "live") -> dict[str, Any]:
    """What `live_page.js` needs to start: where to listen, its words, and the navigation's HTML.

    Args:
        path: the WebSocket's path.
        shown: how lengths are written.
        links: the navigation.
        live_word: key of the word for a fresh figure; a replay's is not "live".
    """
    words: dict[str, Any] = {key: ENGLISH[key] for key in LIVE_WORDS} | {"live": say(live_word)}
    words |= {key: text for key, text in ENGLISH.items() if key.startswith("cue_")}
    words |= {"mark": "," if shown.comma else ".", "inch": shown.unit == "inch"}
    return {"url": link_to(path, settings_query(shown)), "words": words, "texts": {"nav": links}}
