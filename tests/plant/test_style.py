"""The kernel modules keep to the style that lets one source run in two ways."""

import ast
import importlib
from collections import Counter
from pathlib import Path

import pytest

from diodewright import plant
from diodewright.plant.params import PARAMS, STATE

FOLDER = Path(plant.__file__).parent
NOT_KERNELS = {"row", "__init__", "kernel", "params", "record"}
CALLS = {"float", "bool", "int", "range"}
MATH = {"sqrt", "exp", "log"}
#: Controls that only the law reads.
LAW_ONLY = {"trigger", "trigger_stuck"}


def _tree(name: str) -> ast.Module:
    return ast.parse((FOLDER / f"{name}.py").read_text())


def _functions(name: str) -> list[ast.FunctionDef]:
    return [node for node in _tree(name).body if isinstance(node, ast.FunctionDef)]


def test_modules_names_every_kernel_module_once() -> None:
    there = {path.stem for path in FOLDER.glob("*.py")} - NOT_KERNELS
    assert sorted(plant.MODULES) == sorted(there)


def test_modules_come_after_what_they_import() -> None:
    for place, name in enumerate(plant.MODULES):
        for node in _tree(name).body:
            if isinstance(node, ast.ImportFrom):
                source = str(node.module).rpartition(".")[2]
                assert source == "kernel" or source in plant.MODULES[:place], (name, source)


@pytest.mark.parametrize("name", plant.MODULES)
def test_a_kernel_module_holds_constants_and_kernels_only(name: str) -> None:
    for node in _tree(name).body:
        if isinstance(node, ast.FunctionDef):
            assert [ast.unparse(each) for each in node.decorator_list] == ["kernel"]
        elif isinstance(node, ast.Assign):
            assert isinstance(ast.literal_eval(node.value), int | float)
        elif isinstance(node, ast.Import):
            assert [each.name for each in node.names] == ["math"]
        elif isinstance(node, ast.ImportFrom):
            assert str(node.module).startswith("diodewright.plant.")
            assert all(each.asname is None for each in node.names)
        else:
            assert isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)


@pytest.mark.parametrize("name", plant.MODULES)
def test_a_kernel_uses_scalar_arithmetic_only(name: str) -> None:
    own = {f.name for module in plant.MODULES for f in _functions(module)}
    for node in (each for function in _functions(name) for each in ast.walk(function)):
        assert not isinstance(node, ast.Pow | ast.FloorDiv | ast.Try | ast.With | ast.Lambda)
        assert not isinstance(node, ast.List | ast.Dict | ast.Set | ast.ListComp | ast.Raise)
        if isinstance(node, ast.Call):
            called = ast.unparse(node.func)
            assert called in CALLS | own | {f"math.{each}" for each in MATH}, called


def test_names_are_unique_over_all_kernel_modules() -> None:
    names: Counter[str] = Counter()
    for module in plant.MODULES:
        for node in _tree(module).body:
            if isinstance(node, ast.FunctionDef):
                names[node.name] += 1
            elif isinstance(node, ast.Assign):
                names.update(ast.unparse(target) for target in node.targets)
    assert [name for name, count in names.items() if count > 1] == []


def test_every_row_is_used_by_a_kernel() -> None:
    used = {
        node.attr
        for module in plant.MODULES
        for node in ast.walk(_tree(module))
        if isinstance(node, ast.Attribute)
    }
    rows = {row.name for row in PARAMS + STATE}
    assert rows - used == LAW_ONLY


def test_every_module_stays_short_and_states_its_range() -> None:
    for name in plant.MODULES:
        text = (FOLDER / f"{name}.py").read_text()
        assert len(text.splitlines()) < 250, name
        module = importlib.import_module(f"diodewright.plant.{name}")
        said = str(module.__doc__).lower()
        if name not in ("factors", "step"):
            assert "source" in said, name
            assert "left out" in said or "range" in said, name


#: Modules that only put parts together: the parts say what they are and what they leave out.
JOINTS = ("factors", "step", "lit", "circuit")


@pytest.mark.parametrize("name", [name for name in plant.MODULES if name not in JOINTS])
def test_every_part_states_equations_source_validity_and_what_it_leaves_out(name: str) -> None:
    said = " ".join(str(importlib.import_module(f"diodewright.plant.{name}").__doc__).split())
    places = [said.find(word) for word in ("Equations", "Source.", "Validity.", "Left out: ")]
    assert -1 not in places and places == sorted(places)
    assert len(said[places[-1] :]) > 60
