"""A board behind a real port, for the bench: the firmware on the simulated board."""

import sys
from collections.abc import Iterator

import pytest
from flash_board import NAME, Verb, serve

from diodewright.build import load
from diodewright.cli import ending, verbs
from diodewright.twin import Session
from serving import needs_micropython

#: Boot and self-test are over by then [ms].
BOOTED_MS = 3000


@pytest.fixture
def verb(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Verb:
    """Return what runs the verb `flash` against a board's port, without a process of its own."""

    def run(board: Session | None, *words: str) -> tuple[int, str, str]:
        def client(port: str) -> int:
            named = ["--port", port] if port else []
            monkeypatch.setattr(sys, "argv", ["diodewright", "flash", NAME, *words, *named])
            return ending._outcome(verbs)

        capsys.readouterr()
        code = client("") if board is None else serve(board, client)
        return code, *capsys.readouterr()

    return run


@pytest.fixture
def session() -> Iterator[Session]:
    """Return smoke_tunnel's board, its self-test passed; skip where there is no MicroPython."""
    needs_micropython()
    with Session(load("smoke_tunnel"), seed=1) as board:
        for _ in range(BOOTED_MS):
            board.step()
        yield board
