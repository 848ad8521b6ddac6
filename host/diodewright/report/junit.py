"""A rehearsal as JUnit XML, for any build server: one testcase a finding and a fault case.

The form is that of the schema "junit-10.xsd" of the Jenkins xUnit plugin, which most servers
read: testsuites, testsuite, properties, testcase, failure, and error as its readers take it.
No time is given: nothing was measured that a clock could tell.

What fails is a failure; what was not judged is an error, for absent is not passed. The suite
"verdict" repeats the document's own verdict with all its reasons, so that nothing that made it
can be lost on the way.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from diodewright.build.plain_file import printable
from diodewright.rehearse import Rehearsal
from diodewright.report.facts import EXPECTED, case_command, rehearse_command
from diodewright.report.files import make_folder, refuse_folder, write_together
from diodewright.report.story import Line, laid_out
from diodewright.report.wording import against, dark_after, left, number, prose
from diodewright.sim import EngineError

__all__ = ["junit_of", "not_run", "told_as_junit"]

#: Verdict -> the element that it makes of the suite "verdict".
_TAGS = {"FAILS": "failure", "INCOMPLETE": "error"}
_NONE = "not judged in this rehearsal"


@dataclass(frozen=True)
class _Test:
    """One testcase.

    Attributes
    ----------
    name : within its suite.
    tag : "failure", "error", or "" where it passed.
    message : what gave way, in one line.
    text : the chain of causes.
    """

    name: str
    tag: str = ""
    message: str = ""
    text: str = ""


def _of_finding(row: Mapping[str, Any], again: str) -> _Test:
    if row["status"] == "holds":
        return _Test(row["id"])
    tag = "failure" if row["status"] == "fails" else "error"
    figure = against(row["value"], row["limit"], row["unit"], row["sense"])
    lines = [("exceeded" if tag == "failure" else "unjudged", f"{row['meaning']}: {figure}")]
    lines += [("mend", row["mend"]), ("again", again)]
    return _Test(row["id"], tag, f"{row['meaning']}: {figure}", laid_out(lines))


def _known(done: Rehearsal) -> dict[str, Mapping[str, Any]]:
    """Return what the document says of each fault; an older one says it in each case."""
    return {row["id"]: row for row in (*done.faults, *done.catalogue) if "happens" in row}


def _of_case(
    row: Mapping[str, Any], known: Mapping[str, Mapping[str, Any]], build: str, seed: int
) -> _Test:
    name = f"{row['id']}@{row['at']}"
    if row["survives"]:
        return _Test(name)
    saw = f"{row['cause']}: {row['cause_words']}" if row["cause"] else "nothing that latches"
    near = row["tightest"]
    figure = f"{number(near['value'], 4)} of {near['limit']:g} {near['unit']}"
    lines: list[Line] = [
        *(line for part in row["id"].split(",") for line in _of_fault(known.get(part, {}))),
        ("law saw", saw),
        ("acted", f"{row['reaction']}; {dark_after(row['time_to_dark_ms'])}"),
        ("why", row["why"]),
        ("tightest", f"{near['id']}: {figure} ({left(near['margin'])})"),
        ("again", case_command(build, name, seed)),
    ]
    return _Test(name, "failure", row["why"], laid_out(lines))


def _of_fault(row: Mapping[str, Any]) -> list[Line]:
    """Return what broke and what had to follow; nothing of an older document, which lacks it."""
    if "happens" not in row:
        return []
    allowed = row["allowed_ms"]
    within = "" if allowed is None else f" within {number(allowed, 5)} ms"
    return [
        ("broken", f"{row['part']}: {row['happens']}"),
        ("expected", f"{EXPECTED[row['expect']]}{within}"),
    ]


def _of_hazard(hazard: Mapping[str, Any]) -> list[_Test]:
    """Return each breach, and each thing that was not judged; one pass where there is neither."""
    found = [
        _Test(f"{what} {place}", tag, line, line)
        for what, tag, lines in (
            ("breach", "failure", hazard["breaches"]),
            ("not judged", "error", hazard.get("not_judged", [])),
        )
        for place, line in enumerate(lines, 1)
    ]
    return found or [_Test("hazard")]


def _of_proof(proof: Mapping[str, Any]) -> list[_Test]:
    tags = {"refuted": "failure"}
    found = [
        _Test(row["id"], tags.get(row["status"], "error"), f"{row['status']}: {row['why']}")
        for row in proof["open"]
    ]
    return found or ([_Test("law")] if proof["of"] else [])


def _of_verdict(done: Rehearsal) -> _Test:
    tag = _TAGS.get(done.verdict, "")
    if not tag:
        return _Test("verdict")
    text = "\n".join([done.verdict, *done.reasons])
    return _Test("verdict", tag, f"{done.verdict}: {done.reasons[0]}", text)


def _suites(done: Rehearsal, build: str) -> dict[str, list[_Test]]:
    of_use = rehearse_command(build, done.seed, "--only use")
    of_edges = rehearse_command(build, done.seed, "--only faults")
    known, cases = _known(done), (*done.faults, *done.pairs)
    suites = {
        "use": [_of_finding(row, of_use) for row in done.findings],
        "edges": [_of_finding(row, of_edges) for row in done.edges],
        "faults": [_of_case(row, known, build, done.seed) for row in cases],
        "hazard": _of_hazard(done.hazard),
        "proof": _of_proof(done.proof),
        "verdict": [_of_verdict(done)],
    }
    return {part: tests or [_Test(part, "error", _NONE)] for part, tests in suites.items()}


def junit_of(done: Rehearsal, build: str) -> bytes:
    """Return `done` as JUnit XML; the same document gives the same bytes.

    Parameters
    ----------
    build : the build as the user named it, for the commands.
    """
    said = {
        "fingerprint": done.build["fingerprint"],
        "seed": str(done.seed),
        "law_hash": done.law_hash,
        "engine": done.engine,
    }
    return _xml(done.build["name"], _suites(done, build), said)


def not_run(build: str, why: str) -> bytes:
    """Return the JUnit XML of a rehearsal that could not be made: one error that says why."""
    text = f"INCOMPLETE: {why}"
    return _xml(build, {"verdict": [_Test("verdict", "error", text, text)]}, {})


def _xml(name: str, suites: Mapping[str, Iterable[_Test]], said: Mapping[str, str]) -> bytes:
    root = ElementTree.Element("testsuites", {"name": _clean(name)})
    counted = {"tests": 0, "failures": 0, "errors": 0}
    for part, tests in suites.items():
        suite = ElementTree.SubElement(root, "testsuite", {"name": _clean(f"{name}.{part}")})
        properties = ElementTree.SubElement(suite, "properties")
        for key, value in said.items():
            ElementTree.SubElement(properties, "property", {"name": key, "value": _clean(value)})
        rows = [*tests]
        for test in rows:
            _add(suite, f"{name}.{part}", test)
        counts = {
            "tests": len(rows),
            "failures": sum(test.tag == "failure" for test in rows),
            "errors": sum(test.tag == "error" for test in rows),
        }
        suite.attrib |= {key: str(count) for key, count in counts.items()}
        counted = {key: counted[key] + count for key, count in counts.items()}
    root.attrib |= {key: str(count) for key, count in counted.items()}
    ElementTree.indent(root)
    text: bytes = ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)
    return text + b"\n"


def _add(suite: ElementTree.Element, within: str, test: _Test) -> None:
    said = {"classname": _clean(within), "name": _clean(test.name)}
    case = ElementTree.SubElement(suite, "testcase", said)
    if test.tag:
        told = {"type": test.tag, "message": _clean(prose(test.message))}
        ElementTree.SubElement(case, test.tag, told).text = _clean(test.text)


def _clean(text: str) -> str:
    """Return `text` without what XML can't hold, line by line."""
    return "\n".join(printable(line) for line in text.splitlines())


@contextmanager
def told_as_junit(path: Path | None, build: str) -> Iterator[Callable[[Rehearsal], None]]:
    """Yield what writes a Rehearsal to `path`, whole or not at all; nothing where that is None.

    Where the engine can't be made, one error is written that says so: a server that finds an old
    file would take that for the answer.

    Parameters
    ----------
    build : the build as the user named it.

    Raises
    ------
    CannotWrite
        The file can't be written: told before the long work where it can be known.
    """
    if path is None:
        yield lambda done: None
        return
    make_folder(path.parent)
    refuse_folder(path)
    try:
        yield lambda done: _write(path, junit_of(done, build))
    except EngineError as error:
        _write(path, not_run(build, str(error)))
        raise


def _write(path: Path, text: bytes) -> None:
    write_together(path.parent, {path.name: lambda part: part.write_bytes(text)})
