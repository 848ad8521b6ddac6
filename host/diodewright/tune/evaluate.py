"""One choice of settings: figures, and everything that must hold, from runs of the compiled engine.

Four depths, each with what the one before it has:

- *bands*: no run; build and board refuse or take it, guard bands, edges;
- *use*: typical parts in a use of ten minutes and on a low pack, judged; the figures;
- *corners*: the builds of `corners` in the use that each is about, nothing broken;
- *faults*: the context's fault cases from soft-start and steady light, and the tightest of them at
  the corner of highest current.

Left to `rehearse`: faults at all moments, pairs, what shows itself in minutes, drawn builds, and
the hazard. A choice that holds here is a candidate; `rehearse` is the judge.
"""

import dataclasses
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import partial
from typing import Any

from diodewright.build import Build, BuildErrors, with_values
from diodewright.derive import Criterion, DerivedError, criteria, settings
from diodewright.derive.electrics import cold_hold_A
from diodewright.derive.guard_bands import GuardBand, guard_bands
from diodewright.derive.tolerances import tolerances
from diodewright.judge import judge
from diodewright.plant import record
from diodewright.rehearse.edges import edge_findings
from diodewright.rehearse.margins import mount_limit
from diodewright.rehearse.moments import NoHealthyStart, Stand
from diodewright.rehearse.trial import TrialJob, low_use, rested_soon
from diodewright.rehearse.use import first_cause, tally_values
from diodewright.size.figure import Figure
from diodewright.tune.constraints import (
    WHOLE,
    Constraint,
    from_bands,
    from_case_findings,
    from_cases,
    from_corner,
    from_findings,
    from_hunting,
    from_trips,
)
from diodewright.tune.context import Case, Context, core_stands
from diodewright.tune.corners import CORNERS, Corner, draws_at
from diodewright.tune.figures import figures_of
from diodewright.tune.hunting import in_cutback
from diodewright.tune.runs import Curve, Struck, WarmRun, struck, warm_run

__all__ = ["DEPTHS", "Evaluation", "evaluate"]

DEPTHS = ("bands", "use", "corners", "faults")
#: Of the context's cases, so many run at the corner of highest current as well.
_AT_CORNER = 12


@dataclass(frozen=True)
class Evaluation:
    """What one choice came to.

    Attributes
    ----------
    values : the choice, build key -> value; what it leaves out is as in the file.
    refusal : why build or board do not take it, in their words; "" where they do.
    figures : what it gives; empty at depth "bands" and where it was refused or never lit.
    constraints : what it must hold; empty where it was refused.
    depth : how far it was looked at, of `DEPTHS`.
    runs : closed-loop simulations that it took.
    curve : the use over time; None where there is none.
    """

    values: Mapping[str, object]
    refusal: str
    figures: tuple[Figure, ...]
    constraints: tuple[Constraint, ...]
    depth: str
    runs: int
    curve: Curve | None = dataclasses.field(default=None, compare=False)

    @property
    def holds(self) -> bool:
        """Whether it was taken and every constraint looked at holds."""
        return not self.refusal and all(row.holds for row in self.constraints)

    @property
    def broken(self) -> tuple[Constraint, ...]:
        """The constraints that do not hold, the worst first."""
        rows = [row for row in self.constraints if not row.holds]
        return tuple(sorted(rows, key=_ranked))

    @property
    def tightest(self) -> Constraint | None:
        """The constraint of least margin; None where there is none.

        Guard bands are left out where they hold: thresholds are derived just as wide as they must.
        """
        rows = [row for row in self.constraints if not (row.holds and row.id.startswith("band."))]
        return min(rows, key=_ranked, default=None)

    def figure(self, id: str) -> float:
        """Return one figure's value.

        Raises
        ------
        KeyError
            There is no such figure in this evaluation.
        """
        for row in self.figures:
            if row.id == id:
                return row.value
        raise KeyError(id)

    def constraint(self, id: str) -> Constraint:
        """Return one constraint by id; KeyError where there is none."""
        for row in self.constraints:
            if row.id == id:
                return row
        raise KeyError(id)

    def as_dict(self) -> dict[str, Any]:
        """Return it as a document keeps it, without the curve."""
        return {
            "values": dict(self.values),
            "refusal": self.refusal,
            "holds": self.holds,
            "depth": self.depth,
            "runs": self.runs,
            "figures": [dataclasses.asdict(row) for row in self.figures],
            "constraints": [
                dataclasses.asdict(row) | {"holds": row.holds} for row in self.constraints
            ],
        }


def _ranked(row: Constraint) -> tuple[bool, float]:
    """Rank what was not judged first, then the least margin."""
    return row.margin is not None, row.margin or 0.0


def evaluate(
    context: Context,
    values: Mapping[str, object],
    depth: str = DEPTHS[-1],
    stops: Callable[[Constraint], bool] = lambda _: False,
    pool: Executor | None = None,
) -> Evaluation:
    """Return what `values` (build key -> value) come to in place of the context's own.

    The same context and values give the same evaluation, to the last bit. Behind a depth with a
    row for which `stops` is true it goes no deeper. Threads of `pool` run the use on a low pack
    at the same time as the other.

    Raises
    ------
    ValueError
        No such depth.
    """
    if depth not in DEPTHS:
        raise ValueError(f"depth {depth!r}: one of {', '.join(DEPTHS)}")
    try:
        build = with_values(context.build, values) if values else context.build
        words = settings(build)
    except (BuildErrors, DerivedError) as error:
        return Evaluation(values, str(error), (), (), depth, 0)
    asked = _Choice(context, build, words, pool)
    constraints, reached = asked.constraints(depth, stops)
    figures = (*asked.figures(), *_struck_figures(constraints))
    return Evaluation(values, "", figures, constraints, reached, asked.runs, asked.curve())


#: Constraint on the current of fault cases -> the figure that it is told as, and of which parts.
_STRUCK = {
    "fault.diode-current": ("fault_peak_A", "typical parts"),
    "corner-fault.diode-current": ("corner_fault_peak_A", "parts of highest current"),
}


def _struck_figures(constraints: tuple[Constraint, ...]) -> Iterator[Figure]:
    """Yield the highest currents of the fault cases, as far as they were run."""
    for row in constraints:
        if row.id in _STRUCK and row.value is not None:
            id, parts = _STRUCK[row.id]
            said = f"highest current of the single faults, {parts}: {row.where}"
            yield Figure(id, row.value, row.unit, said, "pairs, other moments")


class _Choice:
    """One choice at work: its build, its words, and what has been run."""

    def __init__(
        self, context: Context, build: Build, words: Mapping[str, int], pool: Executor | None
    ) -> None:
        self.context, self.build, self.words, self.pool = context, build, words, pool
        self.job = TrialJob(build, context.machine, words, (), {}, context.seed, ())
        self.runs = 0
        self.criteria = criteria(build)
        self.bands: tuple[GuardBand, ...] = guard_bands(build, words)
        self.warm: WarmRun | None = None
        #: Where the light of highest current stands, for the faults that strike it there.
        self.bright: dict[str, Stand] = {}

    def constraints(
        self, depth: str, stops: Callable[[Constraint], bool]
    ) -> tuple[tuple[Constraint, ...], str]:
        """Run what the depth asks for; return its rows, and the depth it went to."""
        done: list[Constraint] = []
        for reached, rows_of in zip(DEPTHS, self._parts(), strict=True):
            rows = tuple(rows_of())
            done += rows
            never = self.warm is not None and not self.warm.lit
            if reached == depth or never or any(stops(row) for row in rows):
                return tuple(done), reached
        raise AssertionError(depth)

    def _parts(self) -> tuple[Callable[[], Iterator[Constraint]], ...]:
        """Return what each of `DEPTHS` adds."""
        return self._bands, self._use, self._corners, self._faults

    def _bands(self) -> Iterator[Constraint]:
        yield from from_bands(self.bands)
        yield from from_findings(edge_findings(self.build), "edge")

    def figures(self) -> tuple[Figure, ...]:
        if self.warm is None or self.warm.trace is None or not self.warm.lit:
            return ()
        swing = in_cutback(self.warm.trace)
        return figures_of(self.build, self.words, self.warm, swing, self.bands)

    def curve(self) -> Curve | None:
        return self.warm.curve() if self.warm is not None else None

    def _use(self) -> Iterator[Constraint]:
        self.runs += 1
        low_of = self._low_to_come()
        self.warm = warm = warm_run(self.job, traced=True)
        values, causes = dict(warm.values), [("warm", warm.cause)]
        if low_of is not None:
            low = low_of()
            causes.append(("low", first_cause(low)))
            of_low = tally_values(low)
            for name, worse in (("least_pack_V", min), ("peak_pack_A", max)):
                values[name] = worse(values[name], of_low[name])
        values["cold_hold_A"] = cold_hold_A(self.build)
        values["shared_shunts"] = float(self.build.sensors.shunt == "shared")
        yield _lights(warm)
        yield from from_trips(causes)
        yield from from_findings(judge(self.criteria, values, "use"), "use")
        if warm.trace is not None:
            yield from from_hunting(in_cutback(warm.trace))

    def _low_to_come(self) -> Callable[[], record.Filled] | None:
        """Return what gives the low use, begun at once where threads are lent; or None."""
        if self.build.pack.kind == "bench_supply":
            return None
        run = partial(self._low, self.job)
        return run if self.pool is None else self.pool.submit(run).result

    def _low(self, job: TrialJob) -> record.Filled:
        self.runs += 1
        return low_use(job, rested_soon(job))

    def _corners(self) -> Iterator[Constraint]:
        asked = {row.id: row for row in (*self.criteria, mount_limit(self.build))}
        worst: dict[str, Constraint] = {}
        for corner in CORNERS:
            wanted = [asked[id] for id in corner.asks if id in asked]
            for row in self._corner(corner, self._at(corner), wanted):
                kept = worst.setdefault(row.id, row)
                worst[row.id] = min(kept, row, key=_ranked)
        yield from worst.values()

    def _at(self, corner: Corner) -> TrialJob:
        rows = tolerances(self.build)
        return dataclasses.replace(self.job, rows=rows, draws=draws_at(corner, self.build, rows))

    def _corner(
        self, corner: Corner, job: TrialJob, wanted: list[Criterion]
    ) -> Iterator[Constraint]:
        if corner.id == "bright":
            yield from self._bright(corner, job, wanted)
        elif corner.id == "drained":
            if self.build.pack.kind != "bench_supply":
                values = tally_values(self._low(job))
                yield from from_corner(corner, wanted, values)
        else:
            self.runs += 1
            yield from from_corner(corner, wanted, warm_run(job).values)

    def _bright(
        self, corner: Corner, job: TrialJob, wanted: list[Criterion]
    ) -> Iterator[Constraint]:
        """Yield rows of the rise and the first minute at highest current.

        A build at a corner that latches with nothing broken is told by its guard band.
        """
        try:
            self.bright, tally = core_stands(job)
        except NoHealthyStart:
            return
        self.runs += 1
        yield from from_corner(corner, wanted, tally_values(tally))

    def _faults(self) -> Iterator[Constraint]:
        try:
            taken, _ = core_stands(self.job)
        except NoHealthyStart:
            return
        done = self._struck(self.job, taken, self.context.cases)
        self.runs += 1
        yield from from_cases(done)
        yield from from_case_findings(done, "fault")
        (bright,) = (corner for corner in CORNERS if corner.id == "bright")
        done = self._struck(self._at(bright), self.bright, self.context.cases[:_AT_CORNER])
        yield from from_case_findings(done, "corner-fault", bright.id)

    def _struck(
        self, job: TrialJob, taken: dict[str, Stand], cases: tuple[Case, ...]
    ) -> tuple[Struck, ...]:
        done = struck(job, taken, cases)
        self.runs += len(done)
        return done


def _lights(warm: WarmRun) -> Constraint:
    cause = f": {warm.cause}" if warm.cause else ""
    return Constraint(
        "use.lights",
        float(warm.lit),
        1.0,
        "at_least",
        "",
        WHOLE if warm.lit else -1.0,
        "a press gives light" + ("" if warm.lit else cause),
    )
