"""One key or two, from end to end: what each place gives, and where what must hold does not.

A scan goes as far as build and board take a value (or as a person says), in even steps; over many
decades in even ratios. A place that is refused is kept with its words.
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

from diodewright.rehearse.sweep import in_order
from diodewright.tune.context import Context
from diodewright.tune.evaluate import DEPTHS, Evaluation, evaluate
from diodewright.tune.keys import TuneKey, key_named, key_row, rounded, taken_span
from diodewright.tune.problems import TuneError

__all__ = ["POINTS", "Axis", "Place", "Scan", "axis_of", "scan"]

#: Places along one key, and along each of two.
POINTS = (21, 9)
_DECADES = 20.0


@dataclass(frozen=True)
class Axis:
    """One key's places, rising, the present value among them where it lies within."""

    key: TuneKey
    values: tuple[float, ...]

    @property
    def by_ratio(self) -> bool:
        """Whether the places are in even ratios."""
        return _by_ratio(self.values[0], self.values[-1])


@dataclass(frozen=True)
class Place:
    """One place of a scan.

    Attributes
    ----------
    at : a value of each axis.
    seen : what it came to, without its curve.
    """

    at: tuple[float, ...]
    seen: Evaluation

    @property
    def binds(self) -> str:
        """What is against it, in a word: "refused", the worst constraint broken, or ""."""
        if self.seen.refusal:
            return "refused"
        return self.seen.broken[0].id if self.seen.broken else ""


@dataclass(frozen=True)
class Scan:
    """A scan of one key or two: its axes, and a place for each pair, the last axis fastest."""

    axes: tuple[Axis, ...]
    places: tuple[Place, ...]

    @property
    def runs(self) -> int:
        """Closed-loop simulations that it took."""
        return sum(place.seen.runs for place in self.places)

    def figure(self, id: str) -> list[float]:
        """Return one figure of every place; NaN where there is none."""
        found = []
        for place in self.places:
            try:
                found.append(place.seen.figure(id))
            except KeyError:
                found.append(math.nan)
        return found

    def margins(self) -> list[float]:
        """Return the least margin of every place; NaN where it was refused."""
        rows = [place.seen.tightest for place in self.places]
        return [
            math.nan if row is None else -math.inf if row.margin is None else row.margin
            for row in rows
        ]


def _by_ratio(low: float, high: float) -> bool:
    return low > 0 and high / low > _DECADES


def axis_of(context: Context, text: str, given: Mapping[str, object], points: int) -> Axis:
    """Return the places of ``KEY`` or ``KEY=LOW:HIGH`` as a person types it.

    Raises
    ------
    TuneError
        No such key, no number, or a span that its range does not hold.
    """
    name, mark, span = text.partition("=")
    key = key_row(context.build, key_named(context.build, name))
    ends = _ends(key, span) if mark else taken_span(context, key, given)
    return Axis(key, _places(key, *ends, points))


def _ends(key: TuneKey, span: str) -> tuple[float, float]:
    low_text, mark, high_text = span.partition(":")
    try:
        low, high = float(low_text), float(high_text)
    except ValueError:
        mark = ""
        low = high = math.nan
    if not mark or not low < high:
        raise TuneError(f"{key.path}={span}: write {key.path}=LOW:HIGH, the lower end first")
    if not key.low <= low < high <= key.high:
        said = f"allowed {key.low:g} to {key.high:g} {key.unit}".rstrip()
        raise TuneError(f"{key.path}={span}: out of range; {said}")
    return low, high


def _places(key: TuneKey, low: float, high: float, points: int) -> tuple[float, ...]:
    """Return so many places, each as a build file would carry it, none twice."""
    steps = [i / (points - 1) for i in range(points)]
    if _by_ratio(low, high):
        every = [low * (high / low) ** share for share in steps]
    else:
        every = [low + (high - low) * share for share in steps]
    held = {float(rounded(key, value)) for value in every}
    if low <= key.start <= high:
        held.add(key.start)
    if len(held) < 2:
        raise TuneError(f"{key.path}: this build leaves it no way to go from {key.start:g}")
    return tuple(sorted(held))


@dataclass(frozen=True)
class _Asked:
    context: Context
    values: Mapping[str, object]
    depth: str


def _seen(asked: _Asked) -> Evaluation:
    return evaluate(asked.context, asked.values, asked.depth)


def scan(
    context: Context,
    axes: Sequence[Axis],
    given: Mapping[str, object],
    depth: str = DEPTHS[-1],
    pool: Executor | None = None,
) -> Scan:
    """Evaluate every place of `axes`; `given` are other keys' values.

    `pool` runs them (see `diodewright.rehearse.sweep`); the result does not depend on it.
    """
    spots = list(itertools.product(*(axis.values for axis in axes)))
    jobs = [_Asked(context, {**given, **_values(axes, spot)}, depth) for spot in spots]
    seen = in_order(pool, _seen, jobs)
    return Scan(tuple(axes), tuple(Place(*each) for each in zip(spots, seen, strict=True)))


def _values(axes: Sequence[Axis], spot: tuple[float, ...]) -> dict[str, object]:
    return {
        axis.key.path: round(value) if axis.key.whole else value
        for axis, value in zip(axes, spot, strict=True)
        # what a build leaves out and stays where it is, is left out
        if value != axis.key.start
    }
