"""A recording: what goes into the law at every tick, made once, replayed on every engine.

Eight raw words a tick, and pokes: words of state, limits or readings that are set by hand before
a tick (a flipped limit, a stray word, other settings, a power-up, a clock put near its end). As
bytes it is int32 words: ticks, pokes; limits, state and readings to begin with; then the pokes
(tick, array, index, value) and the raw words. ``replay.py`` reads it.
"""

from array import array
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desk import PLACES, SETTINGS, Desk
from diodedriver import words
from diodewright.sim import compiled

Words = NDArray[np.int32]
STATE, LIMITS, READINGS = range(3)


@dataclass(frozen=True)
class Recording:
    limits: Words
    state: Words
    readings: Words
    pokes: Words  # (tick, array, index, value)
    raws: Words  # one row a tick

    def as_bytes(self) -> bytes:
        head = np.array([len(self.raws), len(self.pokes)], dtype=np.int32)
        parts = (head, self.limits, self.state, self.readings, self.pokes, self.raws)
        return b"".join(part.tobytes() for part in parts)


class Recorder(Desk):
    """A desk that keeps what its law is given. The compiled law answers, because it is fast."""

    def __init__(self, settings: dict[str, int]) -> None:
        super().__init__(law_tick=self._recorded, **settings)
        self.settings = SETTINGS | settings
        held = (self.state, self.limits, self.readings)
        self._arrays = held
        self._views = tuple(np.frombuffer(each, dtype=np.int32) for each in (*held, self.raw))
        self._start = tuple(view.copy() for view in self._views[:3])
        self._tick = compiled().tick
        self._raws = array("i")
        self._pokes = array("i")
        self.noise = None

    def _recorded(self, *_arrays: object) -> None:
        if self.noise is not None:
            self.noise(self.raw)
        self._raws.extend(self.raw)
        self._tick(*self._views)

    @property
    def ticks(self) -> int:
        return len(self._raws) // len(words.RAW)

    def poke(self, which: int, name: str | int, value: int) -> None:
        place = PLACES[which][name] if isinstance(name, str) else name
        self._arrays[which][place] = value
        self._pokes.extend((self.ticks, which, place, value))

    def power_up(self) -> None:
        for place, value in enumerate(words.first_state()):
            self.poke(STATE, place, value)
        for place in range(len(self.readings)):
            self.poke(READINGS, place, 0)

    def rebuild(self, settings: dict[str, int]) -> None:
        """Load other settings, which only a power-up can do."""
        self.settings = SETTINGS | settings
        for place, value in enumerate(words.assemble(self.settings)):
            if self.limits[place] != value:
                self.poke(LIMITS, place, value)
        self.power_up()

    def recording(self, ticks: int) -> Recording:
        """Return the first `ticks` of what was recorded."""
        pokes = np.array(self._pokes, dtype=np.int32).reshape(-1, 4)
        raws = np.array(self._raws, dtype=np.int32).reshape(-1, len(words.RAW))[:ticks]
        state, limits, readings = self._start
        return Recording(limits, state, readings, pokes[pokes[:, 0] < ticks], raws)
