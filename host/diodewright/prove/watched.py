"""Numbers that watch themselves: a law run on them stops where the board would differ.

Whole numbers that refuse to pass 2**30, to be divided by less than 1 or shifted by an odd count,
and arrays that refuse an index outside and a value that is no non-negative int32.
"""

from collections.abc import Callable, Iterable, Iterator
from typing import Any

__all__ = ["Breach", "Words", "watched"]

_SMALL = (1 << 30) - 1
_INT32 = (1 << 31) - 1


class Breach(ArithmeticError):
    """The board would compute something else than CPython here."""


def _small(value: int, what: str) -> "Number":
    if not -_SMALL <= value <= _SMALL:
        raise Breach(f"{what} gives {value}, beyond 2**30")
    return Number(value)


def _with_check(name: str, sign: str) -> Callable[[int, int], int]:
    plain = getattr(int, name)

    def operate(self: int, other: int) -> int:
        if name in ("__floordiv__", "__mod__", "__rfloordiv__", "__rmod__"):
            below = int(self) if name.startswith("__r") else int(other)
            if below < 1:
                raise Breach(f"a division by {below}")
        if name in ("__rshift__", "__lshift__", "__rrshift__", "__rlshift__"):
            count = int(self) if name.startswith("__rr") or name == "__rlshift__" else int(other)
            if not 0 <= count <= 30:
                raise Breach(f"a shift by {count}")
        return _small(plain(int(self), int(other)), f"{int(self)} {sign} {int(other)}")

    return operate


class Number(int):
    """An int whose results are watched."""

    def __neg__(self) -> "Number":
        return _small(-int(self), f"-{int(self)}")


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
for _word, _sign in _SIGNS.items():
    for _side in ("__", "__r"):
        setattr(Number, f"{_side}{_word}__", _with_check(f"{_side}{_word}__", _sign))


class Words:
    """An array of int32 words whose indices and stores are watched."""

    def __init__(self, values: Iterable[int]) -> None:
        self._held = [int(value) for value in values]

    def __len__(self) -> int:
        return len(self._held)

    def __iter__(self) -> Iterator[int]:
        return iter(self._held)

    def _place(self, index: Any) -> int:
        if not 0 <= index < len(self._held):
            raise Breach(f"index {int(index)} of an array of {len(self._held)}")
        return int(index)

    def __getitem__(self, index: int) -> Number:
        return Number(self._held[self._place(index)])

    def __setitem__(self, index: int, value: int) -> None:
        if not 0 <= value <= _INT32:
            raise Breach(f"a store of {int(value)}")
        self._held[self._place(index)] = int(value)


def watched(values: Iterable[int]) -> Words:
    """Return an array of `values` that watches what is done with it."""
    return Words(values)
