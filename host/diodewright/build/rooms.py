"""How much room each rule leaves: by how far its two sides are apart, or miss each other.

A rule says yes or no. What searches for settings must know how far away the no is, and must know
it of settings that are refused, too.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from diodewright.build.loading import changed
from diodewright.build.model import Build
from diodewright.build.points import PointsError
from diodewright.build.resolve import resolve
from diodewright.build.rule import QUANTITIES, Rule, unit_of, watched
from diodewright.build.rules import RULES, known

__all__ = ["RuleRoom", "rule_rooms"]

#: A rule that asks for less than a limit is not met at the limit: by so much of it.
_STRICT = 1e-7


@dataclass(frozen=True)
class RuleRoom:
    """One rule of one build: what is left of it, negative where it is broken.

    Attributes
    ----------
    rule : its id.
    room : by how far the sides that it compares are apart, in their unit; the least of them.
    scale : the size of what is compared, in the same unit; above 0.
    holds : what the rule itself says.
    keys : what it compares.
    """

    rule: str
    room: float
    scale: float
    holds: bool
    keys: tuple[str, ...]

    @property
    def unit(self) -> str:
        """The unit of room and scale, as text."""
        return unit_of(self.keys[0])


def rule_rooms(build: Build, values: Mapping[str, object]) -> tuple[RuleRoom, ...]:
    """Return the room of each rule that one of `values` can move, of `build` with them.

    `values` need not be good ones: what contradicts the build has a negative room. A rule that
    compares nothing (a key that must be true, a curve that must fit) has no room and is left out.
    """
    result = resolve(changed(build, values), build.file, {})
    held: dict[str, Any] = dict(result.values)
    if result.levels:
        held["levels"] = result.levels
    moved = {_need(path) for path in values}
    found: dict[str, Any] = {}
    return tuple(
        room
        for rule in RULES
        if moved & set(_needs(rule.keys))
        for room in _room(rule, held, found)
    )


def _room(rule: Rule, held: Mapping[str, Any], found: dict[str, Any]) -> Iterator[RuleRoom]:
    if not all(known(held, name, found) for name in rule.keys):
        return
    try:
        with watched() as pairs:
            holds = rule.holds(*(found[name] for name in rule.keys))
    except PointsError:
        return
    if pairs:
        low, high = min(pairs, key=lambda pair: pair[1] - pair[0])
        scale = max(abs(low), abs(high), 1e-9)
        room = high - low
        # at the very limit the rule itself knows whether that is within
        left = room if holds else min(room, -_STRICT * scale)
        yield RuleRoom(rule.rule, left, scale, holds, rule.keys)


def _need(path: str) -> str:
    return "levels" if path.startswith("levels.") else path


def _needs(names: Iterable[str]) -> Iterator[str]:
    """Yield the keys that a rule's names need in the end."""
    for name in names:
        quantity = QUANTITIES.get(name)
        if quantity is None:
            yield _need(name)
        else:
            yield from _needs(quantity.needs)
