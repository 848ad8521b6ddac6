"""What feeds the page: a simulated light, a board or a recording, all asked in one way.

A source takes what its clients ask for (`asked`), goes on by as much wall-clock time as passed
(`turn`), and says in words how things stand (`state`). What it does not know, it refuses: a source
that watches a board has no act that lights.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from diodewright.sim import Trace

__all__ = ["PICKED", "Asked", "Frame", "Refused", "Source", "frame_of", "obey"]

#: Columns of a Trace that the page draws or reads out, as far as a source has them.
PICKED = (
    "time_s",
    "diode_A",
    "current_read_A",
    "drive_A",
    "allowed_A",
    "light_W",
    "junction_degC",
    "junction_law_degC",
    "mount_degC",
    "mount_read_degC",
    "sink_degC",
    "sink_read_degC",
    "pack_V",
    "pack_read_V",
    "rest_law_V",
    "output_V",
    "output_read_V",
)


class Refused(Exception):
    """What a client asked for is not done; the text is one line for a person."""


@dataclass(frozen=True)
class Asked:
    """One wish of a client, its form checked, its meaning not yet."""

    client: int
    do: str
    what: str = ""
    value: float = 0.0


@dataclass(frozen=True)
class Frame:
    """Rows to be drawn, columns of `PICKED` in its order; a row of NaN but for its time is a gap.

    `anew`: what was drawn before does not belong to it (a scrub, another window).
    """

    rows: NDArray[np.float64]
    anew: bool = False


def obey(does: Mapping[str, Callable[[Asked], object]], wish: Asked) -> None:
    """Do a wish by a source's table of them; `Refused` for one that it does not have."""
    act = does.get(wish.do)
    if act is None:
        raise Refused(f"no such wish here: {wish.do}")
    act(wish)


class Source(Protocol):
    """See the module."""

    kind: str
    columns: tuple[str, ...]

    def asked(self, wish: Asked) -> None:
        """Do what a client asks; raise `Refused` with the reason where that can't be."""

    def gone(self, client: int) -> None:
        """Take it that a client is not there any more."""

    def turn(self, elapsed_s: float) -> Frame | None:
        """Go on by so much wall-clock time; return what that showed."""

    def back(self, window_s: float) -> Frame:
        """Return again the last `window_s` [s] of what was shown."""

    def state(self) -> Mapping[str, Any]:
        """Return how things stand."""

    def close(self) -> None:
        """End; whatever is open is given back."""


def frame_of(trace: Trace, columns: Sequence[str], anew: bool = False) -> Frame:
    """Return a Trace's rows as the page takes them."""
    return Frame(np.array([trace[name] for name in columns], dtype=np.float64), anew)
