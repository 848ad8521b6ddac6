"""What a choice must hold, as rows: id, value, limit, margin, unit, in words."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from diodewright.derive import Criterion
from diodewright.derive.guard_bands import GuardBand
from diodewright.judge import Finding
from diodewright.judge.findings import margin_of
from diodewright.rehearse.causes import FALSE_TRIP_MENDS
from diodewright.tune.corners import Corner
from diodewright.tune.hunting import HUNTING_PCT, Swing
from diodewright.tune.runs import Struck

__all__ = [
    "Constraint",
    "from_bands",
    "from_case_findings",
    "from_cases",
    "from_corner",
    "from_findings",
    "from_hunting",
    "from_trips",
]


@dataclass(frozen=True)
class Constraint:
    """One row.

    Attributes
    ----------
    id : stable and unique: where it is asked, a dot, what is asked.
    value, limit : in `unit`; None where nothing was found to compare.
    sense : the limit is a ceiling ("at_most") or a floor ("at_least").
    margin : part of the limit that is left; below 0 where it fails; None where not judged.
    meaning : in a builder's words.
    where : the corner or the fault case that it is worst at; "" for typical parts.
    mend : what helps where it fails.
    """

    id: str
    value: float | None
    limit: float
    sense: str
    unit: str
    margin: float | None
    meaning: str
    where: str = ""
    mend: str = ""

    @property
    def holds(self) -> bool:
        """Whether it holds; what was not judged does not."""
        return self.margin is not None and self.margin >= 0


def from_findings(findings: Iterable[Finding], scope: str, where: str = "") -> Iterator[Constraint]:
    """Yield a row of each finding of a scope ("use", "edge")."""
    for row in findings:
        said = row.id.removeprefix(f"{scope}-")
        yield Constraint(
            f"{scope}.{said}",
            row.value,
            row.limit,
            row.sense,
            row.unit,
            row.margin,
            row.meaning,
            where,
            row.mend,
        )


def from_bands(bands: Iterable[GuardBand]) -> Iterator[Constraint]:
    """Yield a row of each guard band: what its parts need of what is built in."""
    for band in bands:
        room = band.built_in - band.needed
        yield Constraint(
            f"band.{band.row}.{band.word}",
            band.needed,
            band.built_in,
            "at_most",
            band.unit,
            room / band.built_in if band.built_in else (room if room else 0.0),
            f"parts at their worst make no false trip: {band.row}",
            "tolerance corner, closed form",
            band.mend,
        )


def from_trips(runs: Iterable[tuple[str, str | None]]) -> Iterator[Constraint]:
    """Yield a row for each use of typical parts: nothing latches; an empty pack may."""
    for use, cause in runs:
        tripped = cause is not None and cause != "pack_low"
        meaning = f"nothing latches in the {use} use" + (f": {cause}" if tripped else "")
        mend = FALSE_TRIP_MENDS.get(str(cause), "a wider guard band for that row")
        yield Constraint(
            f"use.no-trip-{use}",
            float(tripped),
            0.0,
            "at_most",
            "",
            -float(tripped),
            meaning,
            "",
            mend if tripped else "",
        )


def from_hunting(swing: Swing | None) -> Iterator[Constraint]:
    """Yield the row on hunting; nothing where no cutback was reached."""
    if swing is not None:
        value = 100 * swing.share
        yield Constraint(
            "use.hunting",
            value,
            HUNTING_PCT,
            "at_most",
            "%",
            (HUNTING_PCT - value) / HUNTING_PCT,
            "no visible swing of the light in settled cutback",
            "",
            "a wider span from warm to hot, or a faster thermistor",
        )


def from_cases(runs: Sequence[Struck]) -> Iterator[Constraint]:
    """Yield how many fault cases were not survived, the first of them named."""
    lost = [run.finding for run in runs if not run.finding.survives]
    yield Constraint(
        "fault.survived",
        float(len(lost)),
        0.0,
        "at_most",
        "cases",
        -float(len(lost)),
        f"all of {len(runs)} fault cases end as they must" + (f": {lost[0].why}" if lost else ""),
        f"{lost[0].id}@{lost[0].at}" if lost else "",
    )


def from_case_findings(runs: Sequence[Struck], scope: str, corner: str = "") -> list[Constraint]:
    """Return the tightest finding of each fault criterion, and the case that it is of."""
    kept: dict[str, tuple[Finding, str]] = {}
    for run in runs:
        for found in run.findings:
            least = kept[found.id][0].margin if found.id in kept else None
            if found.id not in kept or (
                found.margin is not None and least is not None and found.margin < least
            ):
                kept[found.id] = (found, f"{run.finding.id}@{run.finding.at}")
    return [
        row
        for found, case in kept.values()
        for row in from_findings((found,), scope, f"{corner}: {case}" if corner else case)
    ]


def from_corner(
    corner: Corner, asked: Iterable[Criterion], values: Mapping[str, float]
) -> Iterator[Constraint]:
    """Yield what is judged at a corner, in use."""
    for row in asked:
        value = values.get(row.column)
        margin = None if value is None else margin_of(row, value)
        yield Constraint(
            f"corner.{row.id}",
            value,
            row.limit,
            row.sense,
            row.unit,
            margin,
            row.meaning,
            f"{corner.id}: {corner.meaning}",
            row.mend,
        )
