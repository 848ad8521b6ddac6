"""A straight line through calibration points, with its uncertainty; what is no calibration.

Method. Weighted least squares of truth over reading; a point's weight is the inverse of its
combined variance, that of the reading times the slope squared included ("effective variance", two
rounds). Uncertainty by JCGM 100:2008 (the GUM, ISO/IEC Guide 98-3): type A from scatter (4.2), a
meter's accuracy as bounds of an even distribution (4.3.7), the line as in its example H.3, where
the points scatter more than they should scaled by that (Birge). An interval of 95 % is two
combined standard uncertainties (6.3.3). The meter's accuracy counts as one common error of scale
(a temperature's as one common shift): no number of points averages it away.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from diodewright.bench.problems import BenchError

__all__ = ["COVER", "Fitted", "Point", "straight_line"]

#: Coverage factor of an interval of 95 %.
COVER = 2.0
#: A residual of so many of its own standard uncertainties is no scatter any more.
_CONTRADICTS = 4.0


@dataclass(frozen=True)
class Point:
    """One calibration point, in the quantity's unit.

    Attributes
    ----------
    read, read_u : what the board reads, and the standard uncertainty of that mean.
    true, true_u : what the meter reads, and the standard uncertainty of its scatter alone.
    """

    read: float
    read_u: float
    true: float
    true_u: float


@dataclass(frozen=True)
class Fitted:
    """The line: truth = `at_true` + `slope` (reading - `at_read`).

    Attributes
    ----------
    at_read, at_true : the points' weighted middle, where level and slope don't depend on each
        other.
    level_u, slope_u : their standard uncertainties, the meter's accuracy not included.
    residuals : truth minus line, point by point.
    expected_u : the standard uncertainty of each residual.
    scatter : how many times more than expected the points scatter; 1 where not more.
    """

    at_read: float
    at_true: float
    slope: float
    level_u: float
    slope_u: float
    residuals: tuple[float, ...]
    expected_u: tuple[float, ...]
    scatter: float

    def true(self, read: float) -> float:
        """Return the truth at a reading."""
        return self.at_true + self.slope * (read - self.at_read)

    def read(self, true: float) -> float:
        """Return the reading at a truth."""
        return self.at_read + (true - self.at_true) / self.slope

    def u(self, read: float) -> float:
        """Return the standard uncertainty of that, the meter's accuracy not included."""
        return math.hypot(self.level_u, self.slope_u * (read - self.at_read))


def straight_line(
    points: Sequence[Point], least_span: float, uneven: float, unit: str, noun: str
) -> Fitted:
    """Return the line through `points`.

    Parameters
    ----------
    least_span : readings must lie so far apart [unit].
    uneven : what a converter's uneven codes may move a point by [unit]: no contradiction yet.
    unit, noun : for the messages.

    Raises
    ------
    BenchError
        Too few points, too close together, a reading that does not follow, or contradictory ones.
    """
    _refuse_sparse(points, least_span, unit, noun)
    slope = _overall(points)
    for _ in range(2):
        fitted = _weighted(points, slope)
        slope = fitted.slope
    _refuse_contradictory(points, fitted, uneven, unit, noun)
    return fitted


def _refuse_sparse(points: Sequence[Point], least_span: float, unit: str, noun: str) -> None:
    if len(points) < 2:
        raise BenchError(f"{noun}: {len(points)} point: a line takes two, better four")
    reads = [point.read for point in points]
    trues = [point.true for point in points]
    read_span, true_span = max(reads) - min(reads), max(trues) - min(trues)
    if true_span < least_span:
        raise BenchError(
            f"{noun}: points too close together: {true_span:.3g} {unit} apart by the meter, "
            f"at least {least_span:.3g} {unit}"
        )
    if read_span < 0.05 * true_span:
        raise BenchError(
            f"{noun}: the meter moved by {true_span:.3g} {unit}, the board's reading by "
            f"{read_span:.2g} {unit}: another channel, a broken wire, or the meter is elsewhere"
        )


def _overall(points: Sequence[Point]) -> float:
    """Return a first slope, from the two outermost points."""
    low, high = min(points, key=lambda p: p.read), max(points, key=lambda p: p.read)
    return (high.true - low.true) / (high.read - low.read)


def _weighted(points: Sequence[Point], slope: float) -> Fitted:
    variances = [point.true_u**2 + (slope * point.read_u) ** 2 for point in points]
    weights = [1.0 / variance for variance in variances]
    total = sum(weights)
    at_read = sum(w * p.read for w, p in zip(weights, points, strict=True)) / total
    at_true = sum(w * p.true for w, p in zip(weights, points, strict=True)) / total
    spread = sum(w * (p.read - at_read) ** 2 for w, p in zip(weights, points, strict=True))
    both = zip(weights, points, strict=True)
    slope = sum(w * (p.read - at_read) * (p.true - at_true) for w, p in both) / spread
    residuals = tuple(p.true - at_true - slope * (p.read - at_read) for p in points)
    free = len(points) - 2
    squares = sum(w * r * r for w, r in zip(weights, residuals, strict=True))
    scatter = max(1.0, math.sqrt(squares / free)) if free else 1.0
    expected = tuple(
        math.sqrt(max(variance - 1.0 / total - (p.read - at_read) ** 2 / spread, 0.0))
        for p, variance in zip(points, variances, strict=True)
    )
    return Fitted(
        at_read,
        at_true,
        slope,
        scatter / math.sqrt(total),
        scatter / math.sqrt(spread),
        residuals,
        expected,
        scatter,
    )


def _refuse_contradictory(
    points: Sequence[Point], fitted: Fitted, uneven: float, unit: str, noun: str
) -> None:
    rows = zip(points, fitted.residuals, fitted.expected_u, strict=True)
    over, point, residual = max(
        ((abs(r) - uneven - _CONTRADICTS * u, p, r) for p, r, u in rows), key=lambda row: row[0]
    )
    if over > 0:
        raise BenchError(
            f"{noun}: the points contradict each other: {point.true:.4g} {unit} by the meter lies "
            f"{residual:+.2g} {unit} off the line through all; measure that one again"
        )
