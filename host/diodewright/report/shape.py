"""The shape of the one document, as this room reads it: typed, checked, closed to guesses.

More keys than these are let pass, so that a document may grow; a missing or wrong one is named
with its place.
"""

from collections import Counter
from itertools import pairwise
from typing import Annotated, Any, Literal

import msgspec

from diodedriver import words
from diodewright.rehearse import FORMAT, Rehearsal
from diodewright.rehearse.document import KEPT
from diodewright.report.shape_handed import Derate, Given, Handed, Unit, refuse_crooked
from diodewright.report.shape_margins import Margins, broken_margins

__all__ = [
    "Assumed",
    "Bereft",
    "Case",
    "Closest",
    "Document",
    "Figure",
    "Finding",
    "Hazard",
    "Known",
    "Moment",
    "Near",
    "Scenario",
    "Step",
    "Tightest",
    "Use",
    "Why",
    "document_of",
    "refuse_crooked_reach",
]

Columns = dict[str, list[float]]
Reaction = Annotated[str, msgspec.Meta(pattern="^(law|hardware|controls|none)")]

_TRACES = ("use", "rise")
#: Curve -> the columns that its figure needs; the first is its axis and rises.
_CURVES = {
    "over_current": (
        "current_A",
        "light_lm",
        "steady_lm",
        "junction_degC",
        "steady_junction_degC",
    ),
    "discharge": ("light_s", "pack_V", "pack_A", "diode_A", "light_lm"),
}
#: Columns of codes -> the names that the codes stand for.
_CODES = {"mode": tuple(name for name, _ in words.MODES), "bound": tuple(words.BOUNDS)}


class _Named(msgspec.Struct, frozen=True, kw_only=True):
    """What was built."""

    name: str
    purpose: str
    fingerprint: str


class Figure(msgspec.Struct, frozen=True, kw_only=True):
    """One size figure; None for a value that never comes."""

    id: str
    value: float | None
    unit: Unit
    meaning: str
    leaves_out: str


class Reach(msgspec.Struct, frozen=True, kw_only=True):
    """Hazard distance over the beam's divergence, and the build's own."""

    spread_mrad: list[float]
    glance_m: list[float]
    hit_m: list[float]
    binoculars_m: list[float]
    here_mrad: float
    here_m: float


class Hazard(msgspec.Struct, frozen=True, kw_only=True):
    """The hazard in words; the rest is there for a laser only."""

    kind: Literal["laser", "led", "none"]
    title: str
    lines: list[str]
    classified_W: float
    classified_on: str
    breaches: list[str]
    reach: Reach | None = None
    laser_class: str | None = None
    hazard_distance_m: float | None = None
    diffuse_distance_m: float | None = None
    eyewear: str | None = None
    controls: list[str] = []


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
    """What the use showed; None for what a scenario did not ask long enough to show."""

    use_s: float
    modes: list[str]
    cause: str | None
    peak_current_A: float
    peak_junction_degC: float
    peak_mount_degC: float
    peak_sink_degC: float
    light_first_minute_W: float | None
    before_cutback_s: float | None
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
    unit: Unit
    sense: Literal["at_most", "at_least"]
    margin: float | None
    meaning: str
    mend: str


class Tightest(msgspec.Struct, frozen=True, kw_only=True):
    """What came closest to its limit in one case."""

    id: str
    value: float | None
    limit: float
    unit: Unit
    margin: float | None


class Case(msgspec.Struct, frozen=True, kw_only=True):
    """One fault at one moment; `verdict` is "" in documents of before there were any."""

    id: str
    at: str
    level: str
    verdict: Literal["", "law", "hardware", "harmless", "latent", "missed", "damaged"] = ""
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


class Bereft(Case, frozen=True, kw_only=True):
    """What a fault that hardware ended does without the part that ended it."""

    without: str


class Moment(msgspec.Struct, frozen=True, kw_only=True):
    """A moment at which faults strike, and whether this build's light reaches it."""

    meaning: str
    reached: bool


class Near(msgspec.Struct, frozen=True, kw_only=True):
    """One of the smallest margins: the criterion's quantity over time from the fault on."""

    id: str
    at: str
    criterion: str
    limit: float
    unit: Unit
    peak: float
    time_s: list[float]
    value: list[float]
    drive_A: list[float]


class Known(msgspec.Struct, frozen=True, kw_only=True):
    """What is known of a fault, whatever the moment."""

    id: str
    part: str
    happens: str
    by: str


class Closest(msgspec.Struct, frozen=True, kw_only=True):
    """The least margin of all, in words."""

    margin: float
    what: str
    figure: str
    command: str


class Why(msgspec.Struct, frozen=True, kw_only=True):
    """Why an assumed value matters, or could not be weighed; "" for what does not apply."""

    criterion: str = ""
    at: str = ""
    said: str = ""


class Assumed(msgspec.Struct, frozen=True, kw_only=True):
    """One value that the builder did not give; `matters` None where that could not be told."""

    key: str
    value: bool | float | str | list[tuple[float, float]]
    unit: Unit
    source: str
    matters: bool | None = None
    why: Why = Why()


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """One step of a builder's scenario."""

    at_s: float
    said: str


class Scenario(msgspec.Struct, frozen=True, kw_only=True):
    """The builder's scenario that took the place of the one use."""

    name: str
    start_charge_pct: float
    ambient_degC: float
    rest_s: float
    latched: str | None
    steps: list[Step]


class Document(msgspec.Struct, frozen=True, kw_only=True):
    """The whole document; None or empty is what a document has not got."""

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
    scenario: Scenario | None
    edges: list[Finding] = []
    pairs: list[Case] = []
    bereft: list[Bereft] = []
    catalogue: list[Known] = []
    moments: dict[str, Moment] = {}
    without: list[str] = []
    closest: list[Near] = []
    unsaved: list[Known] = []
    given: list[Given] = []
    derate: Derate | None = None
    card: Handed | None = None
    versions: dict[str, str] = {}
    margins: Margins | None = None
    curves: dict[str, Columns] = {}

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
    for key in ("use", "tightest", "scenario", "derate", "card", "margins"):
        values[key] = values[key] or None
    try:
        document = msgspec.convert(values, Document)
    except msgspec.ValidationError as error:
        raise ValueError(str(error)) from None
    _refuse_contradiction(document)
    _refuse_twins(document)
    if document.hazard.reach:
        refuse_crooked_reach(document.hazard.reach)
    for name, needed in _CURVES.items():
        if name in document.curves:
            _refuse_uneven(f"curves.{name}", document.curves[name], needed)
    if document.derate:
        refuse_crooked(document.derate)
    if document.use:
        for name in _TRACES:
            _refuse_gaps(name, document.traces.get(name, {}))
    return document


def _refuse_contradiction(document: Document) -> None:
    """Refuse a verdict that the document's own parts do not bear: it was edited or cut."""
    cases = (*document.faults, *document.pairs)
    broken = [f"{case.id}@{case.at}" for case in cases if not case.survives]
    judged = document.edges + document.findings
    broken += [finding.id for finding in judged if finding.status != "holds"]
    broken += broken_margins(document.margins)
    broken += document.hazard.breaches + document.reasons
    if document.verdict == "HOLDS" and broken:
        raise ValueError(f"verdict HOLDS, but {broken[0]} does not")
    if document.verdict != "HOLDS" and not document.reasons:
        raise ValueError(f"verdict {document.verdict} without a reason")


def _refuse_twins(document: Document) -> None:
    """Refuse two rows of one name: nobody could say which of them counts."""
    rows = {
        "size": [row.id for row in document.size],
        "findings": [row.id for row in document.findings],
        "edges": [row.id for row in document.edges],
        "faults": [f"{row.id}@{row.at}" for row in (*document.faults, *document.pairs)],
        "given": [row.key for row in document.given],
        "assumed": [row.key for row in document.assumed],
    }
    for part, names in rows.items():
        for name, count in Counter(names).items():
            if count > 1:
                raise ValueError(f"{part}: {name!r} stands there twice")


def _refuse_uneven(place: str, columns: Columns, needed: tuple[str, ...]) -> None:
    """Refuse columns that can't be drawn against each other; the first of `needed` counts."""
    missing = [column for column in needed if column not in columns]
    if missing:
        raise ValueError(f"{place}: no column {missing[0]}")
    lengths = {len(columns[column]) for column in needed}
    if len(lengths) > 1 or min(lengths) < 2:
        raise ValueError(f"{place}: columns of {sorted(lengths)} rows")
    first = columns[needed[0]]
    if first[-1] <= first[0] or any(after < before for before, after in pairwise(first)):
        raise ValueError(f"{place}: {needed[0]} does not rise")


def refuse_crooked_reach(reach: Reach) -> None:
    """Refuse columns of unequal length and divergences that no logarithm takes; ValueError."""
    columns = (reach.spread_mrad, reach.glance_m, reach.hit_m, reach.binoculars_m)
    lengths = {len(column) for column in columns}
    if len(lengths) > 1 or min(lengths) < 2:
        raise ValueError(f"hazard.reach: columns of {sorted(lengths)} rows")
    if min(*reach.spread_mrad, reach.here_mrad) <= 0:
        raise ValueError("hazard.reach: a divergence must be above 0 mrad")


def _refuse_gaps(name: str, columns: Columns) -> None:
    _refuse_uneven(f"traces.{name}", columns, KEPT)
    for column, names in _CODES.items():
        for code in columns[column]:
            if code not in range(len(names)):
                raise ValueError(
                    f"traces.{name}.{column}: {code:g} is no code; allowed 0 to {len(names) - 1}"
                )
