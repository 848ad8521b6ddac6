"""One row of the plant's tables."""

from dataclasses import dataclass

__all__ = ["Row"]


@dataclass(frozen=True)
class Row:
    """One value (or curve) of a record.

    Attributes
    ----------
    name : field name; ends in its unit.
    unit : unit as text; "" for a plain number, "flag" for 0 or 1, "code" for a whole number.
    meaning : what it is, and for a fault what it does.
    low, high : allowed range, both ends included, in `unit`.
    start : value (of every point) when none is given; None where a value must be given.
    count : 1 for a scalar, else the number of points of a curve.
    rising : whether a curve's points must rise strictly.
    least : smallest allowed magnitude, for a value that may have either sign but not be near 0.
    """

    name: str
    unit: str
    meaning: str
    low: float
    high: float
    start: float | None = None
    count: int = 1
    least: float = 0.0
    rising: bool = False
