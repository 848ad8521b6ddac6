"""A script of tools/, loaded as a module."""

import sys
from importlib import import_module
from pathlib import Path
from types import ModuleType

TOOLS = Path(__file__).parents[1] / "tools"


def tool(name: str) -> ModuleType:
    """Return the script as a module, its neighbours within reach."""
    if str(TOOLS) not in sys.path:
        sys.path.append(str(TOOLS))
    return import_module(name)
