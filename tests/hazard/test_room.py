"""The room keeps its own rules: pure, short, documented, worked examples that work."""

import ast
import doctest
import importlib
import inspect
import sys
from pathlib import Path

import pytest

from diodewright import hazard

FOLDER = Path(hazard.__file__).parent
MODULES = sorted(path.stem for path in FOLDER.glob("*.py") if path.stem != "__init__")
PLAIN = {"inputs"}


@pytest.mark.parametrize("name", [*MODULES, "__init__"])
def test_room_imports_numpy_and_itself_only(name: str) -> None:
    for node in ast.walk(ast.parse((FOLDER / f"{name}.py").read_text())):
        found = []
        if isinstance(node, ast.Import):
            found = [each.name for each in node.names]
        elif isinstance(node, ast.ImportFrom):
            found = [str(node.module)]
            assert node.level == 0
        for source in found:
            top = source.partition(".")[0]
            assert (
                source.startswith("diodewright.hazard.")
                or top == "numpy"
                or top in sys.stdlib_module_names - {"time", "random", "os"}
            ), source


@pytest.mark.parametrize("name", MODULES)
def test_module_is_short_and_states_source_and_limits(name: str) -> None:
    assert len((FOLDER / f"{name}.py").read_text().splitlines()) < 250
    if name not in PLAIN:
        said = str(importlib.import_module(f"diodewright.hazard.{name}").__doc__)
        assert "Source" in said
        assert "Limits of validity." in said


@pytest.mark.parametrize("name", sorted(set(MODULES) - PLAIN - {"photopic", "spectrum"}))
def test_public_functions_say_units_errors_and_an_example(name: str) -> None:
    module = importlib.import_module(f"diodewright.hazard.{name}")
    functions = [
        each for public in module.__all__ if inspect.isfunction(each := getattr(module, public))
    ]
    assert functions
    for function in functions:
        said = str(inspect.getdoc(function))
        assert "ValueError" in said, function
        assert ">>>" in said, function
        takes_text = set(inspect.signature(function).parameters) == {"laser_class"}
        assert "[" in said.partition("Examples")[0] or takes_text or "any unit" in said, function


@pytest.mark.parametrize("name", MODULES)
def test_worked_examples_work(name: str) -> None:
    module = importlib.import_module(f"diodewright.hazard.{name}")
    assert doctest.testmod(module).failed == 0


@pytest.mark.parametrize(
    "name", sorted(set(MODULES) - {"inputs", "photopic", "spectrum", "photometry"})
)
def test_paid_standards_are_owned_up_to(name: str) -> None:
    said = str(importlib.import_module(f"diodewright.hazard.{name}").__doc__)
    assert "not read in full" in " ".join(said.split())
