"""What the first screen says of margins: the tightest limits, who eats them, what trips falsely."""

from collections.abc import Iterator

from diodewright.report.shape_margins import Margins, Quantity
from diodewright.report.wording import against, left, number, prose, quantity

__all__ = ["margin_lines", "tightest_quantities", "worst_of"]

#: So many quantities stand on the screen; the rest is in the report.
_SHOWN = 3


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


def _drawn(margins: Margins) -> str:
    percent = 100 * margins.confidence
    return (
        f"{margins.builds} drawn builds, all tolerances alone at both ends and the worst corners; "
        f"{number(percent)} % sure that {number(100 * margins.covered_share)} % of builds do no "
        "worse than the worst drawn"
    )


def _row(row: Quantity) -> str:
    at_worst = against(worst_of(row), row.limit, row.unit, row.sense)
    said = (
        f"{row.status.upper() if row.status == 'fails' else row.status}: "
        f"{prose(row.meaning)} ({row.scope}): nominal {quantity(row.nominal, row.unit, 4)}, "
        f"worst {at_worst} ({left(row.margin_worst)})"
    )
    if row.by:
        first = max(row.by, key=lambda each: each.eats_share)
        share = number(100 * first.eats_share, 2)
        said += f"; {first.tolerance} eats most: {share} % of the margin alone"
    return said


def margin_lines(margins: Margins) -> Iterator[str]:
    """Yield the lines of the block."""
    yield _drawn(margins)
    ranked = tightest_quantities(margins)
    broken = [row for row in ranked if row.status == "fails"]
    yield f"{len(ranked) - len(broken)} of {len(ranked)} limits hold in every build tried"
    for row in broken or ranked[:_SHOWN]:
        yield _row(row)
    yield from _trips(margins)
    yield from _bands(margins)


def _trips(margins: Margins) -> Iterator[str]:
    yield f"false trips: {margins.tripped_builds} of {margins.builds} drawn builds"
    kinds = {row.kind for row in margins.trips}
    for kind in sorted(kinds):
        rows = [row for row in margins.trips if row.kind == kind]
        judged = "" if rows[0].judged else " (all parts at their limits at once: told, not judged)"
        yield f"  {kind}: {rows[0].build}: {rows[0].cause} in the {rows[0].use} use{judged}"
    for row in margins.lost[:1]:
        yield f"NOT SURVIVED: {row.build}: {row.case}: {prose(row.why)}"
    drifts = sorted({row.case for row in margins.unnoticed})
    if drifts:
        builds = len({row.build for row in margins.unnoticed})
        yield (
            f"told, not judged: in {builds} of all builds tried {', '.join(drifts)} stays within "
            "what healthy parts spread; no limit is broken"
        )


def _bands(margins: Margins) -> Iterator[str]:
    short = [band for band in margins.guard_bands if not band.fits]
    yield f"{len(margins.guard_bands) - len(short)} of {len(margins.guard_bands)} guard bands fit"
    for band in short:
        missing = quantity(band.needed - band.built_in, band.unit, 2)
        yield f"TOO NARROW: {band.row} ({band.word}): {missing} short; mend: {band.mend}"
