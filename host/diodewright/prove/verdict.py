"""What was found of one obligation."""

from dataclasses import dataclass
from typing import Any

__all__ = ["STATUSES", "Verdict"]

STATUSES = ("proved", "refuted", "undecided")


@dataclass(frozen=True)
class Verdict:
    """One row of a proof.

    Attributes
    ----------
    id : the obligation; `claim` : it in words.
    status : one of `STATUSES`. `seconds` : how long it took [s].
    why : what is broken, or why it is undecided.
    case : of a refuted one the numbers that break it.
    """

    id: str
    claim: str
    status: str
    seconds: float
    why: str = ""
    case: dict[str, Any] | None = None
