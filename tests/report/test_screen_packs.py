"""The comparison of packs as it is read: every pack, what gives way, and no figure without it."""

import json

import pytest

from diodewright.build import load
from diodewright.report import screen
from diodewright.size import compare_packs
from diodewright.size.packs import LEAVES_OUT


def _shown(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, columns: int, **how: bool
) -> str:
    monkeypatch.setenv("COLUMNS", str(columns))
    screen.show_packs(load("smoke_tunnel"), how.get("as_json", False))
    out, err = capsys.readouterr()
    assert err == ""
    return out


@pytest.mark.parametrize("columns", [80, 100, 140])
def test_every_pack_has_its_line_and_every_finding_its_words(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    text = _shown(capsys, monkeypatch, columns)
    flat = " ".join(text.split())
    _, rows = compare_packs(load("smoke_tunnel"))
    for row in rows:
        (line,) = [line for line in text.splitlines() if line.startswith(row.pack)]
        assert line.rstrip().endswith(row.verdict if row.verdict == "fits" else row.verdict.upper())
        assert not row.finding or f"{row.pack}: {row.finding}" in flat
    assert all(line in flat for line in LEAVES_OUT)
    wide = [line for line in text.splitlines() if len(line.rstrip()) > columns]
    assert all(line.strip().startswith("diodewright ") for line in wide)


def test_the_document_has_the_load_every_row_and_what_is_left_out(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    document = json.loads(_shown(capsys, monkeypatch, 80, as_json=True))
    asked, rows = compare_packs(load("smoke_tunnel"))
    assert (document["format"], document["build"]["name"]) == (1, "smoke_tunnel")
    assert document["load"]["needed_V"] == asked.needed_V
    assert [row["verdict"] for row in document["packs"]] == [row.verdict for row in rows]
    assert document["packs"][1]["sag_V"] is None
    assert document["leaves_out"] == list(LEAVES_OUT)
