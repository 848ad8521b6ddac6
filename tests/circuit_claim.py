"""One claim on the circuit, and how a circuit simulation judges it.

A row's `runs` are the netlist's parameters, its corners; `read` makes one number of a run's
columns; the worst of all runs is held to `limit`. `broken` names a fault of design, and what it
changes: that run must miss the limit, or the claim can't fail. Values come from the build through
`derive`, so that page, test and rehearsal judge the same circuit.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from diodewright.build import Build
from netlists import simulate

__all__ = ["Claim", "broken", "measured"]

Values = Mapping[str, float]
Columns = Sequence[Any]


@dataclass(frozen=True)
class Claim:
    """One claim.

    Attributes
    ----------
    id, says : stable name, and the claim in words.
    netlist : file in `netlists/` without its ending.
    runs : build -> every run's parameters; none where the build has no such part.
    read : (columns, parameters, build) -> the number.
    ceiling : True where the limit is the most, False where it is the least.
    limit, unit : in the number's unit.
    broken : the break in words, and what it changes in every run, or runs of its own.
    """

    id: str
    says: str
    netlist: str
    runs: Callable[[Build], Iterator[Values]]
    read: Callable[[Columns, Values, Build], float]
    ceiling: bool
    limit: Callable[[Build], float]
    unit: str
    broken: tuple[str, Values | Callable[[Build], Iterator[Values]]]

    def holds(self, value: float, build: Build) -> bool:
        """Return whether `value` keeps the limit; what is no number keeps none."""
        limit = self.limit(build)
        return value <= limit if self.ceiling else value >= limit


def measured(claim: Claim, build: Build, folder: Path) -> float | None:
    """Return the worst of all runs; None where the build has no such part."""
    return _worst(claim, build, folder, claim.runs(build))


def broken(claim: Claim, build: Build, folder: Path) -> float | None:
    """Return the worst of all runs with the break made."""
    changes = claim.broken[1]
    if callable(changes):
        return _worst(claim, build, folder, changes(build))
    return _worst(claim, build, folder, ({**values, **changes} for values in claim.runs(build)))


def _worst(claim: Claim, build: Build, folder: Path, runs: Iterator[Values]) -> float | None:
    found = [
        float(claim.read(simulate(claim.netlist, folder, values), values, build)) for values in runs
    ]
    if not found or any(map(math.isnan, found)):
        return math.nan if found else None
    return max(found) if claim.ceiling else min(found)
