"""A recorded document, changed at random: refused in a line, or a whole page comes of it.

Derandomised, so that a run repeats; what was reached is printed, and too little of it fails.
"""

import copy
import io
import json
import re
from collections import Counter
from collections.abc import Iterator
from contextlib import redirect_stdout
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from diodewright.compare import moved_between_documents
from diodewright.report.files import write_report
from diodewright.report.reading import BadDocument, read_document
from diodewright.report.screen_rehearsal import show_rehearsal
from report_builds import handed

RESULT = json.loads((Path(__file__).parent / "smoke_tunnel.json").read_text("utf-8"))
RESULT |= handed("smoke_tunnel")

#: Text of a refusal -> its kind.
KINDS = {
    "not JSON: nested": "nested",
    "out of range": "number out of range",
    "is no number": "no number",
    "stands twice in one": "key twice",
    "half a character": "half a character",
    "nested deeper": "nested",
    "not JSON": "not JSON",
    "not UTF-8": "not UTF-8",
    "not text": "zero byte",
    "no object": "no object",
    "format": "other format",
    "missing or unknown": "key missing or unknown",
    "missing required": "key missing",
    "stands there twice": "row twice",
    "is no code": "no code",
    "does not rise": "time",
    "no column": "column missing",
    "columns of": "columns of two lengths",
    "corners": "corners of two lengths",
    "matching regex": "text of another form",
    "Invalid enum": "unknown word",
    "verdict ": "contradiction",
    "Expected": "wrong type",
}


def _places(value: object, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Yield the path of every value, of long lists only of the first few."""
    if path:
        yield path
    inner = list(value.items() if isinstance(value, dict) else [])
    if isinstance(value, list):
        inner = list(enumerate(value[:4]))
    for key, each in inner:
        yield from _places(each, (*path, key))


PLACES = list(_places(RESULT))
NUMBERS = [
    path
    for path in PLACES
    if len(path) > 1
    if path[0]
    in ("size", "use", "findings", "faults", "traces", "hazard", "derate", "card", "curves")
]
VALUES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**14), 10**14),
    st.integers(-5, 5),
    st.floats(allow_nan=True, allow_infinity=True),
    st.floats(-1e12, 1e12),
    st.floats(-1e-300, 1e-300),
    st.text(max_size=30),
    st.sampled_from(
        ["\ud800", "\x00\x1b[31m", "<script>", "]]>&", "µ" * 300, "HOLDS", "FAILS", "law"]
    ),
    st.lists(st.floats(-10, 10) | st.text(max_size=5), max_size=3),
    st.dictionaries(st.text(max_size=5), st.integers(0, 3), max_size=2),
)
#: What to do -> where and with what; each is tried by itself, then a few together.
EDITS: dict[str, tuple[st.SearchStrategy[Any], st.SearchStrategy[Any]]] = {
    "put": (st.sampled_from(PLACES), VALUES),
    "number": (st.sampled_from(NUMBERS), st.floats(-1e12, 1e12)),
    "scale": (st.sampled_from(NUMBERS), st.floats(-2, 1000)),
    "text": (st.sampled_from(PLACES), st.text(max_size=40) | st.just("\ud800")),
    "drop": (st.sampled_from(PLACES), st.none()),
    "double": (st.sampled_from(PLACES), st.none()),
    "extend": (st.sampled_from(PLACES), VALUES),
    "bytes": (st.sampled_from(range(997)), st.binary(max_size=3)),
    "raw": (st.sampled_from(range(997)), st.sampled_from(["1e400", "[" * 2000, "-NaN", "9" * 30])),
}


def _one(what: str) -> st.SearchStrategy[tuple[str, Any, Any]]:
    return st.tuples(st.just(what), *EDITS[what])


def _edit(values: Any, what: str, path: tuple[str | int, ...], put: object) -> None:
    """Change `values` in place; what no longer fits them is left out."""
    try:
        inner = values
        for key in path[:-1]:
            inner = inner[key]
        last = path[-1]
        old = inner[last]
        number = isinstance(old, int | float) and not isinstance(old, bool)
        if what == "put" or (what == "number" and number) or (what == "text" and type(old) is str):
            inner[last] = put
        elif what == "scale" and number:
            inner[last] = old * put
        elif what == "drop":
            del inner[last]
        elif what == "double" and isinstance(inner, list):
            inner.insert(int(last), copy.deepcopy(old))
        elif what == "extend" and isinstance(old, dict):
            old["more"] = put
    except (KeyError, IndexError, TypeError, ValueError):
        pass


def _bytes(edits: list[tuple[str, Any, Any]]) -> bytes:
    values = copy.deepcopy(RESULT)
    for what, where, put in edits:
        if what not in ("bytes", "raw"):
            _edit(values, what, where, put)
    data = json.dumps(values).encode()
    for what, where, put in edits:
        cut = where * len(data) // 997 if what in ("bytes", "raw") else 0
        if what == "bytes":
            data = data[:cut] + put + data[cut + len(put) :]
        elif what == "raw":
            hit = re.compile(rb"(?<=: )-?\d[\d.e-]*").search(data, cut)
            if hit:
                data = data[: hit.start()] + put.encode() + data[hit.end() :]
    return data


class _Tags(HTMLParser):
    """Counts open elements and remembers whether the page was closed."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.scripts = 0

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.scripts += tag == "script"


def _whole(page: str) -> None:
    """Check that a page has its begin, its end and no script out of a document's text."""
    assert page.startswith("<!DOCTYPE html>") or page.lower().startswith("<!doctype html>")
    assert page.rstrip().endswith("</html>")
    assert page.count("<svg") == page.count("</svg>")
    tags = _Tags()
    tags.feed(page)
    tags.close()
    assert tags.scripts == 0


def _kind(text: str) -> str:
    return next((kind for begin, kind in KINDS.items() if begin in text), "other")


def _fuzz(folder: Path, runs: int, pages: bool) -> Counter[str]:
    """Try each kind of edit `runs` times, and a few together; `pages` makes each page too."""
    seen: Counter[str] = Counter()
    file = folder / "odd.json"
    tried = settings(
        deadline=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
        max_examples=runs,
        # a page takes a second: to find the least document that fails would take an hour
        phases=[Phase.generate] if pages else list(Phase),
    )

    def once(edits: list[tuple[str, Any, Any]]) -> None:
        file.write_bytes(_bytes(edits))
        try:
            done = read_document(file)
        except BadDocument as error:
            text = str(error)
            assert text.startswith(f"{file}: ")
            assert text.isprintable()
            assert len(text) < 1000
            seen[_kind(text)] += 1
            return
        seen["(accepted)"] += 1
        if pages:
            page = write_report(done, folder)
            for each in (page, page.with_name("card.html")):
                _whole(each.read_text("utf-8"))
            ElementTree.parse(page.with_name("label.svg"))
        else:
            (folder / "rehearsal.json").write_bytes(done.as_json().encode())
        assert read_document(folder / "rehearsal.json") == done
        assert moved_between_documents(done, done) == ()
        with redirect_stdout(io.StringIO()):
            show_rehearsal(done, "x", None)

    for what in EDITS:
        tried(given(st.lists(_one(what), min_size=1, max_size=1))(once))()
    tried(given(st.lists(st.one_of(*map(_one, EDITS)), min_size=2, max_size=3))(once))()
    return seen


def _reached(seen: Counter[str], kinds: int) -> None:
    runs = sum(seen.values())
    print(f"documents: derandomised, {runs} files, {seen['(accepted)'] / runs:.0%} accepted")
    print(f"kinds: {dict(seen.most_common())}")
    assert "other" not in seen, "a refusal of a kind that this test does not know"
    assert len(seen) - 1 >= kinds
    assert 0.1 < seen["(accepted)"] / runs < 0.7


def test_a_document_with_any_edits_is_refused_or_can_be_shown_compared_and_kept(
    tmp_path: Path,
) -> None:
    _reached(_fuzz(tmp_path, 60, pages=False), 14)


def test_a_document_with_any_edits_is_refused_or_makes_a_whole_page(tmp_path: Path) -> None:
    _reached(_fuzz(tmp_path, 8, pages=True), 8)


@pytest.mark.long
def test_many_documents_with_any_edits_are_refused_or_make_a_whole_page(tmp_path: Path) -> None:
    _reached(_fuzz(tmp_path, 30, pages=True), 12)
