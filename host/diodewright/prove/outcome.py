"""What a run of the translator leaves: words, and what must be shown of them."""

from dataclasses import dataclass

from diodewright.prove.bits import Value
from diodewright.prove.terms import Bool

__all__ = ["INT32", "SMALL", "Check", "Memory", "Outcome", "Path"]

#: The largest small integer of MicroPython on 32 bits.
SMALL = (1 << 30) - 1
INT32 = (1 << 31) - 1

Memory = dict[str, list[Value]]
Path = tuple[Bool, ...]


@dataclass(frozen=True)
class Check:
    """Something that must hold wherever `path` does."""

    line: int
    function: str
    kind: str
    path: Path
    holds: Bool


@dataclass(frozen=True)
class Outcome:
    """What a call left: the arrays and the value returned."""

    memory: Memory
    value: Value
    checks: tuple[Check, ...]
    counted: dict[str, int]
