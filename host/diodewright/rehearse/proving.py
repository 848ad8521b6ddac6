"""The proof of the law that a rehearsal carries: found once for a law and a solver, then kept."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from diodewright.build.plain_file import replace_whole
from diodewright.prove import Proof, Unprovable, prove_source, solver_version
from diodewright.sim.engine import cache_root, law_hash, law_text

__all__ = ["NOT_PROVED", "proof_of_law", "proof_reasons"]

#: What stands in the document where nothing was proved.
NOT_PROVED: dict[str, Any] = {"solver": "", "proved": 0, "of": 0, "open": []}


def _kept(root: Path) -> Path:
    solver = re.sub(r"[^0-9A-Za-z.]+", "_", solver_version())
    return root / f"proof_{law_hash()[:16]}_{solver}.json"


def _read(path: Path) -> Proof | None:
    """Return a kept proof of this very law; None where there is none that can be trusted."""
    try:
        proof = Proof.from_dict(json.loads(path.read_text(encoding="utf-8")))
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return proof if proof.law_hash == law_hash() else None


def _prove_and_keep(say: Callable[[str], None]) -> Proof:
    path = _kept(cache_root())
    proof = _read(path)
    if proof is not None:
        return proof
    proof = prove_source(law_text(), say=lambda name: say(f"proof: {name}"))
    if not proof.of("undecided"):  # a busy machine may leave one open that the next run closes
        replace_whole(path, proof.as_json())
    return proof


def proof_of_law(say: Callable[[str], None]) -> dict[str, Any]:
    """Return the law's proof as plain values: solver, proved, of, and what is open in words."""
    try:
        proof = _prove_and_keep(say)
    except Unprovable as error:
        return NOT_PROVED | {"open": [{"id": "all", "status": "undecided", "why": str(error)}]}
    open_rows = [
        {"id": row.id, "status": row.status, "why": row.why or row.claim}
        for row in proof.obligations
        if row.status != "proved"
    ]
    return {
        "solver": proof.solver,
        "proved": len(proof.of("proved")),
        "of": len(proof.obligations),
        "open": open_rows,
    }


def proof_reasons(proof: dict[str, Any]) -> tuple[list[str], list[str]]:
    """Return what the proof makes fail, and what it leaves open."""
    said = [(row["status"], f"proof: {row['id']}: {row['why']}") for row in proof["open"]]
    fails = [f"{text}; mend: the law (diodewright prove)" for how, text in said if how == "refuted"]
    return fails, [text for how, text in said if how != "refuted"]
