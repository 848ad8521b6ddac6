"""A linear circuit between two events, stepped exactly.

Equations. ``x' = A x + b`` with constant A and b has over a step h the exact solution
``(x, 1) -> exp(h [[A, b], [0, 0]]) (x, 1)``; the matrix exponential by scaling and squaring of its
series. Samples double in number with each product, so that a thousand cost ten.

Source. Variation of constants, any text on linear systems; the exponential is checked against
SciPy's in the tests.

Does not model: anything that is not linear between two events. An event is looked for at the
samples: one that comes and goes between two of them is not seen, so a step must be short against
the circuit's time constants.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["Event", "exponential", "first_event", "samples"]

Array = npt.NDArray[np.float64]
Watch = tuple[Sequence[float], float]

_TERMS = 14
#: Steps within the sample in which an event lies; between two of them a straight line is taken.
_FINER = 64


@dataclass(frozen=True)
class Event:
    """The first event, or the end of the time that was looked at.

    Attributes
    ----------
    which : index of what was watched; -1 where nothing happened.
    after_s : when [s].
    state : the circuit's state then.
    seen : every sample up to there, one row each, the last being `state`.
    """

    which: int
    after_s: float
    state: Array
    seen: Array


def exponential(matrix: Array) -> Array:
    """Return the exponential of a small square matrix."""
    norm = float(np.abs(matrix).sum(axis=1).max())
    halvings = max(0, int(np.ceil(np.log2(norm))) + 2) if norm > 0 else 0
    scaled = matrix / 2.0**halvings
    term = np.eye(len(matrix))
    total = term.copy()
    for n in range(1, _TERMS):
        term = term @ scaled / n
        total += term
    for _ in range(halvings):
        total = total @ total
    return total


def _step(rates: Array, drive: Array, step_s: float) -> Array:
    """Return the matrix that takes (state, 1) one step further."""
    size = len(drive)
    grown = np.zeros((size + 1, size + 1))
    grown[:size, :size] = rates * step_s
    grown[:size, size] = drive * step_s
    return exponential(grown)


def samples(rates: Array, drive: Array, start: Array, step_s: float, count: int) -> Array:
    """Return `count` + 1 states, `start` first, `step_s` [s] apart: one row each."""
    ahead = _step(rates, drive, step_s)
    rows = np.append(start, 1.0)[None, :]
    while len(rows) <= count:
        rows = np.concatenate([rows, rows @ ahead.T])
        ahead = ahead @ ahead
    return rows[: count + 1, :-1]


def _crossed(rows: Array, watches: Sequence[Watch]) -> tuple[int, int]:
    """Return the first sample at which something watched has risen to its limit, and which."""
    first, which = len(rows), -1
    for index, (weights, limit) in enumerate(watches):
        over = rows @ np.asarray(weights) >= limit
        # what is over from the first must come from below before it counts
        rises = np.flatnonzero(over[1:] & ~over[:-1])
        if len(rises) and rises[0] + 1 < first:
            first, which = int(rises[0]) + 1, index
    return first, which


def first_event(
    rates: Array,
    drive: Array,
    start: Array,
    step_s: float,
    count: int,
    watches: Sequence[Watch],
) -> Event:
    """Step from `start` until something watched rises to its limit, at most `count` steps.

    Parameters
    ----------
    watches : rows of (weights of the states, limit); the weighted sum rising to the limit is the
        event.
    """
    rows = samples(rates, drive, start, step_s, count)
    at, which = _crossed(rows, watches)
    if which < 0:
        return Event(-1, count * step_s, rows[-1], rows)
    fine = samples(rates, drive, rows[at - 1], step_s / _FINER, _FINER)
    weights, limit = watches[which]
    heights = fine @ np.asarray(weights)
    behind = int(np.argmax(heights >= limit))
    if behind == 0:
        behind = _FINER
    low, high = float(heights[behind - 1]), float(heights[behind])
    share = (limit - low) / (high - low) if high > low else 1.0
    state = fine[behind - 1] + share * (fine[behind] - fine[behind - 1])
    after_s = (at - 1) * step_s + (behind - 1 + share) * step_s / _FINER
    return Event(which, after_s, state, np.concatenate([rows[:at], state[None, :]]))
