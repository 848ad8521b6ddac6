"""The search: a population looks all over, the best of it climbs, what need not move goes back.

First the population of `crowd` on nominal runs, then `climb` at full depth from the best places
that it found and from the starting settings, then `climb.put_back`. Where `rehearse` or `prove`
is against the result, what failed becomes a cut and the climb goes on from there, a few times.
The starting settings are looked into first and are never given up for anything worse.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from diodewright.build import Build, with_values
from diodewright.tune.choice import Aim, Choice, Look, Row, better, holds, missed, rank, rows_of
from diodewright.tune.climb import RADIUS, Climbed, climb, put_back, told
from diodewright.tune.crowd import CROWD, GENERATIONS, ranked, spread_out
from diodewright.tune.lines import linearised
from diodewright.tune.looks import Looks
from diodewright.tune.verified import Verified, cuts_of

__all__ = [
    "Effort",
    "Found",
    "Tuned",
    "climb_deep",
    "on_the_way",
    "part_way",
    "search",
    "telling",
    "tuned",
]

#: So often may the judges send the search back.
ROUNDS = 3
#: So often is what corners take of a limit found anew.
_OFFSETS = 4
#: The box of a climb that only mends what corners missed.
_NEARBY = 0.05
#: Rounds of a climb at full depth from a choice that holds, and parts of the way to it.
_DEEP_ROUNDS, _PARTS = 6, 6
#: What is looked into at full depth only.
_DEEP = ("corner", "fault", "corner-fault")


@dataclass(frozen=True)
class Effort:
    """How much is looked into.

    Attributes
    ----------
    crowd, generations : size of the population, and how often it is renewed.
    climbs : places of the population that are climbed from, beside the start.
    rounds : of each climb, at most.
    """

    crowd: int = CROWD
    generations: int = GENERATIONS
    climbs: int = 1
    rounds: int = 14


@dataclass(frozen=True)
class Found:
    """The best choice that a search saw.

    Attributes
    ----------
    start, at : the starting settings and the best; the same where nothing is better.
    start_look, look : what they show, at full depth.
    """

    start: Choice
    start_look: Look
    at: Choice
    look: Look


def _quiet(_: str) -> None:
    """Say nothing."""


def search(
    looks: Looks,
    aim: Aim,
    seed: int,
    effort: Effort | None = None,
    say: Callable[[str], None] = _quiet,
) -> Found:
    """Return the best choice; never one that the starting settings beat."""
    effort = effort or Effort()
    start = looks.problem.start
    start_look = looks.one(start, "full")
    say(told(start_look, aim, looks))
    places = telling(looks, aim, start)
    spread_out(looks, aim, seed, places, effort.crowd, effort.generations, say)
    begins = [choice for choice, _ in ranked(looks, aim, "nominal")]
    at, look = start, start_look
    for begin in begins[: effort.climbs]:
        end = climb_deep(looks, aim, begin, effort, say)
        if better(end.look, look, aim):
            at, look = end.at, end.look
    return _settled(looks, aim, start, start_look, at)


def telling(looks: Looks, aim: Aim, at: Choice) -> list[int]:
    """Return the dials that move the figure, or anything that must hold, of a run at `at`."""
    lines = linearised(looks, aim, at, "nominal")
    moves = (lines.gain != 0) | (abs(lines.slopes).sum(axis=0) > 0)
    return [place for place, does in enumerate(moves) if does]


def climb_deep(
    looks: Looks, aim: Aim, begin: Choice, effort: Effort, say: Callable[[str], None] = _quiet
) -> Climbed:
    """Climb by nominal runs, which are quick, so that it holds at full depth.

    What a limit of typical parts has left more than the same limit at a corner or under a fault
    changes little from choice to choice. So much is kept of it, as found at the last choice, until
    that choice holds; where that does not help, slopes are taken at full depth.
    """
    places = telling(looks, aim, begin)
    at, best, held, radius = begin, None, 0, RADIUS
    for _ in range(_OFFSETS):
        kept = aim.cuts if best is None else _kept_for_corners(looks, aim, at)
        wary = replace(aim, cuts=kept)
        near = climb(looks, wary, at, "nominal", effort.rounds, radius, say, places)
        radius = _NEARBY
        whole = looks.one(near.at, "full")
        if best is None or better(whole, best.look, aim):
            best = Climbed(near.at, whole, near.rounds)
            say(told(whole, aim, looks))
        held += holds(whole, aim)
        # held without anything kept, or what was kept was found again at the very choice
        if near.at == at or held == (1 if kept == aim.cuts else 2):
            break
        at = near.at
    assert best is not None
    if holds(best.look, aim):
        return best
    start = looks.problem.start
    told_of = sorted({*places, *telling(looks, aim, start)})
    if holds(looks.one(start, "full"), aim):
        between = on_the_way(looks, aim, start, best.at)
        return climb(looks, aim, between, "full", _DEEP_ROUNDS, 2 * _NEARBY, say, told_of)
    whole_climb = climb(looks, aim, best.at, "full", effort.rounds, say=say, places=told_of)
    if holds(whole_climb.look, aim):
        return whole_climb
    # what only corners and faults show may be held by a dial that no nominal run tells of
    return climb(looks, aim, whole_climb.at, "full", effort.rounds, say=say)


def on_the_way(looks: Looks, aim: Aim, start: Choice, at: Choice) -> Choice:
    """Return the best choice at full depth on the way from a start that holds to one that does not.

    Where typical parts are no longer cut back at all, their runs are flat and tell nothing of what
    the corners miss; somewhere on the way back there is a choice that corners bear.
    """
    low, high = 0.0, 1.0
    for _ in range(2):
        shares = [low + (high - low) * count / _PARTS for count in range(1, _PARTS)]
        there = [part_way(start, at, share) for share in shares]
        ranks = [rank(look, aim) for look in looks.at(there, "full")]
        place = min(range(len(shares)), key=lambda each: ranks[each])
        low, high = shares[place] - (high - low) / _PARTS, shares[place] + (high - low) / _PARTS
    seen = {choice: look for choice, look in looks.seen("full").items() if holds(look, aim)}
    return min(seen, key=lambda choice: rank(seen[choice], aim))


def part_way(start: Choice, at: Choice, share: float) -> Choice:
    """Return the choice at a share of the way from one to another."""
    return tuple(a + share * (b - a) for a, b in zip(start, at, strict=True))


def _twin(id: str) -> str:
    """Return the limit of typical parts that is the same as one at a corner; "" for no such."""
    scope, _, name = id.partition(".")
    return f"use.{name}" if scope in _DEEP else ""


def _kept_for_corners(looks: Looks, aim: Aim, at: Choice) -> dict[str, float]:
    """Return the room that typical parts must keep of each limit so that corners hold as well."""
    rows = {row.id: row for row in rows_of(looks.one(at, "full"), aim)}
    cuts = dict(aim.cuts)
    for id, row in rows.items():
        twin = rows.get(_twin(id))
        if twin is not None:
            cuts[twin.id] = max(cuts.get(twin.id, 0.0), twin.room - row.room)
    return cuts


def _settled(looks: Looks, aim: Aim, start: Choice, start_look: Look, at: Choice) -> Found:
    at = put_back(looks, aim, at)
    look = looks.one(at, "full")
    if not better(look, start_look, aim):
        at, look = start, start_look
    return Found(start, start_look, at, look)


@dataclass(frozen=True)
class Tuned:
    """A search with the judges' word on its result.

    Attributes
    ----------
    found : the last result.
    aim : with the cuts that the judges made.
    build : with the result's values.
    verified : what the judges said of it; None where nothing was worth judging.
    rounds : what failed in each earlier round, and what was cut for it, in words.
    missing : what the result itself misses.
    """

    found: Found
    aim: Aim
    build: Build
    verified: Verified | None
    rounds: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = field(default=())
    missing: tuple[Row, ...] = ()

    @property
    def holds(self) -> bool:
        """Whether there is a result that all judges let pass."""
        return self.verified is not None and self.verified.holds

    @property
    def moved(self) -> bool:
        """Whether anything is to be changed at all."""
        return self.found.at != self.found.start


def tuned(
    build: Build,
    looks: Looks,
    found: Found,
    aim: Aim,
    judge: Callable[[Build], Verified],
    effort: Effort | None = None,
    say: Callable[[str], None] = _quiet,
) -> Tuned:
    """Let `judge` rehearse and prove what was found; search on where it fails, a few times.

    Where what failed is none of the search's limits, half of every change is taken back. A result
    that is never let pass ends at the starting settings, which are judged as well.
    """
    effort = effort or Effort()
    asked, rounds = aim, list[tuple[tuple[str, ...], tuple[str, ...]]]()
    start = Found(found.start, found.start_look, found.start, found.start_look)
    while True:
        if not holds(found.look, aim):
            if not rounds or not holds(start.look, asked):
                return Tuned(found, aim, build, None, tuple(rounds), missed(found.look, aim))
            found, aim = start, asked
        turned = with_values(build, looks.problem.values(found.at))
        verified = judge(turned)
        if verified.holds or found.at == start.at:
            return Tuned(found, aim, turned, verified, tuple(rounds))
        found, aim, said = _again(looks, aim, found, start, verified, len(rounds), effort, say)
        rounds.append((verified.reasons, said))
        say(f"round {len(rounds)}: {said[0]}")


def _again(
    looks: Looks,
    aim: Aim,
    found: Found,
    start: Found,
    verified: Verified,
    rounds: int,
    effort: Effort,
    say: Callable[[str], None],
) -> tuple[Found, Aim, tuple[str, ...]]:
    """Return what is judged next, the aim with the cuts that were made, and that in words."""
    if rounds == ROUNDS:
        return start, aim, ("back to the settings as they were",)
    cuts, said = cuts_of(verified, found.look, aim.cuts)
    if said:
        aim = replace(aim, cuts=cuts)
        at = climb_deep(looks, aim, found.at, effort, say).at
    else:
        said = ["none of the search's limits: half of every change taken back"]
        at = part_way(found.start, found.at, 0.5)
    return _settled(looks, aim, found.start, start.look, at), aim, tuple(said)
