"""Two wishes at once: the settings of which none is better in both, from end to end.

Each point is the best of the first wish where at least so much is asked of the second (the
epsilon-constraint method: Y. Y. Haimes et al., IEEE Trans. SMC 1 (1971), 296), with what is asked
spread evenly between the two ends, and then put into the widest gaps. Points are as deep as a
search looks; the judges hear the one that is picked.
"""

import itertools
import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from diodewright.tune.choice import Aim, Ask, Choice, Look, holds, merit
from diodewright.tune.climb import climb
from diodewright.tune.crowd import ranked, spread_out
from diodewright.tune.looks import Looks
from diodewright.tune.search import Effort, climb_deep, part_way, telling

__all__ = ["LEAST_POINTS", "Point", "front", "named", "not_beaten"]

#: A front has at least so many points where the wishes are against each other.
LEAST_POINTS = 20
#: Points asked for at first, how often a gap may be filled after that, and where in it.
_EVENLY, _FILLED = 14, 24
_BETWEEN = (0.25, 0.5, 0.75)
#: Two ends that differ by less than this part are one: the wishes agree.
_APART = 2e-3
#: Of an end's own wish, what the other wish's best must keep: rounding of the keys.
_KEPT = 5e-4
_CLIMB_ROUNDS = 10
_RADIUS = 0.1


@dataclass(frozen=True)
class Point:
    """One setting of the front.

    Attributes
    ----------
    name : "front-01" is the best of the first wish.
    at, look : the choice, and what it shows at full depth.
    """

    name: str
    at: Choice
    look: Look


def front(
    looks: Looks,
    first: Aim,
    second: Aim,
    seed: int,
    effort: Effort | None = None,
    say: Callable[[str], None] = lambda _: None,
) -> tuple[Point, ...]:
    """Return the front of two aims, the best of the first at its beginning.

    One point where the wishes agree, none where nothing holds.
    """
    effort = effort or Effort()
    for aim in (first, second):
        say(f"front: the end of {aim.figure}")
        looks.one(looks.problem.start, "full")
        spread_out(
            looks,
            aim,
            seed,
            telling(looks, aim, looks.problem.start),
            effort.crowd,
            effort.generations,
            say,
        )
        places = [choice for choice, _ in ranked(looks, aim, "nominal")[: effort.climbs]]
        for begin in dict.fromkeys((looks.problem.start, *places)):
            climb_deep(looks, aim, begin, effort, say)
    for aim, other in ((first, second), (second, first)):
        best = _best(looks, aim)
        if best is None:
            return ()
        _solve(looks, _asking(other, aim, merit(best[1], aim) * _less(aim, best[1])), say)
    ends = not_beaten(_held(looks, (first, second)), first, second)
    low, high = (merit(end[1], second) for end in (ends[0], ends[-1]))
    if abs(high - low) > _APART * max(abs(high), abs(low)):
        for number in range(1, _EVENLY - 1):
            say(f"front: {number} of {_EVENLY - 2}, {looks.simulations} simulations")
            asked = low + (high - low) * number / (_EVENLY - 1)
            _solve(looks, _asking(first, second, asked), say)
        _fill(looks, first, second, say)
    return named(not_beaten(_held(looks, (first, second)), first, second), first)


def _less(aim: Aim, look: Look) -> float:
    """Return the factor that makes a merit a little smaller, whatever its sign."""
    return 1.0 - _KEPT if merit(look, aim) > 0 else 1.0 + _KEPT


def _asking(of: Aim, other: Aim, least: float) -> Aim:
    """Return aim `of` where at least the merit `least` is asked of the other."""
    scale = max(abs(least), 1e-9)
    ask = Ask(other.figure, other.sense, other.sense * least, scale)
    return Aim(of.figure, of.sense, (*of.asks, ask), of.cuts)


def _best(looks: Looks, aim: Aim) -> tuple[Choice, Look] | None:
    found = ranked(looks, aim, "full")
    return found[0] if found and holds(found[0][1], aim) else None


def _solve(looks: Looks, aim: Aim, say: Callable[[str], None]) -> None:
    """Climb for `aim` from the best for it of all that was seen."""
    begin, _ = ranked(looks, aim, "full")[0]
    places = telling(looks, aim, begin)
    near = climb(looks, aim, begin, "nominal", _CLIMB_ROUNDS, _RADIUS, say, places)
    if not holds(looks.one(near.at, "full"), aim):
        climb(looks, aim, near.at, "full", _CLIMB_ROUNDS, _RADIUS, say, places)


def _held(looks: Looks, aims: Iterable[Aim]) -> list[tuple[Choice, Look]]:
    kept = tuple(aims)
    return [
        (choice, look)
        for choice, look in looks.seen("full").items()
        if all(holds(look, aim) for aim in kept)
    ]


def _fill(looks: Looks, first: Aim, second: Aim, say: Callable[[str], None]) -> None:
    """Look between the neighbours that are furthest apart until there are points enough.

    On the way from one to the other most choices are as good as both; only where none is, the
    middle is asked for.
    """
    tried: set[tuple[Choice, Choice]] = set()
    aims = (first, second)
    for number in range(1, _FILLED + 1):
        points = not_beaten(_held(looks, aims), first, second)
        pairs = [each for each in itertools.pairwise(points) if _ends(each) not in tried]
        if len(points) >= LEAST_POINTS or not pairs:
            return
        low, high = max(pairs, key=lambda pair: _apart(pair, second))
        tried.add(_ends((low, high)))
        say(f"front: gap {number}, {len(points)} points, {looks.simulations} simulations")
        looks.at([part_way(low[0], high[0], share) for share in _BETWEEN], "full")
        if len(not_beaten(_held(looks, aims), first, second)) == len(points):
            middle = (merit(low[1], second) + merit(high[1], second)) / 2
            _solve(looks, _asking(first, second, middle), say)


_Pair = tuple[tuple[Choice, Look], tuple[Choice, Look]]


def _ends(pair: _Pair) -> tuple[Choice, Choice]:
    return pair[0][0], pair[1][0]


def _apart(pair: _Pair, aim: Aim) -> float:
    return abs(merit(pair[0][1], aim) - merit(pair[1][1], aim))


def not_beaten(
    found: Iterable[tuple[Choice, Look]], first: Aim, second: Aim
) -> list[tuple[Choice, Look]]:
    """Return those that none of the others beats in one wish and equals in the other.

    The best of the first wish comes first; of equal ones the earlier is kept.
    """
    rows = sorted(found, key=lambda item: (-merit(item[1], first), -merit(item[1], second)))
    kept: list[tuple[Choice, Look]] = []
    most = -math.inf
    for choice, look in rows:
        if merit(look, second) > most:
            most = merit(look, second)
            kept.append((choice, look))
    return kept


def named(points: list[tuple[Choice, Look]], first: Aim) -> tuple[Point, ...]:
    """Return points with their names."""
    ordered = sorted(points, key=lambda item: -merit(item[1], first))
    return tuple(
        Point(f"front-{number:02d}", choice, look)
        for number, (choice, look) in enumerate(ordered, 1)
    )
