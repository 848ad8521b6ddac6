"""The longest path through one tick, in statements and in calls, from the syntax tree.

A loop counts as often as its range says, a call with what it calls; of two branches the longer,
and none goes on behind its return.
"""

import ast
from pathlib import Path

from diodedriver import law

_FIRMWARE = Path(law.__file__).parent


def _functions(names: tuple[str, ...]) -> dict[str, ast.FunctionDef]:
    found: dict[str, ast.FunctionDef] = {}
    for name in names:
        tree = ast.parse((_FIRMWARE / name).read_text(encoding="utf-8"))
        found.update(
            {node.name: node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}
        )
    return found


class Paths:
    """The paths within some of the firmware's files; a call by a name of theirs is followed.

    Parameters
    ----------
    calls : count calls, those of what is not in these files too, in place of statements.
    """

    def __init__(self, *files: str, calls: bool = False) -> None:
        self._known = _functions(files)
        self._calls_only = calls
        self._found: dict[str, int] = {}

    def longest(self, function: str) -> int:
        """Return the count on the longest path through `function`, callees included."""
        if function not in self._found:
            self._found[function] = self._block(self._known[function].body)
        return self._found[function]

    def _calls(self, node: ast.AST) -> int:
        total = 0
        for call in ast.walk(node):
            if isinstance(call, ast.Call):
                name = call.func.id if isinstance(call.func, ast.Name) else ""
                name = call.func.attr if isinstance(call.func, ast.Attribute) else name
                if name in self._known:
                    total += self.longest(name)
                total += self._calls_only and name != "int"
        return total

    def _one(self, node: ast.AST) -> int:
        return (0 if self._calls_only else 1) + self._calls(node)

    def _block(self, body: list[ast.stmt]) -> int:
        if not body:
            return 0
        first, rest = body[0], self._block(body[1:])
        if isinstance(first, ast.If) and isinstance(first.body[-1], ast.Return):
            return self._one(first.test) + max(
                self._block(first.body), self._block(first.orelse) + rest
            )
        return self._statement(first) + rest

    def _statement(self, node: ast.stmt) -> int:
        if isinstance(node, ast.If):
            return self._one(node.test) + max(self._block(node.body), self._block(node.orelse))
        if isinstance(node, ast.Try):
            return self._block(node.body)
        if isinstance(node, ast.For):
            assert isinstance(node.iter, ast.Call)
            times = eval(ast.unparse(node.iter.args[0]), vars(law))
            turn = (0 if self._calls_only else 1) + self._block(node.body)
            return (0 if self._calls_only else 1) + times * turn
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            return 0  # the docstring
        return self._one(node)


_LAW = Paths("law.py")


def longest(function: str) -> int:
    """Return the statements on the longest path through `function` of the law."""
    return _LAW.longest(function)
