"""How many ticks are due: the wall clock paces, it decides nothing else."""

from dataclasses import dataclass

from diodewright.page.source import Asked, Refused

__all__ = ["FASTEST", "Pace"]

FASTEST = 100
#: A machine that is held up does not make up for more than this [s].
_MOST_S = 0.25


@dataclass
class Pace:
    """Speed over real time, and whether time stands still."""

    speed: int = 1
    paused: bool = False
    _owed_ms: float = 0.0

    def set_speed(self, wish: Asked) -> None:
        """Take another speed; `Refused` beyond 1 to `FASTEST`."""
        if not 1 <= wish.value <= FASTEST:
            raise Refused(f"speed {wish.value:g}: 1 to {FASTEST}")
        self.speed = int(wish.value)

    def pause(self, paused: bool) -> None:
        """Stop time, or let it go on; nothing is owed then."""
        self.paused, self._owed_ms = paused, 0.0

    def due(self, elapsed_s: float) -> int:
        """Return how many ticks are due behind so much wall-clock time."""
        if self.paused:
            return 0
        self._owed_ms += 1000 * min(elapsed_s, _MOST_S) * self.speed
        due = int(self._owed_ms)
        self._owed_ms -= due
        return due
