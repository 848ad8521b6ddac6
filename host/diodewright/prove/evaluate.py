"""Terms as numbers: one pass over the graph for many inputs at once (int64 columns)."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from diodewright.prove.bits import Value, number
from diodewright.prove.terms import Int, Node

__all__ = ["evaluate", "evaluate_from", "in_order", "parts_of"]

Column = NDArray[Any]


def in_order(roots: Iterable[object], known: Iterable[Node] = ()) -> list[Node]:
    """Return every node below `roots` that isn't `known`, each behind those it is made of."""
    seen: set[Node] = set(known)
    order: list[Node] = []
    stack = [(root, False) for root in roots if isinstance(root, Node)]
    while stack:
        node, done = stack.pop()
        if done:
            order.append(node)
            continue
        if node in seen:
            continue
        seen.add(node)
        stack.append((node, True))
        stack += [(part, False) for part in parts_of(node) if part not in seen]
    return order


def parts_of(node: Node) -> list[Node]:
    """Return the nodes that `node` is made of."""
    if node.op == "sum":
        return [term for term, _ in node.args[0]]
    return [part for part in node.args if isinstance(part, Node)]


def _floor_div(a: Column, b: Column) -> Column:
    safe = np.where(b == 0, 1, b)
    return np.where(b == 0, 0, np.floor_divide(a, safe))


def _shift(a: Column, count: Column) -> Column:
    return np.where(count < 0, 0, np.right_shift(a, np.clip(count, 0, 62)))


def _sum(node: Node, read: Callable[[object], Column]) -> Column:
    pairs, constant = node.args
    total = np.asarray(constant, dtype=np.int64)
    for term, weight in pairs:
        total = total + weight * read(term)
    return total


def _fold(node: Node, read: Callable[[object], Column], join: Any) -> Column:
    result = read(node.args[0])
    for part in node.args[1:]:
        result = join(result, read(part))
    return result


_OPS: Mapping[str, Callable[[Node, Callable[[object], Column]], Column]] = {
    "sum": _sum,
    "mul": lambda n, read: read(n.args[0]) * read(n.args[1]),
    "div": lambda n, read: _floor_div(read(n.args[0]), read(n.args[1])),
    "mod": lambda n, read: np.mod(read(n.args[0]), read(n.args[1])),
    "shr": lambda n, read: _shift(read(n.args[0]), read(n.args[1])),
    "ite": lambda n, read: np.where(read(n.args[0]), read(n.args[1]), read(n.args[2])),
    "or": lambda n, read: _fold(n, read, np.bitwise_or),
    "xor": lambda n, read: _fold(n, read, np.bitwise_xor),
    "le": lambda n, read: read(n.args[0]) <= 0,
    "eq": lambda n, read: read(n.args[0]) == 0,
    "not": lambda n, read: ~read(n.args[0]),
    "all": lambda n, read: _fold(n, read, np.logical_and),
    "any": lambda n, read: _fold(n, read, np.logical_or),
}


def evaluate(roots: Iterable[Value | bool], inputs: Mapping[str, Any]) -> list[Column]:
    """Return the value of each root for the variables' values in `inputs` (int64 columns).

    Every product of the law stays far below 2**63, so int64 holds it exactly.

    Raises
    ------
    KeyError
        A variable without a value, by its name.
    """
    wanted = [number(root) for root in roots]
    values: dict[Node, Column] = {}
    for node in in_order(wanted):
        if node.op in ("var", "bool"):
            given = np.asarray(inputs[node.args[0]])
            values[node] = given.astype(bool) if node.op == "bool" else given.astype(np.int64)
    return _computed(wanted, values)


def evaluate_from(root: Node, base: Node, counted: Column) -> Column:
    """Return the value of `root`, a function of the term `base` alone, for values of it."""
    return _computed([root], {base: counted})[0]


def _computed(wanted: list[Int], values: dict[Node, Column]) -> list[Column]:
    def read(part: object) -> Column:
        return values[part] if isinstance(part, Node) else np.asarray(part, np.int64)

    for node in in_order(wanted, values):
        values[node] = _OPS[node.op](node, read)
    return [read(root) for root in wanted]
