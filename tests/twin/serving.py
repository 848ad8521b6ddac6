"""A board that serves a port while a client program talks to it from another thread; or none."""

from collections.abc import Callable
from concurrent.futures import Future
from threading import Thread
from typing import TypeVar

import pytest

from diodewright.twin import Absent, Port, Session, micropython_path
from diodewright.twin.child import share_core

T = TypeVar("T")
#: Ticks that a client may take [ms]: beyond, it waits for something that does not come.
MOST_MS = 600_000


def needs_micropython() -> None:
    """Skip, with the reason, where there is no MicroPython; whatever else is wrong is no skip."""
    try:
        micropython_path()
    except Absent as absent:
        pytest.skip(str(absent))


def serve(
    session: Session,
    client: Callable[[str], T],
    port: Port | None = None,
    most_ms: int = MOST_MS,
) -> T:
    """Run `client(path of the port)` to its end with the board running; return what it returns."""
    if port is None:
        with Port() as own:
            return serve(session, client, own, most_ms)
    until = session.twin.now + most_ms
    talk: Future[T] = Future()

    def run() -> None:
        share_core(None)  # the core that the board keeps to was handed down to this thread
        try:
            talk.set_result(client(port.name))
        except BaseException as error:  # noqa: BLE001 raised again by the test
            talk.set_exception(error)

    # a daemon: a client that waits for ever must not keep the test run from ending
    Thread(target=run, daemon=True).start()
    while not talk.done():
        assert session.twin.now < until, "the client waits for ever"
        if said := session.step(port.read()):
            port.write(said)
    return talk.result()
