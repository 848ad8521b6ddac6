"""A board behind a real port, for the bench: the firmware on the simulated board."""

from collections.abc import Iterator

import pytest

from diodewright.build import load
from diodewright.twin import Session, micropython_path

#: Boot and self-test are over by then [ms].
BOOTED_MS = 3000


@pytest.fixture
def session() -> Iterator[Session]:
    """Return smoke_tunnel's board, its self-test passed; skip where there is no MicroPython."""
    try:
        micropython_path()
    except Exception as absent:  # noqa: BLE001 whatever keeps it away is the reason to skip
        pytest.skip(str(absent))
    with Session(load("smoke_tunnel"), seed=1) as board:
        for _ in range(BOOTED_MS):
            board.step()
        yield board
