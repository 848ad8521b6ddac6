"""Every fault at every moment, pairs with a dead guard, and what happens without a part.

Three tables of cases, all from the same snapshots of healthy runs:

- `singles`: each fault at each moment that the build reaches; with `every` also one to four ticks
  later (the multiplexer reads one of five channels a tick, so that these are all its phases) and
  mended again after 5 ms, 50 ms and a second.
- `pairs`: each guard that may be dead unseen, times each fault; at steady light, with `every` at
  every core moment and with faults that show slowly as well. Two latent faults at once are not run,
  nor two active ones: each would need two unseen or two sudden failures.
- `bereft`: each fault that hardware ended at steady light, without the part that ended it.
"""

import dataclasses
from collections.abc import Collection, Iterator, Mapping, Sequence
from concurrent.futures import Executor

from diodewright.build import Build
from diodewright.faults import CORE, ENGINE, Fault
from diodewright.judge import CaseFinding
from diodewright.rehearse.case_id import At, joined
from diodewright.rehearse.cases import SLOWLY_S, cases_of, lacks, run_case, run_jobs
from diodewright.rehearse.moments import Stand

__all__ = ["GUARDS", "bereft", "case_ids", "deprived", "pairs", "singles"]

#: Part of the reference circuit that may be left out -> what its absence changes.
GUARDS: Mapping[str, tuple[tuple[str, float], ...]] = {
    "comparator": (("plant.over_current_dead", 1), ("plant.over_voltage_dead", 1)),
    "dynamic-enable": (("plant.pulse_hold_s", 1e9),),
    "cutoff-A": (("plant.a_short", 1),),
}
#: Beginning of a reaction -> the part that acted, and a word of the names of its own faults.
_ACTED = {
    "hardware: comparator latch": ("comparator", "comparator"),
    "hardware: the dynamic enable": ("dynamic-enable", "enable"),
}
_NO = ("", "")
_LATER_TICKS = (1, 2, 3, 4)
_OFF_MS = (5, 50, 1000)
_STEADY = "steady"

_Job = tuple[Fault, At]


def deprived(fault: Fault, without: Sequence[str]) -> Fault:
    """Return `fault` in a circuit that lacks the parts `without`, of `GUARDS`."""
    gone = tuple(change for part in without for change in GUARDS[part])
    return dataclasses.replace(fault, before=(*fault.before, *gone))


def _engine_rows(build: Build) -> list[Fault]:
    return [row for row in ENGINE if not lacks(build, row)]


def _single_jobs(build: Build, taken: Collection[str], every: bool) -> Iterator[_Job]:
    for fault in _engine_rows(build):
        for at in cases_of(build, fault, taken):
            yield fault, at
            if every and fault.watch_s <= SLOWLY_S:
                yield from ((fault, At(at.moment, later)) for later in _LATER_TICKS)
                yield from ((fault, At(at.moment, 0, off_ms)) for off_ms in _mendable(fault))


def _mendable(fault: Fault) -> tuple[int, ...]:
    """Return after how many ms a fault is mended again; none where it can't be, or does itself."""
    taken_back = any(target.startswith(("plant.", "board.")) for target, _ in fault.changes)
    return _OFF_MS if taken_back and not fault.restores else ()


def _pair_jobs(build: Build, taken: Collection[str], every: bool) -> Iterator[_Job]:
    rows = _engine_rows(build)
    for latent in rows:
        if latent.guard != "latent":
            continue
        for active in rows:
            slowly = active.watch_s > SLOWLY_S
            if active.part == latent.part or (slowly and not every):
                continue  # a part fails once
            for moment in CORE if every else (_STEADY,):
                if moment in taken:
                    yield joined(latent, active), At(moment)


def case_ids(build: Build, moments: Collection[str], every: bool = False) -> tuple[str, ...]:
    """Return the names of all cases that `singles` and `pairs` run at these moments."""
    jobs = (*_single_jobs(build, moments, every), *_pair_jobs(build, moments, every))
    return tuple(f"{fault.id}@{at}" for fault, at in jobs)


def singles(
    build: Build,
    taken: Mapping[str, Stand],
    seed: int,
    every: bool = False,
    without: Sequence[str] = (),
    pool: Executor | None = None,
) -> Iterator[CaseFinding]:
    """Yield the finding of each single fault at each moment of `taken`, in a fixed order.

    `without` names parts of `GUARDS` that the circuit lacks; `pool` runs them, and what is found
    does not depend on it.
    """
    jobs = ((deprived(row, without), at) for row, at in _single_jobs(build, taken, every))
    yield from run_jobs(build, taken, jobs, seed, pool)


def pairs(
    build: Build,
    taken: Mapping[str, Stand],
    seed: int,
    every: bool = False,
    without: Sequence[str] = (),
    pool: Executor | None = None,
) -> Iterator[CaseFinding]:
    """Yield the finding of each pair: a guard that was dead before, unseen, and a fault."""
    jobs = ((deprived(row, without), at) for row, at in _pair_jobs(build, taken, every))
    yield from run_jobs(build, taken, jobs, seed, pool)


def bereft(
    build: Build, taken: Mapping[str, Stand], seed: int, found: Sequence[CaseFinding]
) -> Iterator[tuple[str, CaseFinding]]:
    """Yield the part that ended each fault of `found` at steady light, and the case without it.

    Not of that part's own faults: what is not there can't fail.
    """
    rows = {row.id: row for row in _engine_rows(build)}
    for case in found:
        fault = rows[case.id]
        part, own = next((of for said, of in _ACTED.items() if case.reaction.startswith(said)), _NO)
        if part and case.at == _STEADY and own not in fault.part:
            lacking = deprived(fault, (part,))
            yield part, run_case(build, taken[_STEADY], lacking, At(_STEADY), seed).finding
