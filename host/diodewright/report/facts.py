"""What the document says, counted: the same facts for terminal and page."""

import shlex
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from diodewright.report.shape import Case, Document, Finding, Hazard
from diodewright.report.wording import number

__all__ = [
    "CODES",
    "EXPECTED",
    "MATTERS",
    "MEANS",
    "NO_PROOF",
    "FaultFacts",
    "assumed_counted",
    "case_command",
    "closest_finding",
    "code",
    "eyewear_words",
    "fault_facts",
    "hazard_short",
    "proof_line",
    "rehearse_command",
]

NO_PROOF = "none: the law was not proved in this rehearsal"

#: Beginning of a reaction -> (short code, how it is counted, what the code means).
_ACTORS: tuple[tuple[str, str, str, str], ...] = (
    ("law dims", "D", "dimmed by the law", "the law dims; light goes on"),
    ("law", "L", "law", "the law latched it dark"),
    ("hardware", "H", "hardware", "the hardware made it dark, without the law"),
    ("controls", "C", "controls", "key, interlock or trigger made it dark"),
    ("none", "N", "nobody", "nobody acted; light goes on"),
)
#: Short code -> meaning, for a legend.
CODES = {short: meaning for _, short, _, meaning in _ACTORS}

#: What the catalogue expects of a fault, in words.
EXPECTED = {
    "dark": "dark",
    "holds": "light may go on",
    "guarded": "less light, dark, or too little heat to harm",
}
#: Whether an assumed value matters -> how it is told.
MATTERS = {True: "matters", False: "no", None: "not told"}
#: Verdict -> what it means.
MEANS = {
    "HOLDS": "every criterion holds and every case survives, for typical parts",
    "FAILS": "something does not hold",
    "INCOMPLETE": "nothing failed, but not all was judged: absent is not passed",
}


@dataclass(frozen=True)
class FaultFacts:
    """The fault cases, counted.

    Attributes
    ----------
    faults, moments : how many of each.
    survive : cases that survive.
    lost : cases that do not, as the document orders them.
    acted : who acted -> in how many cases.
    tightest : the case of least margin among those that survive; None where there is none.
    """

    faults: int
    moments: int
    survive: int
    lost: tuple[Case, ...]
    acted: dict[str, int]
    tightest: Case | None


def _actor(case: Case) -> tuple[str, str, str, str]:
    return next(row for row in _ACTORS if case.reaction.startswith(row[0]))


def code(case: Case) -> str:
    """Return the case's verdict and actor as a short code, for instance "ok L" or "FAILS N"."""
    return f"{'ok' if case.survives else 'FAILS'} {_actor(case)[1]}"


def fault_facts(document: Document) -> FaultFacts:
    """Return the counts over all fault cases of `document`."""
    cases = document.faults
    counts = Counter(_actor(case)[2] for case in cases)
    judged = [case for case in cases if case.survives and case.tightest.margin is not None]
    return FaultFacts(
        faults=len({case.id for case in cases}),
        moments=len({case.at for case in cases}),
        survive=sum(case.survives for case in cases),
        lost=tuple(case for case in cases if not case.survives),
        acted={name: counts[name] for _, _, name, _ in _ACTORS if counts[name]},
        tightest=min(judged, key=lambda case: case.tightest.margin or 0.0, default=None),
    )


def eyewear_words(hazard: Hazard) -> str:
    """Return what eyewear a laser asks for; a beam that none stands says so itself."""
    if not hazard.eyewear or hazard.eyewear.startswith("none"):
        return hazard.eyewear or "none was chosen"
    return f"{hazard.eyewear} or more; its supplier must confirm"


def hazard_short(document: Document) -> list[str]:
    """Return eyewear and distance in a line each, for who reads only one box."""
    hazard = document.hazard
    said = []
    if hazard.eyewear:
        said.append(f"Eyewear: {eyewear_words(hazard)}.")
    if hazard.hazard_distance_m is not None:
        far = number(hazard.hazard_distance_m)
        said.append(f"The bare beam is dangerous to the eye up to {far} m, by mirrors too.")
    return said


def closest_finding(findings: Sequence[Finding]) -> Finding | None:
    """Return the criterion of least margin among those that hold."""
    held = [f for f in findings if f.status == "holds" and f.margin is not None]
    return min(held, key=lambda finding: finding.margin or 0.0, default=None)


def assumed_counted(document: Document) -> str:
    """Return how many values were assumed and how many of them matter, in words."""
    rows = document.assumed
    said = f"{len(rows)} values"
    if any(row.matters is not None for row in rows):
        said += f", {sum(row.matters is True for row in rows)} matter"
        untold = sum(row.matters is None for row in rows)
        said += f", {untold} could not be told" if untold else ""
    elif rows:
        said += ", not weighed"
    return said


def _seeded(seed: int) -> str:
    return "" if seed == 1 else f" --seed {seed}"


def case_command(build: str, case_id: str, seed: int) -> str:
    """Return the command that runs one case of this rehearsal again."""
    return f"diodewright case {shlex.quote(build)} {case_id}{_seeded(seed)}"


def rehearse_command(build: str, seed: int, more: str = "") -> str:
    """Return the command that rehearses the build again, with `more` options."""
    return f"diodewright rehearse {shlex.quote(build)}{_seeded(seed)}{' ' if more else ''}{more}"


def proof_line(document: Document) -> str:
    """Return what the proof of the law says, in words."""
    proof = document.proof
    if not proof.of:
        return NO_PROOF
    said = f"{proof.proved} of {proof.of} obligations proved for all settings ({proof.solver})"
    still = ", ".join(f"{row.id} {row.status}" for row in proof.open)
    return f"{said}; {still}" if still else said
