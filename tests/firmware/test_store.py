"""Settings and journal: every claim in CPython, and on the board's own file system."""

from collections.abc import Callable
from pathlib import Path

import pytest

import journal_claims
import settings_claims

CLAIMS = settings_claims.CLAIMS + journal_claims.CLAIMS


@pytest.mark.parametrize("claim", CLAIMS, ids=lambda claim: claim.__name__)
def test_claim(claim: Callable[[], None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    claim()


@pytest.mark.parametrize("module", [settings_claims, journal_claims])
def test_every_claim_is_listed(module: object) -> None:
    made = {
        name
        for name, thing in vars(module).items()
        if callable(thing) and name.count("_") > 3 and not name.startswith("_")
    }
    assert made == {claim.__name__ for claim in module.CLAIMS}
