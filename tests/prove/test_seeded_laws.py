"""Every wrong law is refuted by the obligation that is meant, and its case really misbehaves."""

import pytest

from diodewright.prove import prove_source, replay
from diodewright.prove.obligations import OBLIGATIONS
from wrong_laws import LAW, WRONG, Row, wrong_source

pytestmark = pytest.mark.long


def _meant(claim: str) -> list[str]:
    return [row.id for row in OBLIGATIONS if row.id == claim or row.id.startswith(f"{claim}-")]


@pytest.mark.parametrize("row", WRONG, ids=lambda row: row[0])
def test_a_wrong_law_is_refuted_by_a_case_that_misbehaves_when_replayed(row: Row) -> None:
    source = wrong_source(row)
    refuted = prove_source(source, _meant(row[1])).refuted()
    assert refuted, f"{row[1]} did not refute it"
    for verdict in refuted:
        assert replay(verdict.case, source), verdict.id
        assert not replay(verdict.case, LAW), f"{verdict.id}: the right law breaks on it as well"
