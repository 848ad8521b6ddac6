"""A serial port for any program: one end of a pseudo-terminal, the board at the other."""

import os
import tty
from contextlib import suppress

__all__ = ["Port"]

_MOST_BYTES = 4096


class Port:
    """An open port; `name` is the path that another program opens.

    As over USB, what the board says while nobody reads is held up to a few kilobytes, and what
    goes beyond is lost. Raises OSError where the system has no pseudo-terminals.
    """

    def __init__(self) -> None:
        # our own hold on the far end keeps the port alive between two programs that open it
        self._near, self._far = os.openpty()
        tty.setraw(self._far)
        os.set_blocking(self._near, False)
        self.name = os.ttyname(self._far)

    def __enter__(self) -> "Port":
        return self

    def __exit__(self, *_: object) -> None:
        os.close(self._near)
        os.close(self._far)

    def read(self) -> bytes:
        """Return what was sent to the board since; nothing is waited for."""
        try:
            return os.read(self._near, _MOST_BYTES)
        except BlockingIOError:
            return b""

    def write(self, data: bytes) -> None:
        """Give what the board said to whoever reads; what does not fit is lost."""
        with suppress(BlockingIOError):
            os.write(self._near, data)
