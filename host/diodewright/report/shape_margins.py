"""The shape of the margins in the one document; see `shape`."""

from typing import Literal

import msgspec

from diodewright.report.shape_handed import Unit

__all__ = ["Band", "Margins", "Quantity", "Spreads", "broken_margins"]


class Eater(msgspec.Struct, frozen=True, kw_only=True):
    """One tolerance beside a quantity: its part of the swing, and of the margin alone."""

    tolerance: str
    swing_share: float
    eats_share: float
    worst: float


class Quantity(msgspec.Struct, frozen=True, kw_only=True):
    """One limit over all true builds; told, not judged, where typical parts are asked for it."""

    id: str
    scope: Literal["use", "fault"]
    meaning: str
    unit: Unit
    sense: Literal["at_most", "at_least"]
    limit: float
    judged: bool
    nominal: float
    corner: float
    drawn_worst: float | None
    drawn_quantile: float | None
    quantile_share: float | None
    margin_nominal: float
    margin_worst: float
    status: Literal["holds", "fails", "told"]
    mend: str
    by: list[Eater]


class Band(msgspec.Struct, frozen=True, kw_only=True):
    """One threshold's guard band: built in, and needed by the parts."""

    row: str
    word: str
    healthy: float
    threshold: float
    unit: Unit
    built_in: float
    needed: float
    likely: float
    fits: bool
    mend: str


class Trip(msgspec.Struct, frozen=True, kw_only=True):
    """A latch of a true build with nothing broken."""

    build: str
    kind: Literal["nominal", "alone", "corner", "drawn"]
    use: str
    cause: str
    judged: bool


class Lost(msgspec.Struct, frozen=True, kw_only=True):
    """A fault case of a true build that breaks a limit, or is not noticed."""

    build: str
    kind: Literal["nominal", "alone", "corner", "drawn"]
    case: str
    why: str


class Spreads(msgspec.Struct, frozen=True, kw_only=True):
    """One row of the table of tolerances."""

    name: str
    part: str
    how: str
    low: float
    high: float
    unit: Unit
    shape: Literal["even", "normal"]
    source: str


class Margins(msgspec.Struct, frozen=True, kw_only=True):
    """What the parts' tolerances leave of every limit."""

    builds: int
    confidence: float
    covered_share: float
    tripped_builds: int
    quantities: list[Quantity]
    guard_bands: list[Band]
    trips: list[Trip]
    lost: list[Lost]
    unnoticed: list[Lost]
    cases: list[str]
    tolerances: list[Spreads]


def broken_margins(margins: Margins | None) -> list[str]:
    """Return what does not hold among the margins."""
    if margins is None:
        return []
    broken = [row.id for row in margins.quantities if row.status == "fails"]
    broken += [f"guard band {band.word}" for band in margins.guard_bands if not band.fits]
    broken += [f"{row.build}: {row.cause}" for row in margins.trips if row.judged]
    return broken + [f"{row.build}: {row.case}" for row in margins.lost]
