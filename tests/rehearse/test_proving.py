"""What a rehearsal says of the proof: kept for one law and one solver, refuted fails."""

import json
from pathlib import Path

import pytest

from diodewright.prove import Proof, Verdict
from diodewright.rehearse import proving
from diodewright.sim import law_hash


def proof(*statuses: str) -> Proof:
    rows = tuple(Verdict(f"claim-{i}", "holds", how, 0.1) for i, how in enumerate(statuses))
    return Proof(law_hash(), "z3 5", rows)


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[Proof]:
    """Give the proofs that are found, one after another; the cache is a folder of its own."""
    found: list[Proof] = []
    monkeypatch.setenv("DIODEWRIGHT_CACHE", str(tmp_path))
    monkeypatch.setattr(proving, "prove_source", lambda source, say: found.pop(0))
    return found


def test_proof_is_found_once_for_a_law_and_a_solver(made: list[Proof], tmp_path: Path) -> None:
    made.append(proof("proved", "proved"))
    first = proving.proof_of_law(print)
    assert proving.proof_of_law(print) == first
    assert first == {"solver": "z3 5", "proved": 2, "of": 2, "open": []}
    assert [path.name.startswith("proof_" + law_hash()[:16]) for path in tmp_path.iterdir()] == [
        True
    ]


def test_kept_proof_of_another_law_or_torn_does_not_count(
    made: list[Proof], tmp_path: Path
) -> None:
    made += [proof("proved"), proof("proved", "proved"), proof("proved", "proved", "proved")]
    proving.proof_of_law(print)
    (path,) = tmp_path.iterdir()
    kept = json.loads(path.read_text())
    path.write_text(json.dumps(kept | {"law_hash": "0" * 64}))
    assert proving.proof_of_law(print)["proved"] == 2
    path.write_text(path.read_text()[:50])
    assert proving.proof_of_law(print)["proved"] == 3


def test_refuted_fails_and_undecided_is_not_passed_nor_kept(
    made: list[Proof], tmp_path: Path
) -> None:
    made.append(proof("proved", "refuted", "undecided"))
    fails, missing = proving.proof_reasons(proving.proof_of_law(print))
    assert fails == ["proof: claim-1: holds; mend: the law (diodewright prove)"]
    assert missing == ["proof: claim-2: holds"]
    assert list(tmp_path.iterdir()) == []
