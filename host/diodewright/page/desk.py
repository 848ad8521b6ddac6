"""Who is connected, and the turn of the wheel: twenty times a second the source goes on.

The wall clock that paces a light is read here and nowhere else.
"""

import asyncio
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from typing import Any, Protocol

import numpy as np

from diodewright.page.outbox import Outbox, packed
from diodewright.page.source import Asked, Frame, Refused, Source
from diodewright.page.wire import read_wish

__all__ = ["FRAME_S", "MOST_CLIENTS", "Desk"]

FRAME_S = 0.05
MOST_CLIENTS = 8
#: So far back a source may be asked again [s].
LONGEST_WINDOW_S = 600.0
#: A client that says so much nonsense is shown the door.
MOST_NONSENSE = 50
_STATE_EVERY = 2


class Extra(Protocol):
    """What a page offers beside its source."""

    def begin(self, tell: Callable[[str, Any], None]) -> None:
        """Take what tells everybody, from any thread."""

    def asked(self, wish: Asked) -> bool:
        """Do what a client asks; False where it is not its own."""

    def close(self) -> None:
        """End."""


class Desk:
    """Clients of one source.

    Parameters
    ----------
    hello : what a client is told first.
    extra : takes wishes that are none of the source's, and tells everybody what comes of them;
        the last of each is told again to who comes later.
    """

    def __init__(
        self, source: Source, hello: Mapping[str, Any], extra: Extra | None = None
    ) -> None:
        self.source = source
        self.hello = hello
        self.clients: dict[int, Outbox] = {}
        self._extra = extra
        self._number = 0
        self._nonsense: dict[int, int] = {}
        self._last: Mapping[str, Any] = {}
        self._told: dict[str, Any] = {}

    def come(self) -> int | None:
        """Take in a client and return its number; None where there are too many."""
        if len(self.clients) >= MOST_CLIENTS:
            return None
        self._number += 1
        outbox = self.clients[self._number] = Outbox()
        self._nonsense[self._number] = 0
        outbox.tell("hello", self.hello)
        outbox.tell("state", self.source.state())
        for name, document in self._told.items():
            outbox.tell(name, document)
        return self._number

    def go(self, client: int) -> None:
        """Let a client go, and all that it held."""
        self.clients.pop(client, None)
        self._nonsense.pop(client, None)
        self.source.gone(client)

    def hear(self, client: int, data: str | bytes) -> bool:
        """Do what a client says, or tell it why not; False where it is to be shown the door."""
        outbox = self.clients[client]
        try:
            wish = read_wish(data, client)
        except Refused as error:
            self._nonsense[client] += 1
            outbox.tell("refused", {"do": "", "why": str(error)})
            return self._nonsense[client] < MOST_NONSENSE
        try:
            self._do(wish)
        except Refused as error:
            outbox.tell("refused", {"do": wish.do, "why": str(error)})
        return True

    def _do(self, wish: Asked) -> None:
        if wish.do == "window":
            window_s = min(max(wish.value, 0.0), LONGEST_WINDOW_S)
            self._show(self.source.back(window_s), only=wish.client)
        elif self._extra is None or not self._extra.asked(wish):
            self.source.asked(wish)
            self._tell_state(again=False)

    def tell(self, name: str, document: Any) -> None:
        """Tell everybody."""
        for outbox in self.clients.values():
            outbox.tell(name, document)

    def _show(self, frame: Frame, only: int | None = None) -> None:
        data = packed(frame)
        missing = np.full((len(self.source.columns), 1), np.nan)
        missing[0] = frame.rows[0, 0] if frame.rows.shape[1] else np.nan
        gap = packed(Frame(missing))
        for client, outbox in self.clients.items():
            if only in (None, client):
                outbox.show(data, frame.anew, gap)

    def _tell_state(self, again: bool) -> None:
        state = self.source.state()
        if again or state != self._last:
            self.tell("state", state)
            self._last = state

    def _keep(self, name: str, document: Any) -> None:
        self._told[name] = document
        self.tell(name, document)

    def close(self) -> None:
        """End all that works for the page."""
        if self._extra is not None:
            self._extra.close()
        self.source.close()

    async def turn_for_ever(self) -> None:
        """Let the source go on while somebody looks, until cancelled."""
        if self._extra is not None:
            loop = asyncio.get_running_loop()

            def tell(name: str, document: Any) -> None:
                with suppress(RuntimeError):  # the loop is over, nobody looks any more
                    loop.call_soon_threadsafe(self._keep, name, document)

            self._extra.begin(tell)
        before_s, count = time.monotonic(), 0
        due_s = before_s
        while True:
            # what a turn takes is no part of the pause
            due_s = max(due_s + FRAME_S, time.monotonic())
            await asyncio.sleep(due_s - time.monotonic())
            now_s = time.monotonic()
            elapsed_s, before_s = now_s - before_s, now_s
            if not self.clients:
                continue
            frame = self.source.turn(elapsed_s)
            if frame is not None:
                self._show(frame)
            count += 1
            if count % _STATE_EVERY == 0:
                self._tell_state(again=False)
