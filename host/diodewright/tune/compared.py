"""Two evaluations side by side: the change in every figure, and which constraints moved."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from diodewright.tune.constraints import Constraint
from diodewright.tune.evaluate import Evaluation

__all__ = ["Change", "Moved", "changes", "moved"]

#: A margin that moved by less than this part of its limit is not told.
_LEAST = 0.001


@dataclass(frozen=True)
class Change:
    """One figure of both; None where a side has none."""

    id: str
    now: float | None
    chosen: float | None
    unit: str
    meaning: str

    @property
    def by(self) -> float | None:
        """The difference; None where a side has none."""
        if self.now is None or self.chosen is None:
            return None
        return self.chosen - self.now


@dataclass(frozen=True)
class Moved:
    """One constraint of both; None where a side has none."""

    now: Constraint | None
    chosen: Constraint | None

    @property
    def row(self) -> Constraint:
        """The chosen one, or the present one where there is none."""
        row = self.chosen or self.now
        assert row is not None
        return row


def changes(now: Evaluation, chosen: Evaluation) -> tuple[Change, ...]:
    """Return every figure of either, in their order."""
    ids = dict.fromkeys(row.id for each in (now, chosen) for row in each.figures)
    return tuple(_change(now, chosen, id) for id in ids)


def _change(now: Evaluation, chosen: Evaluation, id: str) -> Change:
    a, b = (next((row for row in each.figures if row.id == id), None) for each in (now, chosen))
    row = b or a
    assert row is not None
    return Change(
        id, None if a is None else a.value, None if b is None else b.value, row.unit, row.meaning
    )


def moved(now: Evaluation, chosen: Evaluation) -> tuple[Moved, ...]:
    """Return the constraints that fail on either side or whose margin moved, the tightest first."""
    return tuple(sorted(_moved(now, chosen), key=lambda each: _margin(each.row)))


def _moved(now: Evaluation, chosen: Evaluation) -> Iterator[Moved]:
    of_now = {row.id: row for row in now.constraints}
    of_chosen = {row.id: row for row in chosen.constraints}
    for id in dict.fromkeys((*of_now, *of_chosen)):
        a, b = of_now.get(id), of_chosen.get(id)
        if a is None or b is None or _is_told(a, b):
            yield Moved(a, b)


def _is_told(a: Constraint, b: Constraint) -> bool:
    return not (a.holds and b.holds) or abs(_margin(a) - _margin(b)) > _LEAST


def _margin(row: Constraint) -> float:
    return -math.inf if row.margin is None else row.margin
