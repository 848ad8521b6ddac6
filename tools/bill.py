"""The reference circuit of one build, part by part: value, requirement, and why.

Numbers come from `derive.parts` and `derive.edges`; here are only the words. Read by the writers of
values.md, of the bills of materials, and by the figures.
"""

from collections.abc import Callable

import bill_logic
import bill_power
from bill_item import Item, Rows

from diodewright.build import Build

__all__ = ["GROUPS", "bill"]

GROUPS = {
    "power": "Pack to stage",
    "output": "Output and diode",
    "guards": "Guards",
    "set": "Set path",
    "enable": "Dynamic enable",
    "logic": "Supply and logic",
    "readings": "Readings and controls",
}

_TABLES: dict[str, Callable[[Build], Rows]] = {
    "power": bill_power.power,
    "output": bill_power.output,
    "guards": bill_logic.guards,
    "set": bill_logic.set_path,
    "enable": bill_logic.enable,
    "logic": bill_logic.logic,
    "readings": bill_logic.readings,
}


def bill(build: Build) -> list[Item]:
    """Return every part of the build's circuit, in the order of `GROUPS`."""
    return [
        Item(*row[:6], group=group, count=row[6] if len(row) > 6 else 1)  # type: ignore[misc]
        for group, rows in _TABLES.items()
        for row in rows(build)
    ]
