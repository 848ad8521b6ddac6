"""One choice of settings: figures, and everything that must hold, from runs of the compiled engine.

Four depths, each with what the one before it has:

- *bands*: no run; build and board refuse or take it, guard bands, edges;
- *use*: typical parts in a use of ten minutes and on a low pack, judged; the figures;
- *faults*: the context's fault cases from soft-start and steady light;
- *corners*: the builds of `corners` in the use that each is about, and the tightest faults at the
  corner of highest current.

Left to `rehearse`: faults at all moments, pairs, what shows itself in minutes, drawn builds, and
the hazard. A choice that holds here is a candidate; `rehearse` is the judge.
"""

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
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
from diodewright.rehearse.moments import NoHealthyStart
from diodewright.rehearse.trial import TrialJob, low_use, rested_soon
from diodewright.rehearse.use import first_cause, tally_values
from diodewright.size.figure import Figure
from diodewright.tune.constraints import (
    Constraint,
    from_bands,
    from_case_findings,
    from_cases,
    from_corner,
    from_findings,
    from_hunting,
    from_trips,
)
from diodewright.tune.context import Context, core_stands
from diodewright.tune.corners import CORNERS, Corner, draws_at
from diodewright.tune.figures import figures_of
from diodewright.tune.hunting import in_cutback
from diodewright.tune.runs import Curve, WarmRun, struck, warm_run

__all__ = ["DEPTHS", "Evaluation", "evaluate"]

DEPTHS = ("bands", "use", "faults", "corners")
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
        """The constraint of least margin; None where there is none."""
        return min(self.constraints, key=_ranked, default=None)

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


def evaluate(context: Context, values: Mapping[str, object], depth: str = DEPTHS[-1]) -> Evaluation:
    """Return what `values` (build key -> value) come to in place of the context's own.

    The same context and values give the same evaluation, to the last bit.

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
    asked = _Choice(context, build, words, depth)
    constraints = tuple(asked.constraints())
    return Evaluation(values, "", asked.figures(), constraints, depth, asked.runs, asked.curve())


class _Choice:
    """One choice at work: its build, its words, and what has been run."""

    def __init__(
        self, context: Context, build: Build, words: Mapping[str, int], depth: str
    ) -> None:
        self.context, self.build, self.words = context, build, words
        self.depth = DEPTHS.index(depth)
        self.job = TrialJob(build, context.machine, words, (), {}, context.seed, ())
        self.runs = 0
        self.criteria = criteria(build)
        self.bands: tuple[GuardBand, ...] = guard_bands(build)
        self.warm: WarmRun | None = None

    def constraints(self) -> Iterator[Constraint]:
        """Run what the depth asks for and yield its rows; what never lights ends there."""
        yield from from_bands(self.bands)
        yield from from_findings(edge_findings(self.build), "edge")
        if self.depth >= 1:
            self.runs += 1
            self.warm = warm_run(self.job, traced=True)
            yield from self._use(self.warm)
            if not self.warm.lit:
                return
        if self.depth >= 2:
            yield from self._faults()
        if self.depth >= 3:
            yield from self._corners()

    def figures(self) -> tuple[Figure, ...]:
        if self.warm is None or self.warm.trace is None or not self.warm.lit:
            return ()
        swing = in_cutback(self.warm.trace)
        return figures_of(self.build, self.words, self.warm, swing, self.bands)

    def curve(self) -> Curve | None:
        return self.warm.curve() if self.warm is not None else None

    def _use(self, warm: WarmRun) -> Iterator[Constraint]:
        values, causes = dict(warm.values), [("warm", warm.cause)]
        if self.build.pack.kind != "bench_supply":
            low = self._low(self.job)
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

    def _low(self, job: TrialJob) -> record.Filled:
        self.runs += 1
        return low_use(job, rested_soon(job))

    def _faults(self) -> Iterator[Constraint]:
        try:
            taken, _ = core_stands(self.job)
        except NoHealthyStart:
            return
        done = struck(self.job, taken, self.context.cases)
        self.runs += 1 + len(done)
        yield from from_cases(done)
        yield from from_case_findings(done, "fault")

    def _corners(self) -> Iterator[Constraint]:
        rows = tolerances(self.build)
        asked = {row.id: row for row in (*self.criteria, mount_limit(self.build))}
        worst: dict[str, Constraint] = {}
        for corner in CORNERS:
            wanted = [asked[id] for id in corner.asks if id in asked]
            job = dataclasses.replace(self.job, rows=rows, draws=draws_at(corner, self.build, rows))
            for row in self._corner(corner, job, wanted):
                kept = worst.setdefault(row.id, row)
                worst[row.id] = min(kept, row, key=_ranked)
        yield from worst.values()

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
        """Yield rows of the rise and the first minute at highest current, and of its faults.

        A build at a corner that latches with nothing broken is told by its guard band.
        """
        try:
            taken, tally = core_stands(job)
        except NoHealthyStart:
            return
        yield from from_corner(corner, wanted, tally_values(tally))
        done = struck(job, taken, self.context.cases[:_AT_CORNER])
        self.runs += 1 + len(done)
        yield from from_case_findings(done, "corner-fault", corner.id)


def _lights(warm: WarmRun) -> Constraint:
    cause = f": {warm.cause}" if warm.cause else ""
    return Constraint(
        "use.lights",
        float(warm.lit),
        1.0,
        "at_least",
        "",
        float(warm.lit) - 1.0,
        "a press gives light" + ("" if warm.lit else cause),
    )
