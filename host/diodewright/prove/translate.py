"""The law's tree, run on terms instead of numbers: every branch at once, joined behind it.

Loops over constant ranges are unrolled, the law's own functions are followed, both sides of an
undecided branch are run and their words joined by a choice. What isn't modelled is refused with
its line. On the way it notes what must be shown for the same source to mean the same on the
board: every intermediate small, every divisor above 0, every shift 0..30, every index inside its
array, every store a non-negative int32 (`Check`).
"""

import ast
from collections.abc import Sequence
from dataclasses import dataclass, field

from diodewright.prove import terms
from diodewright.prove.bits import Bits, Value, choose, number, truth
from diodewright.prove.operators import OPERATORS, Operand, compare, reach
from diodewright.prove.outcome import INT32, SMALL, Check, Memory, Outcome, Path
from diodewright.prove.source import Law, Refused
from diodewright.prove.terms import Bool, Int, Node

__all__ = ["run"]

_MOST_TURNS = 400


@dataclass(frozen=True)
class _Array:
    name: str


@dataclass
class _Here:
    """Where the run stands: variables, arrays, and what is known to hold."""

    names: dict[str, Value | _Array]
    memory: Memory
    path: Path

    def fork(self, asked: Bool) -> "_Here":
        return _Here(dict(self.names), dict(self.memory), (*self.path, asked))


@dataclass
class _Call:
    function: ast.FunctionDef
    begun: int
    exits: list[tuple[Path, Memory, Value]] = field(default_factory=list)


def run(law: Law, name: str, memory: Memory, arguments: Sequence[str | Value]) -> Outcome:
    """Run function `name` of `law` and return what it left.

    Parameters
    ----------
    memory : arrays by name; left as they are.
    arguments : for each parameter the name of an array, or a word.

    Raises
    ------
    Refused
        A construct that isn't modelled.
    """
    if name not in law.functions:
        raise Refused(ast.Module(body=[], type_ignores=[]), f"there is no function {name}")
    runner = _Runner(law)
    values = [_Array(each) if isinstance(each, str) else each for each in arguments]
    here = _Here({}, dict(memory), ())
    value, here = runner.call(law.functions[name], values, here, law.functions[name])
    return Outcome(here.memory, value, tuple(runner.checks), runner.counted)


class _Runner:
    def __init__(self, law: Law) -> None:
        self.law = law
        self.checks: list[Check] = []
        self.counted: dict[str, int] = {}
        self.stack: list[str] = []

    # what must be shown

    def need(self, node: ast.AST, kind: str, here: _Here, value: Int, low: int, high: int) -> None:
        """Note that `value` must stay within ``low..high``; most do by their bounds alone."""
        self.counted[kind] = self.counted.get(kind, 0) + 1
        least, most = terms.bounds(value)
        if least >= low and most <= high:
            return
        least, most = reach(value, here.path)
        if least >= low and most <= high:
            return
        holds = terms.all_of((terms.le(low, value), terms.le(value, high)))
        line = getattr(node, "lineno", 0)
        self.checks.append(Check(line, self.stack[-1], kind, here.path, holds))

    # statements

    def call(
        self, function: ast.FunctionDef, values: Sequence[Operand], here: _Here, at: ast.AST
    ) -> tuple[Value, _Here]:
        if function.name in self.stack:
            raise Refused(at, f"{function.name} calls itself")
        if len(values) != len(function.args.args):
            raise Refused(at, f"{function.name} called with {len(values)} arguments")
        names: dict[str, Value | _Array] = {}
        for each, value in zip(function.args.args, values, strict=True):
            if isinstance(value, _Array) != (ast.unparse(each.annotation or each) == "ptr32"):
                raise Refused(at, f"{function.name}: {each.arg} is an array where it is no ptr32")
            names[each.arg] = value
        self.stack.append(function.name)
        call = _Call(function, len(here.path))
        inside = _Here(names, here.memory, here.path)
        left = self.block(function.body, inside, call)
        if left is not None:
            raise Refused(function, f"{function.name} ends without a return on some path")
        self.stack.pop()
        return self._joined(call, here)

    def _joined(self, call: _Call, here: _Here) -> tuple[Value, _Here]:
        """Return what the call's returns leave together."""
        _, memory, value = call.exits[-1]
        for path, other_memory, other_value in reversed(call.exits[:-1]):
            asked = terms.all_of(path[call.begun :])
            memory = _chosen(asked, other_memory, memory)
            value = choose(asked, other_value, value)
        return value, _Here(here.names, memory, here.path)

    def block(self, body: Sequence[ast.stmt], here: _Here, call: _Call) -> _Here | None:
        """Run statements; return where the run stands, None where every path has returned."""
        now: _Here | None = here
        for node in body:
            if now is None:
                return None
            now = self.statement(node, now, call)
        return now

    def statement(self, node: ast.stmt, here: _Here, call: _Call) -> _Here | None:
        if isinstance(node, ast.Return):
            if node.value is None:
                raise Refused(node, "return without a value")
            value = self.word(node.value, here)
            call.exits.append((here.path, here.memory, value))
            return None
        if isinstance(node, ast.If):
            return self._if(node, here, call)
        if isinstance(node, ast.For):
            return self._for(node, here, call)
        if isinstance(node, ast.Assign):
            if len(node.targets) != 1:
                raise Refused(node, "several targets")
            self.store(node.targets[0], self.word(node.value, here), here)
            return here
        if isinstance(node, ast.AugAssign):
            before = self.word(_loaded(node.target), here)
            value = self.operate(node, node.op, before, self.word(node.value, here), here)
            self.store(node.target, value, here)
            return here
        if isinstance(node, ast.Expr):
            return self._alone(node, here)
        raise Refused(node, f"{type(node).__name__}: {ast.unparse(node).splitlines()[0]}")

    def _alone(self, node: ast.Expr, here: _Here) -> _Here:
        """Run an expression that stands alone: a docstring, or a call."""
        if isinstance(node.value, ast.Call):
            self.expression(node.value, here)
        elif not (isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)):
            raise Refused(node, f"an expression alone: {ast.unparse(node)}")
        return here

    def _if(self, node: ast.If, here: _Here, call: _Call) -> _Here | None:
        asked = self.condition(node.test, here)
        if isinstance(asked, bool):
            return self.block(node.body if asked else node.orelse, here, call)
        one = self.block(node.body, here.fork(asked), call)
        other = self.block(node.orelse, here.fork(terms.negate(asked)), call)
        if one is None or other is None:
            return other if one is None else one
        base = len(here.path)
        path = here.path
        if len(one.path) > base + 1 or len(other.path) > base + 1:
            path = (
                *path,
                terms.any_of((terms.all_of(one.path[base:]), terms.all_of(other.path[base:]))),
            )
        names = {
            name: value if value is other.names[name] else _chosen_name(asked, value, other, name)
            for name, value in one.names.items()
            if name in other.names
        }
        return _Here(names, _chosen(asked, one.memory, other.memory), path)

    def _for(self, node: ast.For, here: _Here, call: _Call) -> _Here | None:
        if node.orelse or not isinstance(node.target, ast.Name):
            raise Refused(node, "a loop with else, or over more than a name")
        over = node.iter
        if not (
            isinstance(over, ast.Call)
            and ast.unparse(over.func) == "range"
            and 1 <= len(over.args) <= 2
            and not over.keywords
        ):
            raise Refused(node, f"a loop over something else than range: {ast.unparse(over)}")
        words = [self.word(each, here) for each in over.args]
        ends = [word for word in words if isinstance(word, int)]
        if len(ends) != len(words):
            raise Refused(node, "a loop whose ends are not constant")
        turns = range(*ends)
        if len(turns) > _MOST_TURNS:
            raise Refused(node, f"a loop of {len(turns)} turns")
        now: _Here | None = here
        for turn in turns:
            if now is None:
                return None
            now.names[node.target.id] = turn
            now = self.block(node.body, now, call)
        return now

    def store(self, target: ast.expr, value: Value, here: _Here) -> None:
        if isinstance(target, ast.Name):
            if target.id in self.law.constants:
                raise Refused(target, f"{target.id} is a constant")
            here.names[target.id] = value
            return
        if not isinstance(target, ast.Subscript):
            raise Refused(target, f"assignment to {ast.unparse(target)}")
        name, place = self._place(target, here)
        if isinstance(value, Bits):
            self.need(target, "store", here, value.high, 0, 0)
        else:
            self.need(target, "store", here, value, 0, INT32)
        words = list(here.memory[name])
        for at in self._reached(target, place, here, len(words)):
            words[at] = choose(terms.eq(place, at), value, words[at])
        here.memory[name] = words

    # expressions

    def _place(self, node: ast.Subscript, here: _Here) -> tuple[str, Int]:
        array = self.expression(node.value, here)
        if not isinstance(array, _Array):
            raise Refused(node, f"{ast.unparse(node.value)} is no array")
        place = number(self.word(node.slice, here))
        self.need(node, "index", here, place, 0, len(here.memory[array.name]) - 1)
        return array.name, place

    def _reached(self, node: ast.AST, place: Int, here: _Here, length: int) -> range:
        """Return the places that an index can take, inside its array."""
        low, high = reach(place, here.path)
        found = range(max(low, 0), min(high, length - 1) + 1)
        if not found:
            raise Refused(node, f"an index that is never inside its array ({low}..{high})")
        return found

    def word(self, node: ast.expr, here: _Here) -> Value:
        value = self.expression(node, here)
        if not isinstance(value, int | Node | Bits) or isinstance(value, bool):
            raise Refused(node, f"{ast.unparse(node)} is no word")
        return value

    def expression(self, node: ast.expr, here: _Here) -> Operand:
        if isinstance(node, ast.Constant) and type(node.value) is int:
            return node.value
        if isinstance(node, ast.Name):
            return self._name(node, here)
        if isinstance(node, ast.BinOp):
            left, right = self.word(node.left, here), self.word(node.right, here)
            return self.operate(node, node.op, left, right, here)
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
            value = terms.scale(number(self.word(node.operand, here)), -1)
            self.need(node, "intermediate", here, value, -SMALL, SMALL)
            return value
        if isinstance(node, ast.Subscript):
            name, place = self._place(node, here)
            words = here.memory[name]
            found = self._reached(node, place, here, len(words))
            chosen = words[found[-1]]
            for at in reversed(found[:-1]):
                chosen = choose(terms.eq(place, at), words[at], chosen)
            return chosen
        if isinstance(node, ast.Call):
            return self._called(node, here)
        raise Refused(node, f"{type(node).__name__}: {ast.unparse(node)}")

    def _name(self, node: ast.Name, here: _Here) -> Operand:
        if node.id in here.names:
            return here.names[node.id]
        if node.id in self.law.constants:
            return self.law.constants[node.id]
        raise Refused(node, f"{node.id} is not set on every path to here")

    def _called(self, node: ast.Call, here: _Here) -> Operand:
        if not isinstance(node.func, ast.Name) or node.keywords:
            raise Refused(node, f"a call of {ast.unparse(node.func)}")
        if node.func.id == "int" and len(node.args) == 1:
            inner = node.args[0]
            if isinstance(inner, ast.Compare | ast.BoolOp):
                return terms.ite(self.condition(inner, here), 1, 0)
            return self.expression(inner, here)
        if node.func.id not in self.law.functions:
            raise Refused(node, f"a call of {node.func.id}, which is none of the law's functions")
        values = [self.expression(each, here) for each in node.args]
        value, after = self.call(self.law.functions[node.func.id], values, here, node)
        here.memory = after.memory
        return value

    def operate(
        self, node: ast.AST, op: ast.operator, left: Value, right: Value, here: _Here
    ) -> Value:
        made = OPERATORS.get(type(op))
        if made is None:
            raise Refused(node, f"the operator {type(op).__name__}")
        if isinstance(op, ast.FloorDiv | ast.Mod):
            self.need(node, "divisor", here, number(right), 1, SMALL)
        if isinstance(op, ast.LShift | ast.RShift):
            self.need(node, "shift", here, number(right), 0, 30)
        try:
            value = made(left, right)
        except ValueError as error:
            raise Refused(node, str(error)) from error
        if isinstance(op, ast.Add | ast.Sub | ast.Mult | ast.LShift) and not isinstance(
            value, Bits
        ):
            self.need(node, "intermediate", here, value, -SMALL, SMALL)
        return value

    def condition(self, node: ast.expr, here: _Here) -> Bool:
        if isinstance(node, ast.BoolOp):
            return self._bool(node, here)
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            return terms.negate(self.condition(node.operand, here))
        if isinstance(node, ast.Compare):
            return self._compare(node, here)
        return truth(self.word(node, here))

    def _bool(self, node: ast.BoolOp, here: _Here) -> Bool:
        """Return a joined condition; what stands behind `and` is only asked where it matters."""
        both = isinstance(node.op, ast.And)
        parts: list[Bool] = []
        asked = here
        for each in node.values:
            part = self.condition(each, asked)
            parts.append(part)
            if isinstance(part, bool):
                if part != both:
                    break
                continue
            asked = _Here(
                here.names, here.memory, (*asked.path, part if both else terms.negate(part))
            )
        return terms.all_of(parts) if both else terms.any_of(parts)

    def _compare(self, node: ast.Compare, here: _Here) -> Bool:
        values = [self.word(each, here) for each in (node.left, *node.comparators)]
        parts = [
            compare(node, op, left, right)
            for op, left, right in zip(node.ops, values[:-1], values[1:], strict=True)
        ]
        return terms.all_of(parts)


def _loaded(target: ast.expr) -> ast.expr:
    """Return the target of ``+=`` as what is read from it."""
    if isinstance(target, ast.Name | ast.Subscript):
        return target
    raise Refused(target, f"assignment to {ast.unparse(target)}")


def _chosen_name(asked: Bool, one: Value | _Array, there: _Here, name: str) -> Value | _Array:
    other = there.names[name]
    if isinstance(one, _Array) or isinstance(other, _Array):
        raise ValueError(f"{name} is an array on one path only")
    return choose(asked, one, other)


def _chosen(asked: Bool, one: Memory, other: Memory) -> Memory:
    return {
        name: words
        if words is other[name]
        else [choose(asked, x, y) for x, y in zip(words, other[name], strict=True)]
        for name, words in one.items()
    }
