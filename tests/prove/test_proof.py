"""The law is proved, for every setting that a board accepts: the gate of every push."""

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import ticks
from command import diodewright
from diodedriver import words
from diodewright.build import load
from diodewright.derive import settings
from diodewright.prove import UnknownObligation, prove_source, replay
from diodewright.prove.build_claims import figures
from diodewright.prove.conditions import CONDITIONS
from diodewright.prove.evaluate import evaluate, in_order
from diodewright.prove.obligation import Bench
from diodewright.prove.obligations import OBLIGATIONS
from diodewright.prove.source import read_law
from laws import TEXT, with_change


def test_every_obligation_is_proved_for_the_law_as_it_stands() -> None:
    proof = prove_source(TEXT, timeout_s=120)
    for row in proof.obligations:
        print(f"{row.id:20} {row.status:10} {row.seconds:6.2f} s")
    print(f"sum {sum(row.seconds for row in proof.obligations):.1f} s, {proof.solver}")
    assert [row.id for row in proof.obligations] == [row.id for row in OBLIGATIONS]
    assert [(row.id, row.status, row.why) for row in proof.open()] == []
    assert proof.all_proved


def test_every_fault_row_has_a_condition_and_is_claimed_detected_and_quiet() -> None:
    rows = [row[0] for row in words.FAULTS]
    ids = {obligation.id for obligation in OBLIGATIONS}
    assert list(CONDITIONS) == rows
    assert len(ids) == len(OBLIGATIONS)
    # a state word out of range is detected by "any-state-dark"
    assert {f"detect-{row}" for row in rows if row != "state"} <= ids
    assert {f"quiet-{row}" for row in rows} <= ids


def test_nothing_asked_is_nothing_proved() -> None:
    assert not prove_source(TEXT, []).all_proved


def test_unknown_obligation_is_refused_with_the_nearest() -> None:
    with pytest.raises(UnknownObligation, match="zero-hard"):
        prove_source(TEXT, ["zero-hart"])


def test_no_time_is_undecided_and_undecided_is_not_proved() -> None:
    proof = prove_source(TEXT, ["rise"], timeout_s=0)
    assert proof.obligations[0].status == "undecided"
    assert not proof.all_proved


def test_a_worker_that_hangs_is_stopped_and_its_obligation_undecided(monkeypatch) -> None:
    monkeypatch.setattr("diodewright.prove.workers._GRACE_S", -0.9)
    proof = prove_source(TEXT, ["rise"], timeout_s=1, workers=1)
    assert proof.obligations[0].status == "undecided"


def test_own_settings_of_a_build_are_proved_and_told_with_units() -> None:
    own = settings(load("smoke_tunnel"))
    told = figures(own, 2000)
    proof = prove_source(TEXT, [row.obligation for row in told][:6], settings=own)
    assert proof.all_proved
    by_meaning = {row.meaning: (row.value, row.unit) for row in told}
    assert by_meaning["drive is never above"] == (1575, "mA")
    assert by_meaning["of the diode's absolute maximum"] == (pytest.approx(78.75), "%")
    assert by_meaning["mount above its trip: dark on the tick of"] == (20, "ms")


def test_replay_of_a_foreign_document_is_refused() -> None:
    with pytest.raises(ValueError, match="format 2, expected 1"):
        replay({"format": 2}, TEXT)


@pytest.mark.parametrize("exact", [False, True], ids=["facts", "exact"])
def test_what_the_solver_is_told_is_true_of_the_law_in_numbers(exact: bool) -> None:
    """Each term is pinned to its value in real ticks; no fact about it may then be false."""
    z3 = pytest.importorskip("z3")
    bench = Bench(read_law(TEXT))
    view = bench.view(OBLIGATIONS[0].setups[0])
    roots = [view.then(row[0]) for row in words.STATE]
    lowering = bench.lowering(exact)
    for root in roots:
        if not isinstance(root, int):
            lowering.lower(root)
    nodes = in_order(roots)
    columns = ticks.in_range(np.random.default_rng(3), 12)
    values = evaluate(nodes, ticks.inputs_of(view.before, columns))
    for k in range(12):
        solver = z3.SimpleSolver(ctx=lowering.context)
        solver.add(*lowering.facts_of(roots, pairs=not exact))
        for node, column in zip(nodes, values, strict=True):
            value = np.broadcast_to(column, (12,))[k]
            made = lowering.made[node]
            truth = node.op in ("bool", "not", "le", "eq", "all", "any")
            if node.op in ("or", "xor"):
                continue
            solver.add(made == (bool(value) if truth else int(value)))
        assert str(solver.check()) == "sat"


HIDE = """
import sys

class Hidden:
    def find_spec(self, name, path=None, target=None):
        if name == "z3" or name.startswith("z3."):
            raise ImportError("hidden by this test")

sys.meta_path.insert(0, Hidden())
"""


def python(code: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", HIDE + code],
        env=os.environ | {"DIODEWRIGHT_CACHE": str(folder)},
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )


def test_without_a_solver_the_verb_is_incomplete_and_says_what_to_install(tmp_path: Path) -> None:
    code = "import sys\nsys.argv = ['diodewright', 'prove']\n"
    done = python(code + "from diodewright.cli import main\nmain()\n", tmp_path)
    assert done.returncode == 3, done.stderr
    assert "install z3-solver" in done.stderr
    assert "Traceback" not in done.stderr


def test_without_a_solver_a_rehearsal_is_incomplete(tmp_path: Path) -> None:
    code = (
        "from diodewright.rehearse.proving import proof_of_law, proof_reasons\n"
        "proof = proof_of_law(print)\n"
        "print(proof['proved'], proof_reasons(proof))\n"
    )
    done = python(code, tmp_path)
    assert done.stdout.startswith("0 ([], ['proof: all: no solver"), done.stderr
    assert list(tmp_path.glob("proof_*")) == []


def test_verb_prints_one_document_and_says_that_it_asked_for_a_part(tmp_path: Path) -> None:
    done = diodewright(
        "prove", "smoke_tunnel", "--only", "zero-hard", "--only", "rise", "--json", cwd=tmp_path
    )
    assert done.returncode == 3, done.stderr
    document = json.loads(done.stdout)
    assert document["format"] == 1
    assert document["all_proved"] is True
    assert [row["id"] for row in document["obligations"]] == ["zero-hard", "rise"]
    assert set(document["obligations"][0]) >= {"id", "claim", "status", "seconds"}
    assert document["build"]["figures"][0]["unit"] == "mA"
    assert len(document["law_hash"]) == 64
    assert document["solver"].startswith("z3 ")
    assert list(tmp_path.iterdir()) == []


def test_verb_prints_a_table_and_refuses_an_unknown_obligation(tmp_path: Path) -> None:
    done = diodewright("prove", "--only", "close", cwd=tmp_path)
    assert done.returncode == 3
    assert "closes only onto an output" in " ".join(done.stdout.split())
    assert "1 of 1 obligations proved" in done.stdout
    refused = diodewright("prove", "--only", "clsoe", cwd=tmp_path)
    assert refused.returncode == 2
    assert "nearest: close" in refused.stderr


def test_refuted_law_prints_numbers_with_units_and_writes_its_case(
    tmp_path: Path, monkeypatch, capsys
) -> None:
    from diodewright.report import screen_proof

    wrong = with_change("    if (pins & _PIN_KEY) == 0:\n        hard |= 2\n", "")
    monkeypatch.setattr(screen_proof, "law_text", lambda: wrong)
    assert screen_proof.show_proof(None, tmp_path / "cases", False, ["zero-hard"]) == 1
    said = capsys.readouterr().out
    assert "refuted" in said
    assert " q64" in said and " mA" in said
    case = json.loads((tmp_path / "cases" / "zero-hard.json").read_text())
    assert replay(case, wrong) != ""
