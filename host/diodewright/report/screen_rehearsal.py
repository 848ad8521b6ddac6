"""The first screen of a rehearsal: it reads like a verdict, not like a log."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from rich.console import Console

from diodewright.rehearse import VERDICTS, Rehearsal
from diodewright.rehearse.leaves_out import subject
from diodewright.report.facts import (
    MEANS,
    assumed_counted,
    case_command,
    closest_finding,
    code,
    fault_facts,
    proof_line,
    rehearse_command,
)
from diodewright.report.screen_margins import margin_lines
from diodewright.report.shape import Document, Finding, Use, document_of
from diodewright.report.terminal import block, command, screen
from diodewright.report.wording import (
    against,
    dark_after,
    label,
    left,
    number,
    prose,
    quantity,
    unit_text,
)

__all__ = ["STYLES", "show_rehearsal"]

#: The size figures on the first screen; the rest stand in the report.
_TELLING = (
    "set_current_A",
    "peak_current_A",
    "electrical_W",
    "heat_W",
    "light_W",
    "light_lm",
    "junction_degC",
    "junction_steady_degC",
    "battery_min",
    "before_cutback_s",
)
#: Lost cases on the first screen.
_MOST_LOST = 12
STYLES = {"HOLDS": "bold green", "FAILS": "bold red", "INCOMPLETE": "bold yellow"}


def show_rehearsal(done: Rehearsal, build_argument: str, written: Path | None) -> None:
    """Print `done` on one screen.

    Parameters
    ----------
    build_argument : the build as the user named it, for the commands.
    written : the report page, or None where none was written.
    """
    out = screen()
    document = document_of(done)
    head = f"{document.verdict}  {document.build.name}: {document.build.purpose}"
    out.print(head, style=STYLES[document.verdict])
    _caution(out, document)
    block(out, "size", [_size(document)])
    block(out, "use", _use(document))
    block(out, "proof", [proof_line(document)])
    _faults(out, document, build_argument)
    if document.edges:
        block(out, "edges", _found(document.edges, "transients hold"))
    if document.margins:
        block(out, "margins", margin_lines(document.margins))
    counted = assumed_counted(document)
    block(out, "assumed", [f"assumed, not yours: {counted} (listed in the report)"])
    matter = [f"{row.key} ({row.why.criterion})" for row in document.assumed if row.matters]
    block(out, "", [f"what matters: {', '.join(matter)}"] if matter else [])
    if document.leaves_out:
        short = "; ".join(subject(line) for line in document.leaves_out)
        block(out, "limits", [f"{short} (the report says more)"])
    _verdict(out, document)
    _next(out, document, build_argument, written)


def _caution(out: Console, document: Document) -> None:
    hazard = document.hazard
    block(out, "caution", [prose(hazard.title)], "bold")
    block(out, "", [f"breach: {prose(line)}" for line in hazard.breaches], "bold")
    block(out, "", [prose(line) for line in hazard.lines + document.cautions])


def _size(document: Document) -> str:
    shown = {row.id: row for row in document.size}
    return ", ".join(
        f"{label(name)} {quantity(shown[name].value, shown[name].unit)}"
        for name in _TELLING
        if name in shown
    )


def _use(document: Document) -> Iterator[str]:
    use = document.use
    if use is None:
        yield "not rehearsed"
        return
    asked = f"{number(use.use_s)} s asked of a rested lamp"
    if document.scenario:
        asked = f"{document.scenario.name}: {number(use.use_s)} s"
        yield ", ".join(f"{step.at_s:g} s {step.said}" for step in document.scenario.steps)
    minute = "light of a whole first minute not asked for"
    if use.light_first_minute_W is not None:
        minute = f"{quantity(use.light_first_minute_W, 'W')} of light after the first minute"
    yield f"{asked}: lit {number(use.lit_s)} s, {minute}"
    yield "; ".join(_cuts(document, use))
    yield (
        f"highest {quantity(use.peak_current_A, 'A')}, "
        f"junction {quantity(use.peak_junction_degC, 'degC')}, "
        f"mount {quantity(use.peak_mount_degC, 'degC')}, "
        f"sink {quantity(use.peak_sink_degC, 'degC')}; "
        f"pack {quantity(use.peak_pack_A, 'A')}, lowest {quantity(use.least_pack_V, 'V')}"
    )
    yield from _found(document.findings, "criteria hold")


def _found(findings: Sequence[Finding], hold: str) -> Iterator[str]:
    """Yield how many of these hold, the tightest of them, and each that does not."""
    held = sum(finding.status == "holds" for finding in findings)
    yield f"{held} of {len(findings)} {hold}"
    closest = closest_finding(findings)
    if closest:
        figure = against(closest.value, closest.limit, closest.unit, closest.sense)
        yield f"tightest that holds: {prose(closest.meaning)}: {figure} ({left(closest.margin)})"
    for finding in findings:
        if finding.status != "holds":
            figure = against(finding.value, finding.limit, finding.unit, finding.sense)
            yield f"{finding.status.upper()}: {prose(finding.meaning)}: {figure}"


def _cuts(document: Document, use: Use) -> Iterator[str]:
    if use.lit_s == 0:
        yield "NEVER LIT"
    elif use.before_cutback_s is None:
        yield "time to heat's cutback not seen"
    elif use.before_cutback_s < use.lit_s - 1:
        yield f"{number(use.before_cutback_s)} s of light before heat cuts back"
    else:
        yield "heat never cuts back"
    if use.before_pack_cutback_s is not None:
        yield f"the pack cuts back after {number(use.before_pack_cutback_s)} s"
    if use.cause:
        yield f"LATCHED with nothing broken: {use.cause}"
    elif document.scenario and document.scenario.latched:
        yield f"first latched: {document.scenario.latched}"


def _faults(out: Console, document: Document, build_argument: str) -> None:
    if not document.faults:
        block(out, "faults", ["not rehearsed"])
        return
    counted = fault_facts(document)
    acted = ", ".join(f"{name} {count}" for name, count in counted.acted.items())
    survive = f"{counted.survive} of {len(document.faults)} cases survive"
    sizes = f"{counted.faults} faults at {counted.moments} moments"
    lost = [
        f"{code(case)}  {case.id}@{case.at}: {prose(case.why)} ({dark_after(case.time_to_dark_ms)})"
        for case in counted.lost[:_MOST_LOST]
    ]
    if len(counted.lost) > _MOST_LOST:
        lost.append(f"and {len(counted.lost) - _MOST_LOST} more, in the report")
    block(out, "faults", [f"{sizes}: {survive}; who acted: {acted}", *_around(document), *lost])
    tightest = counted.tightest
    if tightest:
        figure = f"{prose(tightest.why)} {unit_text(tightest.tightest.unit)}".rstrip()
        share = left(tightest.tightest.margin)
        block(out, "", [f"tightest that survives: {tightest.id}@{tightest.at}: {figure} ({share})"])
    shown = counted.lost[0] if counted.lost else tightest
    if shown:
        command(out, case_command(build_argument, f"{shown.id}@{shown.at}", document.seed))


def _around(document: Document) -> Iterator[str]:
    """Yield what else was broken, and what could not be."""
    counted = fault_facts(document)
    if document.pairs:
        yield (
            f"{counted.pairs_survive} of {len(document.pairs)} pairs survive: a guard that died "
            "unseen, then a fault"
        )
    if document.bereft:
        harmed = [case for case in document.bereft if not case.survives]
        parts = ", ".join(sorted({case.without for case in harmed}))
        yield (
            f"hardware alone ended {len(document.bereft)} faults in steady light; without "
            f"{parts or 'it'} {len(harmed)} of them fail"
        )
    if document.unsaved:
        yield f"no part of the circuit saves it from: {', '.join(r.id for r in document.unsaved)}"
    if counted.absent:
        yield f"this light never reaches: {', '.join(counted.absent)}"


def _verdict(out: Console, document: Document) -> None:
    verdict = document.verdict
    first = MEANS[verdict]
    if document.reasons:
        first = prose(document.reasons[0])
    block(out, "verdict", [f"{verdict} (exit {VERDICTS[verdict]}): {first}"], STYLES[verdict])
    rest = document.reasons[1:]
    if verdict == "INCOMPLETE":
        block(out, "", [prose(reason) for reason in rest])
    elif rest:
        block(out, "", [f"and {len(rest)} more above and in the report"])


def _next(out: Console, document: Document, build: str, written: Path | None) -> None:
    seed = document.seed
    if written is not None:
        block(out, "report", [str(written)])
    else:
        block(out, "report", ["none written; for page and document:"])
        command(out, rehearse_command(build, seed, f"--out {document.build.name}_rehearsal"))
    if document.verdict == "HOLDS":
        block(out, "next", ["put your own values in place of the assumed ones; then again:"])
    elif document.verdict == "FAILS":
        block(out, "next", ["mend the build file, then rehearse again:"])
    else:
        block(out, "next", ["rehearse the whole:"])
    command(out, rehearse_command(build, seed))
