"""A cable that a test can pull: a port that goes and comes back under one name."""

import os
import tty
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from threading import Event, Lock, Thread

from diodewright.twin import Port

__all__ = ["Answering", "Cable"]


class Cable(Port):
    """A port at the path `name`, plugged in.

    Attributes
    ----------
    bend : changes what the board says on its way, where a test sets it.
    """

    def __init__(self, path: Path) -> None:
        self.name = str(path)
        self.bend: Callable[[bytes], bytes] = bytes
        self._lock = Lock()
        self._due: deque[Callable[[], object]] = deque()
        self._ends: tuple[int, ...] = ()
        self.plug()

    def __enter__(self) -> "Cable":
        return self

    def __exit__(self, *_: object) -> None:
        self.unplug()

    def plug(self) -> None:
        """Put it in."""
        with self._lock:
            near, far = os.openpty()
            tty.setraw(far)
            os.set_blocking(near, False)
            self._ends = near, far
            Path(self.name).symlink_to(os.ttyname(far))

    def unplug(self) -> None:
        """Pull it out; what the board says from there on is lost."""
        with self._lock:
            Path(self.name).unlink(missing_ok=True)
            for end in self._ends:
                os.close(end)
            self._ends = ()

    def let(self, happen: Callable[[], object]) -> None:
        """Let something befall the board, in the thread that runs it, and wait until it did."""
        done = Event()
        self._due.append(lambda: (happen(), done.set()))
        assert done.wait(30), "nothing runs the board"

    def read(self) -> bytes:
        """Return what was sent to the board since."""
        while self._due:
            self._due.popleft()()
        with self._lock, suppress(BlockingIOError, OSError):
            return os.read(self._ends[0], 4096) if self._ends else b""
        return b""

    def write(self, data: bytes) -> None:
        """Give what the board said, if anybody is there."""
        with self._lock, suppress(BlockingIOError):
            if self._ends:
                os.write(self._ends[0], self.bend(data))


class Answering:
    """Something at the path `name` that answers each line with the same bytes."""

    def __init__(self, path: Path, answer: bytes) -> None:
        self.name = str(path)
        self._near, self._far = os.openpty()
        tty.setraw(self._far)
        path.symlink_to(os.ttyname(self._far))
        self._answer = answer
        Thread(target=self._talk, daemon=True).start()

    def _talk(self) -> None:
        with suppress(OSError):
            while os.read(self._near, 256):
                os.write(self._near, self._answer)

    def __enter__(self) -> "Answering":
        return self

    def __exit__(self, *_: object) -> None:
        Path(self.name).unlink()
        os.close(self._far)
        os.close(self._near)
