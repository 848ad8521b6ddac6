"""What the size summary is made of: one printed number."""

from dataclasses import dataclass

__all__ = ["Figure"]


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
