"""The law run again over recorded raw codes, from the state that the board had: every word again.

Integers only, the same file as on the board: what differs is no matter of rounding.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diodedriver import words
from diodewright.sim import Engine

__all__ = ["Replayed", "limits_of", "replayed"]

Ints = NDArray[np.int32]
_STATE = {row[0]: place for place, row in enumerate(words.STATE)}
_READ = {row[0]: place for place, row in enumerate(words.READINGS)}


@dataclass(frozen=True)
class Replayed:
    """State and readings behind every tick, one row a tick."""

    state: Ints
    readings: Ints

    def word(self, name: str) -> Ints:
        """Return one word of either table, by name; state words come first."""
        if name in _STATE:
            return self.state[:, _STATE[name]]
        return self.readings[:, _READ[name]]


def limits_of(settings: Mapping[str, int], changed: Mapping[str, int]) -> list[int]:
    """Return the limits array of a board with `settings`, of which serial has `changed` some."""
    return words.assemble({**settings, **changed})


def replayed(
    engine: Engine, limits: Sequence[int], state: Sequence[int], readings: Sequence[int], raw: Ints
) -> Replayed:
    """Return what the law makes of `raw` (a row a tick, in the order of words.RAW).

    Parameters
    ----------
    state, readings : the law's words before the first of them.
    """
    own = np.array(state, dtype=np.int32)
    read = np.array(readings, dtype=np.int32)
    bounds = np.array(limits, dtype=np.int32)
    states = np.zeros((len(raw), len(own)), dtype=np.int32)
    every = np.zeros((len(raw), len(read)), dtype=np.int32)
    codes = np.zeros(len(words.RAW), dtype=np.int32)
    for tick, row in enumerate(raw):
        codes[:] = row
        engine.tick(own, bounds, read, codes)
        states[tick] = own
        every[tick] = read
    return Replayed(states, every)
