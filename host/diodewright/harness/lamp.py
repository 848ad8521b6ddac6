"""A lamp for tests: a build loaded once, its uses and fault cases run and judged on demand."""

import dataclasses
import os
import shlex
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from diodewright.build import Build, BuildErrors, load
from diodewright.build.names import nearest
from diodewright.build.source import is_path
from diodewright.derive import settings, worst_light
from diodewright.faults import MOMENTS
from diodewright.judge import CaseFinding, Finding
from diodewright.rehearse import (
    CaseRun,
    NoHealthyStart,
    Scenario,
    Stand,
    UnknownCase,
    Use,
    parse_case,
    read_scenario,
    run_case,
    run_use,
    snapshots,
)
from diodewright.rehearse.described import run_scenario
from diodewright.rehearse.hazards import hazard_of
from diodewright.rehearse.matrix import case_ids
from diodewright.rehearse.rehearsal import use_findings
from diodewright.rehearse.scenario_file import scenario_of
from diodewright.report.facts import case_command, rehearse_command
from diodewright.report.story import Line, case_story, run_story
from diodewright.report.timeline import strike_s, told
from diodewright.sim import Engine, Trace, compiled

__all__ = ["Lamp", "LampRun", "Lamps", "NotHeld", "NotReached", "cases_of"]

Steps = Sequence[Mapping[str, object]]


class NotHeld(AssertionError):
    """A run that does not hold was asked to; says what gave way."""


@dataclass(frozen=True)
class LampRun:
    """One run, judged.

    Attributes
    ----------
    name : "use", a case (``FAULT@MOMENT``) or a scenario's name.
    findings : every criterion of its kind, judged.
    trace : 1 kHz around events, 50 Hz elsewhere; columns have their units in their names.
    case : the verdict on a fault case; None for a use or a scenario.
    cause : the first row that the law latched, or None.
    peak_current_A : true, edges included [A].
    fails, missing : what does not hold and what could not be judged, in words.
    story : the chain of causes, line by line.
    zero : when the story's clock begins [s of the Trace], and what happened then.
    again : the command that shows it again; "" where there is none.
    """

    name: str
    findings: tuple[Finding, ...]
    trace: Trace
    case: CaseFinding | None
    cause: str | None
    peak_current_A: float
    fails: tuple[str, ...]
    missing: tuple[str, ...]
    story: tuple[Line, ...]
    zero: tuple[float, str]
    again: str

    @property
    def holds(self) -> bool:
        """Whether all was judged and holds: absent is not passed."""
        return not self.fails and not self.missing

    def must_hold(self) -> None:
        """Raise NotHeld where the run does not hold."""
        __tracebackhide__ = True
        if not self.holds:
            raise NotHeld(f"{self.name}: {'; '.join(self.fails or self.missing)}")

    def finding(self, name: str) -> Finding:
        """Return the finding on one criterion; KeyError with the nearest name."""
        __tracebackhide__ = True
        found = {finding.id: finding for finding in self.findings}
        if name not in found:
            raise KeyError(_near("finding", name, list(found)))
        return found[name]

    def __getitem__(self, column: str) -> NDArray[np.float64]:
        """Return one column of the Trace; KeyError with the nearest name."""
        __tracebackhide__ = True
        if column not in self.trace.columns:
            raise KeyError(_near("column", column, list(self.trace.columns)))
        return self.trace[column]


def _near(what: str, name: str, known: list[str]) -> str:
    near = nearest(name, known)
    return f"no {what} {name}; " + (f"did you mean {near}?" if near else ", ".join(known))


class NotReached(UnknownCase):
    """The light of this build never reaches that moment: its cases are not judged."""


def cases_of(build: Build) -> tuple[str, ...]:
    """Return the id of every fault case and pair that `build` can have, as `rehearse` runs them.

    Which moments its light never reaches shows only as it runs: see `NotReached`.
    """
    return case_ids(build, MOMENTS)


@dataclass(frozen=True)
class Lamp:
    """One build, ready to be run; get one from the fixture ``lamp``.

    Attributes
    ----------
    build, seed, engine : what runs.
    root : what a scenario's relative path starts from.
    taken, note : give the snapshots; are told of every run.
    """

    build: Build
    root: Path
    seed: int
    engine: Engine
    taken: Callable[[], dict[str, Stand]]
    note: Callable[[LampRun], None] = lambda run: None

    @property
    def cases(self) -> tuple[str, ...]:
        """Every fault case that this build can have."""
        return cases_of(self.build)

    def use(self) -> LampRun:
        """Run the healthy use."""
        use = run_use(self.build, self.engine, self.seed)
        again = rehearse_command(self.build.file, self.seed, "--only use")
        return self._noted(self._of_use("use", use, "the press", again))

    def run(self, scenario: str | Path | Steps, **top: object) -> LampRun:
        """Run a use of your own, with faults in it where it has some.

        Parameters
        ----------
        scenario : a scenario file, a shipped one's name, or its steps as plain tables.
        top : with steps, the keys above them, such as ``ambient_degC`` and ``start_charge_pct``.

        Raises
        ------
        BuildErrors
            Everything that is wrong with it or that this build can't do.
        TypeError
            `top` beside a file, which says all that itself.
        """
        __tracebackhide__ = True
        try:
            read, again = self._read(scenario, top)
        except BuildErrors as error:
            raise BuildErrors(error.problems) from None  # its way here says nothing to a builder
        use = run_scenario(self.build, read, self.engine, self.seed)
        return self._noted(self._of_use(read.name, use, "the first step", again))

    def _read(
        self, scenario: str | Path | Steps, top: Mapping[str, object]
    ) -> tuple[Scenario, str]:
        """Return the scenario, and the command that runs it again; "" where there is none."""
        if not isinstance(scenario, str | Path):
            return _of_steps(self.build, scenario, top), ""
        if top:
            raise TypeError(f"{', '.join(top)}: only beside steps; a file says it itself")
        read = read_scenario(_place(self.root, os.fspath(scenario)), self.build)
        more = f"--only use --scenario {shlex.quote(read.file)}"
        return read, rehearse_command(self.build.file, self.seed, more)

    def _of_use(self, name: str, use: Use, zero: str, again: str) -> LampRun:
        findings = use_findings(self.build, use)
        zero_s = use.trace.events[0][0]
        moments = told(use.trace, zero_s)
        return LampRun(
            name=name,
            findings=findings,
            trace=use.trace,
            case=None,
            cause=use.latched,
            peak_current_A=use.values["peak_current_A"],
            fails=tuple(f"{f.meaning}; mend: {f.mend}" for f in findings if f.status == "fails"),
            missing=tuple(
                f"{f.meaning}: not judged ({f.mend})" for f in findings if f.status == "not judged"
            ),
            story=run_story(self.build, findings, use.trace, moments, use.latched),
            zero=(zero_s, zero),
            again=again,
        )

    def case(self, case_id: str) -> LampRun:
        """Run one fault case, ``FAULT@MOMENT``.

        Raises
        ------
        UnknownCase
            No such fault or moment, or this build can't have it.
        NoHealthyStart
            The healthy build never lights.
        """
        __tracebackhide__ = True
        try:
            run = self.struck(case_id, traced=True)
        except (UnknownCase, NoHealthyStart) as error:
            raise type(error)(str(error)) from None
        assert run.trace is not None
        fault, _ = parse_case(case_id)
        finding = run.finding
        brighter = [("breach", line) for line in self._brighter(finding)]
        return self._noted(
            LampRun(
                name=case_id,
                findings=run.findings,
                trace=run.trace,
                case=finding,
                cause=finding.cause,
                peak_current_A=finding.peak_current_A,
                fails=self.breaks(finding),
                missing=(),
                story=(*case_story(self.build, fault, run), *brighter),
                zero=(strike_s(run.trace, fault.id), "the fault"),
                again=case_command(self.build.file, case_id, self.seed),
            )
        )

    def struck(self, case_id: str, traced: bool = False) -> CaseRun:
        """Run one fault case and return it as `diodewright.rehearse` has it."""
        fault, at = parse_case(case_id)
        taken = self.taken()
        if at.moment not in taken:
            raise NotReached(f"{case_id}: the light of {self.build.name} never reaches {at.moment}")
        return run_case(self.build, taken[at.moment], fault, at, self.seed, traced)

    def breaks(self, finding: CaseFinding) -> tuple[str, ...]:
        """Return in words what of a case makes a rehearsal fail; nothing where it survives."""
        return (*(() if finding.survives else (finding.why,)), *self._brighter(finding))

    def _brighter(self, finding: CaseFinding) -> tuple[str, ...]:
        """Return what a light brighter than the hazard was told for breaks."""
        worst = worst_light(self.build)
        known = hazard_of(self.build, worst, [])["breaches"]
        seen = hazard_of(self.build, worst, [finding])["breaches"]
        return tuple(line for line in seen if line not in known)

    def _noted(self, run: LampRun) -> LampRun:
        self.note(run)
        return run


def _place(root: Path, said: str) -> str:
    """Return a path below `root` as seen from here, so that it can be copied; a name as it is."""
    if not is_path(said):
        return said
    place = os.path.relpath(root / said)
    return place if is_path(place) else f"./{place}"


def _of_steps(build: Build, steps: Steps, top: Mapping[str, object]) -> Scenario:
    document: dict[str, Any] = {"name": "steps", **top, "step": [dict(step) for step in steps]}
    return scenario_of(document, build, str(document["name"]))


@dataclass
class Lamps:
    """The builds of one test process: snapshots are taken once for each that differs.

    Attributes
    ----------
    root : what a relative path starts from.
    seed : of the sensors' noise.
    """

    root: Path
    seed: int
    _taken: dict[tuple[str, str], dict[str, Stand] | NoHealthyStart] = field(default_factory=dict)

    def build(self, name: str | Path) -> Build:
        """Return the build of a file as it stands now, or the shipped one of that name.

        Raises
        ------
        BuildErrors
            Everything that is wrong with it.
        DerivedError
            It gives a settings word that the board would refuse.
        """
        build = load(_place(self.root, os.fspath(name)))
        settings(build)
        return build

    def lamp(self, build: Build, note: Callable[[LampRun], None] | None = None) -> Lamp:
        """Return the lamp of a build; `note` is told of every run.

        Raises
        ------
        EngineError
            The compiled engine can't be made here: nothing can be judged.
        """
        engine = compiled()

        def taken() -> dict[str, Stand]:
            return self._snapshots(build, engine)

        lamp = Lamp(build, self.root, self.seed, engine, taken)
        return dataclasses.replace(lamp, note=note) if note else lamp

    def _snapshots(self, build: Build, engine: Engine) -> dict[str, Stand]:
        key = (build.fingerprint, engine.law_hash)
        if key not in self._taken:
            try:
                self._taken[key] = snapshots(build, engine, self.seed)
            except NoHealthyStart as error:
                self._taken[key] = error
        found = self._taken[key]
        if isinstance(found, NoHealthyStart):
            raise found
        return found
