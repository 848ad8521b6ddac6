"""From one choice to the best near it: linear programmes in a box that grows and shrinks.

Each round proposes steps of several lengths and looks into them side by side; the best by the
rules of `choice` is taken. It ends where no step is better any more, where what a step promises
is not worth it, or where the box is down to the keys' own steps. At the end every key that can go
back to where it started without loss does so: what need not be changed is not changed.

Slopes are taken to one side at first, and to both where no step is better (see `lines`). Those of
a climb at full depth are taken without the faults, which are most of its runs and seldom what
binds; only where one of them does are its slopes taken, too.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from diodewright.tune.choice import Aim, Choice, Look, Problem, better, holds, merit, missed, rank
from diodewright.tune.lines import Lines, bent, linearised, stepped
from diodewright.tune.looks import Looks

__all__ = ["RADIUS", "Climbed", "climb", "put_back", "told"]

ROUNDS = 14
#: The box at the beginning, at most, and its smallest, in parts of each key's range.
RADIUS, _WIDEST, _LEAST = 0.2, 0.5, 0.001
#: Lengths of step that are tried side by side.
_LENGTHS = (1.0, 0.5, 0.25, 0.0625)
_SHRINK = 0.125
#: Depth of a climb -> how deep its slopes are at first.
_SLOPES = {"full": "corners"}
#: Two steps in a row that gain less than this part of the figure end it; one of next to nothing.
_WORTH, _NEXT_TO_NOTHING = 1e-3, 1e-4
#: What all keys that go back may cost together, as a part of the figure: no meter shows it.
_NOTHING = 2.5e-3


@dataclass(frozen=True)
class Climbed:
    """Where a climb ended.

    Attributes
    ----------
    at, look : the best choice, as deep as was asked.
    rounds : how often it was made linear.
    """

    at: Choice
    look: Look
    rounds: int


def climb(
    looks: Looks,
    aim: Aim,
    begin: Choice,
    depth: str = "full",
    rounds: int = ROUNDS,
    radius: float = RADIUS,
    say: Callable[[str], None] = lambda _: None,
    places: Sequence[int] | None = None,
) -> Climbed:
    """Return the best choice near `begin`, as deep as `depth` looks ("nominal" or "full").

    `places` are the dials that are moved; all where None.
    """
    problem = looks.problem
    at = problem.snapped(begin)
    look = looks.one(at, depth)
    lines: Lines | None = None
    slopes, both, taken, idle = _SLOPES.get(depth, depth), False, 0, 0
    for _ in range(rounds):
        if lines is None:
            lines = linearised(looks, aim, at, depth, both=both, places=places, slopes=slopes)
            taken += 1
        if slopes != depth and _unseen(lines, [lines.look], aim):
            slopes, lines = depth, None
            continue
        found = _tried(looks, aim, lines, radius, depth)
        best = min(found, key=lambda each: rank(each[1], aim, depth), default=None)
        if best is not None and better(best[1], look, aim, depth):
            gained = _gained(best[1], look, aim, depth)
            at, look = best[0], best[1]
            radius = _next_radius(radius, best[2])
            lines = None
            say(told(look, aim, looks, depth))
            size = abs(merit(look, aim))
            idle = idle + 1 if gained is not None and gained < _WORTH * size else 0
            if idle == 2 or (idle and gained is not None and gained < _NEXT_TO_NOTHING * size):
                break
        elif slopes != depth and _unseen(lines, [each for _, each, _ in found], aim):
            slopes, lines = depth, None
        elif not both:
            both, lines = True, None
        elif _done(lines, radius, aim, problem):
            break
        else:
            radius *= _SHRINK
            if radius < _LEAST:
                break
    return Climbed(at, look, taken)


def _unseen(lines: Lines, found: Sequence[Look], aim: Aim) -> bool:
    """Return whether any of `found` misses what `lines` have no slope of."""
    return any(row.id in lines.unseen for look in found for row in missed(look, aim))


#: A choice a step away, what it shows, and its share of the box.
_Tried = tuple[Choice, Look, float]


def _tried(looks: Looks, aim: Aim, lines: Lines, radius: float, depth: str) -> list[_Tried]:
    """Return choices a step from where `lines` stand.

    Where a long step misses what held, it is tried again with the bend that it met.
    """
    shares = {
        stepped(looks.problem, lines, radius * length).to: length for length in reversed(_LENGTHS)
    }
    found = _looked(looks, lines, shares, depth)
    if missed(lines.look, aim):
        return found
    reached = max((length for _, look, length in found if holds(look, aim, depth)), default=0.0)
    again: dict[Choice, float] = {}
    for to, look, length in found:
        if length > max(reached, _LENGTHS[-1]):
            nearer = bent(looks.problem, aim, lines, to, look)
            again.setdefault(stepped(looks.problem, nearer, radius * length).to, length)
    return [*found, *_looked(looks, lines, again, depth)]


def _looked(looks: Looks, lines: Lines, shares: dict[Choice, float], depth: str) -> list[_Tried]:
    choices = [choice for choice in shares if choice != lines.at]
    found = looks.at(choices, depth)
    return [(choice, look, shares[choice]) for choice, look in zip(choices, found, strict=True)]


def _next_radius(radius: float, length: float) -> float:
    return min(4 * radius, _WIDEST) if length == 1.0 else radius * max(length, 0.25)


def _gained(now: Look, before: Look, aim: Aim, depth: str) -> float | None:
    """Return what the figure gained between two choices that both hold; else None."""
    if not (holds(now, aim, depth) and holds(before, aim, depth)):
        return None
    return merit(now, aim) - merit(before, aim)


def _done(lines: Lines, radius: float, aim: Aim, problem: Problem) -> bool:
    """Return whether what holds now has nothing better within the box worth a step."""
    if missed(lines.look, aim) or lines.look.refused:
        return False
    promise = stepped(problem, lines, radius).gains
    return promise < _WORTH * abs(merit(lines.look, aim))


def put_back(looks: Looks, aim: Aim, at: Choice) -> Choice:
    """Return `at` with every key back at its start that can be without loss.

    Which can is asked of nominal runs, one key at a time; what goes back is looked into whole.
    """
    problem = looks.problem
    moved = [i for i, (now, was) in enumerate(zip(at, problem.start, strict=True)) if now != was]
    if not moved:
        return at
    nominal = looks.one(at, "nominal")
    alone = looks.at([_back(at, problem.start, [i]) for i in moved], "nominal")
    free = [
        i for i, look in zip(moved, alone, strict=True) if _no_loss(look, nominal, aim, "nominal")
    ]
    here, kept = looks.one(at, "full"), at
    for group in (free, *([i] for i in free)):
        tried = _back(kept, problem.start, group)
        if tried != kept and _no_loss(looks.one(tried, "full"), here, aim, "full"):
            kept = tried
    return kept


def _back(at: Choice, start: Choice, places: list[int]) -> Choice:
    return tuple(start[i] if i in places else value for i, value in enumerate(at))


def _no_loss(look: Look, here: Look, aim: Aim, depth: str) -> bool:
    if not holds(here, aim, depth):
        return rank(look, aim, depth) <= rank(here, aim, depth)
    worth = abs(merit(here, aim))
    return holds(look, aim, depth) and merit(look, aim) >= merit(here, aim) - _NOTHING * worth


def told(look: Look, aim: Aim, looks: Looks, depth: str = "full") -> str:
    """Return where a search stands, in a line."""
    if holds(look, aim, depth):
        said = f"best so far {aim.figure} {aim.sense * merit(look, aim):.5g}"
    else:
        worst = missed(look, aim)
        said = f"misses {worst[0].id if worst else 'what the build checks'} still"
    return f"{said}, {looks.simulations} simulations"
