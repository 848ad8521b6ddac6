"""The law's source as a tree: its constants and functions, and a refusal of anything else."""

import ast
from dataclasses import dataclass

__all__ = ["Law", "Refused", "read_law"]

#: Every kind of node that the translator models; what is reached by no input is held to it too.
_MODELLED = (
    ast.FunctionDef,
    ast.arguments,
    ast.arg,
    ast.Return,
    ast.Assign,
    ast.AugAssign,
    ast.For,
    ast.If,
    ast.Expr,
    ast.BoolOp,
    ast.BinOp,
    ast.UnaryOp,
    ast.Compare,
    ast.Call,
    ast.Constant,
    ast.Attribute,
    ast.Subscript,
    ast.Name,
    ast.expr_context,
    ast.boolop,
    ast.operator,
    ast.unaryop,
    ast.cmpop,
)

_IMPORT = "from diodedriver.portable import const, micropython, ptr32"


class Refused(ValueError):
    """The translator doesn't model this construct; names the line."""

    def __init__(self, node: ast.AST, why: str) -> None:
        line = getattr(node, "lineno", 0)
        super().__init__(f"law line {line}: {why}")
        self.line = line


@dataclass(frozen=True)
class Law:
    """A law's text, its constants by name and its functions by name."""

    text: str
    constants: dict[str, int]
    functions: dict[str, ast.FunctionDef]


def read_law(text: str) -> Law:
    """Return the law in `text`.

    Raises
    ------
    Refused
        Something at the top level that isn't a constant, a function or the one import.
    """
    try:
        tree = ast.parse(text)
    except SyntaxError as error:
        raise Refused(ast.Pass(lineno=error.lineno or 0), f"not Python: {error.msg}") from error
    constants: dict[str, int] = {}
    functions: dict[str, ast.FunctionDef] = {}
    for node in tree.body:
        if isinstance(node, ast.FunctionDef):
            _refuse_odd_function(node)
            _refuse_unmodelled(node)
            if node.name in functions or node.name in constants:
                raise Refused(node, f"{node.name} is defined twice")
            functions[node.name] = node
        elif isinstance(node, ast.Assign):
            name, value = _constant(node, constants)
            if name in functions or name in constants:
                raise Refused(node, f"{name} is defined twice")
            constants[name] = value
        elif not _is_dull(node):
            raise Refused(node, f"{type(node).__name__} at the top level")
    return Law(text, constants, functions)


def _is_dull(node: ast.stmt) -> bool:
    if isinstance(node, ast.Expr):
        return isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)
    return isinstance(node, ast.ImportFrom) and ast.unparse(node) == _IMPORT


def _constant(node: ast.Assign, constants: dict[str, int]) -> tuple[str, int]:
    target, value = node.targets[0], node.value
    if (
        len(node.targets) != 1
        or not isinstance(target, ast.Name)
        or not isinstance(value, ast.Call)
        or ast.unparse(value.func) != "const"
        or len(value.args) != 1
        or value.keywords
    ):
        raise Refused(node, "a name that is not const(...) at the top level")
    return target.id, fold(value.args[0], constants)


def fold(node: ast.expr, constants: dict[str, int]) -> int:
    """Return a constant expression's value; `Refused` where it isn't one."""
    if isinstance(node, ast.Constant) and type(node.value) is int:
        return node.value
    if isinstance(node, ast.Name) and node.id in constants:
        return constants[node.id]
    if isinstance(node, ast.BinOp):
        left, right = fold(node.left, constants), fold(node.right, constants)
        if isinstance(node.op, ast.LShift) and 0 <= right <= 30:
            return left << right
        if isinstance(node.op, ast.BitOr):
            return left | right
        if isinstance(node.op, ast.Add):
            return left + right
        if isinstance(node.op, ast.Sub):
            return left - right
        if isinstance(node.op, ast.Mult):
            return left * right
    raise Refused(node, f"not a constant: {ast.unparse(node)}")


def _refuse_unmodelled(function: ast.FunctionDef) -> None:
    for node in ast.walk(function):
        if not isinstance(node, _MODELLED) or (
            isinstance(node, ast.FunctionDef) and node is not function
        ):
            raise Refused(node, f"{type(node).__name__}: {ast.unparse(node).splitlines()[0]}")


def _refuse_odd_function(node: ast.FunctionDef) -> None:
    if [ast.unparse(each) for each in node.decorator_list] != ["micropython.viper"]:
        raise Refused(node, f"{node.name} without the decorator micropython.viper")
    given = node.args
    if given.vararg or given.kwarg or given.kwonlyargs or given.posonlyargs or given.defaults:
        raise Refused(node, f"{node.name} takes something else than plain arguments")
    for each in given.args:
        if each.annotation is None or ast.unparse(each.annotation) not in ("int", "ptr32"):
            raise Refused(each, f"{node.name}: {each.arg} is neither int nor ptr32")
    if node.returns is None or ast.unparse(node.returns) != "int":
        raise Refused(node, f"{node.name} does not return int")
