"""The law, the plant and the loop in C, written from the syntax tree that the engine compiles.

No second statement of any of them: what the tree does not say is not in the C, and what this
translator does not know is refused with its line. The types are those of the compiled engine:
words are int32 in memory and int64 in every expression, all else is double. ``//`` and ``%``
round down as Python's do. With ``-ffp-contract=off`` the results are those of the engine, bit for
bit: the same operations in the same order, `exp` and `log` from the same C library.
"""

import ast
from collections.abc import Iterable
from dataclasses import dataclass

from diodewright.plant.params import Row
from diodewright.sim.generated import RECORDS
from diodewright.sim.trace import COLUMNS

__all__ = ["FLAGS", "NotInC", "translate"]

#: How the benchmark compiles it; the last two keep Python's and Numba's arithmetic.
FLAGS = ("-O2", "-fPIC", "-shared", "-ffp-contract=off", "-fwrapv")

#: What a record is called in C, by the name that every kernel gives it.
STRUCTS = {"p": "struct params", "x": "struct state", "t": "struct tally"}
#: Arrays by the name that every kernel gives them: the C type of an element.
ARRAYS = {
    **dict.fromkeys(("state", "limits", "readings", "raw", "board", "codes"), "int32_t"),
    **dict.fromkeys(("at", "what", "place"), "int64_t"),
    **dict.fromkeys(("value", "params", "states", "row", "rows"), "double"),
}
#: `rows` is the one array of two dimensions: a row of it is so many doubles long.
ROW_LENGTH = len(COLUMNS)
#: Words of C that a kernel may well use as a name.
C_WORDS = frozenset(["auto", "char", "const", "double", "float", "int", "long", "short", "signed"])
SCALARS = {"int": "int64_t", "float": "double", "bool": "int"}

_SAME = {
    ast.Add: "+",
    ast.Sub: "-",
    ast.Mult: "*",
    ast.BitAnd: "&",
    ast.BitOr: "|",
    ast.BitXor: "^",
    ast.LShift: "<<",
    ast.RShift: ">>",
}
_COMPARED = {
    ast.Eq: "==",
    ast.NotEq: "!=",
    ast.Lt: "<",
    ast.LtE: "<=",
    ast.Gt: ">",
    ast.GtE: ">=",
}
_HEAD = """\
#include <math.h>
#include <stdint.h>

static inline int64_t floor_quotient(int64_t a, int64_t b)
{
    int64_t q = a / b;
    return a % b != 0 && (a < 0) != (b < 0) ? q - 1 : q;
}

static inline int64_t floor_rest(int64_t a, int64_t b)
{
    int64_t r = a % b;
    return r != 0 && (r < 0) != (b < 0) ? r + b : r;
}
"""


#: Kernels of `sim.follow`: driven by a record's columns, which the loop and its C know nothing of.
FOLLOWING = {
    *("follow_outputs", "follow_heat", "follow_pack"),
    *("write_followed", "begin_following", "draw_followed"),
}


class NotInC(ValueError):
    """The tree holds what this translator does not know; says where."""


@dataclass(frozen=True)
class _Known:
    """What the module defines: constants and functions with their C types."""

    constants: dict[str, str]
    functions: dict[str, str]


def _named(name: str) -> str:
    """Return a variable's name in C."""
    return f"{name}_" if name in C_WORDS else name


def _refuse(node: ast.AST, what: str) -> NotInC:
    return NotInC(f"line {getattr(node, 'lineno', '?')}: {what}: {ast.unparse(node)}")


class _Function:
    """One function on its way to C: its variables' types, its lines."""

    def __init__(self, tree: ast.FunctionDef, known: _Known) -> None:
        self.tree = tree
        self.known = known
        self.types: dict[str, str] = {}
        for arg in tree.args.args:
            note = ast.unparse(arg.annotation) if arg.annotation else ""
            if note in SCALARS:
                self.types[arg.arg] = SCALARS[note]
        self.arguments = tuple(self.types)

    def head(self) -> str:
        """Return the function's C declaration without an end."""
        arguments = []
        for arg in self.tree.args.args:
            name = arg.arg
            if name in self.types:
                arguments.append(f"{self.types[name]} {_named(name)}")
            elif name in STRUCTS:
                arguments.append(f"{STRUCTS[name]} *{name}")
            elif name in ARRAYS:
                arguments.append(f"{ARRAYS[name]} *{name}")
            else:
                raise _refuse(arg, "no type")
        returned = self.known.functions[self.tree.name]
        return f"{returned} {self.tree.name}({', '.join(arguments)})"

    def text(self) -> str:
        """Return the function in C."""
        body = self.block(self.tree.body, 1)
        declared = [
            f"    {kind} {_named(name)} = 0;"
            for name, kind in self.types.items()
            if name not in self.arguments
        ]
        return "\n".join([self.head(), "{", *declared, *body, "}", ""])

    def block(self, statements: Iterable[ast.stmt], depth: int) -> list[str]:
        """Return statements in C, `depth` levels in."""
        lines: list[str] = []
        for statement in statements:
            if isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant):
                continue
            kind = type(statement).__name__
            write = getattr(self, f"in_{kind}", None)
            if write is None:
                raise _refuse(statement, "no statement of ours")
            lines += ["    " * depth + line for line in write(statement)]
        return lines

    def in_Expr(self, node: ast.Expr) -> list[str]:
        return [f"{self.value(node.value)[0]};"]

    def in_Assign(self, node: ast.Assign) -> list[str]:
        if len(node.targets) != 1:
            raise _refuse(node, "one target is known")
        return self.stored(node.targets[0], *self.value(node.value))

    def in_AugAssign(self, node: ast.AugAssign) -> list[str]:
        both = ast.copy_location(ast.BinOp(node.target, node.op, node.value), node)
        return self.stored(node.target, *self.value(both))

    def stored(self, target: ast.expr, text: str, kind: str) -> list[str]:
        """Return the assignment of an expression of C type `kind`."""
        if isinstance(target, ast.Name):
            have = self.types.setdefault(target.id, kind)
            if {have, kind} == {"int64_t", "double"}:
                raise _refuse(target, "both whole and not")
            if have != kind:
                self.types[target.id] = "int64_t"
            return [f"{_named(target.id)} = {text};"]
        return [f"{self.value(target)[0]} = {text};"]

    def in_Return(self, node: ast.Return) -> list[str]:
        return [f"return {self.value(node.value)[0]};" if node.value else "return;"]

    def in_Break(self, _: ast.Break) -> list[str]:
        return ["break;"]

    def in_If(self, node: ast.If) -> list[str]:
        lines = [f"if ({self.value(node.test)[0]}) {{", *self.block(node.body, 1)]
        if node.orelse:
            lines += ["} else {", *self.block(node.orelse, 1)]
        return [*lines, "}"]

    def in_While(self, node: ast.While) -> list[str]:
        return [f"while ({self.value(node.test)[0]}) {{", *self.block(node.body, 1), "}"]

    def in_For(self, node: ast.For) -> list[str]:
        call, name = node.iter, node.target
        if not (isinstance(call, ast.Call) and ast.unparse(call.func) == "range"):
            raise _refuse(node, "only range is known")
        if not isinstance(name, ast.Name):
            raise _refuse(node, "one name is known")
        ends = [self.value(each)[0] for each in call.args]
        begin, end = (["0", *ends])[-2:]
        self.types[name.id] = "int64_t"
        # Python leaves the last value behind where C leaves the end: no kernel looks at it
        at = _named(name.id)
        count = f"for ({at} = {begin}; {at} < {end}; {at}++) {{"
        return [count, *self.block(node.body, 1), "}"]

    def value(self, node: ast.expr) -> tuple[str, str]:
        """Return an expression in C and its type."""
        write = getattr(self, f"of_{type(node).__name__}", None)
        if write is None:
            raise _refuse(node, "no expression of ours")
        text, kind = write(node)
        return text, kind

    def of_Constant(self, node: ast.Constant) -> tuple[str, str]:
        if isinstance(node.value, bool):
            return str(int(node.value)), "int"
        if isinstance(node.value, int):
            return f"INT64_C({node.value})", "int64_t"
        if isinstance(node.value, float):
            return repr(node.value), "double"
        raise _refuse(node, "no constant of ours")

    def of_Name(self, node: ast.Name) -> tuple[str, str]:
        kind = self.types.get(node.id) or self.known.constants.get(node.id)
        if kind is None and node.id in STRUCTS | ARRAYS:
            kind = "pointer"
        if kind is None:
            raise _refuse(node, "no such name")
        return _named(node.id), kind

    def of_Attribute(self, node: ast.Attribute) -> tuple[str, str]:
        owner = ast.unparse(node.value)
        if owner not in STRUCTS:
            raise _refuse(node, "no record of ours")
        return f"{owner}->{node.attr}", "double"

    def of_Subscript(self, node: ast.Subscript) -> tuple[str, str]:
        place = self.value(node.slice)[0]
        if isinstance(node.value, ast.Attribute):
            return f"{self.value(node.value)[0]}[{place}]", "double"
        name = ast.unparse(node.value)
        if name == "rows":
            return f"(rows + {place} * {ROW_LENGTH})", "pointer"
        if ARRAYS.get(name) is None:
            raise _refuse(node, "no array of ours")
        return f"{name}[{place}]", "double" if ARRAYS[name] == "double" else "int64_t"

    def of_UnaryOp(self, node: ast.UnaryOp) -> tuple[str, str]:
        text, kind = self.value(node.operand)
        if isinstance(node.op, ast.Not):
            return f"!({text})", "int"
        if isinstance(node.op, ast.USub):
            return f"(-{text})", kind
        raise _refuse(node, "no operator of ours")

    def of_BinOp(self, node: ast.BinOp) -> tuple[str, str]:
        (left, left_kind), (right, right_kind) = self.value(node.left), self.value(node.right)
        whole = "double" not in (left_kind, right_kind)
        kind = "int64_t" if whole else "double"
        if isinstance(node.op, ast.Div):
            return f"((double){left} / (double){right})", "double"
        if isinstance(node.op, ast.FloorDiv) and whole:
            return f"floor_quotient({left}, {right})", kind
        if isinstance(node.op, ast.Mod) and whole:
            return f"floor_rest({left}, {right})", kind
        if type(node.op) not in _SAME:
            raise _refuse(node, "no operator of ours")
        # an int32 word is widened first: the compiled engine computes in 64 bits
        left = left if not whole else f"(int64_t){left}"
        return f"({left} {_SAME[type(node.op)]} {right})", kind

    def of_Compare(self, node: ast.Compare) -> tuple[str, str]:
        if len(node.ops) != 1 or type(node.ops[0]) not in _COMPARED:
            raise _refuse(node, "one comparison is known")
        left, right = self.value(node.left)[0], self.value(node.comparators[0])[0]
        return f"({left} {_COMPARED[type(node.ops[0])]} {right})", "int"

    def of_BoolOp(self, node: ast.BoolOp) -> tuple[str, str]:
        sign = " && " if isinstance(node.op, ast.And) else " || "
        parts = [self.value(each) for each in node.values]
        if any(kind != "int" for _, kind in parts):
            raise _refuse(node, "only truths are joined")
        return f"({sign.join(text for text, _ in parts)})", "int"

    def of_IfExp(self, node: ast.IfExp) -> tuple[str, str]:
        test, (yes, kind), (no, other) = (
            self.value(node.test)[0],
            self.value(node.body),
            self.value(node.orelse),
        )
        if kind != other:
            raise _refuse(node, "two types")
        return f"({test} ? {yes} : {no})", kind

    def of_Call(self, node: ast.Call) -> tuple[str, str]:
        name = ast.unparse(node.func)
        given = ", ".join(self.value(each)[0] for each in node.args)
        if name in SCALARS:
            return (f"({given} != 0)" if name == "bool" else f"(({SCALARS[name]})({given}))"), (
                SCALARS[name]
            )
        if name in ("math.sqrt", "math.exp", "math.log"):
            return f"{name[5:]}({given})", "double"
        if name not in self.known.functions:
            raise _refuse(node, "no function of ours")
        return f"{name}({given})", self.known.functions[name]


def _struct(kind: str, table: tuple[Row, ...]) -> str:
    rows = [f"    double {row.name}{f'[{row.count}]' if row.count > 1 else ''};" for row in table]
    return "\n".join([f"{kind} {{", *rows, "};", ""])


def _constant(node: ast.Assign) -> tuple[str, str, str] | None:
    """Return name, C type and value of a module's constant; None where it is none."""
    target, value = node.targets[0], node.value
    if isinstance(value, ast.Call) and ast.unparse(value.func) == "const":
        value = value.args[0]
    if not isinstance(target, ast.Name):
        return None
    try:
        held = ast.literal_eval(value)
    except ValueError:
        return None
    if isinstance(held, float):
        return target.id, "double", repr(held)
    if isinstance(held, int):
        return target.id, "int64_t", str(held)
    return None


def translate(sources: Iterable[str], entries: Iterable[str]) -> str:
    """Return the kernels in `sources` (the law's and those of the kernel modules) in C.

    `entries` are seen from outside, all else is ``static``.

    Raises
    ------
    NotInC
        The tree holds what has no form here.
    """
    body = [node for text in sources for node in ast.parse(text).body]
    constants = [
        found
        for node in body
        if isinstance(node, ast.Assign) and (found := _constant(node)) is not None
    ]
    kernels = [node for node in body if isinstance(node, ast.FunctionDef) and node.decorator_list]
    kernels = [node for node in kernels if node.name not in FOLLOWING]
    returned = {
        node.name: SCALARS.get(ast.unparse(node.returns), "void") if node.returns else "void"
        for node in kernels
    }
    known = _Known({name: kind for name, kind, _ in constants}, returned)
    functions = [_Function(node, known) for node in kernels]
    shown = set(entries)
    seen = [("" if each.tree.name in shown else "static ") for each in functions]
    return "\n".join(
        [
            _HEAD,
            *(_struct(kind, RECORDS[name]) for name, kind in STRUCTS.items()),
            *(f"#define {name} (({kind}){value})" for name, kind, value in constants),
            "",
            *(f"{how}{each.head()};" for how, each in zip(seen, functions, strict=True)),
            "",
            *(f"{how}{each.text()}" for how, each in zip(seen, functions, strict=True)),
        ]
    )
