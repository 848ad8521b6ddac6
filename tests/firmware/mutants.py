"""Mutants of the law: one place changed in its syntax tree, compiled, set in the function's place.

Comparisons swapped and moved by one, operators swapped, constants one more and one less,
conditions negated, and-or exchanged, statements dropped. Nothing is written to disk.
"""

import ast
import copy
import hashlib
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import CodeType

from diodedriver import law

TEXT = Path(law.__file__).read_text(encoding="utf-8")
TREE = ast.parse(TEXT)
# What a name stands for (a word's place, row, pin, mode) is tied to words.py by tests of their own;
# of the names only sizes and fixed values are changed.
_TIED = re.compile(
    r"_[CRLSF]_|_PIN_|_ON_|_ALL_|_BY_"
    r"|_(BOOT|DARK|DELAY|CLOSE|START|SOFT_START|RUN|LIMITED|PACK_LOW|FAULT)$"
)
# A boundary moves by one; which way a comparison points, its negation changes.
_COMPARED: dict[type, type] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
}
_COMPUTED: dict[type, tuple[type, ...]] = {
    ast.Add: (ast.Sub,),
    ast.Sub: (ast.Add,),
    ast.Mult: (ast.Add,),
    ast.FloorDiv: (ast.Mult,),
    ast.LShift: (ast.RShift,),
    ast.RShift: (ast.LShift,),
    ast.BitOr: (ast.BitAnd,),  # exclusive or is the same where the bits differ, as they do here
    ast.BitAnd: (ast.BitOr,),
    ast.BitXor: (ast.BitOr,),
}


def _law_hash() -> str:
    """Return the hash of the law's tree without its docstrings: words about it don't count."""
    bare = copy.deepcopy(TREE)
    for node in ast.walk(bare):
        if isinstance(node, ast.Module | ast.FunctionDef) and ast.get_docstring(node) is not None:
            del node.body[0]
    return hashlib.sha256(ast.dump(bare).encode()).hexdigest()[:12]


LAW_HASH = _law_hash()


@dataclass(frozen=True)
class Mutant:
    """A changed law; `name` is function, line within it, and what became of what.

    `kind` is the kind of change, `code` the changed function for CPython, `text` the whole law as
    it would be flashed.
    """

    name: str
    kind: str
    function: str
    code: CodeType
    text: str


def _swaps(node: ast.AST) -> Iterator[ast.AST]:
    """Yield what `node` is changed into, one after the other."""
    match node:
        case ast.AugAssign(target=target, op=op, value=value):
            yield from (ast.AugAssign(target, other(), value) for other in _COMPUTED[type(op)])
            yield _nothing()
        case ast.Assign() | ast.Expr(value=ast.Call()):
            yield _nothing()
        case ast.If(test=test, body=body, orelse=orelse):
            yield ast.If(ast.UnaryOp(ast.Not(), test), body, orelse)
        case ast.BoolOp(op=op, values=values):
            yield ast.BoolOp(ast.Or() if isinstance(op, ast.And) else ast.And(), values)
            for place, part in enumerate(values):
                negated = ast.UnaryOp(ast.Not(), part)
                yield ast.BoolOp(op, [*values[:place], negated, *values[place + 1 :]])
        case _:
            yield from _values(node)


def _values(node: ast.AST) -> Iterator[ast.AST]:
    match node:
        case ast.Compare(left=left, ops=[op], comparators=right) if type(op) in _COMPARED:
            yield ast.Compare(left, [_COMPARED[type(op)]()], right)
        case ast.BinOp(left=left, op=op, right=right):
            yield from (ast.BinOp(left, other(), right) for other in _COMPUTED[type(op)])
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            yield operand
        case ast.Constant(value=int(value)):
            yield from (ast.Constant(value + 1), ast.Constant(value - 1))
        case ast.Name(id=name) if name.startswith("_") and not _TIED.match(name):
            yield from (ast.BinOp(node, op(), ast.Constant(1)) for op in (ast.Add, ast.Sub))


# kind of change by what is changed; see `_kind` for the two that have more than one
KINDS: dict[type, str] = {
    ast.AugAssign: "operator exchanged",
    ast.BinOp: "operator exchanged",
    ast.Compare: "boundary moved by one",
    ast.Constant: "number one more or less",
    ast.Name: "named value one more or less",
    ast.If: "condition negated",
    ast.BoolOp: "condition negated",
    ast.UnaryOp: "sign dropped",
}


def _kind(node: ast.AST, other: ast.AST) -> str:
    if isinstance(other, ast.Expr):
        return "statement dropped"
    if isinstance(node, ast.BoolOp) and type(node.op) is not type(other.op):
        return "and, or exchanged"
    return KINDS[type(node)]


def _nothing() -> ast.Expr:
    """Return a statement that does nothing: a text, which the prover reads as well."""
    return ast.Expr(ast.Constant(""))


def _text(node: ast.AST) -> str:
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return "pass"
    if isinstance(node, ast.If):
        return "if " + ast.unparse(node.test)
    return ast.unparse(ast.fix_missing_locations(node))


def _places(function: ast.FunctionDef) -> Iterator[tuple[ast.AST, str, int | None, ast.AST]]:
    """Yield (parent, field, place in its list or None, node) of everything in the body."""
    for parent in ast.walk(function):
        for field, held in ast.iter_fields(parent):
            if parent is function and field != "body":
                continue
            for place, node in enumerate(held) if isinstance(held, list) else [(None, held)]:
                if isinstance(node, ast.AST):
                    yield parent, field, place, node


def _compiled(function: ast.FunctionDef) -> CodeType:
    """Return the code of `function`, without running its decorator."""
    bare = copy.copy(function)
    bare.decorator_list = []
    module = ast.fix_missing_locations(ast.Module([bare], []))
    made = compile(module, law.__file__, "exec").co_consts
    return next(const for const in made if isinstance(const, CodeType))


def _flashed(function: ast.FunctionDef) -> str:
    lines = TEXT.splitlines()
    begin = function.lineno - 1 - len(function.decorator_list)
    lines[begin : function.end_lineno] = [ast.unparse(function)]
    return "\n".join(lines) + "\n"


def _put(parent: ast.AST, field: str, place: int | None, node: ast.AST) -> None:
    if place is None:
        setattr(parent, field, node)
    else:
        getattr(parent, field)[place] = node


def mutants() -> Iterator[Mutant]:
    """Yield every mutant of every function."""
    for function in (node for node in TREE.body if isinstance(node, ast.FunctionDef)):
        seen: dict[str, int] = {}
        for parent, field, place, node in list(_places(function)):
            for other in _swaps(node):
                line = getattr(node, "lineno", function.lineno) - function.lineno
                changed = f"{function.name}+{line}: {_text(node)} -> {_text(other)}"
                seen[changed] = seen.get(changed, 0) + 1
                name = changed + f" #{seen[changed]}" * (seen[changed] > 1)
                _put(parent, field, place, ast.copy_location(other, node))
                kind = _kind(node, other)
                yield Mutant(name, kind, function.name, _compiled(function), _flashed(function))
                _put(parent, field, place, node)


@contextmanager
def in_place(mutant: Mutant) -> Iterator[None]:
    """Let every caller of the mutant's function run the mutant."""
    function = getattr(law, mutant.function)
    whole = function.__code__
    function.__code__ = mutant.code
    try:
        yield
    finally:
        function.__code__ = whole
