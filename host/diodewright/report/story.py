"""A run told as a chain of causes: what failed, what the law saw, what it did, when, what gave way.

Plain lines without colour or width of a terminal, for a test's failure and other logs.
"""

import textwrap
from collections.abc import Iterable, Iterator, Sequence

from diodewright.build import Build
from diodewright.derive import settings
from diodewright.faults import Fault
from diodewright.judge import Finding
from diodewright.rehearse import CaseRun
from diodewright.report.facts import EXPECTED
from diodewright.report.timeline import Moment, law_saw, seen_by_law, timeline
from diodewright.report.wording import against, dark_after, left, number, prose
from diodewright.sim import Trace

__all__ = ["Line", "case_story", "figures", "laid_out", "run_story"]

#: Label and what it says.
Line = tuple[str, str]

_LABEL_WIDTH = 10
_WIDTH = 100
_MOST_MOMENTS = 14


def laid_out(lines: Iterable[Line]) -> str:
    """Return lines under their labels, broken at 100 columns; a repeated label is not repeated."""
    shown: list[str] = []
    last = ""
    for label, text in lines:
        head = f"{'' if label == last else label:<{_LABEL_WIDTH}}"
        # a path or a command stays whole, so that it can be copied
        shown += textwrap.wrap(
            prose(text),
            _WIDTH,
            initial_indent=head,
            subsequent_indent=" " * (_LABEL_WIDTH + 2),
            break_on_hyphens=False,
            break_long_words=False,
        )
        last = label
    return "\n".join(shown)


def case_story(build: Build, fault: Fault, run: CaseRun) -> tuple[Line, ...]:
    """Return the chain of causes of one traced case, from the part that failed on."""
    finding = run.finding
    allowed = "" if fault.allowed_ms is None else f" within {number(fault.allowed_ms, 5)} ms"
    return (
        ("broken", f"{fault.part}: {fault.happens}"),
        ("expected", f"{EXPECTED[fault.expect]}{allowed}; by: {fault.acts}"),
        *(("law saw", line) for line in seen_by_law(run, settings(build))),
        ("acted", f"{finding.reaction}; {dark_after(finding.time_to_dark_ms)}"),
        *_when(timeline(run), "ms after the fault"),
        *_missed(run),
        *_exceeded(run.findings),
    )


def run_story(
    build: Build,
    findings: Sequence[Finding],
    trace: Trace,
    moments: Sequence[Moment],
    cause: str | None,
) -> tuple[Line, ...]:
    """Return the chain of causes of a use or a scenario; `cause` is what the law latched first."""
    return (
        *(("law saw", line) for line in law_saw(trace, cause, settings(build))),
        *_when(moments, "ms from the begin"),
        *_exceeded(findings),
    )


def _missed(run: CaseRun) -> list[Line]:
    """Return what was expected and did not happen, where no criterion says it already."""
    broken = any(finding.status != "holds" for finding in run.findings)
    return [] if run.finding.survives or broken else [("missed", run.finding.why)]


def _when(moments: Sequence[Moment], counted: str) -> Iterator[Line]:
    for place, moment in enumerate(moments[:_MOST_MOMENTS]):
        said = f"{moment.at_ms:9.2f} {counted if place == 0 else 'ms'}: {moment.text}"
        yield "when", said.strip()
    if len(moments) > _MOST_MOMENTS:
        yield "when", f"and {len(moments) - _MOST_MOMENTS} more in the Trace"


def _exceeded(findings: Sequence[Finding]) -> list[Line]:
    """Return what does not hold; the tightest where all holds."""
    broken = figures([finding for finding in findings if finding.status != "holds"])
    held = [finding for finding in findings if finding.margin is not None]
    if broken or not held:
        return broken
    return [("tightest", _figure(min(held, key=lambda finding: finding.margin or 0.0)))]


def figures(broken: Sequence[Finding]) -> list[Line]:
    """Return each finding that does not hold, with its figure, limit and mend."""
    lines: list[Line] = []
    for finding in broken:
        label = "exceeded" if finding.status == "fails" else "unjudged"
        lines += [(label, _figure(finding)), ("mend", finding.mend)]
    return lines


def _figure(finding: Finding) -> str:
    figure = against(finding.value, finding.limit, finding.unit, finding.sense)
    share = f" ({left(finding.margin)})" if finding.margin is not None else ""
    return f"{finding.meaning}: {figure}{share}"
