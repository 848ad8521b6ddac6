"""The JUnit file against the schema that most build servers read such files by.

Source: "junit-10.xsd" of the Jenkins xUnit plugin (MIT licence, G. Boissinot, 2014): its elements,
attributes and their order, said once more as tables. Its types are strings, but for times, which
this file does not give.
"""

import copy
from pathlib import Path
from xml.etree import ElementTree

import pytest

from diodewright.rehearse import Rehearsal
from diodewright.report.junit import junit_of, not_run
from diodewright.report.reading import read_document

DOCUMENT = Path(__file__).parents[1] / "report" / "smoke_tunnel.json"

#: Element -> attributes that it must have, others that it may have, elements that it may hold.
SCHEMA = {
    "testsuites": ("", "name time tests failures errors", "testsuite"),
    "testsuite": (
        "name tests failures errors",
        "group time skipped timestamp hostname id package file log url",
        "testsuite properties testcase system-out system-err",
    ),
    "properties": ("", "", "property"),
    "property": ("name value", "", ""),
    "testcase": (
        "name",
        "time classname group",
        "skipped error failure rerunFailure rerunError flakyFailure flakyError "
        "system-out system-err",
    ),
    "failure": ("", "type message", ""),
    "error": ("", "type message", ""),
}


def _wrong(element: ElementTree.Element) -> list[str]:
    must, may, holds = (set(words.split()) for words in SCHEMA[element.tag])
    found = [f"{element.tag} lacks {name}" for name in must - element.attrib.keys()]
    found += [f"{element.tag} has {name}" for name in element.attrib.keys() - must - may]
    found += [f"{element.tag} holds {child.tag}" for child in element if child.tag not in holds]
    known = [child for child in element if child.tag in SCHEMA]
    return found + [line for child in known for line in _wrong(child)]


def _failing() -> Rehearsal:
    values = copy.deepcopy(read_document(DOCUMENT).as_dict())
    values["faults"][0] |= {"survives": False, "why": "it & <that>"}
    values["findings"][0] |= {"status": "not judged", "value": None, "margin": None}
    values |= {"verdict": "FAILS", "reasons": ["it"], "edges": []}
    return Rehearsal.from_dict(values)


@pytest.mark.parametrize(
    "text",
    [
        junit_of(read_document(DOCUMENT), "smoke_tunnel"),
        junit_of(_failing(), "smoke_tunnel"),
        not_run("smoke_tunnel", "no engine"),
    ],
    ids=["holds", "fails", "not run"],
)
def test_the_file_is_what_the_schema_asks_for(text: bytes) -> None:
    root = ElementTree.fromstring(text)
    assert root.tag == "testsuites"
    assert _wrong(root) == []
    for suite in root:
        cases = suite.findall("testcase")
        counted = [
            len(cases),
            *(len(suite.findall(f"testcase/{tag}")) for tag in ("failure", "error")),
        ]
        assert [int(suite.attrib[name]) for name in ("tests", "failures", "errors")] == counted
        names = [case.attrib["name"] for case in cases]
        assert len(names) == len(set(names))


def test_a_file_that_is_none_of_the_schemas_would_be_seen() -> None:
    text = '<testsuites odd="1"><testsuite name="a"><failure/></testsuite></testsuites>'
    assert sorted(_wrong(ElementTree.fromstring(text))) == [
        "testsuite holds failure",
        "testsuite lacks errors",
        "testsuite lacks failures",
        "testsuite lacks tests",
        "testsuites has odd",
    ]
