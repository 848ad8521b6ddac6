"""What marks a kernel function, and what a kernel function takes.

A kernel module (listed in `diodewright.plant.MODULES`) runs in two ways that must give the same
bits: as it stands in CPython, on a ``__slots__`` object; and compiled by Numba, on a float64
record, after the sim room has put all kernel modules one after the other into one generated
module in which `kernel` is ``numba.njit(cache=True, nogil=True)`` without fastmath.

Hence the style of those modules: scalars only; ``+ - * /``, comparisons, ``math.sqrt``,
``math.exp`` and ``math.log`` (the C library's, in both ways); every function decorated, every
name unique over all of them; no other import than ``math`` and names from this package.
"""

from collections.abc import Callable
from typing import Any, TypeVar

__all__ = ["Record", "kernel"]

#: A parameter or state record: attributes by the names in `diodewright.plant.params`.
Record = Any

_Function = TypeVar("_Function", bound=Callable[..., Any])


def kernel(function: _Function) -> _Function:
    """Mark `function` as one that is also compiled; uncompiled, it is left as it is."""
    return function
