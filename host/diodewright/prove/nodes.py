"""Nodes: the graph that terms are made of; equal nodes are one object."""

from typing import Any

__all__ = ["Bool", "Int", "Node", "Sum", "bool_var", "bounds", "made", "var"]


class Node:
    """One term; `op` says which, `low` and `high` bound it (0 and 1 for a truth)."""

    __slots__ = ("args", "high", "low", "number", "op")

    def __init__(self, op: str, args: tuple[Any, ...], low: int, high: int, number: int) -> None:
        self.op = op
        self.args = args
        self.low = low
        self.high = high
        self.number = number

    def __repr__(self) -> str:
        return f"<{self.op} #{self.number} {self.low}..{self.high}>"


Int = int | Node
Bool = bool | Node
Sum = tuple[tuple[tuple[Node, int], ...], int]

_TABLE: dict[tuple[object, ...], Node] = {}


def made(op: str, args: tuple[object, ...], low: int, high: int) -> Node:
    """Return the one node of these parts."""
    key = (op, *args)
    found = _TABLE.get(key)
    if found is None:
        found = _TABLE[key] = Node(op, args, low, high, len(_TABLE))
    return found


def bounds(value: Int) -> tuple[int, int]:
    """Return the least and the greatest value that `value` can take."""
    return (value, value) if isinstance(value, int) else (value.low, value.high)


def var(name: str, low: int, high: int) -> Int:
    """Return the whole-number variable `name` within ``low..high``; a constant where they meet."""
    return low if low == high else made("var", (name, low, high), low, high)


def bool_var(name: str) -> Node:
    """Return the truth variable `name`."""
    return made("bool", (name,), 0, 1)
