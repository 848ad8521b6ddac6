"""Prove: the law's source to formulas, and each obligation by induction over one tick.

The solver is loaded only where something is proved: without it this room can be imported, and
`Unprovable` says what is missing.
"""

from diodewright.prove.case import Case, replay, save_case
from diodewright.prove.obligations import UnknownObligation
from diodewright.prove.proof import TIMEOUT_S, Proof, Unprovable, prove_source, solver_version
from diodewright.prove.source import Refused
from diodewright.prove.verdict import Verdict

__all__ = [
    "TIMEOUT_S",
    "Case",
    "Proof",
    "Refused",
    "UnknownObligation",
    "Unprovable",
    "Verdict",
    "prove_source",
    "replay",
    "save_case",
    "solver_version",
]
