"""The page served on this machine, and a headless Chromium that looks at it."""

import asyncio
import os
import queue
import re
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import pytest

from serving import needs_micropython

pytest.importorskip("starlette", reason="the extra live is not installed")
pytest.importorskip("uvicorn", reason="the extra live is not installed")
pytest.importorskip("websockets", reason="the extra live is not installed")

from cable import Cable

from diodewright.build import load
from diodewright.page.opening import Wanted, opened
from diodewright.page.run import LiveRun
from diodewright.page.serving import Place, place, server_of
from diodewright.page.source import Asked, Source
from diodewright.page.trying import Trying
from diodewright.report.pdf import QUIET, chromium
from diodewright.sim import compiled
from diodewright.twin import Session
from diodewright.twin.child import share_core
from diodewright.twin.twin import Event

OPTIONS = [*QUIET, *(["--no-sandbox"] if os.geteuid() == 0 else [])]
_STARTS_S = 60.0


@dataclass
class Served:
    """A page that is being served, with its source and its place."""

    source: Any
    at: Place
    server: Any
    thread: threading.Thread
    loop: asyncio.AbstractEventLoop

    @property
    def url(self) -> str:
        return self.at.url

    def ask(self, do: str, what: str) -> None:
        """Ask the source for something as another client would: between two turns, never in one."""
        self.loop.call_soon_threadsafe(self.source.asked, Asked(0, do, what))

    def stop(self) -> None:
        self.server.should_exit = True
        self.thread.join(_STARTS_S)
        assert not self.thread.is_alive(), "the server does not end"


@cache
def rested_run(name: str) -> LiveRun:
    """Return a rested light, to be copied."""
    return LiveRun.begun(load(name), compiled(), 1)


@pytest.fixture
def serve() -> Iterator[Callable[..., Served]]:
    """Return a function that serves a page of a source; all end with the test."""
    running: list[Served] = []

    def start(source: Source | None = None, name: str = "smoke_tunnel") -> Served:
        build = load(name)
        if source is None:
            source = Trying(replace(rested_run(name)))
        at = place()
        server = server_of(opened(Wanted(build, name), source), at)
        loop = asyncio.new_event_loop()

        def run() -> None:
            with asyncio.Runner(loop_factory=lambda: loop) as runner:
                runner.run(server.serve(sockets=[at.listening]))

        thread = threading.Thread(target=run, daemon=True)
        thread.start()
        running.append(Served(source, at, server, thread, loop))
        until = time.monotonic() + _STARTS_S
        while not server.started:
            assert time.monotonic() < until, "the server does not start"
            time.sleep(0.01)
        return running[-1]

    yield start
    for served in running:
        served.stop()


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Return a Chromium; of a module alone, for a process runs one Playwright at a time."""
    playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
    if chromium() is None:
        pytest.skip("no Chromium on this machine")
    with playwright.sync_playwright() as started:
        found = started.chromium.launch(executable_path=chromium(), args=OPTIONS, headless=True)
        yield found
        found.close()


@pytest.fixture
def look(browser: Any) -> Iterator[Callable[..., Any]]:
    """Return a function that opens a served page; what goes wrong in it fails the test.

    `page.troubles` has the console's errors and `page.asked` every address that was asked for.
    """
    contexts: list[Any] = []
    pages: list[Any] = []

    def show(
        served: Served, width: int = 1100, height: int = 900, scheme: str = "light", **more: Any
    ) -> Any:
        context = browser.new_context(
            viewport={"width": width, "height": height}, color_scheme=scheme, **more
        )
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(60_000)  # on a machine that is busy
        page.troubles, page.asked = [], []
        page.on("console", lambda said: page.troubles.append(f"{said.type}: {said.text}"))
        page.on("pageerror", lambda error: page.troubles.append(str(error)))
        page.on("request", lambda request: page.asked.append(request.url))
        page.goto(served.url)
        page.locator("#link", has_text=re.compile("^connected$")).wait_for()
        pages.append((page, served.url))
        return page

    yield show
    for page, url in pages:
        assert page.troubles == []
        foreign = [asked for asked in page.asked if not asked.startswith(url)]
        assert foreign == [], "asked for something outside"
    for context in contexts:
        context.close()


class Board:
    """A real board in all but its parts: the firmware in MicroPython, behind a cable.

    Attributes
    ----------
    given : all bytes that were sent to it.
    """

    #: It has no emission delay: less to wait for.
    BUILD = "cave_lamp"

    def __init__(self, path: Any) -> None:
        self.session = Session(load(self.BUILD), seed=1)
        for _ in range(3000):  # boot and self-test
            self.session.step()
        self.cable = Cable(path)
        self.given = bytearray()
        self._events: queue.Queue[Event] = queue.Queue()
        self._ends = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()
        share_core(None)  # browser and server are not to share the board's core

    def hand(self, target: str, value: float) -> None:
        """Move what a hand at the board moves."""
        self._events.put(Event(0, target, value))

    def mode(self) -> str | None:
        return self.session.twin.look.mode

    def _run(self) -> None:
        """Run the board a little faster than a real one."""
        while not self._ends.is_set():
            for _ in range(40):
                events = [] if self._events.empty() else [self._events.get()]
                data = self.cable.read()
                self.given += data
                if said := self.session.step(data, events):
                    self.cable.write(said)
            time.sleep(0.01)

    def end(self) -> None:
        self._ends.set()
        self.cable.unplug()  # nobody reads any more: the board waits for nobody
        self._thread.join(60)
        self.session.__exit__(None, None, None)


@pytest.fixture
def board(tmp_path: Any) -> Iterator[Board]:
    needs_micropython()
    made = Board(tmp_path / "port")
    yield made
    made.end()
