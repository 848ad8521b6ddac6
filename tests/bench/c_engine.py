"""The loop as a C compiler makes it, entered as the other engines are."""

import ctypes
import dataclasses
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

import to_c
from diodewright.sim import Engine, compiled, engine

__all__ = ["compiler", "in_c", "version"]


def compiler() -> str | None:
    """Return where gcc is, or None."""
    return shutil.which("gcc")


def version() -> str:
    """Return the first line that gcc says of itself."""
    said = subprocess.run(["gcc", "--version"], capture_output=True, text=True, check=True)
    return said.stdout.splitlines()[0]


def _given(value: Any) -> Any:
    """Return what C takes for a record, an array or a number."""
    if isinstance(value, np.ndarray):
        return ctypes.c_void_p(value.ctypes.data)
    if isinstance(value, np.void):
        return ctypes.c_void_p(value.__array_interface__["data"][0])
    return ctypes.c_double(value) if isinstance(value, float) else ctypes.c_int64(value)


def _entered(function: Any) -> Callable[..., int]:
    function.restype = ctypes.c_int64
    return lambda *given: int(function(*(_given(each) for each in given)))


def in_c(folder: Path, *flags: str, law: str | None = None) -> Engine:
    """Return an engine whose loop gcc compiled in `folder`, with `flags` behind the usual ones."""
    text = engine.law_text() if law is None else law
    source, library = folder / "loop.c", folder / "loop.so"
    source.write_text(to_c.translate(engine._sources(text), ["run_ticks", "tick"]))
    command = ["gcc", *to_c.FLAGS, *flags, "-o", str(library), str(source), "-lm"]
    subprocess.run(command, check=True, capture_output=True, text=True)
    loaded = ctypes.CDLL(str(library))
    return dataclasses.replace(
        compiled(), run_ticks=_entered(loaded.run_ticks), tick=_entered(loaded.tick)
    )
