"""What the first screen says of margins: the tightest limits, who eats them, what trips falsely."""

from collections.abc import Iterator

from diodewright.report.shape_margins import Margins, Quantity
from diodewright.report.wording import against, left, number, prose, quantity

__all__ = ["margin_lines", "tightest_quantities", "worst_of"]


def worst_of(row: Quantity) -> float:
    """Return the worst value of all true builds that were tried."""
    if row.drawn_worst is None:
        return row.corner
    pick = max if row.sense == "at_most" else min
    return float(pick(row.corner, row.drawn_worst))


def tightest_quantities(margins: Margins) -> list[Quantity]:
    """Return what is judged, the least margin first."""
    judged = [row for row in margins.quantities if row.judged]
    return sorted(judged, key=lambda row: row.margin_worst)


def _row(row: Quantity) -> str:
    at_worst = against(worst_of(row), row.limit, row.unit, row.sense)
    mark = "FAILS" if row.status == "fails" else "tightest"
    said = (
        f"{mark}: {prose(row.meaning)} ({row.scope}): "
        f"nominal {quantity(row.nominal, row.unit, 4)}, "
        f"worst {at_worst} ({left(row.margin_worst)})"
    )
    if row.by:
        first = max(row.by, key=lambda each: each.eats_share)
        share = number(100 * first.eats_share, 2)
        said += f"; {first.tolerance} alone eats {share} % of it"
    return said


def margin_lines(margins: Margins) -> Iterator[str]:
    """Yield the lines of the block: few, the report has the rest."""
    ranked = tightest_quantities(margins)
    broken = [row for row in ranked if row.status == "fails"]
    held = f"{len(ranked) - len(broken)} of {len(ranked)} limits hold"
    yield f"each tolerance alone, worst corners, {margins.builds} drawn builds: {held}"
    for row in broken or ranked[:1]:
        yield _row(row)
    yield _counted(margins)
    yield from _trips(margins)
    for band in margins.guard_bands:
        if not band.fits:
            missing = quantity(band.needed - band.built_in, band.unit, 2)
            yield f"TOO NARROW: {band.row} ({band.word}): {missing} short; mend: {band.mend}"


def _counted(margins: Margins) -> str:
    fit = sum(band.fits for band in margins.guard_bands)
    sure, share = number(100 * margins.confidence), number(100 * margins.covered_share)
    return (
        f"false trips: {margins.tripped_builds} of {margins.builds} drawn; "
        f"{fit} of {len(margins.guard_bands)} guard bands fit; "
        f"{sure} % sure that {share} % of builds do no worse than the worst drawn"
    )


def _trips(margins: Margins) -> Iterator[str]:
    for kind in sorted({row.kind for row in margins.trips}):
        first = next(row for row in margins.trips if row.kind == kind)
        told = "" if first.judged else " (told, not judged)"
        yield f"{kind}: {first.build}: {first.cause} in the {first.use} use{told}"
    for row in margins.lost[:1]:
        yield f"NOT SURVIVED: {row.build}: {row.case}: {prose(row.why)}"
    drifts = ", ".join(sorted({row.case for row in margins.unnoticed}))
    if drifts:
        count = len({row.build for row in margins.unnoticed})
        yield f"told: {drifts} not noticed in {count} builds, no limit broken"
