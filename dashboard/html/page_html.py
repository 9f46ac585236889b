"""The fixed HTML of the live pages; `live_page.js` fills the elements marked with `data-id`."""

from html import escape
from importlib.resources import files
from typing import Any, Final
from urllib.parse import urlencode

from barrelfit.dashboard.board.player import SPEEDS
from barrelfit.dashboard.shown import Shown, settings_query
from barrelfit.dashboard.words import ENGLISH, say

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
PAGES: Final = (
    ("floor", "/floor"),
    ("set", "/set"),
    ("sessions", "/sessions"),
    ("gauges", "/gauges"),
    ("entry", "/entry"),
)


def asset(name: str) -> str:
    """Text of one of this room's own files."""
    return files("barrelfit.dashboard.html").joinpath(name).read_text(encoding="utf-8")


def script() -> str:
    """The live pages' script: one module of three files."""
    return "\n".join(asset(f"live_{part}.js") for part in ("sound", "trace", "page"))


def link_to(path: str, query: str, **parts: str) -> str:
    """Address of a page with its parts, and the page's settings kept; not yet escaped for HTML."""
    asked = "&".join(filter(None, (urlencode(parts), query)))
    return f"{path}?{asked}" if asked else path


def nav(here: str, bench: str = "", query: str = "") -> str:
    """Links to the pages, the present one marked; `query` keeps the page's settings."""
    links = []
    for page, path in PAGES:
        parts = {"id": bench} if bench and page in {"set", "entry"} else {}
        target = escape(link_to(path, query, **parts))
        current = ' aria-current="page"' if page == here else ""
        links.append(f'<a href="{target}"{current}>{escape(say("page_" + page))}</a>')
    return "<nav>" + " ".join(links) + "</nav>"


def sound_buttons() -> str:
    """The buttons for sound, voice and volume; nothing needs them in normal work."""
    label = escape(say("volume"), quote=True)
    return (
        '<button data-id="sound"></button><button data-id="voice"></button>'
        f'<input data-id="volume" type="range" min="0" max="100" aria-label="{label}">'
    )


def bench_html() -> str:
    """The bench page, empty."""
    counted, cut = escape(say("counted")), escape(say("cut"))
    return f"""<div class="board" data-live="no">
<header><b data-id="name"></b><span data-id="job"></span><span class="grow" data-id="note"></span>
{sound_buttons()}<span data-id="nav"></span></header>
<div class="askrow"><div class="ask" data-id="ask"></div>
<div class="banner empty" data-id="trouble" role="alert"></div>
<div class="banner server empty" data-id="server" role="alert"></div></div>
<div class="middle"><div class="left">
<div class="figure" data-id="figure" data-state="none">
<div class="about"><span class="age" data-id="age"></span><span data-id="gauge"></span></div>
<div class="digits" data-id="digits"></div><div class="sign" data-id="sign"></div></div>
<div class="tracebox"><canvas data-id="trace"></canvas>
<div class="key"><span><i></i>{counted}</span><span><i class="cut"></i>{cut}</span></div></div>
<div class="passes" data-id="passes"></div></div>
<div class="right"><div class="where" data-id="where"></div>
<div class="picture" data-id="picture"></div><div class="result" data-id="result"></div></div></div>
<div data-id="verdict"></div><div class="parts" data-id="parts"></div>
<div class="cue" data-id="cue" aria-live="polite"></div></div>
"""


def replay_html() -> str:
    """The bench page for a replay: marked as one, with its buttons."""
    buttons = "".join(
        f'<button data-do="{do}">{escape(say(do))}</button>'
        for do in ("restart", "back", "play", "pause", "step")
    )
    speeds = "".join(f'<button data-do="speed" data-value="{n}">{n}×</button>' for n in SPEEDS)
    controls = (
        f'<div class="replay"><b>{escape(say("replay_mark"))}</b>'
        f'<span data-id="replay_at"></span>{buttons}{speeds}</div>'
    )
    return (
        bench_html()
        .replace('<div class="board"', '<div class="board replayed"', 1)
        .replace("<header>", controls + "<header>", 1)
    )


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
