"""At the bench: everything that speaks to a board, or to the twin's port, which is the same.

`line` is the way there and back, `meters` gives what a meter reads; a mistake there, at a meter or
at the keyboard is a `BenchError`.
"""

from diodewright.bench.line import Identity, Line, Refused
from diodewright.bench.problems import BenchError, Missing

__all__ = ["BenchError", "Identity", "Line", "Missing", "Refused"]
