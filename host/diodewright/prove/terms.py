"""Terms: integers and truths as a graph that folds itself while it is built.

Every whole-number node knows bounds that hold for all values of its variables; equal terms are
one object. Sums are kept in one normal form (coefficients over terms, and a constant), so that
``x - x`` is 0 and ``(x << 10) >> 10`` is x. What is built here is exact for all integers within
the bounds of the variables: nothing is approximated. A division by zero and a shift by a negative
count have no value in the law; here they give 0, and `translate` asks for a proof that neither is
reached.
"""

from collections.abc import Callable, Iterable
from math import gcd

from diodewright.prove.nodes import Bool, Int, Node, Sum, bool_var, bounds, made, var

__all__ = [
    "Bool",
    "Int",
    "Node",
    "add",
    "all_of",
    "any_of",
    "bool_var",
    "bounds",
    "div",
    "eq",
    "ite",
    "le",
    "linear",
    "mod",
    "mul",
    "negate",
    "pick",
    "scale",
    "shr",
    "sub",
    "var",
]


#: A longer conjunction stays one part of what it is joined into.
_MOST_FLAT = 12
_MOVED: dict[tuple[Node, int, int], Int | None] = {}
_NEGATED: dict[Node, Bool] = {}
_PUSHED: dict[tuple[str, Node], Bool | None] = {}

# sums


def linear(value: Int) -> Sum:
    """Return `value` as (term, coefficient) pairs and a constant."""
    if isinstance(value, int):
        return (), value
    if value.op == "sum":
        return value.args
    return ((value, 1),), 0


def _sum_of(weights: dict[Node, int], constant: int) -> Int:
    pairs = tuple(
        sorted(((t, c) for t, c in weights.items() if c), key=lambda pair: pair[0].number)
    )
    if not pairs:
        return constant
    if constant == 0 and len(pairs) == 1 and pairs[0][1] == 1:
        return pairs[0][0]
    if len(pairs) == 1 and pairs[0][0].op == "ite":
        moved = _moved(pairs[0][0], pairs[0][1], constant)
        if moved is not None:
            return moved
    low = high = constant
    for term, weight in pairs:
        ends = (weight * term.low, weight * term.high)
        low += min(ends)
        high += max(ends)
    return low if low == high else made("sum", (pairs, constant), low, high)


def _moved(choice: Int, weight: int, constant: int) -> Int | None:
    """Return a choice between constants times `weight` plus `constant`; None of other words."""
    if isinstance(choice, int):
        return weight * choice + constant
    if choice.op != "ite":
        return None
    key = (choice, weight, constant)
    if key not in _MOVED:
        one = _moved(choice.args[1], weight, constant)
        other = _moved(choice.args[2], weight, constant)
        none = one is None or other is None
        _MOVED[key] = None if none else ite(choice.args[0], one or 0, other or 0)
    return _MOVED[key]


def add(a: Int, b: Int, times: int = 1) -> Int:
    """Return ``a + times * b``."""
    if isinstance(a, int) and isinstance(b, int):
        return a + times * b
    pairs_a, constant_a = linear(a)
    pairs_b, constant_b = linear(b)
    weights = dict(pairs_a)
    for term, weight in pairs_b:
        weights[term] = weights.get(term, 0) + times * weight
    return _sum_of(weights, constant_a + times * constant_b)


def sub(a: Int, b: Int) -> Int:
    """Return ``a - b``."""
    return add(a, b, -1)


def scale(a: Int, by: int) -> Int:
    """Return ``a * by``."""
    return add(0, a, by)


def mul(a: Int, b: Int) -> Int:
    """Return ``a * b``."""
    if isinstance(a, int):
        return scale(b, a)
    if isinstance(b, int):
        return scale(a, b)
    first, second = (a, b) if a.number <= b.number else (b, a)
    ends = [x * y for x in (a.low, a.high) for y in (b.low, b.high)]
    return made("mul", (first, second), min(ends), max(ends))


def div(a: Int, b: Int) -> Int:
    """Return ``a // b``, rounded down; 0 where `b` is 0."""
    if isinstance(b, int):
        if b == 0:
            return 0
        if isinstance(a, int):
            return a // b
        if b > 0:
            return _div_by_constant(a, b)
    low_a, high_a = bounds(a)
    low_b, high_b = bounds(b)
    if a == 0:
        return 0
    if low_b > 0:
        ends = [x // y for x in (low_a, high_a) for y in (low_b, high_b)]
        low, high = min(ends), max(ends)
    else:
        high = max(abs(low_a), abs(high_a))
        low = -high
    return low if low == high else made("div", (a, b), low, high)


def _div_by_constant(a: Node, by: int) -> Int:
    pairs, constant = linear(a)
    whole = {term: weight // by for term, weight in pairs if weight % by == 0}
    rest = _sum_of({term: weight for term, weight in pairs if weight % by}, constant % by)
    outside = _sum_of(whole, constant // by)
    if isinstance(rest, int):
        return add(outside, rest // by)
    if rest.op == "div" and isinstance(rest.args[1], int) and rest.args[1] > 0:
        return add(outside, div(rest.args[0], rest.args[1] * by))
    low, high = rest.low // by, rest.high // by
    if low == high:
        return add(outside, low)
    return add(outside, made("div", (rest, by), low, high))


def mod(a: Int, by: int) -> Int:
    """Return ``a % by`` for a constant `by` above 0."""
    if isinstance(a, int):
        return a % by
    if a.low // by == a.high // by:
        return add(a, -by * (a.low // by))
    return made("mod", (a, by), 0, by - 1)


def shr(a: Int, count: Int) -> Int:
    """Return ``a >> count``; 0 where `count` is negative."""
    if isinstance(count, int):
        return div(a, 1 << count) if count >= 0 else 0
    if isinstance(a, int) and a == 0:
        return 0
    low, high = bounds(a)
    least = max(count.low, 0)
    ends = [low >> least, high >> least]
    if count.high > 62 or count.low < 0 or low < 0 or high < 0:
        ends += [0, -1 if low < 0 else 0]
    else:
        ends += [low >> count.high, high >> count.high]
    return made("shr", (a, count), min(ends), max(ends))


# truths


def negate(a: Bool) -> Bool:
    """Return ``not a``."""
    if isinstance(a, bool):
        return not a
    if a not in _NEGATED:
        _NEGATED[a] = _negated(a)
    return _NEGATED[a]


def _negated(a: Node) -> Bool:
    if a.op == "not":
        inner: Node = a.args[0]
        return inner
    if a.op == "le":
        return le(1, a.args[0])
    if a.op in ("all", "any") and len(a.args) <= _MOST_FLAT:
        joined = any_of if a.op == "all" else all_of
        return joined(negate(part) for part in a.args)
    return made("not", (a,), 0, 1)


def _number(node: Node) -> int:
    return node.number


def _joined(op: str, parts: Iterable[Bool], dull: bool) -> Bool:
    """Return an `all` (`dull` is True) or `any` (False) of `parts`, flat and without twins."""
    found: dict[Node, None] = {}
    for part in parts:
        if isinstance(part, bool):
            if part != dull:
                return part
        elif part.op == op and len(part.args) <= _MOST_FLAT:
            found.update(dict.fromkeys(part.args))
        else:
            found[part] = None
    if not found:
        return dull
    if len(found) == 1:
        return next(iter(found))
    for part in found:
        if part.op in ("not", "le") and negate(part) in found:
            return not dull
    ordered: list[Node] = sorted(found, key=_number)
    return made(op, tuple(ordered), 0, 1)


def all_of(parts: Iterable[Bool]) -> Bool:
    """Return whether every one of `parts` holds."""
    return _joined("all", parts, True)


def any_of(parts: Iterable[Bool]) -> Bool:
    """Return whether at least one of `parts` holds."""
    return _joined("any", parts, False)


def le(a: Int, b: Int) -> Bool:
    """Return ``a <= b``."""
    difference = sub(a, b)
    low, high = bounds(difference)
    if high <= 0:
        return True
    if low > 0:
        return False
    assert isinstance(difference, Node)
    pairs, constant = linear(difference)
    if len(pairs) == 1 and pairs[0][0].op == "or" and constant == 1 and pairs[0][1] == 1:
        # an or of words is negative where one of them is
        return any_of(le(word, -1) for word in pairs[0][0].args)
    if len(pairs) == 1 and pairs[0][0].op == "or" and constant == 0 and pairs[0][1] == -1:
        return all_of(le(0, word) for word in pairs[0][0].args)
    common = gcd(*(weight for _, weight in pairs))
    if common > 1:
        weights = {term: weight // common for term, weight in pairs}
        return le(_sum_of(weights, -((-constant) // common)), 0)
    coarse = _coarse(difference)
    if coarse is not None:
        return le(coarse, 0)
    pushed = _pushed("le", le, difference)
    return made("le", (difference,), 0, 1) if pushed is None else pushed


def _coarse(difference: Node) -> Int | None:
    """Return what alone decides ``difference <= 0``: its coarse part, where the fine one can't.

    ``bits + 2**n * high <= 2**n - 1`` asks for ``high <= 0`` and of no bit.
    """
    pairs, constant = linear(difference)
    step = max(abs(weight) for _, weight in pairs)
    if len(pairs) < 3 or step < 2:
        return None
    coarse = {term: weight // step for term, weight in pairs if weight % step == 0}
    fine = _sum_of({term: weight for term, weight in pairs if weight % step}, constant)
    low, high = bounds(fine)
    least = -high // step
    if least != -low // step:
        return None
    return _sum_of(coarse, -least)


def _pushed(kind: str, compare: Callable[[Int, Int], Bool], difference: Node) -> Bool | None:
    """Return the comparison with 0 taken into the branches of a choice, where that decides one.

    One branch must be decided by its bounds alone, so that this walks along a chain of choices
    and never fans out.
    """
    key = (kind, difference)
    if key in _PUSHED:
        return _PUSHED[key]
    result: Bool | None = None
    pairs, _ = linear(difference)
    for term, weight in pairs:
        if term.op != "ite":
            continue
        asked, one, other = term.args
        bare = add(difference, term, -weight)
        first = add(bare, one, weight)
        second = add(bare, other, weight)
        if _decided(kind, first) or _decided(kind, second):
            result = pick_truth(asked, compare(first, 0), compare(second, 0))
            break
    _PUSHED[key] = result
    return result


def _decided(kind: str, difference: Int) -> bool:
    low, high = bounds(difference)
    if low > 0 or low == high:
        return True
    return high <= 0 if kind == "le" else high < 0


def eq(a: Int, b: Int) -> Bool:
    """Return ``a == b``."""
    difference = sub(a, b)
    low, high = bounds(difference)
    if low > 0 or high < 0:
        return False
    if isinstance(difference, int):
        return True
    pairs, constant = linear(difference)
    if len(pairs) == 1 and constant == 0:
        term = pairs[0][0]
        if term.op == "or":
            return all_of(eq(word, 0) for word in term.args)
        if term.op == "xor":
            return eq(*term.args)
    if constant == 0 and len(pairs) > 1 and all(w > 0 and t.low >= 0 for t, w in pairs):
        return all_of(eq(term, 0) for term, _ in pairs)
    common = gcd(*(weight for _, weight in pairs))
    if constant % common:
        return False
    if pairs[0][1] < 0:
        common = -common
    if common != 1:
        weights = {term: weight // common for term, weight in pairs}
        return eq(_sum_of(weights, constant // common), 0)
    pushed = _pushed("eq", eq, difference)
    return made("eq", (difference,), 0, 1) if pushed is None else pushed


# choices


def pick_truth(asked: Bool, one: Bool, other: Bool) -> Bool:
    """Return `one` where `asked` holds, else `other`."""
    if isinstance(asked, bool):
        return one if asked else other
    if one is other:
        return one
    return any_of((all_of((asked, one)), all_of((negate(asked), other))))


def ite(asked: Bool, one: Int, other: Int) -> Int:
    """Return `one` where `asked` holds, else `other`."""
    if isinstance(asked, bool):
        return one if asked else other
    if isinstance(one, Node) and one.op == "ite" and one.args[0] is asked:
        one = one.args[1]
    if isinstance(other, Node) and other.op == "ite" and other.args[0] is asked:
        other = other.args[2]
    if _alike(one, other):
        return one
    if isinstance(other, Node) and other.op == "ite" and _alike(one, other.args[1]):
        return ite(any_of((asked, other.args[0])), one, other.args[2])
    if asked.op == "not":
        return ite(asked.args[0], other, one)
    ends = (*bounds(one), *bounds(other))
    return made("ite", (asked, one, other), min(ends), max(ends))


def _alike(one: object, other: object) -> bool:
    return one is other or (isinstance(one, int) and isinstance(other, int) and one == other)


def pick(place: Int, values: Iterable[tuple[int, Int]]) -> Int:
    """Return the value whose place is `place`; the last where none is."""
    found = list(values)
    result = found[-1][1]
    for at, value in reversed(found[:-1]):
        result = ite(eq(place, at), value, result)
    return result
