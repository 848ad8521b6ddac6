"""Products of one word with itself: their range, counted out.

``((x * x) >> 4) * (3072 - 2 * x)`` is a function of x alone. Where x is small enough to count
through, its least and greatest value over ``0..2**k`` are facts that no solver has to find.
"""

from collections.abc import Iterator

import numpy as np

from diodewright.prove.evaluate import evaluate_from
from diodewright.prove.terms import Node

__all__ = ["tabulated"]

_MOST_BITS = 14


def tabulated(node: Node) -> Iterator[tuple[Node, int, int, int]]:
    """Yield (base, highest, least, most): for a base of 0..highest, node is least..most."""
    bases = _bases(node, {})
    if len(bases) != 1:
        return
    base = next(iter(bases))
    if base.high < 1:
        return
    counted = np.arange((1 << _MOST_BITS) + 1, dtype=np.int64)
    values = evaluate_from(node, base, counted)
    lows, highs = np.minimum.accumulate(values), np.maximum.accumulate(values)
    for bits in range(_MOST_BITS + 1):
        yield base, 1 << bits, int(lows[1 << bits]), int(highs[1 << bits])


def _bases(node: Node, memo: dict[Node, frozenset[Node]]) -> frozenset[Node]:
    """Return the words that `node` is a function of, looked at through plain arithmetic."""
    if node in memo:
        return memo[node]
    found: frozenset[Node] = frozenset()
    if node.op == "sum":
        parts = [term for term, _ in node.args[0]]
    elif node.op == "mul" or (node.op in ("div", "mod") and isinstance(node.args[1], int)):
        parts = [part for part in node.args if isinstance(part, Node)]
    else:
        memo[node] = frozenset((node,))
        return memo[node]
    for part in parts:
        found |= _bases(part, memo)
    memo[node] = found
    return found
