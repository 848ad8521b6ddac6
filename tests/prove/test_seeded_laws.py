"""Every law seeded with a mistake by another hand is refuted by the obligation that is meant."""

import pytest

from diodewright.prove import prove_source, replay
from diodewright.prove.obligations import OBLIGATIONS
from wrong_laws import HARD, LAW, WRONG, Row, wrong_source

pytestmark = pytest.mark.long


def _meant(claim: str) -> list[str]:
    return [row.id for row in OBLIGATIONS if row.id == claim or row.id.startswith(f"{claim}-")]


@pytest.mark.parametrize("row", WRONG, ids=lambda row: row[0])
def test_a_wrong_law_is_refuted_by_a_case_that_misbehaves_when_replayed(row: Row) -> None:
    source = wrong_source(row)
    # a process of its own: what the solver finds first depends on what it was asked before
    verdicts = prove_source(source, _meant(row[1]), workers=1).obligations
    refuted = [verdict for verdict in verdicts if verdict.status == "refuted"]
    assert refuted, {verdict.id: verdict.status for verdict in verdicts}
    for verdict in refuted:
        assert verdict.case is not None
        assert replay(verdict.case, source), verdict.id
        assert not replay(verdict.case, LAW), f"{verdict.id}: the right law breaks on it as well"


@pytest.mark.parametrize("row", HARD, ids=lambda row: row[0])
def test_a_wrong_law_that_is_hard_to_refute_is_never_called_proved(row: Row) -> None:
    proof = prove_source(wrong_source(row), _meant(row[1]), timeout_s=20, workers=1)
    assert not proof.all_proved
