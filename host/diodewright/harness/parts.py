"""The parts of a rehearsal, one judgement each: all of them hold where `rehearse` says HOLDS."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from diodewright.derive import worst_light
from diodewright.harness.kept import forget, headed, provenance, told_run
from diodewright.harness.lamp import Lamp
from diodewright.rehearse import NoHealthyStart
from diodewright.rehearse.edges import edge_findings
from diodewright.rehearse.hazards import hazard_of
from diodewright.rehearse.margins import BUILDS_BESIDE, margins_of, margins_reasons
from diodewright.rehearse.proving import proof_of_law, proof_reasons
from diodewright.report.facts import rehearse_command
from diodewright.report.story import Line, figures, laid_out

__all__ = ["PARTS", "Judged", "judged_case"]


@dataclass(frozen=True)
class Judged:
    """What became of one part or case.

    Attributes
    ----------
    fails : the failure text; "" where nothing fails.
    missing : what was not judged, as text; "" where all was.
    margin : the least part of a limit that is left, or None.
    time_to_dark_ms : of a fault case, or None.
    """

    fails: str = ""
    missing: str = ""
    margin: float | None = None
    time_to_dark_ms: float | None = None


def judged_case(lamp: Lamp, case_id: str, folder: Path) -> Judged:
    """Run one fault case; a second time, with a Trace, where it does not survive."""
    try:
        finding = lamp.struck(case_id).finding
    except NoHealthyStart as error:
        return Judged(fails=_told(lamp, "FAILS", case_id, [("why", str(error))], "--only use"))
    fails = ""
    if lamp.breaks(finding):
        fails = told_run(lamp, lamp.case(case_id), folder)
    else:
        forget(folder, case_id)
    return Judged(fails, "", finding.tightest.margin, finding.time_to_dark_ms)


def _use(lamp: Lamp, folder: Path) -> Judged:
    run = lamp.use()
    margins = [finding.margin for finding in run.findings if finding.margin is not None]
    text = ""
    if run.holds:
        forget(folder, run.name)
    else:
        text = told_run(lamp, run, folder)
    return Judged(text if run.fails else "", "" if run.fails else text, min(margins, default=None))


def _told(lamp: Lamp, verdict: str, what: str, lines: list[Line], more: str) -> str:
    again = rehearse_command(lamp.build.file, lamp.seed, more)
    ends = [("again", again), ("ran with", provenance(lamp))]
    return f"{headed(verdict, lamp, what, lines[0][1])}\n{laid_out([*lines, *ends])}"


def _reasons(
    lamp: Lamp, what: str, fails: list[Line], missing: list[Line], more: str, margin: float | None
) -> Judged:
    return Judged(
        _told(lamp, "FAILS", what, fails, more) if fails else "",
        _told(lamp, "INCOMPLETE", what, missing, more) if missing else "",
        margin,
    )


def _edges(lamp: Lamp, folder: Path) -> Judged:
    findings = edge_findings(lamp.build)
    margins = [finding.margin for finding in findings if finding.margin is not None]
    fails = figures([finding for finding in findings if finding.status == "fails"])
    missing = figures([finding for finding in findings if finding.status == "not judged"])
    return _reasons(lamp, "edges", fails, missing, "--only faults", min(margins, default=None))


def _margins(lamp: Lamp, folder: Path) -> Judged:
    """Judge what tolerances leave, with as few drawn builds as a whole rehearsal draws."""
    try:
        found = margins_of(lamp.build, lamp.engine, lamp.seed, BUILDS_BESIDE, lambda text: None)
    except NoHealthyStart as error:
        return Judged(fails=_told(lamp, "FAILS", "margins", [("why", str(error))], "--only use"))
    fails = [("why", line) for line in margins_reasons(found)]
    judged = [row["margin_worst"] for row in found["quantities"] if row["status"] != "told"]
    margin = min((value for value in judged if value is not None), default=None)
    return _reasons(lamp, "margins", fails, [], "--only margins", margin)


def _hazard(lamp: Lamp, folder: Path) -> Judged:
    """Judge the hazard by the closed-form bound; each case holds its own light against that."""
    hazard = hazard_of(lamp.build, worst_light(lamp.build), [])
    fails = [("breach", line) for line in hazard["breaches"]]
    missing = [("unjudged", line) for line in hazard.get("not_judged", [])]
    return _reasons(lamp, "hazard", fails, missing, "", None)


def _proof(lamp: Lamp, folder: Path) -> Judged:
    refuted, unproved = proof_reasons(proof_of_law(lambda text: None))
    fails, missing = ([("why", line) for line in lines] for lines in (refuted, unproved))
    return _reasons(lamp, "proof", fails, missing, "--only proof", None)


#: Every part beside the fault cases, in the order of a rehearsal.
PARTS: Mapping[str, Callable[[Lamp, Path], Judged]] = {
    "use": _use,
    "edges": _edges,
    "margins": _margins,
    "hazard": _hazard,
    "proof": _proof,
}
