"""What waits to be sent to one client: bounded, whatever the client does.

Of each kind of text only the latest waits. Rows wait in order; a client that falls behind loses
them all and is shown a gap, never a wrong line.
"""

import asyncio
from collections import deque
from typing import Any

import msgspec
import numpy as np

from diodewright.page.source import Frame

__all__ = ["MOST_FRAMES", "Outbox", "packed"]

#: Two seconds at twenty frames a second.
MOST_FRAMES = 40


def packed(frame: Frame) -> bytes:
    """Return a frame as bytes: 1 where it begins anew, rows, then column by column; float64."""
    head = np.array([float(frame.anew), float(frame.rows.shape[1])])
    return head.tobytes() + np.ascontiguousarray(frame.rows).tobytes()


class Outbox:
    """Waiting texts and rows of one client."""

    def __init__(self) -> None:
        self._texts: dict[str, bytes] = {}
        self._rows: deque[bytes] = deque()
        self._there = asyncio.Event()
        self.dropped = 0

    def tell(self, name: str, document: Any) -> None:
        """Have `document` sent under `name`, in the place of one that waits."""
        self._texts[name] = msgspec.json.encode({"tell": name, "of": document})
        self._there.set()

    def show(self, data: bytes, anew: bool, gap: bytes) -> None:
        """Have rows sent; `gap` is a frame that says that some are missing before them."""
        if anew:
            self._rows.clear()
        elif len(self._rows) >= MOST_FRAMES:
            self.dropped += len(self._rows)
            self._rows.clear()
            self._rows.append(gap)
        self._rows.append(data)
        self._there.set()

    async def next(self) -> str | bytes:
        """Return what is sent next: texts before rows."""
        while not self._texts and not self._rows:
            self._there.clear()
            await self._there.wait()
        if self._texts:
            return self._texts.pop(next(iter(self._texts))).decode()
        return self._rows.popleft()
