"""One law, two ways to run it here: as it stands in CPython, and compiled by Numba.

The compiled engine is one generated module: the law's source, the plant's and the loop's, one
behind the other, with their decorators bound to ``numba.njit``. Its folder is named by the hash of
that text, so that an edited law can never meet a stale compilation: another text is another
module. What Numba compiled lies beside it and is found again by the next process.
"""

import ast
import functools
import hashlib
import importlib.util
import os
import shutil
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from types import ModuleType
from typing import Any

from diodewright import plant
from diodewright.build.plain_file import replace_whole

__all__ = ["Engine", "EngineError", "cache_root", "compiled", "law_hash", "law_text", "plain"]

_SIM_MODULES = ("seam", "peaks", "loop")
_KEPT_ENGINES = 6
_HEADER = '''"""Generated from the law, the plant and the loop. Not to be edited."""
import math
import numba

kernel = numba.njit(cache=True, nogil=True)


class micropython:
    viper = staticmethod(kernel)


def const(value):
    return value


ptr32 = None
Record = None
'''


class EngineError(RuntimeError):
    """The compiled engine can't be made here; results are INCOMPLETE without it."""


@dataclass(frozen=True)
class Engine:
    """A way to run the closed loop.

    Attributes
    ----------
    name : "numba" or "cpython".
    law_hash : SHA-256 of the law's source that this engine runs, hexadecimal.
    run_ticks : `diodewright.sim.loop.run_ticks`, or its compiled twin.
    settle : `diodewright.plant.step.settle`.
    tick : the law's tick alone.
    """

    name: str
    law_hash: str
    run_ticks: Callable[..., int]
    prepare: Callable[..., None]
    settle: Callable[..., None]
    tick: Callable[..., int]


def law_text() -> str:
    """Return the text of the law on disk."""
    return resources.files("diodedriver").joinpath("law.py").read_text(encoding="utf-8")


def law_hash() -> str:
    """Return the SHA-256 of the law on disk, hexadecimal."""
    return hashlib.sha256(law_text().encode()).hexdigest()


def _without_imports(text: str) -> str:
    """Return `text` with its top-level imports blanked; what they bring is in the same module."""
    lines = text.splitlines()
    for node in ast.parse(text).body:
        if isinstance(node, ast.Import | ast.ImportFrom):
            for number in range(node.lineno - 1, node.end_lineno or node.lineno):
                lines[number] = ""
    return "\n".join(lines) + "\n"


def _source(law: str) -> str:
    parts = [_HEADER, law]
    for package, names in (("diodewright.plant", plant.MODULES), ("diodewright.sim", _SIM_MODULES)):
        folder = resources.files(package)
        parts += [folder.joinpath(f"{name}.py").read_text("utf-8") for name in names]
    text = parts[0] + "".join(_without_imports(part) for part in parts[1:])
    _refuse_twins(text)
    return text


def _refuse_twins(text: str) -> None:
    """Refuse a name defined twice: in one module the later function would take both places."""
    seen: set[str] = set()
    for node in ast.parse(text).body:
        names: list[str] = []
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            names = [node.name]
        elif isinstance(node, ast.Assign):
            names = [target.id for target in node.targets if isinstance(target, ast.Name)]
        for name in names:
            if name in seen and name != "__all__":
                raise EngineError(f"{name} is defined twice among law, plant and loop")
            seen.add(name)


def cache_root() -> Path:
    """Return a writable folder for generated engines (``DIODEWRIGHT_CACHE`` moves it)."""
    home = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    root = Path(os.environ.get("DIODEWRIGHT_CACHE") or Path(home) / "diodewright")
    try:
        root.mkdir(parents=True, exist_ok=True)
        if os.access(root, os.W_OK):
            return root
    except OSError:
        pass
    return Path(tempfile.mkdtemp(prefix="diodewright-"))


def _prune(root: Path) -> None:
    """Drop all but the newest engines: each edit of the law leaves one behind."""
    engines = sorted(root.glob("engine_*"), key=lambda folder: folder.stat().st_mtime)
    for folder in engines[:-_KEPT_ENGINES]:
        shutil.rmtree(folder, ignore_errors=True)


def _load(text: str) -> ModuleType:
    digest = hashlib.sha256(text.encode()).hexdigest()[:16]
    name = f"diodewright_engine_{digest}"
    if name in sys.modules:
        return sys.modules[name]
    root = cache_root()
    folder = root / f"engine_{digest}"
    path = folder / f"{name}.py"
    if not path.exists():
        folder.mkdir(parents=True, exist_ok=True)
        replace_whole(path, text)
        _prune(root)
    spec = importlib.util.spec_from_file_location(name, path)
    if spec is None or spec.loader is None:
        raise EngineError(f"{path}: cannot be imported")
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


@functools.cache
def compiled(law: str | None = None) -> Engine:
    """Return the Numba engine of the law on disk, or of the text `law`.

    Raises
    ------
    EngineError
        Where Numba is not installed, or the engine's text can't be stored.
    """
    text = law_text() if law is None else law
    try:
        module = _load(_source(text))
    except (ImportError, OSError) as error:
        raise EngineError(f"no compiled engine: {error}") from error
    digest = hashlib.sha256(text.encode()).hexdigest()
    return Engine("numba", digest, module.run_ticks, module.prepare, module.settle, module.tick)


@functools.cache
def plain() -> Engine:
    """Return the engine that runs the same files uncompiled."""
    from diodedriver import law
    from diodewright.plant import factors, step
    from diodewright.sim import loop

    run: Callable[..., Any] = loop.run_ticks
    return Engine("cpython", law_hash(), run, factors.prepare, step.settle, law.tick)
