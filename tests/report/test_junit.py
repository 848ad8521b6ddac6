"""A rehearsal as JUnit XML, read back by a reader of such files that is not ours."""

import copy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from junitparser import JUnitXml, TestCase

from diodewright.faults import by_id
from diodewright.rehearse import Rehearsal
from diodewright.report.junit import junit_of, not_run, told_as_junit
from diodewright.report.reading import read_document

DOCUMENT = Path(__file__).with_name("smoke_tunnel.json")
PARTS = ["use", "edges", "faults", "hazard", "proof", "verdict"]
Change = Callable[[dict[str, Any]], object]


def _base() -> dict[str, Any]:
    """Return the kept document, which is older than edges, with some of today's shape."""
    values = copy.deepcopy(read_document(DOCUMENT).as_dict())
    values["edges"] = [row | {"id": f"edge-{row['id']}"} for row in values["findings"][:2]]
    return values


def _changed(change: Change, verdict: str, reason: str) -> Rehearsal:
    values = _base()
    change(values)
    values |= {"verdict": verdict, "reasons": [reason]}
    return Rehearsal.from_dict(values)


def _read(text: bytes) -> dict[str, dict[str, TestCase]]:
    """Return suite -> name -> testcase."""
    suites = JUnitXml.fromstring(text)
    return {suite.name.rpartition(".")[2]: {case.name: case for case in suite} for suite in suites}


def _kinds(case: TestCase) -> list[str]:
    return [type(result).__name__ for result in case.result]


def test_a_build_that_holds_passes_everywhere_with_a_case_for_all_that_was_judged() -> None:
    done = Rehearsal.from_dict(_base())
    assert done.verdict == "HOLDS"
    text = junit_of(done, "smoke_tunnel")
    suites = _read(text)
    assert [*suites] == PARTS
    assert [*suites["faults"]] == [f"{case['id']}@{case['at']}" for case in done.faults]
    assert [*suites["use"]] == [row["id"] for row in done.findings]
    whole = JUnitXml.fromstring(text)
    assert (whole.failures, whole.errors) == (0, 0)
    assert whole.tests == sum(len(cases) for cases in suites.values())
    assert all(case.is_passed for cases in suites.values() for case in cases.values())
    first = next(iter(whole))
    said = {each.name: each.value for each in first.properties()}
    assert said == {
        "fingerprint": done.build["fingerprint"],
        "seed": "1",
        "law_hash": done.law_hash,
        "engine": done.engine,
    }
    assert text == junit_of(done, "smoke_tunnel")


def _lost(values: dict[str, Any]) -> None:
    row = next(row for row in values["faults"] if row["id"] == "stage-full-on")
    row |= {"survives": False, "why": "true peak diode current: got 2.19 A, limit 2 A"}
    fault = by_id(row["id"])
    row |= {name: getattr(fault, name) for name in ("part", "happens", "expect", "allowed_ms")}


def _finding(part: str, status: str) -> Change:
    def change(values: dict[str, Any]) -> None:
        values[part][1] |= {"status": status, "mend": "a larger sink"}
        if status == "not judged":
            values[part][1] |= {"value": None, "margin": None}

    return change


def _open(status: str) -> Change:
    row = {"id": "dark", "status": status, "why": "light without a press"}
    return lambda values: values["proof"].update(open=[row])


#: what is broken -> (change, verdict, suite, what becomes of its one case, what it says)
BROKEN: dict[str, tuple[Change, str, str, str, tuple[str, ...]]] = {
    "a case": (
        _lost,
        "FAILS",
        "faults",
        "Failure",
        (
            *("broken    stage", "expected  dark within 1 ms", "law saw   latch: "),
            *("acted     hardware", "why       true peak"),
            "again     diodewright case s.toml stage-full-on@soft-start",
        ),
    ),
    "a criterion": (
        _finding("findings", "fails"),
        "FAILS",
        "use",
        "Failure",
        (
            "exceeded  junction stays",
            "mend      a larger sink",
            "diodewright rehearse s.toml --only use",
        ),
    ),
    "an edge": (
        _finding("edges", "fails"),
        "FAILS",
        "edges",
        "Failure",
        ("exceeded  ", "diodewright rehearse s.toml --only faults"),
    ),
    "a criterion that was not judged": (
        _finding("findings", "not judged"),
        "INCOMPLETE",
        "use",
        "Error",
        ("unjudged  junction stays", "not judged, at most 125"),
    ),
    "a breach": (
        lambda values: values["hazard"].update(breaches=["class 4 without key"]),
        "FAILS",
        "hazard",
        "Failure",
        ("class 4 without key",),
    ),
    "a hazard that was not judged": (
        lambda values: values["hazard"].update(not_judged=["have it measured"]),
        "INCOMPLETE",
        "hazard",
        "Error",
        ("have it measured",),
    ),
    "a refuted obligation": (
        _open("refuted"),
        "FAILS",
        "proof",
        "Failure",
        ("refuted: light without a press",),
    ),
    "an open obligation": (
        _open("undecided"),
        "INCOMPLETE",
        "proof",
        "Error",
        ("undecided: light without a press",),
    ),
    "no proof": (
        lambda values: values["proof"].update(of=0, proved=0),
        "INCOMPLETE",
        "proof",
        "Error",
        ("not judged in this rehearsal",),
    ),
    "no faults": (
        lambda values: values.update(faults=[]),
        "INCOMPLETE",
        "faults",
        "Error",
        ("not judged in this rehearsal",),
    ),
    "what no part of it tells": (
        lambda values: None,
        "FAILS",
        "verdict",
        "Failure",
        ("FAILS: the reason",),
    ),
}


@pytest.mark.parametrize("broken", BROKEN)
def test_what_is_broken_is_told_where_it_belongs_and_in_the_verdict(broken: str) -> None:
    change, verdict, part, kind, said = BROKEN[broken]
    suites = _read(junit_of(_changed(change, verdict, "the reason"), "s.toml"))
    (case,) = [case for case in suites[part].values() if case.result]
    assert _kinds(case) == [kind]
    told = f"{case.result[0].message}\n{case.result[0].text or ''}"
    assert all(words in told for words in said), told
    (last,) = suites["verdict"].values()
    assert _kinds(last) == ["Failure" if verdict == "FAILS" else "Error"]
    assert last.result[0].message == f"{verdict}: the reason"
    elsewhere = [name for name in PARTS if name not in (part, "verdict")]
    assert all(case.is_passed for name in elsewhere for case in suites[name].values())


def test_what_xml_cannot_hold_becomes_a_mark() -> None:
    odd = "a \x00 bell \x07 & <tag> \udcff"
    done = _changed(lambda values: values["build"].update(name=odd), "FAILS", odd)
    (case,) = _read(junit_of(done, odd))["verdict"].values()
    assert case.result[0].message == "FAILS: a ? bell ? & <tag> ?"
    (case,) = _read(not_run(odd, odd))["verdict"].values()
    assert _kinds(case) == ["Error"]


def test_without_a_file_nothing_is_written() -> None:
    with told_as_junit(None, "smoke_tunnel") as tell:
        tell(read_document(DOCUMENT))
