"""One fault case: whether the build survived, who acted, how fast and how close it was."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from diodewright.faults import Fault
from diodewright.judge.findings import Finding

__all__ = ["CaseFinding", "judge_case"]


@dataclass(frozen=True)
class CaseFinding:
    """The verdict on one fault at one moment.

    Attributes
    ----------
    reaction : who acted, in words; starts with "law", "hardware", "controls" or "none".
    cause : the law's first cause, or None.
    time_to_dark_ms : from the fault to the last lit moment; None where it ended lit.
    survives : every fault criterion holds and what was expected happened in time.
    why : what failed, or what is tightest, in words.
    tightest : the finding of least margin.
    """

    id: str
    at: str
    level: str
    reaction: str
    cause: str | None
    time_to_dark_ms: float | None
    peak_current_A: float
    peak_junction_degC: float
    peak_light_W: float
    survives: bool
    why: str
    tightest: Finding


def _reaction(values: Mapping[str, float], cause: str | None, law_lit: bool, dark: bool) -> str:
    """Say who made it dark. A latch seen by the law was set by the comparator before."""
    if not dark:
        return "law dims" if values["drive_A"] < 0.98 * values["drive_before_A"] else "none needed"
    if law_lit:
        return "hardware: the dynamic enable dropped"
    if cause == "latch":
        return "hardware: comparator latch"
    if cause is not None:
        return f"law: {cause}"
    return "controls"


def _expectation(
    fault: Fault, values: Mapping[str, float], dark: bool, time_to_dark_ms: float | None
) -> str:
    """Return what was expected and did not happen, in words; "" where it did."""
    if fault.expect == "dark":
        if not dark or time_to_dark_ms is None:
            return "expected dark, still lit"
        if fault.allowed_ms is not None and time_to_dark_ms > fault.allowed_ms:
            return f"dark after {time_to_dark_ms:.1f} ms, allowed {fault.allowed_ms:g} ms"
    if fault.expect == "guarded" and values["mount_over_K"] > 0:
        return (
            f"the mount rose {values['mount_over_K']:.1f} K above its trip and the budget's guard"
        )
    return ""


def judge_case(
    fault: Fault,
    at: str,
    findings: Sequence[Finding],
    values: Mapping[str, float],
    cause: str | None,
    law_lit: bool,
) -> CaseFinding:
    """Judge one case from what was found of its Tally.

    Parameters
    ----------
    findings : of every fault criterion.
    values : Tally quantities since the fault, with "lit_at_end" (0 or 1, before the closing
        release), "drive_A" there, "drive_before_A" at the fault, and "mount_over_K": how far the
        mount rose above its trip and the heat budget's guard.
    cause : the law's first cause at that moment, or None.
    law_lit : whether the law itself believed in light at that moment.
    """
    dark = values["lit_at_end"] < 0.5
    time_to_dark_ms = 1000 * max(values["last_lit_s"], 0.0) if dark else None
    broken = [finding for finding in findings if finding.status != "holds"]
    tightest = min(findings, key=lambda f: -1e9 if f.margin is None else f.margin)
    missed = _expectation(fault, values, dark, time_to_dark_ms)
    if broken:
        worst = broken[0]
        value = "nothing" if worst.value is None else f"{worst.value:.4g} {worst.unit}"
        why = f"{worst.meaning}: got {value}, limit {worst.limit:g} {worst.unit}"
        why += f"; mend: {worst.mend}"
    else:
        why = missed or f"{tightest.meaning}: {tightest.value:.4g} of {tightest.limit:g}"
    return CaseFinding(
        id=fault.id,
        at=at,
        level="engine",
        reaction=_reaction(values, cause, law_lit, dark),
        cause=cause,
        time_to_dark_ms=time_to_dark_ms,
        peak_current_A=values["peak_current_A"],
        peak_junction_degC=values["peak_junction_degC"],
        peak_light_W=values["peak_light_W"],
        survives=not broken and not missed,
        why=why,
        tightest=tightest,
    )
