"""The shape of the one document, as this room reads it: typed, checked, closed to guesses.

More keys than these are let pass, so that a document may grow; a missing or wrong one is named
with its place.
"""

from typing import Annotated, Any, Literal

import msgspec

from diodewright.rehearse import FORMAT, Rehearsal
from diodewright.rehearse.document import KEPT

__all__ = [
    "Assumed",
    "Case",
    "Closest",
    "Document",
    "Figure",
    "Finding",
    "Hazard",
    "Tightest",
    "Use",
    "document_of",
]

Columns = dict[str, list[float]]
Reaction = Annotated[str, msgspec.Meta(pattern="^(law|hardware|controls|none)")]

_TRACES = ("use", "rise")


class _Named(msgspec.Struct, frozen=True, kw_only=True):
    """What was built."""

    name: str
    purpose: str
    fingerprint: str


class Figure(msgspec.Struct, frozen=True, kw_only=True):
    """One size figure; None for a value that never comes."""

    id: str
    value: float | None
    unit: str
    meaning: str
    leaves_out: str


class Hazard(msgspec.Struct, frozen=True, kw_only=True):
    """The hazard in words."""

    kind: str
    title: str
    lines: list[str]
    classified_W: float
    classified_on: str
    breaches: list[str]


class Open(msgspec.Struct, frozen=True, kw_only=True):
    """An obligation that is not proved, and why."""

    id: str
    status: Literal["refuted", "undecided"]
    why: str


class Proof(msgspec.Struct, frozen=True, kw_only=True):
    """What was proved of the law."""

    solver: str
    proved: int
    of: int
    open: list[Open]


class Use(msgspec.Struct, frozen=True, kw_only=True):
    """What the healthy use showed."""

    use_s: float
    modes: list[str]
    cause: str | None
    peak_current_A: float
    peak_junction_degC: float
    peak_mount_degC: float
    peak_sink_degC: float
    light_first_minute_W: float
    before_cutback_s: float
    before_pack_cutback_s: float | None
    least_pack_V: float
    peak_pack_A: float
    lit_s: float


class Finding(msgspec.Struct, frozen=True, kw_only=True):
    """One criterion in use."""

    id: str
    status: Literal["holds", "fails", "not judged"]
    value: float | None
    limit: float
    unit: str
    sense: Literal["at_most", "at_least"]
    margin: float | None
    meaning: str
    mend: str


class Tightest(msgspec.Struct, frozen=True, kw_only=True):
    """What came closest to its limit in one case."""

    id: str
    value: float | None
    limit: float
    unit: str
    margin: float | None


class Case(msgspec.Struct, frozen=True, kw_only=True):
    """One fault at one moment."""

    id: str
    at: str
    level: str
    reaction: Reaction
    cause: str | None
    cause_words: str
    clears_by: str
    time_to_dark_ms: float | None
    peak_current_A: float
    peak_junction_degC: float
    peak_light_W: float
    survives: bool
    why: str
    tightest: Tightest


class Closest(msgspec.Struct, frozen=True, kw_only=True):
    """The least margin of all, in words."""

    margin: float
    what: str
    figure: str
    command: str


class Assumed(msgspec.Struct, frozen=True, kw_only=True):
    """One value that the builder did not give."""

    key: str
    value: bool | float | str
    unit: str
    source: str


class Document(msgspec.Struct, frozen=True, kw_only=True):
    """The whole document; `use` and `tightest` are None where there are none."""

    verdict: Literal["HOLDS", "FAILS", "INCOMPLETE"]
    reasons: list[str]
    build: _Named
    seed: int
    law_hash: str
    engine: str
    size: list[Figure]
    hazard: Hazard
    proof: Proof
    use: Use | None
    findings: list[Finding]
    faults: list[Case]
    tightest: Closest | None
    assumed: list[Assumed]
    cautions: list[str]
    leaves_out: list[str]
    traces: dict[str, Columns]

    @property
    def format(self) -> int:
        """The document's format."""
        return FORMAT


def document_of(done: Rehearsal) -> Document:
    """Return the typed view of `done`.

    Raises
    ------
    ValueError
        A key is missing or of the wrong kind, or the verdict contradicts what stands below it;
        one line that names the place.
    """
    values: dict[str, Any] = done.as_dict()
    for key in ("use", "tightest"):
        values[key] = values[key] or None
    try:
        document = msgspec.convert(values, Document)
    except msgspec.ValidationError as error:
        raise ValueError(str(error)) from None
    _refuse_contradiction(document)
    if document.use:
        for name in _TRACES:
            _refuse_gaps(name, document.traces.get(name, {}))
    return document


def _refuse_contradiction(document: Document) -> None:
    """Refuse a verdict that the document's own parts do not bear: it was edited or cut."""
    broken = [f"{case.id}@{case.at}" for case in document.faults if not case.survives]
    broken += [finding.id for finding in document.findings if finding.status != "holds"]
    broken += document.hazard.breaches + document.reasons
    if document.verdict == "HOLDS" and broken:
        raise ValueError(f"verdict HOLDS, but {broken[0]} does not")
    if document.verdict != "HOLDS" and not document.reasons:
        raise ValueError(f"verdict {document.verdict} without a reason")


def _refuse_gaps(name: str, columns: Columns) -> None:
    missing = [column for column in KEPT if column not in columns]
    if missing:
        raise ValueError(f"traces.{name}: no column {missing[0]}")
    lengths = {len(columns[column]) for column in KEPT}
    if len(lengths) > 1 or min(lengths) < 2:
        raise ValueError(f"traces.{name}: columns of {sorted(lengths)} rows")
