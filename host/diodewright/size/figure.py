"""What the size summary is made of: one printed number."""

from dataclasses import dataclass

__all__ = ["Figure", "share_pct"]


@dataclass(frozen=True)
class Figure:
    """One printed number.

    Attributes
    ----------
    id : stable name, with its unit.
    value : in `unit`.
    unit : as printed.
    meaning : what it is and at which point.
    leaves_out : the limit of its model; "" where it is a plain sum.
    """

    id: str
    value: float
    unit: str
    meaning: str
    leaves_out: str = ""


def share_pct(part_W: float, whole_W: float) -> float:
    """Return `part_W` [W] of `whole_W` [W] in per cent; 0 where there is nothing to share."""
    return 100 * part_W / whole_W if whole_W > 0 else 0.0
