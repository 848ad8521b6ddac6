"""The law's operators on words, and how far a word can reach where a condition is known."""

import ast
from collections.abc import Callable, Mapping
from typing import Any

from diodewright.prove import terms
from diodewright.prove.bits import Bits, Value, bits_and, bits_or, bits_xor, equal, number
from diodewright.prove.source import Refused
from diodewright.prove.terms import Bool, Int, Node

__all__ = ["OPERATORS", "Operand", "compare", "reach"]

#: A word, or the translator's own sign for an array.
Operand = Any


def _left(a: Value, count: Value) -> Value:
    if not isinstance(count, int):
        raise ValueError("a left shift whose count is not constant")
    if count < 0:
        raise ValueError("a left shift by less than 0")
    return a.shifted(count) if isinstance(a, Bits) else terms.scale(a, 1 << count)


def _right(a: Value, count: Value) -> Value:
    if isinstance(a, Bits) and isinstance(count, int) and count >= 0:
        return a.shifted(-count)
    return terms.shr(number(a), number(count))


def _mod(a: Value, by: Value) -> Value:
    if not isinstance(by, int) or by <= 0:
        raise ValueError("a remainder whose divisor is not a constant above 0")
    return terms.mod(number(a), by)


OPERATORS: Mapping[type[ast.operator], Callable[[Value, Value], Value]] = {
    ast.Add: lambda a, b: terms.add(number(a), number(b)),
    ast.Sub: lambda a, b: terms.sub(number(a), number(b)),
    ast.Mult: lambda a, b: terms.mul(number(a), number(b)),
    ast.FloorDiv: lambda a, b: terms.div(number(a), number(b)),
    ast.Mod: _mod,
    ast.LShift: _left,
    ast.RShift: _right,
    ast.BitAnd: bits_and,
    ast.BitOr: bits_or,
    ast.BitXor: bits_xor,
}


def compare(node: ast.AST, op: ast.cmpop, a: Value, b: Value) -> Bool:
    """Return a comparison of two words."""
    if isinstance(op, ast.Eq | ast.NotEq):
        same = equal(a, b)
        return same if isinstance(op, ast.Eq) else terms.negate(same)
    first, second = number(a), number(b)
    if isinstance(op, ast.LtE):
        return terms.le(first, second)
    if isinstance(op, ast.Lt):
        return terms.le(terms.add(first, 1), second)
    if isinstance(op, ast.GtE):
        return terms.le(second, first)
    if isinstance(op, ast.Gt):
        return terms.le(terms.add(second, 1), first)
    raise Refused(node, f"the comparison {type(op).__name__}")


def reach(value: Int, path: tuple[Bool, ...]) -> tuple[int, int]:
    """Return bounds of `value` where every condition of `path` holds.

    Conditions on one term alone narrow that term; sums, products, quotients and choices above it
    follow.
    """
    if isinstance(value, int):
        return value, value
    known: dict[Node, tuple[int, int]] = {}
    held: set[Node] = set()
    for asked in path:
        if isinstance(asked, Node):
            _narrow(asked, known, held)
    if not known and not held:
        return value.low, value.high
    return _reach(value, known, held, {})


def _narrow(asked: Node, known: dict[Node, tuple[int, int]], held: set[Node]) -> None:
    held.add(asked)
    if asked.op == "all":
        for part in asked.args:
            _narrow(part, known, held)
    if asked.op not in ("le", "eq"):
        return
    pairs, constant = terms.linear(asked.args[0])
    if len(pairs) != 1:
        return
    term, weight = pairs[0]
    low, high = known.get(term, (term.low, term.high))
    if weight > 0:
        high = min(high, -constant // weight)
    if weight < 0 or asked.op == "eq":
        low = max(low, -(-constant // -weight) if weight < 0 else -(constant // weight))
    if low <= high:
        known[term] = (low, high)


Known = dict[Node, tuple[int, int]]


def _reach(value: Int, known: Known, held: set[Node], memo: Known) -> tuple[int, int]:
    if isinstance(value, int):
        return value, value
    if value in memo:
        return memo[value]
    low, high = _reach_of(value, known, held, memo)
    least, most = known.get(value, (value.low, value.high))
    found = max(low, least, value.low), min(high, most, value.high)
    if found[0] > found[1]:
        found = (value.low, value.high)
    memo[value] = found
    return found


def _reach_of(value: Node, known: Known, held: set[Node], memo: Known) -> tuple[int, int]:
    def ends(part: Int) -> tuple[int, int]:
        return _reach(part, known, held, memo)

    if value.op == "sum":
        pairs, constant = value.args
        low = high = constant
        for term, weight in pairs:
            reached = [weight * end for end in ends(term)]
            low += min(reached)
            high += max(reached)
        return low, high
    if value.op == "mul":
        products = [x * y for x in ends(value.args[0]) for y in ends(value.args[1])]
        return min(products), max(products)
    if value.op == "div":
        above, below = ends(value.args[0]), ends(value.args[1])
        if below[0] > 0:
            found = [x // y for x in above for y in below]
            return min(found), max(found)
    if value.op == "ite":
        asked, one, other = value.args
        if asked in held:
            return ends(one)
        if terms.negate(asked) in held:
            return ends(other)
        return min(ends(one)[0], ends(other)[0]), max(ends(one)[1], ends(other)[1])
    return value.low, value.high
