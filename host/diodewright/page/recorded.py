"""A recording as a source: shown as it went, on its own clock, which may be scrubbed."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from diodedriver import words
from diodewright.page.pace import Pace
from diodewright.page.problems import PageError
from diodewright.page.source import PICKED, Asked, Frame, Refused, obey
from diodewright.page.telling import latched, told
from diodewright.sim import Trace

__all__ = ["Recorded"]

_MOST_STEP = 1000


class Recorded:
    """A Trace from a file: of a board or of a simulated run.

    Raises
    ------
    PageError
        It has no rows, or nothing of what the page draws.
    """

    kind = "record"

    def __init__(self, trace: Trace, name: str) -> None:
        self.columns: tuple[str, ...] = tuple(c for c in PICKED if c in trace.columns)
        if not len(trace) or len(self.columns) < 2:
            raise PageError(f"{name}: nothing in it that could be drawn")
        self.trace, self.name = trace, name
        self.pace = Pace()
        self._time_s = trace["time_s"] - trace["time_s"][0]
        self._rows = np.array([self._time_s, *(trace[c] for c in self.columns[1:])])
        self.end = round(1000 * float(self._time_s[-1]))
        self.now = 0
        self._place = 0
        self._anew: Frame | None = None
        self._does: dict[str, Callable[[Asked], None]] = {
            "speed": self.pace.set_speed,
            "pause": lambda _: self.pace.pause(True),
            "go": lambda _: self.pace.pause(False),
            "step": self._step,
            "seek": self._seek,
        }

    def asked(self, wish: Asked) -> None:
        """Move in time; `Refused` says why not."""
        obey(self._does, wish)

    def gone(self, client: int) -> None:
        """Nobody holds anything."""

    def _step(self, wish: Asked) -> None:
        if not self.pace.paused:
            raise Refused("pause first, then step")
        if not 1 <= wish.value <= _MOST_STEP:
            raise Refused(f"step {wish.value:g}: 1 to {_MOST_STEP} ticks")
        self.now = min(self.now + int(wish.value), self.end)

    def _seek(self, wish: Asked) -> None:
        if not 0 <= wish.value <= self.end:
            raise Refused(f"tick {wish.value:g}: 0 to {self.end}")
        self.pace.pause(True)
        self.now = int(wish.value)
        self._place = self._until(self.now)
        self._anew = self.back(600.0)

    def _until(self, tick: int) -> int:
        """Return the place behind the last row that is not later than `tick`."""
        return int(np.searchsorted(self._time_s, tick / 1000 + 1e-9, "right"))

    def turn(self, elapsed_s: float) -> Frame | None:
        """Show what comes in so much time."""
        if self._anew is not None:
            frame, self._anew = self._anew, None
            return frame
        self.now = min(self.now + self.pace.due(elapsed_s), self.end)
        begin, self._place = self._place, self._until(self.now)
        return Frame(self._rows[:, begin : self._place]) if self._place > begin else None

    def back(self, window_s: float) -> Frame:
        """Return again the last `window_s` [s]."""
        begin = self._until(round(self.now - 1000 * max(window_s, 0.0)))
        return Frame(self._rows[:, begin : self._place], anew=True)

    def _word(self, column: str) -> int:
        """Return a whole number of the present row; 0 where it is not known."""
        if column not in self.trace.columns:
            return 0
        value = self.trace[column][max(self._place - 1, 0)]
        return 0 if np.isnan(value) else int(value)

    def state(self) -> Mapping[str, Any]:
        """Return how the recorded light stood."""
        known = "mode" in self.trace.columns
        place = max(self._place - 1, 0)
        gap = bool(known and np.isnan(self.trace["mode"][place]))
        mode = "" if not known or gap else words.MODES[self._word("mode") % len(words.MODES)][0]
        said = told(
            mode,
            self._word("hard"),
            self._word("bound"),
            latched(self._word("faults")),
            self._word("pins"),
        )
        before = [text for at, text in self.trace.events if at <= self._at_s()]
        return {
            **said.as_dict(),
            "mode": "no data" if gap else mode or "not recorded",
            "hint": before[-1] if before else "",
            "alarm": "A gap: nothing was recorded here" if gap else "",
            "tick": self.now,
            "end": self.end,
            "speed": self.pace.speed,
            "paused": self.pace.paused,
        }

    def _at_s(self) -> float:
        return float(self.trace["time_s"][0]) + self.now / 1000

    def close(self) -> None:
        """Nothing is open."""
