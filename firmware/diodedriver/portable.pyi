"""Types of `portable.py` in both type checks: a `ptr32` is whatever holds int32 words."""

from collections.abc import Callable
from typing import Protocol, TypeVar

_Function = TypeVar("_Function", bound=Callable[..., int])

class ptr32(Protocol):
    def __getitem__(self, index: int, /) -> int: ...
    def __setitem__(self, index: int, value: int, /) -> None: ...

class micropython:
    @staticmethod
    def viper(function: _Function, /) -> _Function: ...

def const(value: int, /) -> int: ...
