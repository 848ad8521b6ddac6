"""How long until the light is cut back or the pack locks it out: straight on at the slope so far.

The slope is the median of the slopes between all pairs of one-second means of the last minute
(Theil 1950; Sen 1968, whose rank bounds give the range); it takes no notice of a few odd readings.
The mount's reading is led by the lag that the law leads it by.

Limits. A sink that warms slows down, so that heat cuts back later than said, or never; a pack falls
faster near its end, so that it locks out sooner. The heat budget is not told by the board and may
cut back first. Limits are the build's, not those that the board holds. The range takes readings as
independent, which filtered ones are not: it is narrower than the truth.
"""

import math
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diodedriver import words
from diodewright.bench.record import Heard

__all__ = ["LIMITS", "Outlook", "Prospect", "slope_of"]

LIMITS = (
    "times: straight on at the last minute's slope; a warming sink slows (cutback comes later "
    "or never), a pack near its end does not (lockout comes sooner); the heat budget is not told "
    "by the board and may cut back first"
)
WINDOW_S = 60
#: So many seconds of steady light before anything is said.
LEAST_S = 20
#: Beyond these nothing is told but "not soon": a straight line says nothing of it.
HEAT_HORIZON_S = 1800.0
PACK_HORIZON_S = 10_800.0
#: A drive that changed by more than this part begins a new window: heat and sag follow it.
_HEAT_STEP, _PACK_STEP = 0.05, 0.2
_Z = 1.96
_LIT = {"run", "limited"}
_HEAT_BOUNDS = {"mount", "junction", "budget"}


@dataclass(frozen=True)
class Prospect:
    """When something comes.

    Attributes
    ----------
    kind : "now", "about", "not before", "not soon" or "unknown".
    by : what brings it: "mount", "junction", "pack", ...
    earliest_s, about_s : from now [s]; None where not said.
    """

    kind: str
    by: str = ""
    earliest_s: float | None = None
    about_s: float | None = None
    latest_s: float | None = None


UNKNOWN = Prospect("unknown")


def slope_of(
    at_s: NDArray[np.float64], values: NDArray[np.float64]
) -> tuple[float, float, float, float]:
    """Return the value now, and the lower, median and upper slope [1/s] of a straight line.

    Median of pairwise slopes, with Sen's rank bounds at 95 %.
    """
    first, second = np.triu_indices(len(at_s), 1)
    slopes = np.sort((values[second] - values[first]) / (at_s[second] - at_s[first]))
    n = len(at_s)
    half = _Z * math.sqrt(n * (n - 1) * (2 * n + 5) / 18) / 2
    below = max(math.floor(len(slopes) / 2 - half), 0)
    above = min(math.ceil(len(slopes) / 2 + half), len(slopes) - 1)
    middle = float(np.median(slopes))
    now = float(np.median(values - middle * at_s)) + middle * float(at_s[-1])
    return now, float(slopes[below]), middle, float(slopes[above])


class _Window:
    """One-second means of a few columns over the last minute of steady drive."""

    def __init__(self, columns: tuple[str, ...], step: float) -> None:
        self._columns = columns
        self._step = step
        self._drive_A = 0.0
        self._second = -1
        self._sums = np.zeros(len(columns) + 1)
        self.means: deque[NDArray[np.float64]] = deque(maxlen=WINDOW_S)

    def clear(self) -> None:
        """Begin anew."""
        self.means.clear()
        self._second = -1

    def add(self, heard: Heard) -> None:
        """Take one reading; a step of the drive begins a new window."""
        drive_A = heard.value("drive_A")
        if abs(drive_A - self._drive_A) > self._step * self._drive_A:
            self.clear()
            self._drive_A = drive_A
        second = int(heard.time_s)
        if second != self._second:
            if self._second >= 0:
                self.means.append(self._sums / self._count)
            if second > self._second + 2:
                self.means.clear()  # a gap: what came before it says nothing
            self._second, self._count = second, 0
            self._sums = np.zeros(len(self._columns) + 1)
        self._count += 1
        self._sums += [heard.time_s, *(heard.value(name) for name in self._columns)]

    def slope(self, column: str) -> tuple[float, float, float, float] | None:
        """Return `slope_of` one column, None where the light was not steady for long enough."""
        if len(self.means) < LEAST_S:
            return None
        table = np.array(self.means)
        place = self._columns.index(column) + 1
        return slope_of(table[:, 0] - table[0, 0], table[:, place])


class Outlook:
    """Takes readings as they come and says what is ahead.

    Parameters
    ----------
    settings : the board's words as the build derives them.
    """

    def __init__(self, settings: Mapping[str, int]) -> None:
        self._settings = settings
        self._lag_s = settings["lead_x16"] / 16 * 2 ** settings["lead_shift"] / 1000
        self._heat = _Window(("mount_read_degC", "junction_law_degC"), _HEAT_STEP)
        self._pack = _Window(("rest_law_V", "pack_read_V"), _PACK_STEP)
        self._last: Heard | None = None

    def add(self, heard: Heard) -> None:
        """Take one reading; in the dark everything begins anew."""
        self._last = heard
        for window in (self._heat, self._pack):
            if heard.mode in _LIT:
                window.add(heard)
            else:
                window.clear()

    def forget(self) -> None:
        """Take notice that the line is gone: nothing is known any more."""
        self._last = None
        self._heat.clear()
        self._pack.clear()

    def cutback(self) -> Prospect:
        """Return when a cap will hold the light below its level."""
        last = self._last
        if last is None or last.mode not in _LIT:
            return UNKNOWN
        bound = words.BOUNDS[last.words["bound"]]
        if bound != "level":
            return Prospect("now", bound, 0.0, 0.0, 0.0)
        return _soonest(
            (
                self._rising("mount_read_degC", "warm_cK", "mount", self._lag_s),
                self._rising("junction_law_degC", "junction_warm_cK", "junction", 0.0),
                self._falling("rest_law_V", "cutback_mV", "pack"),
            )
        )

    def lockout(self) -> Prospect:
        """Return when the pack will be locked out."""
        last = self._last
        if last is None or last.mode == "pack_low":
            return Prospect("now", "pack", 0.0, 0.0, 0.0) if last is not None else UNKNOWN
        return _soonest(
            (
                self._falling("rest_law_V", "lockout_mV", "pack"),
                self._falling("pack_read_V", "loaded_min_mV", "pack under load"),
            )
        )

    def _rising(self, column: str, word: str, by: str, lead_s: float) -> Prospect:
        found = self._heat.slope(column)
        if found is None:
            return UNKNOWN
        now, lower, middle, upper = found
        room = (self._settings[word] - 27_315) / 100 - now - max(middle, 0.0) * lead_s
        return _when(room, (lower, middle, upper), by, HEAT_HORIZON_S)

    def _falling(self, column: str, word: str, by: str) -> Prospect:
        found = self._pack.slope(column)
        if found is None:
            return UNKNOWN
        now, lower, middle, upper = found
        room = now - self._settings[word] / 1000
        return _when(room, (-upper, -middle, -lower), by, PACK_HORIZON_S)


def _when(
    room: float, slopes: tuple[float, float, float], by: str, horizon_s: float
) -> Prospect:
    """Return when `room` is used up at slopes [1/s] that are positive towards the limit."""
    slowest, middle, fastest = slopes
    room = max(room, 0.0)
    earliest_s = room / fastest if fastest > 0 else math.inf
    if earliest_s > horizon_s:
        return Prospect("not soon", by)
    if slowest <= 0 or room / slowest > 4 * max(room / middle, 1.0):
        return Prospect("not before", by, earliest_s)
    return Prospect("about", by, earliest_s, room / middle, room / slowest)


def _soonest(prospects: tuple[Prospect, ...]) -> Prospect:
    """Return the one that comes first; "unknown" where one of them is not known."""
    if any(prospect.kind == "unknown" for prospect in prospects):
        return UNKNOWN
    timed = [each for each in prospects if each.earliest_s is not None]
    if not timed:
        return Prospect("not soon")
    sure = [each for each in timed if each.about_s is not None]
    if sure:
        return min(sure, key=lambda each: each.about_s or 0.0)
    return min(timed, key=lambda each: each.earliest_s or 0.0)
