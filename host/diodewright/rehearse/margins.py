"""Margins: what is left of every limit once the parts spread, and which part eats most of it.

Three kinds of true builds are tried, all under the settings of the nominal one (see `trial`):

- *one at a time*: each tolerance alone at each of its limits;
- *corners*: for each judged quantity all tolerances at the end that made it worse by itself;
- *drawn*: every tolerance drawn at random, by a generator of its own for each build, so that the
  result depends on neither the number of builds beside it nor on how many work at once.

The damage criteria of use and faults are judged in all three. A row that latches with nothing
broken, or a light that never comes, is judged like damage where one part alone or a drawn build
does it; at a corner, where some thirty parts stand at their limits at once, it is told: whether
thresholds hold the worst case is what the guard bands are judged by (`derive.guard_bands`). A
fault that breaks no limit but is not answered as expected is told too.

Of N drawn builds the worst is a bound for the share ``0.05 ** (1 / N)`` of all builds, with 95 %
confidence and whatever the distribution (S. S. Wilks, Ann. Math. Statist. 12 (1941), 91).
"""

import dataclasses
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import Any

import numpy as np

from diodewright.build import Build
from diodewright.derive import BUDGET_GUARD_K, Criterion, criteria, plant_values, settings
from diodewright.derive.guard_bands import GuardBand, guard_bands
from diodewright.derive.tolerances import Tolerance, placed, tolerances
from diodewright.judge.findings import margin_of
from diodewright.rehearse.causes import FALSE_TRIP_MENDS
from diodewright.rehearse.sweep import in_order
from diodewright.rehearse.trial import Trial, TrialJob, decisive_cases, run_trial
from diodewright.sim import Engine, power_up

__all__ = [
    "BUILDS",
    "BUILDS_BESIDE",
    "CONFIDENCE",
    "covered_share",
    "draws_of",
    "margins_of",
    "margins_reasons",
    "mount_limit",
]

#: Builds drawn where margins are all that is rehearsed, and beside the other parts.
BUILDS = 1000
BUILDS_BESIDE = 24
CONFIDENCE = 0.95
#: So many drawn builds lie beyond the quantile that is told; fewer would say little.
_BEYOND = 10
#: Criteria that no tolerance can move, and those that are asked of typical parts only.
_FIXED = ("own-shunt", "cold-hold")
_TOLD = ("light", "before-cutback")
#: The tolerances that are named beside a quantity.
_NAMED = 5


def covered_share(builds: int) -> float:
    """Return the share of all builds that do no worse than the worst of `builds` drawn ones."""
    return float((1.0 - CONFIDENCE) ** (1.0 / builds))


@dataclass(frozen=True)
class _Asked:
    """One quantity of one scope, and its limit."""

    criterion: Criterion
    scope: str

    @property
    def judged(self) -> bool:
        return self.criterion.id not in _TOLD

    def of(self, trial: Trial) -> float | None:
        """Return what a build showed; None where it showed nothing."""
        if self.scope == "use":
            return trial.values.get(self.criterion.column)
        found = trial.faults.get(self.criterion.id)
        return None if found is None else found[0].value

    def worse(self, a: float, b: float) -> bool:
        """Return whether `a` is nearer to the limit, or further beyond it, than `b`."""
        return a > b if self.criterion.sense == "at_most" else a < b

    def worst(self, values: Iterable[float]) -> float:
        return (max if self.criterion.sense == "at_most" else min)(values)


def mount_limit(build: Build) -> Criterion:
    """Return the limit that a sensorless heat budget leaves the mount, asked of healthy use too."""
    return Criterion(
        "mount",
        "peak_mount_degC",
        "at_most",
        build.limits.mount_trip_degC + BUDGET_GUARD_K,
        "degC",
        ("use",),
        "mount stays below its trip and the budget's guard",
        "an earlier cutback, or a thermistor of less tolerance",
    )


def _asked(build: Build) -> tuple[_Asked, ...]:
    rows = [row for row in criteria(build) if row.id not in _FIXED]
    return tuple(
        _Asked(row, scope)
        for scope in ("use", "fault")
        for row in (*rows, mount_limit(build))
        if scope in row.scopes
    )


def draws_of(rows: Sequence[Tolerance], seed: int, number: int) -> tuple[dict[str, float], int]:
    """Return the draws of the drawn build of that `number`, and the seed of its sensors' noise."""
    chance = np.random.Generator(np.random.PCG64([seed, number]))
    draws = {row.name: placed(row, float(chance.random())) for row in rows}
    return draws, 1 + int(chance.integers(2**31 - 2))


@dataclass(frozen=True)
class _Run:
    """One true build: what it is called, its draws, and what it showed."""

    said: str
    draws: dict[str, float]
    trial: Trial


class _Series:
    """Runs true builds of one build on a pool, in the order asked for."""

    def __init__(self, job: TrialJob, pool: Executor | None, say: Callable[[str], None]) -> None:
        self.job, self.pool, self.say = job, pool, say

    def run(self, asked: Sequence[tuple[str, dict[str, float], int]]) -> tuple[_Run, ...]:
        jobs = (dataclasses.replace(self.job, draws=draws, seed=seed) for _, draws, seed in asked)
        done: list[_Run] = []
        for (said, draws, _), trial in zip(
            asked, in_order(self.pool, run_trial, jobs), strict=True
        ):
            self.say(f"margins: {said}")
            done.append(_Run(said, draws, trial))
        return tuple(done)


def _alone(rows: Sequence[Tolerance], seed: int) -> list[tuple[str, dict[str, float], int]]:
    ends = {-1.0: "low", 1.0: "high"}
    return [(f"{row.name} {ends[z]}", {row.name: z}, seed) for row in rows for z in row.ends]


def _corner(of: _Asked, nominal: Trial, alone: Sequence[_Run]) -> dict[str, float]:
    """Return every tolerance at the end that alone made the quantity worse."""
    start = of.of(nominal)
    signs: dict[str, float] = {}
    best: dict[str, float] = {}
    for run in alone:
        ((name, z),) = run.draws.items()
        value = of.of(run.trial)
        if value is None or start is None or not of.worse(value, best.get(name, start)):
            continue
        signs[name], best[name] = z, value
    return signs


def _corners(
    asked: Sequence[_Asked], nominal: Trial, alone: Sequence[_Run], seed: int
) -> list[tuple[str, dict[str, float], int]]:
    """Return the corner of each judged quantity; those that are the same only once."""
    found: dict[tuple[tuple[str, float], ...], str] = {}
    for each in asked:
        if each.judged:
            corner = _corner(each, nominal, alone)
            if len(corner) > 1:
                name = f"corner of {each.criterion.id} ({each.scope})"
                found.setdefault(tuple(corner.items()), name)
    return [(said, dict(corner), seed) for corner, said in found.items()]


def _eaters(
    of: _Asked, nominal: float, alone: Sequence[_Run], rows: Sequence[Tolerance]
) -> list[dict[str, Any]]:
    """Return each tolerance's share of the swing, the largest first, and what it eats alone."""
    found = []
    for row in rows:
        ends = [of.of(run.trial) for run in alone if row.name in run.draws]
        values = [nominal, *(value for value in ends if value is not None)]
        worse = abs(of.worst(values) - nominal)
        found.append((max(values) - min(values), worse, row.name, of.worst(values)))
    total = sum(swing for swing, *_ in found)
    room = abs(of.criterion.limit - nominal)
    ranked = sorted(found, key=lambda each: (-each[0], each[2]))[:_NAMED]
    return [
        {
            "tolerance": name,
            "swing_share": swing / total,
            "eats_share": worse / room if room else 0.0,
            "worst": value,
        }
        for swing, worse, name, value in ranked
        if swing > 0
    ]


def _tail(of: _Asked, values: Sequence[float]) -> tuple[float | None, float | None]:
    """Return the value beyond which `_BEYOND` of the drawn builds lie, and the share within."""
    if len(values) < 2 * _BEYOND:
        return None, None
    ranked = sorted(values, reverse=of.criterion.sense == "at_most")
    return ranked[_BEYOND], 1.0 - _BEYOND / len(values)


def _quantity(
    of: _Asked,
    nominal: Trial,
    alone: Sequence[_Run],
    corners: Sequence[_Run],
    drawn: Sequence[_Run],
    rows: Sequence[Tolerance],
) -> dict[str, Any] | None:
    """Return the row of one quantity; None where the nominal build never showed it."""
    row, start = of.criterion, of.of(nominal)
    if start is None:
        return None

    def shown(runs: Sequence[_Run]) -> list[float]:
        return [value for run in runs if (value := of.of(run.trial)) is not None]

    of_drawn = shown(drawn)
    quantile, quantile_share = _tail(of, of_drawn)
    corner = of.worst([start, *shown(corners), *shown(alone)])
    worst = of.worst([corner, *of_drawn])
    holds = margin_of(row, worst) >= 0
    return {
        "id": row.id,
        "scope": of.scope,
        "meaning": row.meaning,
        "unit": row.unit,
        "sense": row.sense,
        "limit": row.limit,
        "judged": of.judged,
        "nominal": start,
        "corner": corner,
        "drawn_worst": of.worst(of_drawn) if of_drawn else None,
        "drawn_quantile": quantile,
        "quantile_share": quantile_share,
        "margin_nominal": margin_of(row, start),
        "margin_worst": margin_of(row, worst),
        "status": ("holds" if holds else "fails") if of.judged else "told",
        "mend": row.mend if of.judged and not holds else "",
        "by": _eaters(of, start, alone, rows),
    }


def _band_dict(band: GuardBand) -> dict[str, Any]:
    row = dataclasses.asdict(band)
    row["terms"] = [{"tolerance": term.name, "towards": term.towards} for term in band.terms]
    return row | {"fits": band.fits}


def _trips(runs: Sequence[_Run], kind: str) -> Iterator[dict[str, Any]]:
    """Yield each latch with nothing broken, and whether it is judged."""
    for run in runs:
        for use, cause in run.trial.causes.items():
            yield {
                "build": run.said,
                "kind": kind,
                "use": use,
                "cause": cause,
                "judged": kind != "corner",
            }


def _cases(runs: Sequence[_Run], kind: str, which: str) -> Iterator[dict[str, Any]]:
    """Yield each fault case of true builds that was lost, or not noticed."""
    for run in runs:
        for case, why in getattr(run.trial, which).items():
            yield {"build": run.said, "kind": kind, "case": case, "why": why}


def margins_of(
    build: Build,
    engine: Engine,
    seed: int,
    builds: int,
    say: Callable[[str], None] = lambda _: None,
    pool: Executor | None = None,
    rows: tuple[Tolerance, ...] | None = None,
) -> dict[str, Any]:
    """Return the margins of `build` as the document keeps them.

    Parameters
    ----------
    builds : how many true builds are drawn.
    pool : runs them (see `diodewright.rehearse.sweep`); the result does not depend on it.
    rows : what spreads; the build's own table where None.

    Raises
    ------
    NoHealthyStart
        The nominal build never lights.
    """
    rows = tolerances(build) if rows is None else rows
    words = settings(build)
    machine = power_up(engine, plant_values(build), words, seed=seed)
    job = TrialJob(build, machine, words, rows, {}, seed, ())
    job = dataclasses.replace(job, cases=decisive_cases(job))
    series, asked = _Series(job, pool, say), _asked(build)
    (first,) = series.run([("nominal build", {}, seed)])
    nominal = first.trial
    alone = series.run(_alone(rows, seed))
    corners = series.run(_corners(asked, nominal, alone, seed))
    numbers = range(1, builds + 1)
    drawn = series.run([(f"build {i} of {builds}", *draws_of(rows, seed, i)) for i in numbers])
    kinds = {"nominal": (first,), "alone": alone, "corner": corners, "drawn": drawn}
    found = (_quantity(each, nominal, alone, corners, drawn, rows) for each in asked)
    trips = [row for kind, runs in kinds.items() for row in _trips(runs, kind)]
    return {
        "builds": builds,
        "confidence": CONFIDENCE,
        "covered_share": covered_share(builds),
        "tripped_builds": sum(bool(run.trial.causes) for run in drawn),
        "quantities": [row for row in found if row is not None],
        "guard_bands": [_band_dict(band) for band in guard_bands(build, words)],
        "trips": trips,
        "lost": [row for kind, runs in kinds.items() for row in _cases(runs, kind, "lost")],
        "unnoticed": [
            row for kind, runs in kinds.items() for row in _cases(runs, kind, "unnoticed")
        ],
        "cases": [f"{fault.id}@{at}" for fault, at in job.cases],
        "tolerances": [_tolerance_dict(row) for row in rows],
    }


def _tolerance_dict(row: Tolerance) -> dict[str, Any]:
    values = dataclasses.asdict(row)
    values["moves"] = list(row.moves)
    return values


def margins_reasons(found: dict[str, Any]) -> list[str]:
    """Return what the margins make fail, damage first, each with its mend."""
    said = [
        f"margins, {row['scope']}: {row['meaning']}: worst {row['worst_said']}; mend: {row['mend']}"
        for row in _broken(found)
    ]
    said += [
        f"margins: {row['build']} does not survive {row['case']}: {row['why']}"
        for row in found["lost"][:1]
    ]
    judged = [row for row in found["trips"] if row["judged"]]
    if judged:
        first = judged[0]
        drawn = f"{found['tripped_builds']} of {found['builds']} drawn builds"
        mend = FALSE_TRIP_MENDS.get(first["cause"], "a wider guard band for that row")
        said.append(
            f"margins: {first['build']} latches {first['cause']} with nothing broken, "
            f"{drawn} do so; mend: {mend}"
        )
    for band in found["guard_bands"]:
        if not band["fits"]:
            short = band["needed"] - band["built_in"]
            said.append(
                f"margins: the guard band of {band['row']} ({band['word']}) is "
                f"{band['built_in']:.3g} {band['unit']}, its parts need {band['needed']:.3g}: "
                f"{short:.2g} {band['unit']} short; mend: {band['mend']}"
            )
    return said


def _broken(found: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Yield the quantities that fail, with their worst value in words."""
    for row in found["quantities"]:
        if row["status"] == "fails":
            values = [row["corner"], row["drawn_worst"]]
            known = [value for value in values if value is not None]
            worst = (max if row["sense"] == "at_most" else min)(known)
            yield row | {"worst_said": f"{worst:.4g} {row['unit']}, limit {row['limit']:.4g}"}
