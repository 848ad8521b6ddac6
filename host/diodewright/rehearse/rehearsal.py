"""The main job: size, use, faults, judged; one verdict."""

import contextlib
import dataclasses
import math
import os
import shlex
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from typing import Any

from diodewright.build import Build
from diodewright.derive import criteria, worst_light
from diodewright.judge import CaseFinding, Finding, judge
from diodewright.rehearse.causes import false_trip
from diodewright.rehearse.described import (
    SCENARIO_LEAVES_OUT,
    run_scenario,
    scenario_dict,
    scenario_traces,
)
from diodewright.rehearse.document import Rehearsal, thinned
from diodewright.rehearse.edges import edge_findings
from diodewright.rehearse.faulted import Faulted, break_everything
from diodewright.rehearse.handed import card_of, curves_of, derate_of, given_rows, versions
from diodewright.rehearse.hazards import cautions_of, hazard_of
from diodewright.rehearse.leaves_out import LEAVES_OUT
from diodewright.rehearse.margins import BUILDS, BUILDS_BESIDE, margins_of, margins_reasons
from diodewright.rehearse.matters import NOT_WEIGHED, unweighed, weigh
from diodewright.rehearse.moments import NoHealthyStart
from diodewright.rehearse.proving import NOT_PROVED, proof_of_law, proof_reasons
from diodewright.rehearse.scenario_file import Scenario
from diodewright.rehearse.use import USE_S, Use, run_use
from diodewright.sim import Engine, compiled, law_hash
from diodewright.sim.tally import NEVER
from diodewright.size import size

__all__ = ["PARTS", "rehearse", "use_findings"]

PARTS = ("use", "faults", "margins", "proof")


def _no_progress(_: str) -> None:
    """Say nothing."""


def _plain(row: Any) -> dict[str, Any]:
    return dataclasses.asdict(row)


def use_findings(build: Build, use: Use) -> tuple[Finding, ...]:
    """Judge the use; a fault latched with nothing broken is a false trip and fails like damage."""
    return (false_trip(use.cause), *judge(criteria(build), use.judged, "use"))


def _run_use(build: Build, engine: Engine, seed: int, scenario: Scenario | None) -> Use:
    if scenario:
        return run_scenario(build, scenario, engine, seed)
    return run_use(build, engine, seed)


def _traces(build: Build, use: Use, scenario: Scenario | None) -> dict[str, dict[str, Any]]:
    """Return the columns for the figures: the whole use, and its rise close up."""
    if scenario:
        return dict(scenario_traces(use, scenario))
    begin_s = float(use.trace.events[0][0])
    lit_s = begin_s + build.limits.delay_s
    return {
        "use": thinned(use.trace, begin_s - 1, begin_s + USE_S + 10, 500, begin_s),
        "rise": thinned(use.trace, lit_s - 0.05, lit_s + 0.8, 400, lit_s),
    }


def _use_dict(use: Use, scenario: Scenario | None) -> dict[str, Any]:
    lit_s = use.values["first_lit_s"]
    pack_cut_s = use.values["first_pack_cut_s"]
    kept = (
        "peak_current_A",
        "peak_junction_degC",
        "peak_mount_degC",
        "peak_sink_degC",
        "light_first_minute_W",
        "before_cutback_s",
        "least_pack_V",
        "peak_pack_A",
        "lit_s",
    )
    return {
        "use_s": scenario.end_s if scenario else USE_S,
        "modes": list(use.modes),
        "cause": use.cause,
        "before_pack_cutback_s": None if pack_cut_s == NEVER else pack_cut_s - lit_s,
        **{name: None if math.isnan(use.values[name]) else use.values[name] for name in kept},
    }


def _tightest(
    build_name: str,
    seed: int,
    findings: tuple[Finding, ...],
    edges: tuple[Finding, ...],
    cases: list[CaseFinding],
    scenario: Scenario | None,
) -> dict[str, Any]:
    """Return what comes closest to a limit, and the command that shows it."""
    again = f" --seed {seed}" if seed != 1 else ""
    of = f" --scenario {shlex.quote(scenario.file)}" if scenario else ""
    found: list[tuple[float, str, str, str]] = [
        (
            finding.margin,
            f"{part}: {finding.meaning}",
            f"{finding.value:.4g} of {finding.limit:g} {finding.unit}",
            f"diodewright rehearse {build_name} --only {only}{again}",
        )
        for part, only, rows in (("use", f"use{of}", findings), ("edge", "faults", edges))
        for finding in rows
        if finding.margin is not None
    ]
    found += [
        (
            case.tightest.margin,
            f"{case.id}@{case.at}: {case.tightest.meaning}",
            f"{case.tightest.value:.4g} of {case.tightest.limit:g} {case.tightest.unit}",
            f"diodewright case {build_name} {case.id}@{case.at}{again}",
        )
        for case in cases
        if case.tightest.margin is not None
    ]
    if not found:
        return {}
    margin, what, figure, command = min(found)
    return {"margin": margin, "what": what, "figure": figure, "command": command}


def _reasons(
    findings: tuple[Finding, ...],
    edges: tuple[Finding, ...],
    faulted: Faulted,
    hazard: Mapping[str, Any],
) -> tuple[list[str], list[str]]:
    """Return what fails and what could not be judged, in words, damage first."""
    fails = [*faulted.stopped, *faulted.fails()]
    judged = [*(("edge", row) for row in edges), *(("use", row) for row in findings)]
    fails += [
        f"{of}: {f.meaning}: {f.value:.4g} {f.unit}, limit {f.limit:.4g} {f.unit}; mend: {f.mend}"
        for of, f in judged
        if f.status == "fails"
    ]
    fails += list(hazard.get("breaches", []))
    missing = [f"{of}: {f.meaning}: not judged ({f.mend})" for of, f in judged if f.value is None]
    missing += [f"hazard: {what}" for what in hazard.get("not_judged", [])]
    return fails, missing


def _margins(
    build: Build,
    engine: Engine,
    seed: int,
    builds: int,
    say: Callable[[str], None],
    pool: Executor | None,
) -> tuple[dict[str, Any], list[str]]:
    """Return the margins, and what they make fail; nothing of a build that never lights."""
    with contextlib.ExitStack() as ended:
        taken = pool or ended.enter_context(ThreadPoolExecutor(os.cpu_count()))
        try:
            found = margins_of(build, engine, seed, builds, say, taken)
        except NoHealthyStart as error:
            return {}, [str(error)]
    return found, margins_reasons(found)


def rehearse(
    build: Build,
    seed: int = 1,
    only: str | None = None,
    say: Callable[[str], None] = _no_progress,
    engine: Engine | None = None,
    scenario: Scenario | None = None,
    pool: Executor | None = None,
    every: bool = False,
    without: Sequence[str] = (),
    builds: int | None = None,
) -> Rehearsal:
    """Rehearse `build` and return the one document.

    Parameters
    ----------
    only : None for all, or one of `PARTS`; a part left out makes the verdict INCOMPLETE at best.
    say : called with what is being done, for progress on stderr.
    engine : the compiled one where None.
    scenario : runs in place of the one use; only together with `only` "use".
    pool : where the fault cases run (see `diodewright.rehearse.sweep`); threads of this process
        where None. The result does not depend on it.
    every : run all phases, mendings and pairs of the fault cases (see `rehearse.matrix`).
    without : parts that the circuit lacks, of `GUARDS`; INCOMPLETE at best.
    builds : how many true builds the margins draw; where None a few, or `BUILDS` where margins
        are all that is rehearsed.

    Raises
    ------
    ValueError
        A scenario without `only` "use".
    EngineError
        The compiled engine can't be made here.
    DerivedError
        The build gives a settings word that the board would refuse.
    """
    if scenario and only != "use":
        raise ValueError("a scenario takes the place of the one use: only that is rehearsed")
    engine = engine or compiled()
    say("one use")
    use = _run_use(build, engine, seed, scenario) if only in (None, "use") else None
    findings = use_findings(build, use) if use else ()
    faulted = Faulted()
    edges: tuple[Finding, ...] = ()
    if only in (None, "faults"):
        say("edges")
        edges = edge_findings(build)
        with contextlib.ExitStack() as ended:
            taken = pool or ended.enter_context(ThreadPoolExecutor(os.cpu_count()))
            faulted = break_everything(build, engine, seed, every, without, say, taken)
    margins: dict[str, Any] = {}
    short: list[str] = []
    if only in (None, "margins") and not without:
        drawn = builds or (BUILDS if only else BUILDS_BESIDE)
        margins, short = _margins(build, engine, seed, drawn, say, pool)
    weighed = unweighed(build, NOT_WEIGHED)
    if use and faulted.cases and not without:
        weighed = weigh(build, engine, seed, use, faulted.cases, say)
    hazard = hazard_of(build, worst_light(build), [] if without else faulted.cases)
    fails, missing = _reasons(findings, edges, faulted, hazard)
    proof = proof_of_law(say) if only in (None, "proof") else NOT_PROVED
    refuted, unproved = proof_reasons(proof)
    fails = [*dict.fromkeys(fails + short), *refuted]
    missing += unproved
    if only is not None:
        by = f", by the scenario {scenario.name}" if scenario else ""
        missing.append(f"only {only} was rehearsed{by}")
    if without:
        missing.append(f"rehearsed without {', '.join(without)}: not the reference circuit")
    if engine.law_hash != law_hash():
        missing.append("the law on disk changed while this ran: nothing above counts")
    verdict = "FAILS" if fails else "INCOMPLETE" if missing else "HOLDS"
    return Rehearsal(
        verdict=verdict,
        reasons=fails + missing,
        build={
            "name": build.name,
            "purpose": build.purpose,
            "fingerprint": build.fingerprint,
        },
        seed=seed,
        law_hash=engine.law_hash,
        engine=engine.name,
        size=[_plain(figure) for figure in size(build)],
        hazard=hazard,
        proof=proof,
        use=_use_dict(use, scenario) if use else {},
        findings=[_plain(finding) for finding in findings],
        tightest=_tightest(build.name, seed, findings, edges, faulted.every, scenario),
        assumed=[
            _plain(row) | found.as_dict() for row, found in zip(build.assumed, weighed, strict=True)
        ],
        cautions=cautions_of(build),
        leaves_out=[*LEAVES_OUT, *(SCENARIO_LEAVES_OUT if scenario and scenario.faults else ())],
        scenario=scenario_dict(scenario, use) if scenario and use else {},
        traces=_traces(build, use, scenario) if use else {},
        edges=[_plain(finding) for finding in edges],
        margins=margins,
        given=given_rows(build),
        derate=derate_of(build),
        card=card_of(build),
        curves=curves_of(build),
        versions=versions(),
        **{"faults": [], **faulted.as_dict()},
    )
