"""A board as a source: what it says is shown, and it can be made dark; nothing else.

A thread of its own speaks to the port by `bench.watch.Watch`, whose every word is in its table
`SENT`; the only wish that is taken here is "off". Rows that were shown are kept for ten minutes.
"""

import threading
import traceback
from collections import deque
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from diodedriver import words
from diodewright.bench.record import COLUMNS
from diodewright.bench.watch import Watch
from diodewright.page.source import PICKED, Asked, Frame, obey
from diodewright.page.telling import latched, told
from diodewright.report.watch_words import NO_LINE

__all__ = ["Watching"]

_KEPT_S = 600
_MOST_PENDING = 4000
_ENDS_S = 10.0
_BROKE = f"WATCHING BROKE, OFF does not work; the page's server says how: {NO_LINE}"
_OFF_BY_GATE = "OUTPut is off: no press lights until the board restarts or a program sets it"


class Watching:
    """A board that is watched from a thread.

    Parameters
    ----------
    watch : with its line open; it is ended by `close`.
    differs : how the board's build differs from the one that was named; "" for not at all.
    """

    kind = "board"

    def __init__(self, watch: Watch, differs: str = "") -> None:
        self.columns: tuple[str, ...] = tuple(c for c in PICKED if c in COLUMNS)
        self._places = [COLUMNS.index(name) for name in self.columns]
        self._watch, self._differs = watch, differs
        self._lock = threading.Lock()
        self._pending: deque[NDArray[np.float64]] = deque(maxlen=_MOST_PENDING)
        self._kept: deque[NDArray[np.float64]] = deque(maxlen=_KEPT_S * watch.rate_Hz)
        self._off, self._ends = threading.Event(), threading.Event()
        self._offs, self._off_said = 0, ""
        self._state: dict[str, Any] = self._looked()
        self._thread = threading.Thread(target=self._work, name="board", daemon=True)
        self._thread.start()

    # what the page calls

    def asked(self, wish: Asked) -> None:
        """Make dark, the one thing that can be asked for; `Refused` for all else."""
        obey({"off": lambda _: self._off.set()}, wish)

    def gone(self, client: int) -> None:
        """Nobody holds anything."""

    def turn(self, elapsed_s: float) -> Frame | None:
        """Return what came since; the board's tick is the clock."""
        with self._lock:
            rows = [*self._pending]
            self._pending.clear()
        return Frame(np.array(rows).T) if rows else None

    def back(self, window_s: float) -> Frame:
        """Return again the last `window_s` [s]; what waits for `turn` comes by that."""
        with self._lock:
            rows = [*self._kept][: len(self._kept) - len(self._pending)]
        if not rows:
            return Frame(np.empty((len(self.columns), 0)), anew=True)
        found = np.array(rows).T
        return Frame(found[:, found[0] >= found[0, -1] - window_s], anew=True)

    def state(self) -> Mapping[str, Any]:
        """Return how the board stands, as it was last heard."""
        with self._lock:
            return dict(self._state)

    def close(self) -> None:
        """Stop the telemetry and let go of the port."""
        self._ends.set()
        self._thread.join(_ENDS_S)

    # the thread

    def _work(self) -> None:
        try:
            self._work_on()
        except Exception:  # noqa: BLE001 whatever ends this thread, the page must say so
            traceback.print_exc()
            with self._lock:
                self._state |= {"mode": "not heard", "alarm": _BROKE}

    def _work_on(self) -> None:
        while not self._ends.is_set() and not self._watch.over:
            if self._off.is_set():
                self._off.clear()
                self._make_dark()
            self._watch.turn()
            rows = self._watch.keeper.recorder.drained()[:, self._places]
            with self._lock:
                self._pending.extend(rows)
                self._kept.extend(rows)
                self._state = self._looked()
        self._watch.end()
        with self._lock:
            self._state = self._looked()

    def _make_dark(self) -> None:
        """Send OFF; what came of it is the watch's last word."""
        before = len(self._watch.said)
        self._watch.make_dark()
        self._offs += 1
        said = self._watch.said[-1] if self._watch.said else ""
        self._off_said = said if said or before else "OFF: nothing was heard of it"

    def _looked(self) -> dict[str, Any]:
        watch = self._watch
        seen = watch.seen
        of = seen.words if seen is not None else {}
        cause = words.FAULTS[watch.cause.row][0] if watch.cause else latched(of.get("faults", 0))
        mode = seen.mode if seen is not None else "not heard"
        said = told(mode, of.get("hard", 0), of.get("bound", 0), cause, of.get("pins", 0))
        document: dict[str, Any] = {**said.as_dict(), "alarm": self._alarm(), "place": watch.port}
        document |= {"offs": self._offs, "off_said": self._off_said, "gate": watch.gate}
        if mode == "dark" and watch.gate is False:
            document["hint"] = _OFF_BY_GATE
        if watch.barred:
            document["says"] += f": {watch.barred}"
        return document

    def _alarm(self) -> str:
        if self._watch.over:
            return f"Watching ended: {self._watch.over}"
        if self._watch.lost:
            return f"NO LINE: {self._watch.lost}: {NO_LINE}"
        return f"Caution: {self._differs}" if self._differs else ""
