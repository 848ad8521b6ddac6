"""What every choice of one build is judged by: the build as it is, its engine, and which faults.

Rule for the faults. Of the build as it is, each fault that shows itself within five seconds strikes
at each core moment (`faults.CORE`) and keeps the moment at which it comes closest. Of these the
`BY_MARGIN` of least margin and then the `BY_TIME` that leave least of the time they allow are
kept, so that every choice meets the same cases. What shows itself only in minutes is left to
`rehearse`.
"""

import math
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive import plant_values, settings
from diodewright.faults import CORE, ENGINE, Fault
from diodewright.judge import CaseFinding
from diodewright.plant import record
from diodewright.rehearse.cases import lacks, run_case
from diodewright.rehearse.moments import NoHealthyStart, Stand, fresh
from diodewright.rehearse.trial import TrialJob, rested_soon
from diodewright.rehearse.use import dark_A
from diodewright.sim import Engine, Machine, compiled, new_tally, power_up

__all__ = ["BY_MARGIN", "BY_TIME", "Case", "Context", "context_of", "core_stands"]

#: So many cases by their least margin, and so many more by the time they have left.
BY_MARGIN, BY_TIME = 40, 20
_SHORT_S = 5.0

#: A fault, and the moment at which it strikes.
Case = tuple[Fault, str]


@dataclass(frozen=True)
class Context:
    """One build under tuning; it travels to other processes.

    Attributes
    ----------
    build : as its file says.
    machine : a machine of it, dark; it lends its engine.
    seed : of the sensors' noise.
    cases : the faults that every choice meets, the tightest first.
    """

    build: Build
    machine: Machine
    seed: int
    cases: tuple[Case, ...]

    @property
    def engine(self) -> Engine:
        """The engine that all runs use."""
        return self.machine.engine


def context_of(build: Build, seed: int = 1, engine: Engine | None = None) -> Context:
    """Return the context of `build`; `engine` is the compiled one where None.

    Raises
    ------
    DerivedError
        The build as it is gives a settings word that the board would refuse.
    EngineError
        The compiled engine can't be made here.
    """
    words = settings(build)
    machine = power_up(engine or compiled(), plant_values(build), words, seed=seed)
    job = TrialJob(build, machine, words, (), {}, seed, ())
    rows = [row for row in ENGINE if row.watch_s <= _SHORT_S and not lacks(build, row)]
    try:
        stands = core_stands(job)
    except NoHealthyStart:
        # nothing to rank by: each fault once, in the catalogue's order
        return Context(build, machine, seed, tuple((row, CORE[-1]) for row in rows)[: _most()])
    return Context(build, machine, seed, _chosen(build, stands, rows, seed))


def core_stands(job: TrialJob) -> tuple[dict[str, Stand], record.Filled]:
    """Return where the light of `job` stands at the core moments, and the Tally of its way there.

    Raises
    ------
    NoHealthyStart
        It never reached its soft-start.
    """
    machine = rested_soon(job)
    tally = new_tally(machine.engine, dark_A(job.build))
    taken = fresh(job.build, machine, tally, job.words["ramp_ticks"], CORE)
    return taken, tally


def _most() -> int:
    return BY_MARGIN + BY_TIME


def _chosen(
    build: Build, stands: tuple[dict[str, Stand], record.Filled], rows: list[Fault], seed: int
) -> tuple[Case, ...]:
    taken, _ = stands
    met = [
        (_tightness(run_case(build, stand, row, at, seed).finding, row), (row, at))
        for row in rows
        for at, stand in taken.items()
    ]
    by_margin = _once(sorted(met, key=lambda each: each[0][0]))[:BY_MARGIN]
    kept = {row.id for row, _ in by_margin}
    by_time = _once(sorted(met, key=lambda each: each[0][1]))
    return (*by_margin, *[case for case in by_time if case[0].id not in kept][:BY_TIME])


def _tightness(found: CaseFinding, row: Fault) -> tuple[float, float]:
    """Return margin and part of the allowed time that is left; what is lost is below all."""
    if not found.survives:
        return -math.inf, -math.inf
    margin = found.tightest.margin
    left = math.inf
    if row.allowed_ms is not None and found.time_to_dark_ms is not None:
        left = 1.0 - found.time_to_dark_ms / row.allowed_ms
    return -math.inf if margin is None else margin, left


def _once(ranked: list[tuple[tuple[float, float], Case]]) -> list[Case]:
    """Return each fault once, at the moment that ranks first."""
    firsts: dict[str, Case] = {}
    for _, (row, at) in ranked:
        firsts.setdefault(row.id, (row, at))
    return list(firsts.values())
