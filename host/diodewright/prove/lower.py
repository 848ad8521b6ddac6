"""Terms as formulas of the solver (whole numbers with bounds, never bit vectors).

Sums, choices, comparisons and divisions by constants go over exactly. Products of two variables,
divisions by a variable and shifts by a variable count are hard for the solver; they stand in
first for a variable of which only true facts of arithmetic are told (`exact` False), so that
whatever is proved this way is proved. Only a search for a counterexample tells everything.
"""

from collections.abc import Iterable
from itertools import combinations
from math import gcd

import z3

from diodewright.prove.evaluate import in_order
from diodewright.prove.tabulate import tabulated
from diodewright.prove.terms import Bool, Int, Node, bounds, div, linear

__all__ = ["Lowering"]

_MOST_PAIRS = 60
_WIDE = 1 << 36


class Lowering:
    """Lowers terms; each term's facts are kept with it, so that a question gets only its own."""

    def __init__(self, exact: bool) -> None:
        self.exact = exact
        self.context = z3.Context()
        self.made: dict[Node, z3.ExprRef] = {}
        self.told: dict[Node, list[z3.BoolRef]] = {}
        self.facts: list[z3.BoolRef] = []
        self.quotients: dict[tuple[Node, int], tuple[z3.ArithRef, list[z3.BoolRef]]] = {}
        self.names = 0

    def truth(self, value: Bool) -> z3.BoolRef:
        """Return a truth as a formula."""
        if isinstance(value, bool):
            return z3.BoolVal(value, self.context)
        return self.lower(value)

    def lower(self, root: Node) -> z3.ExprRef:
        """Return a term as an expression."""
        for node in in_order([root], self.made):
            outer, self.facts = self.facts, []
            self.made[node] = getattr(self, f"_{node.op}")(node)
            self.told[node] = [z3.And(*self.facts)] if self.facts else []
            self.facts = outer
        return self.made[root]

    def facts_of(self, roots: Iterable[Bool], pairs: bool) -> list[z3.BoolRef]:
        """Return what is true of the words below `roots`; with `pairs` how alike ones grow."""
        nodes = in_order(roots)
        self.facts = [fact for node in nodes for fact in self.told[node]]
        if pairs:
            self._pair_facts([node for node in nodes if node.op in ("mul", "div", "shr")])
        return self.facts

    def _pair_facts(self, hard: list[Node]) -> None:
        found = 0
        for one, other in combinations(hard, 2):
            if found > _MOST_PAIRS:
                return
            if one.op == other.op and self._grow_together(one, other):
                found += 1

    # helpers

    def _read(self, part: Int) -> z3.ArithRef:
        if isinstance(part, int):
            return z3.IntVal(part, self.context)
        return self.made[part]

    def _fresh(self, node: Node, name: str = "") -> z3.ArithRef:
        self.names += 1
        held = z3.Int(name or f"{node.op}!{self.names}", self.context)
        self.facts += [held >= node.low, held <= node.high]
        return held

    def _implied(self, condition: z3.BoolRef, *facts: z3.BoolRef) -> None:
        self.facts += [z3.Implies(condition, fact) for fact in facts]

    # exact

    def _var(self, node: Node) -> z3.ArithRef:
        return self._fresh(node, str(node.args[0]))

    def _bool(self, node: Node) -> z3.BoolRef:
        return z3.Bool(str(node.args[0]), self.context)

    def _sum(self, node: Node) -> z3.ArithRef:
        pairs, constant = linear(node)
        parts = [self._read(t) if w == 1 else w * self._read(t) for t, w in pairs]
        return z3.Sum(*parts, z3.IntVal(constant, self.context))

    def _ite(self, node: Node) -> z3.ExprRef:
        asked, one, other = node.args
        return z3.If(self.made[asked], self._read(one), self._read(other))

    def _le(self, node: Node) -> z3.BoolRef:
        return self._read(node.args[0]) <= 0

    def _eq(self, node: Node) -> z3.BoolRef:
        return self._read(node.args[0]) == 0

    def _not(self, node: Node) -> z3.BoolRef:
        return z3.Not(self.made[node.args[0]])

    def _all(self, node: Node) -> z3.BoolRef:
        return z3.And(*[self.made[part] for part in node.args])

    def _any(self, node: Node) -> z3.BoolRef:
        return z3.Or(*[self.made[part] for part in node.args])

    def _quotient(self, of: Node, by: int) -> z3.ArithRef:
        key = (of, by)
        if key not in self.quotients:
            self.names += 1
            whole = z3.Int(f"quotient!{self.names}", self.context)
            value = self.made[of]
            low, high = bounds(of)
            facts = [
                by * whole <= value,
                value <= by * whole + (by - 1),
                whole >= low // by,
                whole <= high // by,
            ]
            self.quotients[key] = whole, facts
        self.facts += self.quotients[key][1]
        return self.quotients[key][0]

    def _mod(self, node: Node) -> z3.ArithRef:
        of, by = node.args
        return self.made[of] - by * self._quotient(of, by)

    # what only exact lowering tells all of

    def _or(self, node: Node) -> z3.ArithRef:
        return self._fresh(node)

    _xor = _or

    def _mul(self, node: Node) -> z3.ArithRef:
        a, b = node.args
        x, y = self._read(a), self._read(b)
        if self.exact:
            return x * y
        held = self._fresh(node)
        (a_low, a_high), (b_low, b_high) = bounds(a), bounds(b)
        self.facts += [
            held >= a_low * y + b_low * x - a_low * b_low,
            held >= a_high * y + b_high * x - a_high * b_high,
            held <= a_high * y + b_low * x - a_high * b_low,
            held <= a_low * y + b_high * x - a_low * b_high,
        ]
        for one, low, high in ((x, b_low, b_high), (y, a_low, a_high)):
            self._implied(one >= 0, held >= low * one, held <= high * one)
            self._implied(one <= 0, held <= low * one, held >= high * one)
        self._wide(held, x, y, b_low, b_high)
        self._wide(held, y, x, a_low, a_high)
        for base, highest, least, most in tabulated(node):
            inside = z3.And(self._read(base) >= 0, self._read(base) <= highest)
            self._implied(inside, held >= least, held <= most)
        return held

    def _wide(self, held: z3.ArithRef, x: z3.ArithRef, y: z3.ArithRef, low: int, high: int) -> None:
        """Tell of x * y for a `y` that the bounds let wander, where it is small after all."""
        if max(-low, high) <= _WIDE:
            return
        for bits in range(17):
            small = z3.And(y >= 0, y <= 1 << bits)
            self._implied(z3.And(small, x >= 0), held >= 0, held <= (1 << bits) * x)
            self._implied(z3.And(small, x <= 0), held <= 0, held >= (1 << bits) * x)

    def _div(self, node: Node) -> z3.ArithRef:
        above, below = node.args
        if isinstance(below, int):
            return self._quotient(above, below)
        held = self._fresh(node)
        a, b = self._read(above), self._read(below)
        if self.exact:
            self._implied(b > 0, held * b <= a, a < held * b + b)
            return held
        self._implied(z3.And(b > 0, a >= 0), held >= 0, held <= a)
        self._implied(z3.And(b > 0, a < 0), held <= -1, held >= a)
        for part, weight in _factors(above):
            x = weight if isinstance(weight, int) else self._read(weight)
            y = self.lower(part)
            self.facts += [fact for below in in_order([part]) for fact in self.told[below]]
            self._implied(z3.And(b > 0, x >= 0, y >= 0, y <= b), held >= 0, held <= x)
        return held

    def _shr(self, node: Node) -> z3.ArithRef:
        held = self._fresh(node)
        of, count = node.args
        a, s = self._read(of), self._read(count)
        low, high = bounds(count)
        if self.exact and low >= 0 and high <= 30:
            for k in range(low, high + 1):
                step = 1 << k
                self._implied(s == k, step * held <= a, a <= step * held + (step - 1))
            return held
        if low >= 0:
            step = 1 << low
            self._implied(a >= 0, held >= 0, step * held <= a)
            self._implied(a < 0, held <= -1, step * held >= a - (step - 1))
        return held

    def _grow_together(self, one: Node, other: Node) -> bool:
        """Tell that two like terms are ordered as their parts are, where they share the rest."""
        u, v = self.made[one], self.made[other]
        if one.op == "shr" and one.args[1] is other.args[1]:
            a, b = self._read(one.args[0]), self._read(other.args[0])
            self._implied(a <= b, u <= v, v - u <= b - a)
            self._implied(b <= a, v <= u, u - v <= a - b)
            return True
        if one.op == "mul":
            return self._products_grow(one, other, u, v)
        if one.op == "div" and one.args[1] is other.args[1]:
            a, b = self._read(one.args[0]), self._read(other.args[0])
            c = self._read(one.args[1])
            self._implied(z3.And(c > 0, a <= b), u <= v, v - u <= b - a)
            self._implied(z3.And(c > 0, b <= a), v <= u, u - v <= a - b)
            return True
        return False

    def _products_grow(self, one: Node, other: Node, u: z3.ArithRef, v: z3.ArithRef) -> bool:
        for shared, x in ((0, 1), (1, 0)):
            for place, y in ((0, 1), (1, 0)):
                if one.args[shared] is not other.args[place]:
                    continue
                by = self._read(one.args[shared])
                a, b = self._read(one.args[x]), self._read(other.args[y])
                self._implied(z3.And(by >= 0, a <= b), u <= v)
                self._implied(z3.And(by >= 0, b <= a), v <= u)
                return True
        return False


def _factors(above: Int) -> Iterable[tuple[Node, Int]]:
    """Yield (part, weight) wherever `above` is weight times part."""
    if not isinstance(above, Node):
        return
    pairs, constant = linear(above)
    common = gcd(constant, *(weight for _, weight in pairs))
    if common > 1:
        part = div(above, common)
        if isinstance(part, Node):
            yield part, common
    if len(pairs) == 1 and constant == 0 and pairs[0][1] == 1 and pairs[0][0].op == "mul":
        one, other = pairs[0][0].args
        yield one, other
        yield other, one
