"""One fault case: whether the build survived, who acted, how fast and how close it was."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from diodewright.faults import Fault
from diodewright.judge.findings import Finding

__all__ = ["CASE_VERDICTS", "CaseFinding", "judge_case"]

#: Verdict on a case -> meaning; all but the last two survive.
CASE_VERDICTS: dict[str, str] = {
    "law": "the law acted in time",
    "hardware": "the hardware acted, without the law",
    "harmless": "nothing acted, and nothing needed to",
    "latent": "a guard is dead and nobody has seen it",
    "missed": "FAILS: no damage, but not what must follow, or not in time",
    "damaged": "FAILS: a limit was exceeded",
}


@dataclass(frozen=True)
class CaseFinding:
    """The verdict on one fault at one moment.

    Attributes
    ----------
    verdict : one of `CASE_VERDICTS`.
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
    verdict: str
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
        dimmed = values["drive_A"] < 0.98 * values["healthy_drive_A"]
        return "law dims" if dimmed else "none needed"
    if law_lit:
        return "hardware: the dynamic enable dropped"
    if cause == "latch":
        return "hardware: comparator latch"
    if cause is not None:
        return f"law: {cause}"
    if not values["healthy_lit"]:
        return "none needed: dark as it should be"
    return "controls" if values["lit_before"] or values["last_lit_s"] > 0 else "none: never lit"


#: Where the current never comes near the comparator's trip, the law has time: so long [ms].
_UNHURRIED_MS = 50.0
#: Below this share of its level a light counts as held back.
_FULL = 0.95


def _over_ms(fault: Fault, off_ms: int | None) -> float | None:
    """Return when a fault is over by itself [ms after it struck]; None where it stays."""
    if off_ms is not None:
        return off_ms
    if all(target == "true.trip_inject" for target, _ in fault.changes):
        return 0.0
    return max((after_ms for after_ms, _, _ in fault.restores), default=None)


def _must_be_dark(fault: Fault, off_ms: int | None, values: Mapping[str, float]) -> bool:
    """Say whether this case must end dark.

    Not where the healthy light ends dark as well, nor where it is held back, so that there is too
    little current for the hardware to see, nor where the fault was over before the light was at
    its level, or mended before the catalogue demands that it be seen.
    """
    if fault.expect != "dark" or not values["healthy_lit"]:
        return False
    if fault.acts == "hardware" and values["healthy_drive_A"] < _FULL * values["level_A"]:
        return False
    over_ms = _over_ms(fault, off_ms)
    if over_ms is not None and over_ms < values["again_ms"]:
        return False
    return off_ms is None or (fault.allowed_ms is not None and off_ms > fault.allowed_ms)


def _allowed_ms(fault: Fault, values: Mapping[str, float]) -> float | None:
    """Return the longest time to dark [ms]; None for any.

    The catalogue's, from where the healthy light is at its level: what a fault exceeds on the way
    there is judged apart. What hardware alone must end at once has `_UNHURRIED_MS` where the
    current never reaches the comparator's trip.
    """
    if fault.allowed_ms is None:
        return None
    allowed_ms = fault.allowed_ms
    if fault.acts in ("hardware", "either") and values["peak_current_A"] < values["trip_A"]:
        allowed_ms = max(allowed_ms, _UNHURRIED_MS)
    return allowed_ms + values["again_ms"]


def _expectation(
    fault: Fault,
    off_ms: int | None,
    values: Mapping[str, float],
    cause: str | None,
    time_to_dark_ms: float | None,
) -> str:
    """Return what was expected and did not happen, in words; "" where it did."""
    if time_to_dark_ms is None and cause is not None:
        return f"lit though {cause} is latched"
    if _must_be_dark(fault, off_ms, values):
        if time_to_dark_ms is None:
            return "expected dark, still lit"
        allowed_ms = _allowed_ms(fault, values)
        if allowed_ms is not None and time_to_dark_ms > allowed_ms:
            return f"dark after {time_to_dark_ms:.1f} ms, allowed {allowed_ms:g} ms"
    if fault.expect == "guarded" and values["mount_over_K"] > 0:
        return (
            f"the mount rose {values['mount_over_K']:.1f} K above its trip and the budget's guard"
        )
    return ""


def _verdict(fault: Fault, broken: bool, missed: bool, reaction: str) -> str:
    if broken:
        return "damaged"
    if missed:
        return "missed"
    if reaction.startswith("hardware"):
        return "hardware"
    if reaction.startswith(("law", "controls")):
        return "law"
    return "latent" if fault.guard == "latent" else "harmless"


def judge_case(
    fault: Fault,
    at: str,
    off_ms: int | None,
    findings: Sequence[Finding],
    values: Mapping[str, float],
    cause: str | None,
    law_lit: bool,
) -> CaseFinding:
    """Judge one case from what was found of its Tally.

    Parameters
    ----------
    off_ms : after which the fault mended itself [ms]; None where it stayed.
    findings : of every fault criterion.
    values : Tally quantities since the fault, with "lit_at_end" (0 or 1, before the closing
        release), "drive_A" there, "lit_before" (0 or 1, at the fault), "healthy_lit" and
        "healthy_drive_A" without the fault,
        "again_ms" until the healthy light is at its level, and "mount_over_K": how far the mount
        rose above its trip and the heat budget's guard.
    cause : the law's first cause at that moment, or None.
    law_lit : whether the law itself believed in light at that moment.
    """
    dark = values["lit_at_end"] < 0.5
    time_to_dark_ms = 1000 * max(values["last_lit_s"], 0.0) if dark else None
    broken = [finding for finding in findings if finding.status != "holds"]
    tightest = min(findings, key=lambda f: -1e9 if f.margin is None else f.margin)
    missed = _expectation(fault, off_ms, values, cause, time_to_dark_ms)
    if broken:
        worst = broken[0]
        value = "nothing" if worst.value is None else f"{worst.value:.4g} {worst.unit}"
        why = f"{worst.meaning}: got {value}, limit {worst.limit:g} {worst.unit}"
        why += f"; mend: {worst.mend}"
    else:
        why = missed or f"{tightest.meaning}: {tightest.value:.4g} of {tightest.limit:g}"
    reaction = _reaction(values, cause, law_lit, dark)
    return CaseFinding(
        id=fault.id,
        at=at,
        level="engine",
        verdict=_verdict(fault, bool(broken), bool(missed), reaction),
        reaction=reaction,
        cause=cause,
        time_to_dark_ms=time_to_dark_ms,
        peak_current_A=values["peak_current_A"],
        peak_junction_degC=values["peak_junction_degC"],
        peak_light_W=values["peak_light_W"],
        survives=not broken and not missed,
        why=why,
        tightest=tightest,
    )
