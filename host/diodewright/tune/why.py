"""Why a choice is the best: what binds it, where, and what a little more of each would buy.

At a best choice the slope of the figure is held by the slopes of what binds: g = - A' u, u >= 0
(the conditions of Karush, Kuhn and Tucker; J. Nocedal, S. J. Wright, Numerical Optimization,
2nd ed., 12.3). The u, found by least squares without negative ones (C. L. Lawson, R. J. Hanson,
Solving Least Squares Problems, 23.3), are prices: what the best figure gains for one unit more of
a limit. What a better part buys follows with the same prices (the envelope theorem; A. V. Fiacco,
Introduction to Sensitivity and Stability Analysis, 3.2): the figure's own change and, for each
price, what the part gives its constraint. All slopes are differences of closed-loop runs.

Validity: prices are slopes at this choice. They hold for as much as the same constraints bind;
`left` says how much of the figure's slope no price explains (0 at a clean corner).
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from diodewright.tune.choice import STAGES, Aim, Choice, Look, Problem, Row, merit, rows_of
from diodewright.tune.lines import Lines, linearised, probe_steps
from diodewright.tune.looks import Looks

__all__ = ["Bound", "PartPrice", "Price", "Wall", "Why", "part_prices", "why"]

#: What is left of a constraint that binds: what rounding the keys leaves, and this much of it.
_NEAR = 3e-3
#: A price whose whole effect over its scale is below this part of the figure is none.
_NONE = 1e-4

_Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Price:
    """One constraint that binds.

    Attributes
    ----------
    row : the constraint, with its corner.
    a_unit : what one unit more of its limit adds to the merit.
    share : of the figure's slope, what this holds.
    """

    row: Row
    a_unit: float
    share: float


@dataclass(frozen=True)
class Bound:
    """A key that stands at an end of its range: which end, and what a unit beyond would add."""

    path: str
    at: float
    end: str
    a_unit: float


@dataclass(frozen=True)
class Wall:
    """A key that can't be moved alone: what build or board say against less of it, and more."""

    path: str
    less: str
    more: str


@dataclass(frozen=True)
class PartPrice:
    """What a part's value would buy.

    Attributes
    ----------
    path, value : the key, and what it is.
    by : the change that is told, in its own unit.
    gains : what that adds to the merit; the settings follow.
    through : the constraint that it is gained through most; "" for the figure itself.
    """

    path: str
    value: float
    by: float
    gains: float
    through: str


@dataclass(frozen=True)
class Why:
    """What holds a choice where it is.

    Attributes
    ----------
    prices : what binds and has a price, the dearest first.
    bounds : keys at the ends of their ranges that hold it as well.
    walls : keys of which no slope is known, as neither way can be gone alone.
    left : part of the figure's slope that nothing explains.
    lines : what it was found from.
    depth : how deep its slopes are.
    """

    prices: tuple[Price, ...]
    bounds: tuple[Bound, ...]
    walls: tuple[Wall, ...]
    left: float
    lines: Lines
    depth: str


def why(looks: Looks, aim: Aim, at: Choice, share: float = 0.02) -> Why:
    """Return what binds the choice `at`, and its prices.

    Slopes are as deep as what binds is seen: nominal runs, corners, faults.
    """
    problem = looks.problem
    lines, depth = linearised(looks, aim, at, "nominal", share, both=True), "nominal"
    near = {row.id for row in rows_of(looks.one(at, "full"), aim) if row.room <= _about(row)}
    for deeper in ("corners", "full"):
        if near - set(lines.names) or near & lines.unseen:
            depth = deeper
            lines = linearised(looks, aim, at, "full", share, both=True, slopes=depth)
    rows = {row.id: row for row in rows_of(lines.look, aim)}
    places = _binding(problem, lines)
    ends = _at_ends(problem, lines.at)
    held, left = _multipliers(lines, places, [sign * _unit(len(lines.at), i) for i, sign in ends])
    slope = float(np.linalg.norm(lines.gain))
    size = max(abs(merit(lines.look, aim)), 1e-12)
    prices = [
        Price(rows[lines.names[place]], u / rows[lines.names[place]].scale, _share(lines, place, u))
        for place, u in zip(places, held, strict=False)
        if u > _NONE * size
    ]
    bounds = [
        Bound(
            problem.dials[i].path,
            lines.at[i],
            "highest" if sign < 0 else "lowest",
            u / _span(problem, i),
        )
        for (i, sign), u in zip(ends, held[len(places) :], strict=True)
        if u > _NONE * size
    ]
    return Why(
        tuple(sorted(prices, key=lambda price: -price.share)),
        tuple(sorted(bounds, key=lambda bound: -bound.a_unit)),
        tuple(_walls(looks, at)),
        left / slope if slope > 0 else 0.0,
        lines,
        depth,
    )


def _walls(looks: Looks, at: Choice) -> Iterator[Wall]:
    """Yield the keys of which a few steps are refused both ways."""
    for place, (dial, by) in enumerate(
        zip(looks.problem.dials, probe_steps(looks.problem), strict=True)
    ):
        ways = [(*at[:place], at[place] + way, *at[place + 1 :]) for way in (-by, by)]
        less, more = looks.at(ways, "cheap")
        if less.refused and more.refused:
            yield Wall(dial.path, less.refused[0], more.refused[0])


def _about(row: Row) -> float:
    return 2 * _NEAR * row.scale


def _span(problem: Problem, place: int) -> float:
    return problem.dials[place].span


def _unit(count: int, place: int) -> _Floats:
    found = np.zeros(count)
    found[place] = 1.0
    return found


def _share(lines: Lines, place: int, u: float) -> float:
    slope = float(np.linalg.norm(lines.gain))
    return u * float(np.linalg.norm(lines.slopes[place])) / slope if slope > 0 else 0.0


def _binding(problem: Problem, lines: Lines) -> list[int]:
    """Return the constraints that are used up but for rounding."""
    own = np.array([dial.step / dial.span for dial in problem.dials])
    rounding = np.abs(lines.slopes) @ own
    near = np.minimum(rounding, 10 * _NEAR) + _NEAR
    return [i for i in range(len(lines.names)) if lines.rooms[i] <= near[i]]


def _at_ends(problem: Problem, at: Choice) -> list[tuple[int, float]]:
    """Return the keys at an end of their range, and the way that is still open: 1 up, -1 down."""
    ends = []
    for i, (dial, value) in enumerate(zip(problem.dials, at, strict=True)):
        if value <= dial.snapped(dial.low) + 0.5 * dial.step:
            ends.append((i, 1.0))
        elif value >= dial.snapped(dial.high) - 0.5 * dial.step:
            ends.append((i, -1.0))
    return ends


def _multipliers(
    lines: Lines, places: Sequence[int], ends: Sequence[_Floats]
) -> tuple[list[float], float]:
    """Return the prices that hold the figure's slope best, and what they leave of it."""
    columns = [lines.slopes[place] for place in places] + list(ends)
    if not columns:
        return [], float(np.linalg.norm(lines.gain))
    found, left = nnls(np.array(columns).T, -lines.gain)
    return [float(u) for u in found], float(left)


def part_prices(
    found: Why,
    aim: Aim,
    parts: Sequence[tuple[str, float, float]],
    aside: Callable[[Sequence[tuple[str, float]]], Sequence[Look]],
) -> tuple[PartPrice, ...]:
    """Return what better parts would buy, the dearest first.

    Parameters
    ----------
    parts : key, its value, and the change that is told.
    aside : what the choice shows with one key of the build changed as well, for each of many.
    """
    rows = {price.row.id: price for price in found.prices}
    done = []
    seen = aside([(path, value + by) for path, value, by in parts])
    for (path, value, by), look in zip(parts, seen, strict=True):
        if look.stage < STAGES[found.depth] or look.refused:
            continue
        gains = {"": merit(look, aim) - merit(found.lines.look, aim)}
        for row in rows_of(look, aim):
            if row.id in rows:
                price = rows[row.id]
                gains[row.id] = price.a_unit * (row.room - price.row.room)
        through = max(gains, key=lambda name: abs(gains[name]))
        done.append(PartPrice(path, value, by, sum(gains.values()), through))
    return tuple(sorted(done, key=lambda row: -row.gains))
