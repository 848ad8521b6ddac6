"""A board that serves a port while a client program talks to it from another thread; or none."""

import time
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
#: And by the clock [s]: on a busy machine a board is ahead of a client that gets no turn.
_PATIENT_S = 120.0
#: Taking turns: ticks for a line that was heard and for a silence [ms], and how long a client may
#: say nothing before it is taken to wait for time to pass [s].
_HEARD_MS, _SILENCE_MS, _SILENT_S = 2, 50, 0.5


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
    in_turns: bool = False,
) -> T:
    """Run `client(path of the port)` to its end with the board running; return what it returns.

    With `in_turns` no tick passes while the client thinks, so that what it reads does not depend
    on how fast it is: what is claimed of a scatter holds each time or never.
    """
    if port is None:
        with Port() as own:
            return serve(session, client, own, most_ms, in_turns)
    until, patient_until_s = session.twin.now + most_ms, time.monotonic() + _PATIENT_S
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
        waits = session.twin.now >= until and time.monotonic() > patient_until_s
        assert not waits, "the client waits for ever"
        heard = _whole_line(port, talk) if in_turns else port.read()
        rest = (_HEARD_MS if heard else _SILENCE_MS) - 1 if in_turns else 0
        if said := b"".join([session.step(heard), *(session.step() for _ in range(rest))]):
            port.write(said)
    return talk.result()


def _whole_line(port: Port, talk: Future[T]) -> bytes:
    """Return what the client says up to its line's end, or as far as it came before its silence."""
    heard, until = b"", time.monotonic() + _SILENT_S
    while not heard.endswith(b"\n") and time.monotonic() < until and not talk.done():
        heard += port.read()
        time.sleep(0.0002)
    return heard
