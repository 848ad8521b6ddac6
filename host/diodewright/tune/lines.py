"""A problem made linear about one choice: slopes by differences, and the linear programme on them.

Sequential linear programming with a box for the step (R. Fletcher, E. Sainz de la Maza, Math.
Programming 43 (1989), 235, in its plainest form). Keys are scaled by their range, constraints by
their scale. Feasibility first: a first programme finds how little must be missed, a second the
best figure at that. Both are solved by SciPy's HiGHS.

A figure that is the least of several (the cutback gives so much light, the heat budget so much)
has a ridge, on which no key gains alone and two together do. A difference to one side is 0 there;
the slope between both sides is a mean of those of the two faces, and leads along the ridge.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from diodewright.tune.choice import STAGES, Aim, Choice, Look, Problem, merit, rows_of
from diodewright.tune.looks import Looks

__all__ = ["Lines", "Step", "bent", "linearised", "probe_steps", "stepped"]

#: The step of a difference, as a share of a key's range; it is far above what a tick or a
#: millikelvin makes of a figure.
_SHARE = 0.02
#: Differences below this part of the figure, and of a constraint's scale, are noise.
_NOISE, _ROOM_NOISE = 1e-4, 2e-5
#: And at least so many of the key's own steps.
_OWN_STEPS = 4

_Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Lines:
    """Figure and constraints near one choice.

    Attributes
    ----------
    at, look : the choice, and what it shows.
    gain : slope of the merit over each key's range.
    names : of the constraints.
    rooms, slopes : what is left of each, and its slopes over the keys' ranges; in its scale.
    unseen : constraints that no difference was deep enough for; they count as level.
    """

    at: Choice
    look: Look
    gain: _Floats
    names: tuple[str, ...]
    rooms: _Floats
    slopes: _Floats
    unseen: frozenset[str]


@dataclass(frozen=True)
class Step:
    """A step that the programme proposes: the choice, and the merit that it promises."""

    to: Choice
    gains: float


def probe_steps(problem: Problem, share: float = _SHARE) -> list[float]:
    """Return by how much each dial is moved for a difference."""
    return [max(_OWN_STEPS * dial.step, share * dial.span) for dial in problem.dials]


def _moved(at: Choice, place: int, by: float) -> Choice:
    return (*at[:place], at[place] + by, *at[place + 1 :])


def linearised(
    looks: Looks,
    aim: Aim,
    at: Choice,
    depth: str = "full",
    share: float = _SHARE,
    *,
    both: bool = False,
    places: Sequence[int] | None = None,
    slopes: str | None = None,
) -> Lines:
    """Return figure and constraints near `at`, by differences.

    Parameters
    ----------
    depth : how deep `at` is looked into, "nominal" or "full".
    share : the step as a share of a key's range.
    both : take differences to both sides where both can be had; else to one side, the lower
        where the upper is refused.
    places : the dials that are looked at, all where None; the others count as without effect.
    slopes : how deep the differences are, less than `depth` at most; the same where None.
    """
    problem = looks.problem
    slopes = slopes or depth
    at = problem.snapped(at)
    here = looks.one(at, f"{depth}+")
    steps = probe_steps(problem, share)
    asked = range(len(at)) if places is None else places
    signs = {i: _first_sign(problem, at, i, steps[i]) for i in asked}

    def seen(side: float, dials: Sequence[int]) -> dict[int, tuple[Choice, Look]]:
        there = [problem.snapped(_moved(at, i, side * signs[i] * steps[i])) for i in dials]
        found = looks.at(there, f"{slopes}+")
        return dict(zip(dials, zip(there, found, strict=True), strict=True))

    first = seen(1.0, list(asked))
    wanted = min(here.stage, STAGES[slopes])
    second = seen(-1.0, [i for i in asked if both or first[i][1].stage < wanted])
    sides = {i: [first[i], *([second[i]] if i in second else [])] for i in asked}
    return _joined(problem, aim, at, here, sides, wanted)


def _first_sign(problem: Problem, at: Choice, place: int, by: float) -> float:
    """Return the side on which a difference stays within the key's range."""
    return 1.0 if at[place] + by <= problem.dials[place].high else -1.0


def _joined(
    problem: Problem,
    aim: Aim,
    at: Choice,
    here: Look,
    found: Mapping[int, Sequence[tuple[Choice, Look]]],
    wanted: int,
) -> Lines:
    """Return the lines through `here` and what was `found`.

    What was stopped before the stage `wanted` tells of nothing but what it reached.
    """
    held = {row.id: row for row in rows_of(here, aim)}
    names = tuple(held)
    seen: set[str] = set()
    gain = np.zeros(len(at))
    slopes = np.zeros((len(names), len(at)))
    for place, sides in found.items():
        dial = problem.dials[place]
        points = [(0.0, here)]
        for choice, look in sides:
            by = (choice[place] - at[place]) / dial.span
            seen |= {row.id for row in rows_of(look, aim)}
            if by and look.stage >= wanted:
                points.append((by, look))
            elif by:  # what is cheap may be known of it all the same
                _slopes_of(slopes, place, names, aim, [(0.0, here), (by, look)])
        if len(points) > 1:
            merits = [(by, merit(look, aim)) for by, look in points]
            gain[place] = _slope(merits, _NOISE * abs(merits[0][1]))
            _slopes_of(slopes, place, names, aim, points)
    rooms = np.array([held[name].room / held[name].scale for name in names])
    return Lines(at, here, gain, names, rooms, slopes, frozenset(held) - seen)


def _slopes_of(
    slopes: _Floats,
    place: int,
    names: tuple[str, ...],
    aim: Aim,
    points: Sequence[tuple[float, Look]],
) -> None:
    rows = [(by, {row.id: row for row in rows_of(look, aim)}) for by, look in points]
    for number, name in enumerate(names):
        known = [(by, held[name].room / held[name].scale) for by, held in rows if name in held]
        if len(known) > 1:
            slopes[number, place] = _slope(known, _ROOM_NOISE)


def _slope(points: Sequence[tuple[float, float]], noise: float) -> float:
    """Return the slope at 0 of what was found there and to one side or both.

    0 where nothing differs by more than `noise`: a search must not follow what quantised readings
    and a seed make of a figure to where the light no longer comes.
    """
    (_, here), *others = points
    values = [value for _, value in points]
    if not np.all(np.isfinite(values)) or max(abs(v - here) for v in values) <= noise:
        return 0.0
    if len(others) == 1:
        by, value = others[0]
        return (value - here) / by
    (a, value_a), (b, value_b) = others[:2]
    # the parabola through three points, at its middle one
    slope_a, slope_b = (value_a - here) / a, (value_b - here) / b
    return (slope_a * b - slope_b * a) / (b - a)


def bent(problem: Problem, aim: Aim, lines: Lines, to: Choice, look: Look) -> Lines:
    """Return `lines` with the rooms that would have foretold what a step ended at.

    The second-order correction of J. Nocedal, S. J. Wright, Numerical Optimization, 2nd ed., 15.6:
    where a constraint bends, the next step from the same place allows for it.
    """
    spans = np.array([dial.span for dial in problem.dials])
    foretold = lines.rooms + lines.slopes @ ((np.array(to) - np.array(lines.at)) / spans)
    seen = {row.id: row.room / row.scale for row in rows_of(look, aim)}
    met = np.array([seen.get(name, held) for name, held in zip(lines.names, foretold, strict=True)])
    return replace(lines, rooms=lines.rooms + np.minimum(met - foretold, 0.0))


def stepped(problem: Problem, lines: Lines, radius: float) -> Step:
    """Return the step that the linear programme proposes within `radius` of each key's range.

    It keeps off each constraint by what rounding the keys to their steps may cost.
    """
    spans = np.array([dial.span for dial in problem.dials])
    at = np.array(lines.at)
    low = np.maximum((np.array([k.low for k in problem.dials]) - at) / spans, -radius)
    high = np.minimum((np.array([k.high for k in problem.dials]) - at) / spans, radius)
    moves = (lines.gain != 0) | (np.abs(lines.slopes).sum(axis=0) > 0)
    low, high = (
        np.where(moves, np.minimum(low, 0.0), 0.0),
        np.where(moves, np.maximum(high, 0.0), 0.0),
    )
    rooms = lines.rooms
    own = np.array([0.5 * dial.step / dial.span for dial in problem.dials])
    kept = rooms - np.abs(lines.slopes) @ own
    rooms = np.where(rooms >= 0, np.maximum(kept, 0.0), kept)
    limits = list(zip(low, high, strict=True))
    short = _least_missed(lines.slopes, rooms, limits)
    best = linprog(
        -lines.gain, A_ub=-lines.slopes, b_ub=rooms + short, bounds=limits, method="highs"
    )
    if best.x is None:  # by rounding alone: the first programme has shown a point
        return Step(lines.at, 0.0)
    gains = float(lines.gain @ best.x)
    moved = _shortest(lines, rooms + short, limits, gains)
    to = tuple(float(value) for value in at + (best.x if moved is None else moved) * spans)
    return Step(problem.snapped(to), gains)


def _shortest(
    lines: Lines, rooms: _Floats, limits: list[tuple[float, float]], gains: float
) -> _Floats | None:
    """Return the step that moves least of those that gain as much: no key drifts for nothing."""
    count = len(limits)
    ahead = np.hstack([lines.gain, -lines.gain])
    both = np.hstack([-lines.slopes, lines.slopes])
    found = linprog(
        np.ones(2 * count),
        A_ub=np.vstack([both, -ahead]),
        b_ub=np.append(rooms, -gains + 1e-9 * abs(gains)),
        bounds=[*((0.0, high) for _, high in limits), *((0.0, -low) for low, _ in limits)],
        method="highs",
    )
    return None if found.x is None else found.x[:count] - found.x[count:]


def _least_missed(slopes: _Floats, rooms: _Floats, limits: list[tuple[float, float]]) -> _Floats:
    """Return what must be missed of each constraint: the least sum within the step's box.

    What holds now goes on holding; only what is missed may stay missed.
    """
    short = np.zeros(len(rooms))
    (missed,) = np.nonzero(rooms < 0)
    if not len(missed):
        return short
    slack = np.zeros((len(rooms), len(missed)))
    slack[missed, np.arange(len(missed))] = -1.0
    cost = np.concatenate([np.zeros(slopes.shape[1]), np.ones(len(missed))])
    found = linprog(
        cost,
        A_ub=np.hstack([-slopes, slack]),
        b_ub=rooms,
        bounds=[*limits, *[(0.0, None)] * len(missed)],
        method="highs",
    )
    short[missed] = -rooms[missed] if found.x is None else found.x[-len(missed) :]
    return short * (1 + 1e-9) + np.where(short > 0, 1e-12, 0.0)
