"""Two results: whatever moved is told, with both values, difference and unit; nothing else is."""

import copy
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from diodewright.compare import Move, moved_between_documents
from diodewright.rehearse import Rehearsal

RESULT = json.loads((Path(__file__).parents[1] / "report" / "smoke_tunnel.json").read_text("utf-8"))


def _moves(*edits: tuple[object, tuple[str | int, ...]]) -> tuple[Move, ...]:
    """Return the moves from the recorded result to one with some places changed."""
    changed = copy.deepcopy(RESULT)
    for value, (*path, last) in edits:
        inner: Any = changed
        for key in path:
            inner = inner[key]
        inner[last] = value
    return moved_between_documents(Rehearsal.from_dict(RESULT), Rehearsal.from_dict(changed))


def test_a_result_has_not_moved_from_itself() -> None:
    assert _moves() == ()


def test_verdict_and_its_reasons() -> None:
    moves = _moves(("FAILS", ("verdict",)), (["too warm"], ("reasons",)))
    assert moves == (
        Move("verdict", "verdict", "", "both", "HOLDS", "FAILS", None, ""),
        Move("reason", "too warm", "", "B", None, "said", None, ""),
    )


def test_a_size_figure_with_its_unit() -> None:
    place = next(i for i, row in enumerate(RESULT["size"]) if row["id"] == "forward_V")
    value = RESULT["size"][place]["value"]
    assert _moves((value + 0.25, ("size", place, "value"))) == (
        Move("size", "forward_V", "", "both", value, value + 0.25, 0.25, "V"),
    )


def test_a_value_of_the_build_file() -> None:
    row = {"key": "levels.full_A", "value": 1.5, "unit": "A"}
    before = Rehearsal.from_dict({**RESULT, "given": [row]})
    after = Rehearsal.from_dict({**RESULT, "given": [{**row, "value": 1.25}]})
    assert moved_between_documents(before, after) == (
        Move("given", "levels.full_A", "", "both", 1.5, 1.25, -0.25, "A"),
    )


def test_a_finding_that_was_not_judged_is_a_move_without_a_difference() -> None:
    moves = _moves(("not judged", ("findings", 0, "status")), (None, ("findings", 0, "value")))
    value = RESULT["findings"][0]["value"]
    assert moves == (
        Move("finding", "diode-current", "status", "both", "holds", "not judged", None, ""),
        Move("finding", "diode-current", "value", "both", value, None, None, "A"),
    )


def test_a_transient_by_its_figures() -> None:
    row = {**RESULT["findings"][0], "id": "edge-trip", "value": 1.9}
    before = Rehearsal.from_dict({**RESULT, "edges": [row]})
    after = Rehearsal.from_dict({**RESULT, "edges": [{**row, "value": 1.95}]})
    (move,) = moved_between_documents(before, after)
    assert (move.part, move.item, move.figure) == ("finding", "edge-trip", "value")
    assert (move.a, move.b, move.unit) == (1.9, 1.95, "A")


def test_a_fault_case_by_figure_and_unit() -> None:
    row = RESULT["faults"][0]
    moves = _moves(
        (False, ("faults", 0, "survives")),
        (12.5, ("faults", 0, "time_to_dark_ms")),
        ("junction-two", ("faults", 0, "tightest", "id")),
    )
    name = f"{row['id']}@{row['at']}"
    assert [(m.part, m.item, m.figure, m.a, m.b, m.difference, m.unit) for m in moves] == [
        ("fault", name, "survives", True, False, None, ""),
        ("fault", name, "time_to_dark_ms", 0.0, 12.5, 12.5, "ms"),
        ("fault", name, "tightest", row["tightest"]["id"], "junction-two", None, ""),
    ]


def test_what_is_expected_of_a_fault_is_compared_once_whatever_the_moment() -> None:
    row = {"id": "diode-open", "expect": "dark", "allowed_ms": 10.0, "acts": "hardware"}
    before = Rehearsal.from_dict({**RESULT, "catalogue": [{**row, "guard": ""}]})
    now = {**row, "expect": "guarded", "allowed_ms": 50.0, "acts": "law", "guard": "b-stuck"}
    after = Rehearsal.from_dict({**RESULT, "catalogue": [now]})
    moves = moved_between_documents(before, after)
    assert {(m.part, m.item) for m in moves} == {("catalogue", "diode-open")}
    assert [(m.figure, m.a, m.b, m.difference, m.unit) for m in moves] == [
        ("expect", "dark", "guarded", None, ""),
        ("allowed_ms", 10.0, 50.0, 40.0, "ms"),
        ("acts", "hardware", "law", None, ""),
        ("guard", "", "b-stuck", None, ""),
    ]


def test_a_fault_case_of_one_side_is_one_move() -> None:
    (move,) = _moves((RESULT["faults"][1:], ("faults",)))
    assert (move.item, move.where, move.a) == ("diode-open@soft-start", "A", True)


def test_hazard_by_value_and_by_sentence() -> None:
    lines = RESULT["hazard"]["lines"]
    moves = _moves(
        (2.0, ("hazard", "classified_W")), ([*lines[1:], "look away"], ("hazard", "lines"))
    )
    watt = RESULT["hazard"]["classified_W"]
    assert [(m.part, m.item, m.where, m.a, m.b, m.unit) for m in moves] == [
        ("hazard lines", lines[0], "A", "said", None, ""),
        ("hazard", "classified_W", "both", watt, 2.0, "W"),
        ("hazard lines", "look away", "B", None, "said", ""),
    ]


def test_a_curve_is_told_where_it_moved_most_and_no_other_curve_is() -> None:
    values = list(RESULT["traces"]["use"]["pack_V"])
    changed = list(values)
    changed[3] += 0.1
    changed[9] -= 0.25
    (move,) = _moves((changed, ("traces", "use", "pack_V")))
    at_s = RESULT["traces"]["use"]["time_s"][9]
    assert (move.part, move.item, move.figure) == ("curve", "use", f"pack_V at {at_s:g} s")
    assert (move.a, move.b, move.unit) == (values[9], changed[9], "V")
    assert move.difference == pytest.approx(-0.25)


def test_curves_kept_at_other_times_are_told_by_that_alone() -> None:
    times = list(RESULT["traces"]["rise"]["time_s"])
    times[0] -= 0.01
    moves = _moves((times, ("traces", "rise", "time_s")))
    assert [(m.item, m.figure) for m in moves] == [("rise", "kept at")]


def _leaves(value: object, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _leaves(inner, (*path, key))
    elif isinstance(value, list):
        for place, inner in enumerate(value):
            yield from _leaves(inner, (*path, place))
    else:
        yield path


#: Said by the program's own tables: the same in both results, unless the program was another.
NOT_COMPARED = {
    # what the proof rests on is the law and the tool; its outcome shows in verdict and reasons
    ("proof", "of"),
    ("proof", "proved"),
    ("proof", "solver"),
    ("assumed", "source"),
    ("faults", "cause_words"),
    ("faults", "clears_by"),
    ("faults", "level"),
    ("findings", "meaning"),
    ("size", "leaves_out"),
    ("size", "meaning"),
}


def test_no_leaf_of_a_document_can_move_unseen() -> None:
    first_rows = [
        path
        for path in _leaves({key: RESULT[key] for key in RESULT if key not in ("format", "traces")})
        if all(not isinstance(step, int) or step == 0 for step in path)
    ]
    assert len(first_rows) > 60
    unseen = set()
    for path in first_rows:
        value: Any = RESULT
        for key in path:
            value = value[key]
        other = (
            not value
            if isinstance(value, bool)
            else value + 1
            if isinstance(value, int | float)
            else "another"
        )
        if not _moves((other, path)):
            steps = [step for step in path if isinstance(step, str)]
            unseen.add((steps[-2], steps[-1]))
    assert unseen == NOT_COMPARED
