"""Which answers each condition of the law gave: every `if`, and every part of an and or or."""

import ast
from io import BytesIO
from pathlib import Path

import replay
from diodedriver import law
from recording import Recording

# The last clamps stand behind `heading`, `drive` and the range of the settings, which allow
# neither: only a flipped bit between two lines can. The desk reaches them by calling `put_out`.
IMPOSSIBLE = {"put_out: wanted > _HARD_MAX is True", "put_out: wanted < 0 is True"}
_TEXT = Path(law.__file__).read_text(encoding="utf-8")


class _Ask(ast.NodeTransformer):
    """Wrap each condition in a call that notes its answer, under its function and text."""

    def __init__(self) -> None:
        self.names: set[str] = set()
        self.function = ""

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.FunctionDef:
        self.function = node.name
        self.generic_visit(node)
        return node

    def _asked(self, test: ast.expr) -> ast.expr:
        if isinstance(test, ast.BoolOp):
            test.values = [self._asked(part) for part in test.values]
            return test
        name = f"{self.function}: {ast.unparse(test)}"
        self.names.add(name)
        call = ast.Call(ast.Name("_asked", ast.Load()), [ast.Constant(name), test], [])
        return ast.copy_location(call, test)

    def visit_If(self, node: ast.If) -> ast.If:
        node.test = self._asked(node.test)
        self.generic_visit(node)
        return node


def _asking() -> tuple[ast.Module, set[str]]:
    asker = _Ask()
    tree = asker.visit(ast.parse(_TEXT))
    return ast.fix_missing_locations(tree), asker.names


def outcomes() -> set[str]:
    """Return every answer that could be given."""
    return {f"{name} is {answer}" for name in _asking()[1] for answer in (True, False)}


def taken(recording: Recording) -> set[str]:
    """Return the answers that the law gives over `recording`, in CPython."""
    seen: set[tuple[str, bool]] = set()

    def asked(name: str, answer: object) -> bool:
        seen.add((name, bool(answer)))
        return bool(answer)

    names: dict[str, object] = {"_asked": asked}
    exec(compile(_asking()[0], law.__file__, "exec"), names)
    replay.replay(names["tick"], BytesIO(recording.as_bytes()), lambda state: None)
    return {f"{name} is {answer}" for name, answer in seen}
