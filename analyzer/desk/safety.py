"""Who may speak to the desk: the browser that opened its address on this computer, and nobody else.

The printed address contains a token that works once. It is exchanged for a cookie that a browser sends only with requests from
the desk's own pages. The cookie's name is unique to this run, because cookies do not distinguish ports. Every request must name
the desk's own address as its host, so that a page whose name resolves to this computer (DNS rebinding) reaches nothing; a
request that writes must come from a page of the desk. Pages load only the desk's own scripts and styles.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any, TypeAlias
from urllib.parse import parse_qs

__all__ = ["FIRST_PATH", "POLICY", "Guard", "Keys", "sealed_policy"]

Message: TypeAlias = MutableMapping[str, Any]
Receive: TypeAlias = Callable[[], Awaitable[Message]]
Send: TypeAlias = Callable[[Message], Awaitable[None]]
App: TypeAlias = Callable[[MutableMapping[str, Any], Receive, Send], Awaitable[None]]

FIRST_PATH = "/open"  # the path at which the token is exchanged
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS = {
    "cache-control": "no-store",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "referrer-policy": "same-origin",  # without a referrer the check below could not see the origin of a form
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
}
_READS = ("GET", "HEAD")
_OWN_SITE = ("same-origin", "none")  # the second if a person typed or chose the address

_ENTER = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta http-equiv="refresh" content="0; url=/"><link rel="icon" href="data:,">
<title>Desk</title></head>
<body><main><p><a href="/">Open the desk</a></p></main></body></html>
"""
_USED = (
    "This address was opened before, and works once. The desk is open in the browser that opened it.\n"
    "To open it in another one, end it (Ctrl-C where it runs) and start it again.\n"
)
_STRANGER = "The desk speaks to the browser that opened its address, and to no other page or program.\n"


def sealed_policy(script_hash: str = "none") -> str:
    """The policy for a report shown as a file: it may run its own script, by its hash, and cannot reach the desk."""
    return (
        f"sandbox allow-scripts allow-modals; default-src 'none'; style-src 'unsafe-inline'; script-src '{script_hash}'; "
        "img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )


class Keys:
    """The secrets of one run: the token in its address, and the cookie for which it is exchanged."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.cookie_name = f"desk-{secrets.token_hex(6)}"
        self._cookie = secrets.token_urlsafe(32)
        self._token: str | None = secrets.token_urlsafe(32)

    @property
    def host(self) -> str:
        """The only host name that requests may use."""
        return f"127.0.0.1:{self.port}"

    @property
    def address(self) -> str:
        """The address to open, which works once."""
        return f"http://{self.host}{FIRST_PATH}?token={self._token or ''}"

    def exchange(self, token: str) -> str | None:
        """The header that sets the cookie, for the first use of the right token; otherwise None."""
        if self._token is None or not hmac.compare_digest(token.encode(), self._token.encode()):
            return None
        self._token = None
        return f"{self.cookie_name}={self._cookie}; Path=/; HttpOnly; SameSite=Strict"

    def knows(self, cookies: str) -> bool:
        """Whether the cookies of a request include that of this run."""
        try:
            values = SimpleCookie(cookies).get(self.cookie_name)
        except CookieError:
            return False
        return values is not None and hmac.compare_digest(values.value.encode(), self._cookie.encode())


class Guard:
    """Passes requests of the desk's own pages to the app, and answers all others itself."""

    def __init__(self, app: App, keys: Keys, most_bytes: int) -> None:
        self._app, self._keys, self._most_bytes = app, keys, most_bytes

    async def __call__(self, scope: MutableMapping[str, Any], receive: Receive, send: Send) -> None:
        """Answer a request, or pass it to the app (ASGI 3)."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        headers = [(name.decode("latin-1").lower(), value.decode("latin-1")) for name, value in scope["headers"]]
        refused = self._refused(scope, headers)
        if refused is not None:
            await _answer(send, refused[0], refused[1])
        elif scope["path"] == FIRST_PATH:
            await self._enter(scope, send)
        elif not self._keys.knows("; ".join(value for name, value in headers if name == "cookie")):
            await _answer(send, 403, _STRANGER)
        else:
            await self._app(scope, receive, _with_headers(send))

    def _refused(self, scope: MutableMapping[str, Any], headers: list[tuple[str, str]]) -> tuple[int, str] | None:
        """The status and text with which a request is refused; None if it may pass."""
        named: dict[str, list[str]] = {}
        for name, value in headers:
            named.setdefault(name, []).append(value)
        if named.get("host") != [self._keys.host]:
            return 421, _STRANGER
        origin, site = named.get("origin", []), named.get("sec-fetch-site", [])
        reads = scope["method"] in _READS
        if (origin or not reads) and origin != [f"http://{self._keys.host}"]:
            return 403, _STRANGER
        if scope["path"] != FIRST_PATH and any(value not in _OWN_SITE for value in site):
            return 403, _STRANGER
        length = named.get("content-length", ["0"])
        if len(length) != 1 or not length[0].isdigit() or int(length[0]) > self._most_bytes:
            return 413, f"More than {self._most_bytes // 2**20} MiB, the most that the desk takes at once.\n"
        return None

    async def _enter(self, scope: MutableMapping[str, Any], send: Send) -> None:
        tokens = parse_qs(scope.get("query_string", b"").decode("latin-1"), max_num_fields=4).get("token", [""])
        cookie = self._keys.exchange(tokens[0]) if scope["method"] == "GET" and len(tokens) == 1 else None
        if cookie is None:
            await _answer(send, 403, _USED)
        else:  # a page that reloads itself, as a redirect from a link elsewhere would not send the cookie
            await _answer(send, 200, _ENTER, "text/html", cookie)


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            there = {name.lower() for name, _ in message.get("headers", [])}
            own = {"content-security-policy": POLICY, **_HEADERS}
            added = [(name.encode(), value.encode()) for name, value in own.items() if name.encode() not in there]
            message = {**message, "headers": [*message.get("headers", []), *added]}
        await send(message)

    return sending


async def _answer(send: Send, status: int, text: str, kind: str = "text/plain", cookie: str = "") -> None:
    body = text.encode()
    headers = [(b"content-type", f"{kind}; charset=utf-8".encode()), (b"content-length", str(len(body)).encode())]
    if cookie:
        headers.append((b"set-cookie", cookie.encode()))
    sending = _with_headers(send)
    await sending({"type": "http.response.start", "status": status, "headers": headers})
    await sending({"type": "http.response.body", "body": body})
