"""Calls an ASGI application as a server would (ASGI 3.0, its HTTP and WebSocket scopes)."""

import asyncio
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any
from urllib.parse import unquote, urlsplit


@dataclass(frozen=True)
class Answered:
    status: int
    headers: dict[str, str]
    content: bytes

    @property
    def text(self) -> str:
        return self.content.decode()


class Caller:
    """One browser: it keeps its cookie."""

    def __init__(self, app: Any, base: str, sender: str = "192.0.2.9") -> None:
        self.app, self.base, self.sender = app, base, sender
        self.cookie = ""
        self._runner = asyncio.Runner()

    def close(self) -> None:
        self._runner.close()

    def get(self, path: str, headers: Any = None) -> Answered:
        return self.request("GET", path, headers=headers)

    def post(self, path: str, content: Any = b"", headers: Any = None) -> Answered:
        return self.request("POST", path, content, headers)

    def request(self, method: str, path: str, content: Any = b"", headers: Any = None) -> Answered:
        whole = content.encode() if isinstance(content, str) else content
        pieces = [whole] if isinstance(whole, bytes) else list(whole)
        told = dict(headers or {})
        if isinstance(whole, bytes) and whole:
            told.setdefault("content-length", str(len(whole)))
        answer = self._runner.run(self._answered(self._scope("http", path, told) | {
            "method": method}, pieces))  # fmt: skip
        kept = answer.headers.get("set-cookie", "").partition(";")[0]
        self.cookie = kept or self.cookie
        return answer

    async def _answered(self, scope: Any, pieces: Iterable[bytes]) -> Answered:
        sent: list[Any] = []
        rest = list(pieces)

        async def receive() -> Any:
            body = rest.pop(0) if rest else b""
            return {"type": "http.request", "body": body, "more_body": bool(rest)}

        async def send(message: Any) -> None:
            sent.append(message)

        await self.app(scope, receive, send)
        headers = {k.decode(): v.decode() for k, v in sent[0]["headers"]}
        return Answered(sent[0]["status"], headers, b"".join(m.get("body", b"") for m in sent[1:]))

    def listen(
        self, path: str, until: Callable[[list[Any]], bool], headers: Any = None
    ) -> list[Any]:
        """What a WebSocket is sent, until that is enough, or it is closed; () where refused."""
        return self._runner.run(self._listened(self._scope("websocket", path, headers), until))

    async def _listened(self, scope: Any, until: Callable[[list[Any]], bool]) -> list[Any]:
        sent: list[Any] = []
        enough, first = asyncio.Event(), [{"type": "websocket.connect"}]

        async def receive() -> Any:
            if first:
                return first.pop()
            await enough.wait()
            return {"type": "websocket.disconnect", "code": 1000}

        async def send(message: Any) -> None:
            sent.append(message)
            if until(sent):
                enough.set()

        async with asyncio.timeout(10):
            await self.app(scope, receive, send)
        return sent

    def _scope(self, kind: str, path: str, headers: Any) -> dict[str, Any]:
        base, target = urlsplit(self.base), urlsplit(path if ":" in path else self.base + path)
        told = {"host": base.netloc} | dict(headers or {})
        if self.cookie:
            told["cookie"] = self.cookie
        schemes = {"http": target.scheme, "websocket": target.scheme.replace("http", "ws")}
        return {
            "type": kind,
            "asgi": {"version": "3.0"},
            "http_version": "1.1",
            "scheme": schemes[kind],
            "path": unquote(target.path),
            "raw_path": target.path.encode(),
            "root_path": "",
            "query_string": target.query.encode(),
            "headers": [(k.encode(), v.encode()) for k, v in told.items()],
            "client": (self.sender, 50_000),
            "server": (base.hostname, base.port),
            "subprotocols": [],
        }
