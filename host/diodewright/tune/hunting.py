"""Hunting: how far light swings to and fro once its cutback has settled, and how often.

A slow change in one direction is no hunting: the swing is the smaller of the largest fall and the
largest rise within a window, so that a trend counts for nothing and a full swing counts whole.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diodewright.sim import Trace

__all__ = ["HUNTING_PCT", "Swing", "in_cutback", "swing_of"]

#: What may still be called still [% of the light, from trough to peak]. A step of one or two per
#: cent is the least that the eye tells apart (Weber's law); from memory, common practice.
HUNTING_PCT = 2.0
#: Light is averaged over so much: shorter than the eye's own time [s].
_BIN_S = 0.1
#: The onset of the cutback is left out, and at least so much of it is looked at [s].
_ONSET_S, _LEAST_S = 30.0, 20.0
_LIMITED = 7


@dataclass(frozen=True)
class Swing:
    """A swing to and fro.

    Attributes
    ----------
    share : from trough to peak, part of the mean.
    period_s : mean time from rise to rise; None where there are not two.
    """

    share: float
    period_s: float | None


def swing_of(time_s: NDArray[np.float64], values: NDArray[np.float64]) -> Swing:
    """Return how far evenly spaced `values` swing, whatever their trend."""
    mean = float(np.mean(values))
    if len(values) < 3 or mean <= 0.0:
        return Swing(0.0, None)
    fall = float(np.max(np.maximum.accumulate(values) - values))
    rise = float(np.max(values - np.minimum.accumulate(values)))
    to_and_fro = min(fall, rise)
    level = values - np.polyval(np.polyfit(time_s, values, 1), time_s)
    return Swing(to_and_fro / mean, _period_s(time_s, level, to_and_fro / 4))


def _period_s(time_s: NDArray[np.float64], level: NDArray[np.float64], band: float) -> float | None:
    """Return the mean time between rises through zero, each from below -`band` to above it."""
    if band <= 0.0:
        return None
    side = np.where(level > band, 1, np.where(level < -band, -1, 0))
    seen = np.flatnonzero(side)
    ups = seen[1:][(side[seen][1:] > 0) & (side[seen][:-1] < 0)]
    return float(np.mean(np.diff(time_s[ups]))) if len(ups) > 1 else None


def evened(
    time_s: NDArray[np.float64], values: NDArray[np.float64], bin_s: float = _BIN_S
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return `values` as their means over even bins of `bin_s` [s], and the bins' times."""
    place = ((time_s - time_s[0]) / bin_s).astype(int)
    counts = np.bincount(place)
    means = np.bincount(place, values) / np.maximum(counts, 1)
    at_s = time_s[0] + bin_s * (np.arange(len(counts)) + 0.5)
    return at_s[counts > 0], means[counts > 0]


def in_cutback(trace: Trace) -> Swing | None:
    """Return how the light of a use swings in its settled cutback; None where it has none.

    From half a minute behind the first cutback to the last light.
    """
    time_s, mode = trace["time_s"], trace["mode"].astype(int)
    limited = np.flatnonzero(mode == _LIMITED)
    lit = np.flatnonzero(trace["drive_A"] > 0)
    if not len(limited):
        return None
    begin_s, end_s = time_s[limited[0]] + _ONSET_S, time_s[lit[-1]]
    if end_s - begin_s < _LEAST_S:
        return None
    here = (time_s >= begin_s) & (time_s <= end_s)
    return swing_of(*evened(time_s[here], trace["light_W"][here]))
