"""Who may speak to the page: this machine, by the address that was printed, from its own page.

- *Token*: the first part of every path, drawn anew at each start. Without it nothing is there.
- *Host*: only the address that is served. A foreign name that resolves to this machine (DNS
  rebinding) is refused.
- *Origin*: where a browser names one, the page's own; a WebSocket must name one, since a foreign
  page may open one to any address (RFC 6455, 10.2).
- *Content-Security-Policy*: nothing from outside, no inline script or style (W3C CSP Level 3).
"""

import hmac
import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass
from typing import Any

__all__ = ["HEADERS", "Gate", "new_token"]

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

#: What every answer carries.
HEADERS: dict[str, str] = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
        "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    ),
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
    "cache-control": "no-store",
}
_TOKEN_BYTES = 16


def new_token() -> str:
    """Return 128 random bits for a path (NIST SP 800-63B asks for 64 of a session's secret)."""
    return secrets.token_urlsafe(_TOKEN_BYTES)


@dataclass(frozen=True)
class Gate:
    """Lets in what may come in, and gives every answer its headers.

    Attributes
    ----------
    app : what is behind it; it sees paths without the token.
    token : the first part of every path.
    hosts : "host:port" of every address by which the page may be asked for.
    """

    app: App
    token: str
    hosts: frozenset[str]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, as ASGI has it."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        status = self.refusal(scope)
        if status:
            await _refuse(scope, send, status)
            return
        inner = dict(scope)
        inner["path"] = scope["path"][len(self.token) + 1 :] or "/"
        inner["raw_path"] = inner["path"].encode()
        await self.app(inner, receive, _with_headers(send))

    def refusal(self, scope: Scope) -> int:
        """Return the HTTP status that refuses a request; 0 where it may come in."""
        asked = [(name.decode("latin-1"), value) for name, value in scope["headers"]]
        hosts = [value.decode("latin-1") for name, value in asked if name == "host"]
        if len(hosts) != 1 or hosts[0].lower() not in self.hosts:
            return 421
        origins = [value.decode("latin-1") for name, value in asked if name == "origin"]
        foreign = any(origin.lower() != f"http://{hosts[0].lower()}" for origin in origins)
        if foreign or (scope["type"] == "websocket" and len(origins) != 1):
            return 403
        said = str(scope["path"]).removeprefix("/").partition("/")[0]
        right = hmac.compare_digest(said.encode("utf-8", "replace"), self.token.encode())
        return 0 if right else 404


async def _refuse(scope: Scope, send: Send, status: int) -> None:
    """Answer with nothing but a status; a WebSocket is refused before it is open."""
    if scope["type"] == "websocket":
        await send({"type": "websocket.close", "code": 1008})
        return
    headers = [(name.encode(), value.encode()) for name, value in HEADERS.items()]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": b""})


def _with_headers(send: Send) -> Send:
    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            own = [(name.encode(), value.encode()) for name, value in HEADERS.items()]
            message["headers"] = [*message.get("headers", []), *own]
        await send(message)

    return sent
