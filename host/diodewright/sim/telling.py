"""One line on a terminal while the engine compiles, so that a first run is not taken for stuck."""

import sys
from typing import Any

__all__ = ["LINE", "tell_of_compiling"]

LINE = "compiling the law and the models for this machine, once: this takes some ten seconds"
_EVENT = "numba:compile"


def tell_of_compiling(module: str) -> None:
    """Say `LINE` on stderr, where that is a terminal, when a function of `module` is compiled.

    What is found compiled says nothing.
    """
    if not sys.stderr.isatty():
        return
    from numba.core import event

    class Once(event.Listener):
        def on_start(self, event: Any) -> None:
            if event.data["dispatcher"].py_func.__module__ == module and self in listening:
                listening.remove(self)
                sys.stderr.write(f"{LINE}\n")

        def on_end(self, event: Any) -> None:
            pass

    listening = [Once()]
    event.register(_EVENT, listening[0])  # type: ignore[no-untyped-call]
