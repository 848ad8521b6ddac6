"""How long until the light is cut back or the pack locks it out: straight on at the slope so far.

The slope is the median of the slopes between all pairs of one-second means (Theil 1950; Sen 1968,
whose rank bounds give the range), over the last 30 s for heat and 60 s for the pack: a few odd
readings do not move it. Where the later half is clearly the flatter one only "not before" is said,
by its steepest likely slope; where it is the steeper one, that half alone counts. The mount's
reading is led by the lag that the law leads it by, and cutback is where a cap falls to the level
asked for, as the law fades it.

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

__all__ = ["LIMITS", "Outlook", "Prospect", "Straight", "slope_of"]

LIMITS = (
    "times go straight on at the last half minute's slope (pack: minute's): a sink that warms "
    "slows, so cutback comes later or never; a pack near its end falls faster, so lockout comes "
    "sooner; the heat budget is not told by the board and may cut back first"
)
#: How far a window reaches back, and how much of it there must be before anything is said.
HEAT_WINDOW_S, HEAT_LEAST_S = 30, 16
PACK_WINDOW_S, PACK_LEAST_S = 60, 40
#: The later half's slope over the earlier's: below and above, the line is no straight one.
_SLOWING, _HASTENING = 0.85, 1.15
#: Beyond these nothing is told but "not soon": a straight line says nothing of it.
HEAT_HORIZON_S = 1800.0
PACK_HORIZON_S = 10_800.0
#: A drive that changed by more than this part begins a new window: heat and sag follow it.
_HEAT_STEP, _PACK_STEP = 0.05, 0.2
_Z = 1.96
_LIT = {"run", "limited"}


@dataclass(frozen=True)
class Prospect:
    """When something comes.

    Attributes
    ----------
    kind : "now", "about", "not before", "not soon" or "unknown".
    by : what brings it: "mount", "junction", "pack", ...
    earliest_s, about_s, latest_s : from now [s]; None where not said.
    """

    kind: str
    by: str = ""
    earliest_s: float | None = None
    about_s: float | None = None
    latest_s: float | None = None


UNKNOWN = Prospect("unknown")


def slope_of(
    at_s: NDArray[np.float64], values: NDArray[np.float64]
) -> tuple[float, tuple[float, float, float]]:
    """Return a straight line's value at the end, and its lower, median and upper slope [1/s].

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
    return now, (float(slopes[below]), middle, float(slopes[above]))


@dataclass(frozen=True)
class Straight:
    """A straight line through the last one-second means.

    Attributes
    ----------
    value : now, in the column's unit.
    slopes : lower, median and upper slope, in that unit a second.
    later : those of the later half alone.
    halves : the earlier and the later half's median slope.
    """

    value: float
    slopes: tuple[float, float, float]
    later: tuple[float, float, float]
    halves: tuple[float, float]


class _Window:
    """One-second means of a few columns over the last while of steady drive."""

    def __init__(self, columns: tuple[str, ...], step_share: float, most: int, least: int) -> None:
        self._columns = columns
        self._step_share = step_share
        self._least = least
        self._drive_A = 0.0
        self._second, self._count = -1, 0
        self._sums = np.zeros(len(columns) + 1)
        self._means: deque[NDArray[np.float64]] = deque(maxlen=most)

    def clear(self) -> None:
        """Begin anew."""
        self._means.clear()
        self._second = -1

    def add(self, heard: Heard) -> None:
        """Take one reading; a step of the drive, or a gap, begins a new window."""
        drive_A = heard.value("drive_A")
        if abs(drive_A - self._drive_A) > self._step_share * self._drive_A:
            self.clear()
            self._drive_A = drive_A
        second = int(heard.time_s)
        if second != self._second:
            if self._second >= 0:
                self._means.append(self._sums / self._count)
            if second > self._second + 2:
                self._means.clear()
            self._second, self._count = second, 0
            self._sums = np.zeros(len(self._columns) + 1)
        self._count += 1
        self._sums += [heard.time_s, *(heard.value(name) for name in self._columns)]

    def line(self, column: str) -> Straight | None:
        """Return the line through one column, None where the light was not steady for long."""
        if len(self._means) < self._least:
            return None
        table = np.array(self._means)
        at_s = table[:, 0] - table[0, 0]
        values = table[:, self._columns.index(column) + 1]
        half = len(at_s) // 2
        value, slopes = slope_of(at_s, values)
        _, early = slope_of(at_s[:half], values[:half])
        _, later = slope_of(at_s[half:], values[half:])
        return Straight(value, slopes, later, (early[1], later[1]))


class Outlook:
    """Takes readings as they come and says what is ahead.

    Parameters
    ----------
    settings : the board's words as the build derives them.
    """

    def __init__(self, settings: Mapping[str, int]) -> None:
        self._settings = settings
        self._lag_s = settings["lead_x16"] / 16 * 2 ** settings["lead_shift"] / 1000
        heat, pack = ("mount_read_degC", "junction_law_degC"), ("rest_law_V", "pack_read_V")
        self._heat = _Window(heat, _HEAT_STEP, HEAT_WINDOW_S, HEAT_LEAST_S)
        self._pack = _Window(pack, _PACK_STEP, PACK_WINDOW_S, PACK_LEAST_S)
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
        return _soonest([self._cap(last, *row) for row in _CAPS])

    def lockout(self) -> Prospect:
        """Return when the pack will be locked out."""
        if self._last is None:
            return UNKNOWN
        if self._last.mode == "pack_low":
            return Prospect("now", "pack", 0.0, 0.0, 0.0)
        rows = (("rest_law_V", "lockout_mV", "pack"), ("pack_read_V", "loaded_min_mV", "load"))
        return _soonest(
            [
                _when(self._pack.line(column), self._settings[word] / 1000, -1, by, PACK_HORIZON_S)
                for column, word, by in rows
            ]
        )

    def _cap(self, last: Heard, by: str, column: str, begin: str, end: str, least: str) -> Prospect:
        """Return when one cap falls to the level asked for."""
        given = self._settings
        level = last.words["level"]
        # the last named level is what serial asked for: then the drive says it
        level_mA = given[f"level_{level}_mA"] if level < 3 else last.words["drive"] / 64
        depth_mA = given["top_mA"] - given[least]
        share = (given["top_mA"] - level_mA) / depth_mA if depth_mA else 2.0
        if share > 1:
            return Prospect("not soon", by)  # it leaves more than is asked for
        at = given[begin] + share * (given[end] - given[begin])
        if by == "pack":
            return _when(self._pack.line(column), at / 1000, -1, by, PACK_HORIZON_S)
        line = self._heat.line(column)
        lead_s = self._lag_s if by == "mount" else 0.0
        lead_K = max(line.slopes[1], 0.0) * lead_s if line else 0.0
        return _when(line, (at - 27_315) / 100 - lead_K, 1, by, HEAT_HORIZON_S)


#: What dims: name, column, where it begins, where it ends, what it leaves there.
_CAPS = (
    ("mount", "mount_read_degC", "warm_cK", "hot_cK", "dim_mA"),
    ("junction", "junction_law_degC", "junction_warm_cK", "junction_hot_cK", "dim_mA"),
    ("pack", "rest_law_V", "cutback_mV", "cutback_end_mV", "reserve_mA"),
)


def _when(line: Straight | None, limit: float, sign: int, by: str, horizon_s: float) -> Prospect:
    """Return when a line that goes towards `limit` (`sign` 1: upwards, -1: down) is there."""
    if line is None:
        return UNKNOWN
    room = max(sign * (limit - line.value), 0.0)
    early, late = (sign * slope for slope in line.halves)
    straight = early > 0 and _SLOWING * early <= late <= _HASTENING * early
    slopes = sorted(sign * slope for slope in (line.slopes if straight else line.later))
    slowest, middle, fastest = slopes
    earliest_s = room / fastest if fastest > 0 else math.inf
    if earliest_s > horizon_s:
        return Prospect("not soon", by)
    if slowest <= 0 or late < _SLOWING * early:
        return Prospect("not before", by, earliest_s)
    return Prospect("about", by, earliest_s, room / middle, room / slowest)


def _soonest(prospects: list[Prospect]) -> Prospect:
    """Return the one that comes first; "unknown" where none has a time and one is not known."""
    timed = [each for each in prospects if each.earliest_s is not None]
    if timed:
        return min(timed, key=_expected_s)
    unknown = any(prospect.kind == "unknown" for prospect in prospects)
    return UNKNOWN if unknown else Prospect("not soon")


def _expected_s(prospect: Prospect) -> float:
    said_s = prospect.about_s if prospect.about_s is not None else prospect.earliest_s
    return math.inf if said_s is None else said_s
