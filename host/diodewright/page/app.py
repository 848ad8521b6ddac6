"""The web application: the document, its files, what is kept of a run, and the wire."""

import asyncio
import tempfile
import traceback
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager, suppress
from pathlib import Path

import msgspec
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route, WebSocketRoute
from starlette.websockets import WebSocket

from diodewright.page.desk import Desk
from diodewright.page.trying import Trying
from diodewright.sim import Trace

__all__ = ["web_app"]

Files = dict[str, tuple[bytes, str]]
#: RFC 6455, 7.4.1: policy violated; try again later.
_SHOWN_OUT, _FULL = 1008, 1013


def web_app(desk: Desk, document: str, files: Files) -> Starlette:
    """Return the application around `desk`."""
    made = document.encode()

    async def index(request: Request) -> Response:
        return Response(made, media_type="text/html; charset=utf-8")

    async def file(request: Request) -> Response:
        found = files.get(request.path_params["name"])
        if found is None:
            return Response(status_code=404)
        return Response(found[0], media_type=f"{found[1]}; charset=utf-8")

    routes = [
        Route("/", index),
        Route("/file/{name}", file),
        WebSocketRoute("/wire", _wire(desk)),
    ]
    if isinstance(desk.source, Trying):
        routes.append(Route("/keep/{name}", _keep(desk.source)))
    return Starlette(routes=routes, lifespan=_turning(desk))


def _told(task: asyncio.Task[None]) -> None:
    """Say what ended a task that goes on for ever."""
    if not task.cancelled() and (error := task.exception()):
        traceback.print_exception(error)


def _turning(desk: Desk) -> Callable[[Starlette], AbstractAsyncContextManager[None]]:
    @asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        turning = asyncio.create_task(desk.turn_for_ever())
        turning.add_done_callback(_told)
        try:
            yield
        finally:
            turning.cancel()
            with suppress(asyncio.CancelledError):
                await turning
            await asyncio.to_thread(desk.close)

    return lifespan


async def _sending(desk: Desk, socket: WebSocket, client: int) -> None:
    """Send what waits for a client, for ever."""
    outbox = desk.clients[client]
    while True:
        said = await outbox.next()
        if isinstance(said, str):
            await socket.send_text(said)
        else:
            await socket.send_bytes(said)


async def _hearing(desk: Desk, socket: WebSocket, client: int) -> None:
    """Hear a client until it goes or is shown the door."""
    while True:
        message = await socket.receive()
        if message["type"] == "websocket.disconnect":
            return
        data = message.get("text")
        if not desk.hear(client, message.get("bytes") or b"" if data is None else data):
            await socket.close(_SHOWN_OUT)
            return


def _wire(desk: Desk) -> Callable[[WebSocket], Awaitable[None]]:
    async def wire(socket: WebSocket) -> None:
        await socket.accept()
        client = desk.come()
        if client is None:
            await socket.close(_FULL, "too many pages are open")
            return
        sender = asyncio.create_task(_sending(desk, socket, client))
        hearer = asyncio.create_task(_hearing(desk, socket, client))
        try:
            await asyncio.wait((sender, hearer), return_when=asyncio.FIRST_COMPLETED)
        finally:
            desk.go(client)
            for task in (sender, hearer):
                task.cancel()
            # a socket that broke is no news: the client is gone either way
            await asyncio.gather(sender, hearer, return_exceptions=True)

    return wire


def _keep(source: Trying) -> Callable[[Request], Awaitable[Response]]:
    async def keep(request: Request) -> Response:
        name = request.path_params["name"]
        if name == "run.json":
            text = msgspec.json.format(msgspec.json.encode(source.run.kept()), indent=1)
            return _given(text, name, "application/json")
        if name not in _SAVED:
            return Response(status_code=404)
        made = source.run.tracing()
        data = await asyncio.to_thread(lambda: _stored(made(), name))
        return _given(data, name, "application/octet-stream")

    return keep


_SAVED: dict[str, Callable[[Trace, Path], None]] = {
    "trace.npz": Trace.save_npz,
    "trace.csv": Trace.save_csv,
}


def _stored(trace: Trace, name: str) -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        _SAVED[name](trace, path)
        return path.read_bytes()


def _given(data: bytes, name: str, kind: str) -> Response:
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(data, media_type=kind, headers=headers)
