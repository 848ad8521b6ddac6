"""Keys that a person presses while something runs, without Enter."""

import os
import select
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

__all__ = ["keys_pressed"]

_MOST_BYTES = 64
#: Begins what arrows and function keys send, whose letters are no keys of ours.
_ESCAPE = b"\x1b"


@contextmanager
def keys_pressed() -> Iterator[Callable[[], Iterator[str]]]:
    """Yield a function that gives the keys pressed since; none where stdin is no terminal."""
    if not sys.stdin.isatty():
        yield lambda: iter(())
        return
    import termios
    import tty

    descriptor = sys.stdin.fileno()
    before = termios.tcgetattr(descriptor)
    tty.setcbreak(descriptor)

    def pressed() -> Iterator[str]:
        while select.select([descriptor], [], [], 0)[0]:
            # past Python's own buffer: what lies there would not show as waiting
            typed = os.read(descriptor, _MOST_BYTES)
            if not typed:
                return
            if not typed.startswith(_ESCAPE):
                yield from typed.decode("ascii", "replace")

    try:
        yield pressed
    finally:
        termios.tcsetattr(descriptor, termios.TCSADRAIN, before)
