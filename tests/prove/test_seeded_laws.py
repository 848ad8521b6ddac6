"""Every law seeded with a mistake by another hand is refuted by the obligation that is meant."""

import os

import pytest

from diodewright.prove import prove_source, replay
from diodewright.prove.obligations import OBLIGATIONS
from wrong_laws import LAW, WRONG, Row, wrong_source

pytestmark = pytest.mark.skipif(
    not os.environ.get("DIODEWRIGHT_SEEDED_LAWS"),
    reason="minutes of solver time, and on a busy machine a few end undecided: set "
    "DIODEWRIGHT_SEEDED_LAWS=1",
)


def _meant(claim: str) -> list[str]:
    return [row.id for row in OBLIGATIONS if row.id == claim or row.id.startswith(f"{claim}-")]


@pytest.mark.parametrize("row", WRONG, ids=lambda row: row[0])
def test_a_wrong_law_is_refuted_by_a_case_that_misbehaves_when_replayed(row: Row) -> None:
    source = wrong_source(row)
    verdicts = prove_source(source, _meant(row[1])).obligations
    refuted = [verdict for verdict in verdicts if verdict.status == "refuted"]
    assert refuted, {verdict.id: verdict.status for verdict in verdicts}
    for verdict in refuted:
        assert verdict.case is not None
        assert replay(verdict.case, source), verdict.id
        assert not replay(verdict.case, LAW), f"{verdict.id}: the right law breaks on it as well"
