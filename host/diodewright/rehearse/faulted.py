"""The fault part of a rehearsal: what was run, what was found, as the document holds it."""

import dataclasses
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from typing import Any

from diodewright.build import Build
from diodewright.faults import CATALOGUE, MOMENTS, Fault
from diodewright.judge import CaseFinding
from diodewright.rehearse.cases import lacks
from diodewright.rehearse.causes import cause_words
from diodewright.rehearse.closest import closest_traces
from diodewright.rehearse.matrix import bereft, case_ids, pairs, singles
from diodewright.rehearse.moments import NoHealthyStart, Stand, snapshots
from diodewright.sim import Engine

__all__ = ["Faulted", "break_everything"]

#: What the document says of a fault once, not in each of its cases.
_FACTS = ("id", "part", "mode", "happens", "expect", "allowed_ms", "acts", "by", "guard", "source")


@dataclass(frozen=True)
class Faulted:
    """All fault cases of one rehearsal.

    Attributes
    ----------
    cases, pairs : findings of single faults and of pairs, in the catalogue's order.
    bereft : (part, finding): what a fault that hardware ended does without that part.
    unsaved : faults that this build can have and that no part of the circuit saves it from.
    stopped : what stood in the way, in words; the rest is empty then.
    closest : Traces of the smallest margins, see `rehearse.closest`.
    taken : where the healthy light stood at each moment that was reached.
    without : parts that the circuit lacked on purpose.
    """

    cases: list[CaseFinding] = field(default_factory=list)
    pairs: list[CaseFinding] = field(default_factory=list)
    bereft: list[tuple[str, CaseFinding]] = field(default_factory=list)
    unsaved: list[dict[str, Any]] = field(default_factory=list)
    stopped: list[str] = field(default_factory=list)
    closest: list[dict[str, Any]] = field(default_factory=list)
    taken: dict[str, Stand] = field(default_factory=dict)
    without: tuple[str, ...] = ()

    @property
    def every(self) -> list[CaseFinding]:
        """Single faults and pairs."""
        return [*self.cases, *self.pairs]

    def fails(self) -> Iterator[str]:
        """Yield what did not survive, in words, damage first."""
        lost = sorted(
            (case for case in self.every if not case.survives),
            key=lambda case: case.verdict != "damaged",
        )
        yield from (f"{case.id}@{case.at}: {case.why}" for case in lost)

    def as_dict(self) -> dict[str, Any]:
        """Return the document's keys."""
        if not self.cases:
            return {}
        ids = {part for case in self.every for part in case.id.split(",")}
        facts = [_facts(row) for row in CATALOGUE if row.id in ids]
        return {
            "faults": [_row(case) for case in self.cases],
            "pairs": [_row(case) for case in self.pairs],
            "bereft": [{"without": part, **_row(case)} for part, case in self.bereft],
            "catalogue": facts,
            "moments": {
                at: {"meaning": said, "reached": at in self.taken} for at, said in MOMENTS.items()
            },
            "without": list(self.without),
            "closest": self.closest,
            "unsaved": self.unsaved,
        }


def _facts(fault: Fault) -> dict[str, Any]:
    return {name: getattr(fault, name) for name in _FACTS}


def _unsaved(build: Build) -> list[dict[str, Any]]:
    """Return what no part of the reference circuit saves the diode of `build` from."""
    rows = [row for row in CATALOGUE if row.expect == "lost" and not lacks(build, row)]
    return [_facts(row) for row in rows]


def _row(case: CaseFinding) -> dict[str, Any]:
    row = dataclasses.asdict(case)
    row["tightest"] = {
        name: row["tightest"][name] for name in ("id", "value", "limit", "unit", "margin")
    }
    condition, clears = cause_words(case.cause)
    return row | {"cause_words": condition, "clears_by": clears}


def break_everything(
    build: Build,
    engine: Engine,
    seed: int,
    every: bool,
    without: Sequence[str],
    say: Callable[[str], None],
    pool: Executor,
) -> Faulted:
    """Run the fault cases of `build`: see `rehearse.matrix` for which; `every` for all of them.

    `without` names parts that the circuit lacks (see `matrix.GUARDS`); `pool` runs the cases.
    """
    say("moments")
    try:
        taken = snapshots(build, engine, seed)
    except NoHealthyStart as error:
        return Faulted(stopped=[str(error)])
    total = len(case_ids(build, taken, every))
    found: tuple[list[CaseFinding], list[CaseFinding]] = ([], [])
    for kept, run in zip(found, (singles, pairs), strict=True):
        for case in run(build, taken, seed, every, without, pool):
            kept.append(case)
            say(f"{len(found[0]) + len(found[1])} of {total}: {case.id}@{case.at}")
    if without:
        return Faulted(*found, taken=taken, without=tuple(without))
    return Faulted(
        *found,
        bereft=list(bereft(build, taken, seed, found[0])),
        unsaved=_unsaved(build),
        closest=closest_traces(build, taken, found[0], seed),
        taken=taken,
    )
