"""The catalogue of single faults, as data: which part fails and how, and what must follow.

Rows stand in modules by groups of parts, and are joined here. Every part of `parts.PARTS` has for
every mode a row here or a written reason in `unshown.UNSHOWN`. What a row's fields mean:
`fault.Fault`.
"""

from diodewright.faults import controller, controls, heat, light, power, sensing, stage
from diodewright.faults.fault import Fault

__all__ = ["CATALOGUE", "ENGINE", "by_id"]

CATALOGUE: tuple[Fault, ...] = (
    *light.ROWS,
    *stage.ROWS,
    *sensing.ROWS,
    *heat.ROWS,
    *power.ROWS,
    *controls.ROWS,
    *controller.ROWS,
)
#: The rows that `rehearse` runs; the others are shown by what they name.
ENGINE: tuple[Fault, ...] = tuple(row for row in CATALOGUE if row.level == "engine")


def by_id(name: str) -> Fault:
    """Return the row of that id; KeyError where there is none."""
    for row in CATALOGUE:
        if row.id == name:
            return row
    raise KeyError(name)
