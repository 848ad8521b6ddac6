"""One law, two ways to run it here: as it stands in CPython, and compiled by Numba.

The compiled engine is one generated module: the law's source, the plant's and the loop's, one
behind the other (`generated`). Its folder is named by the hash of all that goes into it, so that
an edited law can never meet a stale compilation: another text is another module. What Numba
compiled lies beside it and is found again by the next process. Each function is compiled where it
is first called: what nobody calls costs nothing.
"""

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
from diodewright.sim import generated
from diodewright.sim.telling import tell_of_compiling

__all__ = ["Engine", "EngineError", "cache_root", "compiled", "law_hash", "law_text", "plain"]

_SIM_MODULES = ("seam", "peaks", "loop", "pins", "follow")
_KEPT_ENGINES = 6
#: Kernels that an engine offers, in the order of its fields.
_ENTRIES = (
    "run_ticks",
    "prepare",
    "settle",
    "tick",
    "run_board_tick",
    "read_pins",
    "begin_following",
    "follow_outputs",
    "follow_heat",
    "follow_pack",
)


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
    run_board_tick, read_pins : `diodewright.sim.pins`, for a board that runs its own law.
    begin_following, follow_outputs, follow_heat, follow_pack : `diodewright.sim.follow`, the plant
        driven by a record.
    """

    name: str
    law_hash: str
    run_ticks: Callable[..., int]
    prepare: Callable[..., None]
    settle: Callable[..., None]
    tick: Callable[..., int]
    run_board_tick: Callable[..., int]
    read_pins: Callable[..., int]
    begin_following: Callable[..., int]
    follow_outputs: Callable[..., int]
    follow_heat: Callable[..., int]
    follow_pack: Callable[..., int]


def law_text() -> str:
    """Return the text of the law on disk."""
    return resources.files("diodedriver").joinpath("law.py").read_text(encoding="utf-8")


def law_hash() -> str:
    """Return the SHA-256 of the law on disk, hexadecimal."""
    return hashlib.sha256(law_text().encode()).hexdigest()


def _sources(law: str) -> list[str]:
    """Return the law's text and those of all kernel modules, in the order of the engine."""
    texts = [law]
    for package, names in (("diodewright.plant", plant.MODULES), ("diodewright.sim", _SIM_MODULES)):
        folder = resources.files(package)
        texts += [folder.joinpath(f"{name}.py").read_text("utf-8") for name in names]
    return texts


def _digest(sources: list[str]) -> str:
    """Return what names an engine: the hash of its sources, tables and of what puts it together."""
    made_of = [*sources, Path(generated.__file__).read_text("utf-8")]
    made_of += [repr(table) for table in generated.RECORDS.values()]
    return hashlib.sha256("\0".join(made_of).encode()).hexdigest()[:16]


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


def _load(sources: list[str]) -> ModuleType:
    digest = _digest(sources)
    name = f"diodewright_engine_{digest}"
    if name in sys.modules:
        return sys.modules[name]
    root = cache_root()
    folder = root / f"engine_{digest}"
    path = folder / f"{name}.py"
    if not path.exists():
        text = generated.engine_text(sources)
        folder.mkdir(parents=True, exist_ok=True)
        replace_whole(path, text)
        _prune(root)
    spec = importlib.util.spec_from_file_location(name, path)
    if spec is None or spec.loader is None:
        raise EngineError(f"{path}: cannot be imported")
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    try:
        spec.loader.exec_module(module)
    except BaseException:
        del sys.modules[name]  # half a module would be found by the next who asks
        raise
    tell_of_compiling(name)
    return module


class _Entered:
    """A generated module seen from Python: every kernel by its name, entered with arrays."""

    def __init__(self, module: ModuleType) -> None:
        self._module = module

    def __getattr__(self, kernel: str) -> Callable[..., Any]:
        entered: Callable[..., Any] = getattr(self._module, generated.ENTER + kernel)
        return entered


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
        module = _Entered(_load(_sources(text)))
    except (ImportError, OSError, generated.Unwritable) as error:
        raise EngineError(f"no compiled engine: {error}") from error
    digest = hashlib.sha256(text.encode()).hexdigest()
    return Engine("numba", digest, *(getattr(module, name) for name in _ENTRIES))


@functools.cache
def plain() -> Engine:
    """Return the engine that runs the same files uncompiled."""
    from diodedriver import law
    from diodewright.plant import factors, step
    from diodewright.sim import follow, loop, pins

    run: Callable[..., Any] = loop.run_ticks
    return Engine(
        "cpython",
        law_hash(),
        run,
        factors.prepare,
        step.settle,
        law.tick,
        pins.run_board_tick,
        pins.read_pins,
        follow.begin_following,
        follow.follow_outputs,
        follow.follow_heat,
        follow.follow_pack,
    )
