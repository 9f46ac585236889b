"""How lengths are written, chosen on a page: kept by the browser, so that all pages follow."""

from typing import Final
from urllib.parse import parse_qsl, urlencode, urlsplit, urlunsplit

from starlette.requests import Request
from starlette.responses import RedirectResponse

from barrelfit.dashboard.html.page_html import KEPT_AS
from barrelfit.dashboard.shown import manner_kept, shown_kept

YEAR_S: Final = 31_536_000
SEE_OTHER: Final = 303


async def manner_chosen(request: Request) -> RedirectResponse:
    """Keep what `to` says, and lead back to the page on which it was chosen."""
    back = back_to(request.headers.get("referer", ""), request.headers.get("host", ""))
    answer = RedirectResponse(back, SEE_OTHER)
    chosen = manner_kept(shown_kept(request.query_params.get("to", "")))
    answer.set_cookie(KEPT_AS, chosen, max_age=YEAR_S, samesite="lax")
    return answer


def back_to(referer: str, host: str) -> str:
    """The page that led here, without what its address said of lengths; ours alone, else `/`.

    >>> back_to("http://bench:8501/set?id=bench-1&unit=inch", "bench:8501")
    '/set?id=bench-1'
    >>> back_to("http://elsewhere.example/set", "bench:8501")
    '/'
    """
    came = urlsplit(referer)
    if came.netloc != host or not host:
        return "/"
    kept = [(k, v) for k, v in parse_qsl(came.query) if k not in {"unit", "decimal"}]
    path = "/" + came.path.lstrip("/")
    return urlunsplit(("", "", path, urlencode(kept), ""))
