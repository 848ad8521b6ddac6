"""A build as a problem: its keys, and what a choice of them shows, stage by stage.

The checks that need no run come first: rules, what the board refuses, guard bands, edges. Only
what passes them is run. Rounding is the keys' own; nothing is rounded here.
"""

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from diodewright.build import rule_rooms
from diodewright.derive import BUDGET_GUARD_K
from diodewright.tune.choice import STAGES, Choice, Look, Problem, Row
from diodewright.tune.constraints import WHOLE, Constraint
from diodewright.tune.context import Context
from diodewright.tune.evaluate import DEPTHS as EVALUATED
from diodewright.tune.evaluate import Evaluation, evaluate

__all__ = ["BuildWork"]

_TRIP = "limits.mount_trip_degC"
_MOUNT = "mount stays below its trip and the budget's guard"
#: One count of the law's words. A threshold that is derived from what it needs keeps less than
#: that of it, by rounding: a saw's tooth, whose slope means nothing.
_WORD = {"A": 1e-3, "V": 1e-3, "K": 1e-2, "mA": 1e-3}
#: Stage -> depth of `evaluate`.
_RUN = dict(enumerate(EVALUATED, start=1))


@dataclass(frozen=True)
class BuildWork:
    """Looks into choices of one build's keys; a plain function that remembers its build.

    Attributes
    ----------
    problem : whose keys are moved.
    context : of the build.
    beside : other keys that are changed in every choice, as pairs of key and value.
    """

    problem: Problem
    context: Context
    beside: tuple[tuple[str, object], ...] = ()

    def __call__(self, choice: Choice, depth: str) -> Look:
        """Return what a choice shows, looked into to one of `choice.DEPTHS`."""
        values = self.problem.values(choice) | dict(self.beside)
        rules = tuple(_rule_rows(self, values))
        cheap = evaluate(self.context, values, "bands")
        if cheap.refusal:
            return Look({}, rules, 0, (cheap.refusal,))
        rows = (*rules, *rows_of(cheap.constraints))
        stage = STAGES[depth]
        through = depth.endswith("+")
        if stage == 1 or (not through and any(row.misses for row in rows)):
            return Look({}, rows, 1)
        stops = _misses if not through else lambda _: False
        found = evaluate(self.context, values, _RUN[stage], stops)
        return _look_of(found, (*rules, *self._mount(values, found)))

    def _mount(self, values: Mapping[str, object], found: Evaluation) -> Iterator[Row]:
        """Yield the mount's limit, which is judged at corners, of typical parts as well."""
        trip_degC = values.get(_TRIP, self.context.build.limits.mount_trip_degC)
        for row in found.figures:
            if row.id == "mount_degC" and isinstance(trip_degC, int | float):
                limit = trip_degC + BUDGET_GUARD_K
                room = limit - row.value
                yield Row("use.mount", room, limit, row.value, limit, "degC", "", _MOUNT)


def _rule_rows(work: BuildWork, values: Mapping[str, object]) -> Iterator[Row]:
    every = {dial.path: dial.given(dial.start) for dial in work.problem.dials} | dict(values)
    for room in rule_rooms(work.context.build, every):
        said = f"what the build asks of {' and '.join(room.keys)}"
        yield Row(f"rule.{room.rule}", room.room, room.scale, unit=room.unit, meaning=said)


def rows_of(constraints: Iterable[Constraint]) -> Iterator[Row]:
    """Yield what must hold as rows; what was not judged is missed by its whole scale."""
    for each in constraints:
        value = math.nan if each.value is None else each.value
        scale = max(abs(each.limit), abs(value) if each.value is not None else 0.0) or 1.0
        room = (each.limit - value) * (1 if each.sense == "at_most" else -1)
        if each.id.startswith("band.") and 0 <= room < 1.5 * _WORD.get(each.unit, 0.0):
            room = 0.0
        if each.margin == WHOLE and room == 0.0:  # a plain yes: all of it is left
            room = scale
        yield Row(
            each.id,
            -scale if each.margin is None else room,
            scale,
            value,
            each.limit,
            each.unit,
            each.where,
            each.meaning,
        )


def _misses(constraint: Constraint) -> bool:
    return any(row.misses for row in rows_of([constraint]))


def _look_of(found: Evaluation, own: tuple[Row, ...]) -> Look:
    """Return an evaluation as a look, `own` rows first; what never lit was looked at no further."""
    rows = (*own, *rows_of(found.constraints))
    figures = {row.id: float(row.value) for row in found.figures if math.isfinite(row.value)}
    stage = 1 + EVALUATED.index(found.depth) if figures else 1
    return Look(figures, rows, stage, simulations=found.runs)
