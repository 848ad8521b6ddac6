"""A copy of the firmware in which a tick may come before any statement of its main loop.

The simulated board's time passes only where the program waits, so that a tick never comes between
two statements, as it does on a chip. Here a call stands before every statement of what runs in the
main loop, and before every element that is read from an array or made by a comprehension: with a
seeded chance it lets a millisecond pass. What runs in the interrupt stays as it is.
"""

import ast
import shutil
from pathlib import Path

from diodewright.twin.child import firmware_folder

#: File -> the functions that run in the interrupt; None: all but the one that makes the object.
FILES: dict[str, tuple[str, ...] | None] = {
    "run.py": (),
    "scpi.py": (),
    "acts.py": (),
    "grammar.py": (),
    "status.py": (),
    "panel.py": (),
    "settings.py": (),
    "journal.py": (),
    "driver.py": ("_tick", "_step", "_shows", "fold"),
    "selftest.py": None,
}
#: A tick comes before one statement in so many: a turn of the loop takes some tens of ticks.
ONE_IN = 12
HOOK = '''"""Lets a tick happen between two statements, once in so many on the average."""

import machine

_draw = {seed}


def here():
    global _draw
    _draw = (_draw * 1103515245 + 12345) & 0x3FFFFFFF
    if (_draw >> 8) % {one_in} == 0:
        machine._interrupt()
'''


def _here() -> ast.Call:
    return ast.Call(ast.Name("here", ast.Load()), [], [])


def _or(value: ast.expr) -> ast.expr:
    """Return `here() or value`; `here` returns None, so that it is the value."""
    return ast.BoolOp(ast.Or(), [_here(), value])


class _Yields(ast.NodeTransformer):
    def __init__(self, in_interrupt: tuple[str, ...] | None, only: tuple[str, ...]) -> None:
        self.in_interrupt = in_interrupt
        self.only = only
        self.count = 0

    def _kept(self, name: str) -> bool:
        if self.only:
            return name not in self.only
        if self.in_interrupt is None:
            return name != "__init__"
        return name in self.in_interrupt

    def _before_each(self, body: list[ast.stmt]) -> list[ast.stmt]:
        found: list[ast.stmt] = []
        for statement in body:
            if not isinstance(statement, (ast.Global, ast.Nonlocal)) and not _is_text(statement):
                self.count += 1
                found.append(ast.Expr(_here()))
            found.append(self.visit(statement))
        return found

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.FunctionDef:
        if not self._kept(node.name):
            self._visit_blocks(node)
        return node

    def visit_ClassDef(self, node: ast.ClassDef) -> ast.ClassDef:
        node.body = [
            self.visit(each) if isinstance(each, ast.FunctionDef) else each for each in node.body
        ]
        return node

    def visit_Module(self, node: ast.Module) -> ast.Module:
        defined = (ast.FunctionDef, ast.ClassDef)
        node.body = [self.visit(each) if isinstance(each, defined) else each for each in node.body]
        return node

    def _visit_blocks(self, node: ast.AST) -> None:
        for name, value in ast.iter_fields(node):
            if name in ("body", "orelse", "finalbody") and isinstance(value, list):
                setattr(node, name, self._before_each(value))
            elif name in ("decorator_list", "returns", "annotation", "args"):
                continue
            elif isinstance(value, ast.AST):
                setattr(node, name, self.visit(value))
            elif isinstance(value, list):
                setattr(node, name, [self.visit(each) for each in value])

    def generic_visit(self, node: ast.AST) -> ast.AST:
        if isinstance(node, (ast.Lambda, ast.IfExp)):
            return super().generic_visit(node)
        self._visit_blocks(node)
        return node

    def visit_Call(self, node: ast.Call) -> ast.Call:
        node.func = self.visit(node.func)
        node.args = [self.visit(each) for each in node.args]
        node.keywords = [self.visit(each) for each in node.keywords]
        return node

    def visit_Subscript(self, node: ast.Subscript) -> ast.expr:
        node.value = self.visit(node.value)
        return _or(node) if isinstance(node.ctx, ast.Load) else node

    def visit_ListComp(self, node: ast.ListComp) -> ast.ListComp:
        node.elt = _or(self.visit(node.elt))
        return node


def _is_text(statement: ast.stmt) -> bool:
    return isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant)


def yielding(
    source: str, in_interrupt: tuple[str, ...] | None = (), only: tuple[str, ...] = ()
) -> tuple[str, int]:
    """Return the source with a call before every statement, and how many statements that is."""
    found = _Yields(in_interrupt, only)
    tree = ast.fix_missing_locations(found.visit(ast.parse(source)))
    return "from yields import here\n" + ast.unparse(tree) + "\n", found.count


def yielding_firmware(
    folder: Path,
    seed: int,
    one_in: int = ONE_IN,
    source: Path | None = None,
    only: dict[str, tuple[str, ...]] | None = None,
) -> Path:
    """Make `folder` a copy of the firmware (or of `source`) that yields; return it.

    Parameters
    ----------
    one_in : a tick comes before one in so many statements, on the average. A turn of the main
        loop must stay well below its heartbeat's limit.
    only : the functions that yield, by file; all that run in the main loop where None.
    """
    shutil.copytree(source or firmware_folder(), folder)
    (folder / "yields.py").write_text(HOOK.format(seed=seed, one_in=one_in))
    for name in only or FILES:
        path = folder / "diodedriver" / name
        text, count = yielding(path.read_text(), FILES[name], only[name] if only else ())
        assert count > 0, f"no statement in {name}"
        path.write_text(text)
    return folder
