"""One criterion on one quantity: holds, fails, or was not judged."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from diodewright.derive import Criterion

__all__ = ["Finding", "judge", "margin_of"]


@dataclass(frozen=True)
class Finding:
    """What became of one criterion.

    Attributes
    ----------
    id, meaning, unit, limit : the criterion's.
    status : "holds", "fails" or "not judged" (the quantity is absent, or not a number).
    value : what was found, or None.
    margin : part of the limit that is left; negative where it fails; None where not judged.
    mend : what helps; "" where it holds.
    """

    id: str
    status: Literal["holds", "fails", "not judged"]
    value: float | None
    limit: float
    unit: str
    sense: str
    margin: float | None
    meaning: str
    mend: str


def margin_of(criterion: Criterion, value: float) -> float:
    """Return the part of the limit that is left at `value`; negative beyond it."""
    room = criterion.limit - value if criterion.sense == "at_most" else value - criterion.limit
    return room / abs(criterion.limit) if criterion.limit else room


def judge(
    criteria: Iterable[Criterion], values: Mapping[str, float], scope: str
) -> tuple[Finding, ...]:
    """Judge `values` against the criteria of `scope` ("use" or "fault").

    A quantity that is absent or NaN is "not judged", never "holds".
    """
    findings = []
    for row in criteria:
        if scope not in row.scopes:
            continue
        value = values.get(row.column)
        if value is None or math.isnan(value):
            findings.append(
                Finding(
                    row.id,
                    "not judged",
                    None,
                    row.limit,
                    row.unit,
                    row.sense,
                    None,
                    row.meaning,
                    f"no {row.column} in this run",
                )
            )
            continue
        margin = margin_of(row, value)
        holds = margin >= 0
        findings.append(
            Finding(
                row.id,
                "holds" if holds else "fails",
                value,
                row.limit,
                row.unit,
                row.sense,
                margin,
                row.meaning,
                "" if holds else row.mend,
            )
        )
    return tuple(findings)
