"""Numbers that watch themselves: a law run on them stops where the board would differ.

Whole numbers that refuse to pass 2**30, to be divided by less than 1 or shifted by an odd count,
and arrays that refuse an index outside and a value that is no non-negative int32.
"""

from collections.abc import Callable, Iterable, Iterator
from functools import cache
from typing import Any

__all__ = ["KINDS", "Breach", "Words", "watched"]

#: What can be watched.
KINDS = ("divisor", "index", "intermediate", "shift", "store")

_SMALL = (1 << 30) - 1
_INT32 = (1 << 31) - 1


class Breach(ArithmeticError):
    """The board would compute something else than CPython here."""


_SIGNS = {
    "add": "+",
    "sub": "-",
    "mul": "*",
    "floordiv": "//",
    "mod": "%",
    "lshift": "<<",
    "rshift": ">>",
    "and": "&",
    "or": "|",
    "xor": "^",
}


def _operands(name: str, left: int, right: int, kinds: tuple[str, ...]) -> None:
    """Raise Breach where the operator `name` may not be given these two."""
    if name in ("floordiv", "mod") and "divisor" in kinds and right < 1:
        raise Breach(f"a division by {right}")
    if name in ("lshift", "rshift") and "shift" in kinds and not 0 <= right <= 30:
        raise Breach(f"a shift by {right}")


@cache
def _watching(kinds: tuple[str, ...]) -> type[int]:
    """Return a kind of int whose operands and results are watched."""

    def small(value: int, what: str) -> int:
        if "intermediate" in kinds and not -_SMALL <= value <= _SMALL:
            raise Breach(f"{what} gives {value}, beyond 2**30")
        held: int = number(value)
        return held

    def operator(name: str, swapped: bool) -> Callable[[int, int], int]:
        plain = getattr(int, f"__{name}__")

        def operate(self: int, other: int) -> int:
            left, right = (int(other), int(self)) if swapped else (int(self), int(other))
            _operands(name, left, right, kinds)
            return small(plain(left, right), f"{left} {_SIGNS[name]} {right}")

        return operate

    methods: dict[str, Any] = {f"__{name}__": operator(name, False) for name in _SIGNS}
    methods |= {f"__r{name}__": operator(name, True) for name in _SIGNS}
    methods["__neg__"] = lambda self: small(-int(self), f"-{int(self)}")
    number = type("Number", (int,), methods)
    return number


class Words:
    """An array of int32 words whose indices and stores are watched."""

    def __init__(self, values: Iterable[int], kinds: tuple[str, ...]) -> None:
        self._held = [int(value) for value in values]
        self._kinds = kinds
        self._number = _watching(kinds)

    def __len__(self) -> int:
        return len(self._held)

    def __iter__(self) -> Iterator[int]:
        return iter(self._held)

    def _place(self, index: Any) -> int:
        if not 0 <= index < len(self._held):
            raise Breach(f"index {int(index)} of an array of {len(self._held)}")
        return int(index)

    def __getitem__(self, index: int) -> int:
        return self._number(self._held[self._place(index)])

    def __setitem__(self, index: int, value: int) -> None:
        if "store" in self._kinds and not 0 <= value <= _INT32:
            raise Breach(f"a store of {int(value)}")
        self._held[self._place(index)] = int(value)


def watched(values: Iterable[int], kinds: tuple[str, ...] = KINDS) -> Words:
    """Return an array of `values` that watches what is done with it, in these ways."""
    return Words(values, kinds)
