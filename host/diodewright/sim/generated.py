"""The text of the compiled engine: all kernels in one module, in the form that runs fastest.

Written from the kernels' own trees, nothing is stated twice. Records become plain memory:
``x.light_W`` is written ``x[33]``, `x` being a pointer to the record's first double, and so are
arrays of words. A pointer has no length, owner or negative index to look after at every call;
that and inlining in the compiler's back end (`forceinline`) is all the difference: the arithmetic
stays, operation by operation, and Python's division with it (a division by zero raises).

From Python a kernel is entered by a function of its own, ``enter_<name>``, which takes records
and arrays. Only these are cached on disk, each compiled where it is first called.
"""

import ast
from collections.abc import Iterable

from diodewright.plant.params import PARAM_RECORD, STATE, Row, index_of
from diodewright.sim.tally import TALLY

__all__ = ["ENTER", "RECORDS", "Unwritable", "engine_text"]

#: Records by the one name under which every kernel takes them.
RECORDS: dict[str, tuple[Row, ...]] = {"p": PARAM_RECORD, "x": STATE, "t": TALLY}
ENTER = "enter_"
_HEADER = '''"""Generated from the law, the plant and the loop. Not to be edited."""
import math

import numba
from numba.core import errors, types
from numba.extending import intrinsic

kernel = numba.njit(
    nogil=True, forceinline=True, no_cpython_wrapper=True, no_cfunc_wrapper=True
)
entry = numba.njit(nogil=True, cache=True)


class micropython:
    viper = staticmethod(kernel)


def const(value):
    return value


ptr32 = None
Record = None


@intrinsic
def memory(context, value):
    """Return where a record or a row of words lies; what is neither passes as it is."""
    if isinstance(value, types.Record):

        def record(context, builder, signature, args):
            return builder.bitcast(args[0], context.get_value_type(signature.return_type))

        return types.CPointer(types.float64)(value), record
    if isinstance(value, types.Buffer) and value.ndim == 1:
        if value.layout != "C":
            raise errors.NumbaTypeError("words must lie one behind the other")

        def words(context, builder, signature, args):
            return context.make_array(signature.args[0])(context, builder, args[0]).data

        return types.CPointer(value.dtype)(value), words

    def itself(context, builder, signature, args):
        context.nrt.incref(builder, signature.args[0], args[0])
        return args[0]

    return value(value), itself
'''


class Unwritable(ValueError):
    """A kernel takes a record or a twin of a name that the engine's text can't hold."""


class _Flattened(ast.NodeTransformer):
    """Writes attributes of records as places in their memory."""

    def __init__(self) -> None:
        self.places = {name: index_of(table) for name, table in RECORDS.items()}

    def place(self, node: ast.Attribute) -> int | None:
        """Return the place of a record's attribute; None where it is none of a record."""
        owner = node.value
        if not isinstance(owner, ast.Name) or owner.id == "math":
            return None
        try:
            return self.places[owner.id][node.attr]
        except KeyError:
            raise Unwritable(
                f"{owner.id}.{node.attr}: no such row; records are named {', '.join(RECORDS)}"
            ) from None

    def visit_Subscript(self, node: ast.Subscript) -> ast.AST:
        """Write ``p.ocv_V[k]`` as ``p[22 + k]``."""
        curve = node.value
        if not isinstance(curve, ast.Attribute) or (at := self.place(curve)) is None:
            return self.generic_visit(node)
        at_point = ast.BinOp(ast.Constant(at), ast.Add(), self.visit(node.slice))
        return ast.copy_location(ast.Subscript(curve.value, at_point, node.ctx), node)

    def visit_Attribute(self, node: ast.Attribute) -> ast.AST:
        """Write ``x.light_W`` as ``x[33]``."""
        at = self.place(node)
        if at is None:
            return self.generic_visit(node)
        return ast.copy_location(ast.Subscript(node.value, ast.Constant(at), node.ctx), node)


def _kernels(tree: ast.Module) -> list[ast.FunctionDef]:
    return [node for node in tree.body if isinstance(node, ast.FunctionDef) and node.decorator_list]


def _refuse_twins(tree: ast.Module) -> None:
    """Refuse a name defined twice: in one module the later function would take both places."""
    seen: set[str] = set()
    for node in tree.body:
        names: list[str] = []
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            names = [node.name]
        elif isinstance(node, ast.Assign):
            names = [target.id for target in node.targets if isinstance(target, ast.Name)]
        for name in names:
            if name in seen and name != "__all__":
                raise Unwritable(f"{name} is defined twice among law, plant and loop")
            seen.add(name)


def _without_imports(tree: ast.Module) -> list[ast.stmt]:
    """Return what a module defines; what it imports is in the same text."""
    return [node for node in tree.body if not isinstance(node, ast.Import | ast.ImportFrom)]


def _entry(kernel: ast.FunctionDef) -> str:
    names = [argument.arg for argument in kernel.args.args]
    passed = ", ".join(f"memory({name})" for name in names)
    head = f"def {ENTER}{kernel.name}({', '.join(names)}):"
    return f"\n\n@entry\n{head}\n    return {kernel.name}({passed})\n"


def engine_text(sources: Iterable[str]) -> str:
    """Return the engine's module, made of the law's source and those of the kernel modules.

    Raises
    ------
    Unwritable
        A name defined twice, or an attribute of what is no record.
    """
    head = ast.parse(_HEADER)
    body = [node for text in sources for node in _without_imports(ast.parse(text))]
    tree = ast.Module(body, [])
    _refuse_twins(ast.Module([*_without_imports(head), *body], []))
    kernels = _kernels(tree)
    flattened = _Flattened()
    for kernel in kernels:
        kernel.body = [flattened.visit(statement) for statement in kernel.body]
    ast.fix_missing_locations(tree)
    return _HEADER + ast.unparse(tree) + "\n" + "".join(_entry(kernel) for kernel in kernels)
