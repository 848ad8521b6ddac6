"""The longest path through one tick of the law, in statements, from its syntax tree.

A loop counts as often as its range says, a call with what it calls; of two branches the longer,
and none goes on behind its return.
"""

import ast
from functools import cache
from pathlib import Path

from diodedriver import law

_FUNCTIONS = {
    node.name: node
    for node in ast.parse(Path(law.__file__).read_text(encoding="utf-8")).body
    if isinstance(node, ast.FunctionDef)
}


def _calls(node: ast.AST) -> int:
    names = (call.func for call in ast.walk(node) if isinstance(call, ast.Call))
    return sum(
        longest(name.id) for name in names if isinstance(name, ast.Name) and name.id in _FUNCTIONS
    )


def _block(body: list[ast.stmt]) -> int:
    if not body:
        return 0
    first, rest = body[0], _block(body[1:])
    if isinstance(first, ast.If) and isinstance(first.body[-1], ast.Return):
        return 1 + _calls(first.test) + max(_block(first.body), _block(first.orelse) + rest)
    return _statement(first) + rest


def _statement(node: ast.stmt) -> int:
    if isinstance(node, ast.If):
        return 1 + _calls(node.test) + max(_block(node.body), _block(node.orelse))
    if isinstance(node, ast.For):
        assert isinstance(node.iter, ast.Call)
        times = eval(ast.unparse(node.iter.args[0]), vars(law))
        return 1 + times * (1 + _block(node.body))
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return 0  # the docstring
    return 1 + _calls(node)


@cache
def longest(function: str) -> int:
    """Return the statements on the longest path through `function`, callees included."""
    return _block(_FUNCTIONS[function].body)
