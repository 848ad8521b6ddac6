"""The server: an address, a token, and an end on Ctrl-C."""

import asyncio
import importlib
import ipaddress
import socket
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from diodewright.build.extras import Missing
from diodewright.build.plain_file import why
from diodewright.page.access import App, Gate, new_token
from diodewright.page.problems import PageError
from diodewright.page.wire import MOST_BYTES

if TYPE_CHECKING:
    from uvicorn import Server

__all__ = ["Place", "needed", "place", "serve", "server_of"]

#: Waiting frames of one client; the network's own buffers come on top.
_QUEUE = 16
_LOOPBACK = "127.0.0.1"


def needed() -> None:
    """Make sure that the server's libraries are there.

    Raises
    ------
    Missing
        One is absent.
    """
    for name in ("starlette", "uvicorn", "websockets"):
        try:
            importlib.import_module(name)
        except ImportError:
            raise Missing(f"{name}, which serves the live page,", "live") from None


@dataclass(frozen=True)
class Place:
    """Where the page is: a socket that listens, its address, and the token of its paths."""

    listening: socket.socket
    host: str
    port: int
    token: str

    @property
    def url(self) -> str:
        """The address that a person opens; whoever has it may use the page."""
        return f"http://{_bracketed(self.host)}:{self.port}/{self.token}/"

    @property
    def loopback(self) -> bool:
        """Whether only this machine can reach it."""
        return ipaddress.ip_address(self.host).is_loopback

    @property
    def hosts(self) -> frozenset[str]:
        """What a request may name as its host."""
        names = {_bracketed(self.host)} | ({"localhost"} if self.loopback else set())
        return frozenset(f"{name}:{self.port}" for name in names)


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host


def place(address: str = _LOOPBACK, port: int = 0) -> Place:
    """Return a place that listens; port 0 is any free one.

    Raises
    ------
    PageError
        No address of this machine, or the port is taken.
    """
    try:
        wanted = ipaddress.ip_address(address)
    except ValueError:
        raise PageError(f"{address}: no address, for instance {_LOOPBACK}") from None
    if wanted.is_unspecified:
        raise PageError(f"{address} is every address at once: name the one to be reached by")
    family = socket.AF_INET6 if wanted.version == 6 else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((address, port))
    except OSError as error:
        listening.close()
        raise PageError(f"{address} port {port}: can't be listened at: {why(error)}") from None
    return Place(listening, address, listening.getsockname()[1], new_token())


def server_of(app: App, at: Place) -> "Server":
    """Return the server of `app` at a place; `serve(sockets=[at.listening])` starts it."""
    import uvicorn

    config = uvicorn.Config(
        Gate(app, at.token, at.hosts),
        log_level="warning",
        access_log=False,
        ws="websockets-sansio",
        ws_max_size=4 * MOST_BYTES,
        ws_max_queue=_QUEUE,
        ws_per_message_deflate=False,
        proxy_headers=False,
        server_header=False,
        lifespan="on",
        timeout_graceful_shutdown=1,
    )
    return uvicorn.Server(config)


def serve(app: App, at: Place, ready: Callable[[], None] = lambda: None) -> None:
    """Serve `app` until Ctrl-C or SIGTERM, which ends it cleanly.

    Raises
    ------
    KeyboardInterrupt
        It was ended by Ctrl-C; all is closed by then.
    """
    server = server_of(app, at)

    async def run() -> None:
        serving = asyncio.create_task(server.serve(sockets=[at.listening]))
        while not server.started and not serving.done():
            await asyncio.sleep(0.01)
        if server.started:
            ready()
        await serving

    try:
        asyncio.run(run())
    finally:
        at.listening.close()
