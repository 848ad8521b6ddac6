"""The map of faults: fault x moment -> verdict, as letters.

Phases and mendings of one moment share its cell, which shows the worst of them. A cell without a
case is a dot: the light never reaches that moment, or the fault shows slowly and strikes elsewhere.
"""

from dataclasses import dataclass

from diodewright.report.facts import letter, moment_of
from diodewright.report.shape import Case, Document

__all__ = ["NO_CASE", "Cell", "FaultMap", "fault_map"]

NO_CASE = "."
#: What a cell of several cases shows, the worst first.
_WORST = "XM?-DLHC"


@dataclass(frozen=True)
class Cell:
    """One cell: its letter, how many cases it stands for, and the worst of them."""

    letter: str
    cases: int
    worst: Case | None


@dataclass(frozen=True)
class FaultMap:
    """The map.

    Attributes
    ----------
    moments : the columns, in the order of a use.
    rows : (fault's id, one cell for each moment), in the catalogue's order.
    """

    moments: tuple[str, ...]
    rows: tuple[tuple[str, tuple[Cell, ...]], ...]


def _cell(cases: list[Case]) -> Cell:
    if not cases:
        return Cell(NO_CASE, 0, None)
    worst = min(cases, key=lambda case: _WORST.index(letter(case)))
    return Cell(letter(worst), len(cases), worst)


def fault_map(document: Document) -> FaultMap:
    """Return the map of the document's single faults; without columns where there are none."""
    held: dict[str, dict[str, list[Case]]] = {}
    for case in document.faults:
        held.setdefault(case.id, {}).setdefault(moment_of(case), []).append(case)
    seen = dict.fromkeys(moment_of(case) for case in document.faults)
    moments = tuple(document.moments or seen)
    rows = tuple(
        (name, tuple(_cell(of.get(at, [])) for at in moments)) for name, of in held.items()
    )
    return FaultMap(moments if rows else (), rows)
