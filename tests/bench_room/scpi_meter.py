"""A meter at a port: answers SCPI lines as it is told to, or not at all."""

import os
from collections.abc import Callable, Mapping
from threading import Thread
from typing import Self

from diodewright.twin import Port

Answer = str | Callable[[], str]


class ScpiMeter:
    """A meter behind a pseudo-terminal; a command that `answers` lacks gets no reply."""

    def __init__(self, answers: Mapping[str, Answer], name: str = "somebody,DMM,1,2.0") -> None:
        self.answers = {"*IDN?": name, **answers}
        self.heard: list[str] = []
        self._port = Port()
        os.set_blocking(self._port._near, True)
        self.resource = f"ASRL{self._port.name}::INSTR"
        self._open = True

    def __enter__(self) -> Self:
        self._thread = Thread(target=self._serve, daemon=True)
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._open = False
        os.write(self._port._far, b"\n")  # wakes the reader
        self._thread.join(5)
        self._port.__exit__()

    def _serve(self) -> None:
        held = b""
        while self._open:
            held += os.read(self._port._near, 256)
            while b"\n" in held:
                line, _, held = held.partition(b"\n")
                said = line.decode().strip()
                self.heard.append(said)
                answer = self.answers.get(said)
                if answer is not None:
                    text = answer if isinstance(answer, str) else answer()
                    os.write(self._port._near, (text + "\n").encode("latin-1"))
