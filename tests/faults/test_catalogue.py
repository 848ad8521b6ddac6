"""The catalogue is complete over parts and modes, and every row says what its kind must say."""

import ast
import re
from collections import Counter
from pathlib import Path

import pytest

from diodewright.build import examples, load
from diodewright.derive import criteria
from diodewright.faults import CATALOGUE, ENGINE, NEEDS, Fault
from diodewright.faults.parts import MODES, PARTS, SHARES, part_of, share_pct
from diodewright.faults.unshown import UNSHOWN
from diodewright.rehearse.cases import lacks, strike_events
from diodewright.rehearse.leaves_out import LEAVES_OUT
from diodewright.sim.scenario import event_arrays
from diodewright.twin.levels import translated
from diodewright.twin.twin import is_target

ROOT = Path(__file__).parents[2]
IDS = {row.id for row in CATALOGUE}
#: Who acts in hardware: parts, and the one that is no part of its own.
ACTORS = {part.name for part in PARTS} | {"gate pull-down"}


def test_every_part_has_for_every_mode_a_row_or_a_reason_and_never_both() -> None:
    rows = {(row.part, row.mode) for row in CATALOGUE}
    pairs = {(part.name, mode) for part in PARTS for mode in MODES}
    assert pairs - rows - UNSHOWN.keys() == set(), "neither row nor reason"
    assert rows & UNSHOWN.keys() == set(), "a reason beside a row"
    assert (rows | UNSHOWN.keys()) - pairs == set(), "no such part or mode"


def test_no_part_and_no_row_is_there_twice() -> None:
    assert len({part.name for part in PARTS}) == len(PARTS)
    assert len(IDS) == len(CATALOGUE)
    shown = Counter((row.changes, row.restores) for row in ENGINE)
    assert [changes for changes, count in shown.items() if count > 1] == []


def test_a_row_stands_in_the_module_of_its_parts_group() -> None:
    for row in CATALOGUE:
        module = ROOT / f"host/diodewright/faults/{part_of(row.part).group}.py"
        assert f'"{row.id}"' in module.read_text(), row.id


@pytest.mark.parametrize("pair", UNSHOWN, ids="-".join)
def test_a_reason_names_rows_that_exist_or_says_why_there_is_none(pair: tuple[str, str]) -> None:
    reason = UNSHOWN[pair]  # type: ignore[index]
    assert reason.startswith(("as ", "no such way: ", "not shown: "))
    if reason.startswith("as "):
        named = re.findall(r"[a-z]+(?:-[a-z]+)+|\bopen\b|\bshort\b|\bmoisture\b", reason)
        known = [name for name in named if name in IDS or (pair[0], name) in UNSHOWN]
        assert known, f"{pair}: {reason}"
        assert named[0] in known


def test_every_row_says_what_its_level_and_its_actor_ask_for() -> None:
    for row in CATALOGUE:
        assert row.mode in MODES, row.id
        assert set(row.needs) <= set(NEEDS), row.id
        assert bool(row.by) == (row.acts in ("hardware", "either")), row.id
        assert not row.by or row.by in ACTORS, row.id
        assert bool(row.shown_by) == (row.level != "engine"), row.id
        assert row.source, row.id
        if row.level == "engine":
            assert row.changes, row.id
            assert row.expect != "lost", "no rehearsal passes over a lost diode"
            assert (row.allowed_ms is not None) == (row.expect == "dark"), row.id
        if row.guard and row.level == "engine":
            assert row.expect in ("holds", "guarded"), row.id


def test_what_costs_the_diode_is_told_with_every_rehearsal() -> None:
    lost = [row for row in CATALOGUE if row.expect == "lost"]
    assert lost
    for row in lost:
        assert any(line.startswith(f"no shorted {row.part}: ") for line in LEAVES_OUT), row.id


def test_every_engine_row_can_strike_in_the_engine_and_on_the_twin() -> None:
    for row in ENGINE:
        events = strike_events(row, 5)
        assert len(event_arrays(events)[0]) == len(events)
        assert all(is_target(translated(event).target) for event in events), row.id
        latest_ms = max([0.0, *(after_ms for after_ms, _, _ in row.restores)])
        assert latest_ms < 1000 * row.watch_s - 500, row.id


def test_every_row_can_befall_a_shipped_build_or_a_shared_shunt() -> None:
    builds = [load(name) for name in examples()]
    orphans = {row.id for row in ENGINE if all(lacks(build, row) for build in builds)}
    assert orphans == {"shared-shunt-drift"}


def _shown(row: Fault) -> bool:
    """Return whether what shows a row exists."""
    if row.shown_by.startswith("edge-"):
        edges = {each.id for each in criteria(load("smoke_tunnel")) if each.scopes == ("edge",)}
        return row.shown_by in edges
    if row.shown_by.endswith(".cir"):
        return (ROOT / "hardware_notes" / "netlists" / row.shown_by).is_file()
    path, _, test = row.shown_by.partition("::")
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    return test in {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


@pytest.mark.parametrize("row", [row for row in CATALOGUE if row.shown_by], ids=lambda row: row.id)
def test_what_shows_a_row_exists(row: Fault) -> None:
    assert _shown(row)


def test_published_shares_are_those_of_the_parts_kind_and_never_above_the_whole() -> None:
    """FMD-91 by way of an open reliability database: connector open 61, intermittent 23."""
    assert all(sum(modes.values()) <= 100 for modes in SHARES.values())
    assert {part.kind for part in PARTS} - {""} == SHARES.keys()
    assert share_pct("pack contact", "intermittent") == 23
    assert share_pct("cut-off A", "short") == 51
    assert share_pct("multiplexer", "stuck") is None
