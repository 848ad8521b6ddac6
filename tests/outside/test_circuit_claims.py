"""What the netlists prove of each stage's shipped build, and that each proof can fail.

Judge: ngspice, on the netlists of `hardware_notes` with the build's own values.
"""

import re
from pathlib import Path

import pytest

from circuit_claim import Claim, broken, measured
from circuit_claims import CLAIMS
from diodewright.build import examples, load
from tooling import tool

DOC = tool("write_claims_doc")
#: Another version of the simulator may differ by so much.
NEAR = 0.03


def _cells(claim: Claim) -> list[str]:
    page = DOC.PAGE.read_text("utf-8")
    (row,) = [line for line in page.splitlines() if line.startswith(f"| `{claim.id}` |")]
    return [cell.strip() for cell in row.strip("|").split(" | ")]


def _same(shown: str, found: float | None) -> bool:
    now = DOC.text(found)
    try:
        return float(shown) == pytest.approx(float(now), rel=NEAR, abs=2e-3)
    except ValueError:
        return shown == now


@pytest.mark.parametrize("claim", CLAIMS, ids=lambda claim: claim.id)
def test_a_claim_holds_on_every_stage_and_the_page_says_by_how_much(
    claim: Claim, tmp_path: Path
) -> None:
    cells = _cells(claim)
    for place, name in enumerate(DOC.BUILDS, start=3):
        build = load(name)
        found = measured(claim, build, tmp_path)
        if found is None:
            assert cells[place] == "-"
            continue
        shown, limit = re.fullmatch(r"(\S+) \((\S+)\)", cells[place]).groups()
        assert claim.holds(found, build), f"{name}: {found:g} {claim.unit}"
        assert _same(shown, found), f"{name}: {found:g}; run tools/write_claims_doc.py"
        assert limit == f"{claim.limit(build):.3g}"


@pytest.mark.parametrize("claim", CLAIMS, ids=lambda claim: claim.id)
def test_a_claim_misses_its_limit_on_a_circuit_broken_on_purpose(
    claim: Claim, tmp_path: Path
) -> None:
    build = load(DOC.first_build(claim))
    found = broken(claim, build, tmp_path)
    assert found is not None
    assert not claim.holds(found, build), f"{claim.broken[0]}: still {found:g} {claim.unit}"
    assert _same(_cells(claim)[-1].rpartition(": ")[2], found), "run tools/write_claims_doc.py"


@pytest.mark.parametrize("name", sorted(set(examples()) - set(DOC.BUILDS)))
@pytest.mark.parametrize("claim", CLAIMS, ids=lambda claim: claim.id)
@pytest.mark.long
def test_a_claim_holds_on_the_builds_for_bring_up(claim: Claim, name: str, tmp_path: Path) -> None:
    build = load(name)
    found = measured(claim, build, tmp_path)
    assert found is None or claim.holds(found, build), f"{found:g} {claim.unit}"


def test_the_page_lists_every_claim_and_netlist_in_the_tables_words() -> None:
    # numbers aside: those are held to runs above
    ones = {(claim.id, name): 1.0 for claim in CLAIMS for name in (*DOC.BUILDS, "broken")}
    written, now = DOC.PAGE.read_text("utf-8").splitlines(), DOC.page(ones).splitlines()
    assert [_words(line) for line in written] == [_words(line) for line in now]


def _words(line: str) -> str:
    """Return a line of the page; of a claim's row only what is no number."""
    if not line.startswith("| `"):
        return line
    cells = line.split(" | ")
    return " | ".join([*cells[:3], cells[-1].rpartition(": ")[0]])
