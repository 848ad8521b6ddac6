"""What the document says, counted: the same facts for terminal and page."""

import shlex
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from diodewright.judge import CASE_VERDICTS
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
    "letter",
    "moment_of",
    "proof_line",
    "rehearse_command",
]

#: Of the tightest cases that are listed.
_MOST_CLOSE = 20
NO_PROOF = "none: the law was not proved in this rehearsal"

#: Beginning of a reaction -> (short code, how it is counted, what the code means).
_ACTORS: tuple[tuple[str, str, str, str], ...] = (
    ("law dims", "D", "dimmed by the law", "the law dims; light goes on"),
    ("law", "L", "law", "the law latched it dark"),
    ("hardware", "H", "hardware", "the hardware made it dark, without the law"),
    ("controls", "C", "controls", "key, interlock or trigger made it dark"),
    ("none", "-", "nobody", "nobody acted, and nobody needed to"),
)
#: Verdict -> its code, where the code of who acted does not say it.
_LETTERS = {"latent": "?", "missed": "M", "damaged": "X"}
#: Short code -> meaning, for a legend.
CODES = {short: meaning for _, short, _, meaning in _ACTORS} | {
    short: CASE_VERDICTS[verdict] for verdict, short in _LETTERS.items()
}

#: What the catalogue expects of a fault, in words.
EXPECTED = {
    "dark": "dark",
    "holds": "light may go on",
    "guarded": "less light, dark, or too little heat to harm",
    "lost": "the diode is lost; dark",
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
    faults, moments : how many of each, phases and mendings of one moment not counted apart.
    survive : single cases that survive.
    pairs_survive : pairs that do.
    lost : cases and pairs that do not, damaged ones first, else as the document orders them.
    acted : who acted -> in how many single cases.
    absent : moments that this build's light never reaches.
    closest : of single faults, the tightest case of each that survives, the least margin first.
    """

    faults: int
    moments: int
    survive: int
    pairs_survive: int
    lost: tuple[Case, ...]
    acted: dict[str, int]
    absent: tuple[str, ...]
    closest: tuple[Case, ...]

    @property
    def tightest(self) -> Case | None:
        """The case of least margin among those that survive; None where there is none."""
        return self.closest[0] if self.closest else None


def moment_of(case: Case) -> str:
    """Return the moment of a case, without phase and mending."""
    return case.at.partition("~")[0].partition("+")[0]


def _actor(case: Case) -> tuple[str, str, str, str]:
    return next(row for row in _ACTORS if case.reaction.startswith(row[0]))


def letter(case: Case) -> str:
    """Return the case's verdict as one character of `CODES`."""
    if case.verdict in _LETTERS:
        return _LETTERS[case.verdict]
    return _actor(case)[1] if case.survives else "X"


def code(case: Case) -> str:
    """Return the case's verdict and actor as a short code, for instance "ok L" or "FAILS X"."""
    return f"{'ok' if case.survives else 'FAILS'} {letter(case)}"


def fault_facts(document: Document) -> FaultFacts:
    """Return the counts over all fault cases of `document`."""
    cases = document.faults
    counts = Counter(_actor(case)[2] for case in cases)
    every = (*cases, *document.pairs)
    judged = [case for case in cases if case.survives and case.tightest.margin is not None]
    lost = [case for case in every if not case.survives]
    return FaultFacts(
        faults=len({case.id for case in cases}),
        moments=len({moment_of(case) for case in cases}),
        survive=sum(case.survives for case in cases),
        pairs_survive=sum(case.survives for case in document.pairs),
        lost=tuple(sorted(lost, key=lambda case: case.verdict != "damaged")),
        acted={name: counts[name] for _, _, name, _ in _ACTORS if counts[name]},
        absent=tuple(at for at, row in document.moments.items() if not row.reached),
        closest=tuple(_closest(judged)),
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
        said.append(f"The beam is dangerous to the eye up to {far} m, by mirrors too.")
    return said


def _closest(judged: Sequence[Case]) -> list[Case]:
    """Return the tightest case of each fault, at most `_MOST_CLOSE`, the least margin first."""
    firsts: dict[str, Case] = {}
    for case in sorted(judged, key=lambda case: case.tightest.margin or 0.0):
        firsts.setdefault(case.id, case)
    return list(firsts.values())[:_MOST_CLOSE]


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
