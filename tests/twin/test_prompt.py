"""mpremote at a board in maintenance, and at one that may light."""

import pytest
from mpremote.transport import TransportError
from mpremote.transport_serial import SerialTransport

from diodewright.build import load
from diodewright.twin import Session
from diodewright.twin.provision import put_files
from serving import serve
from stories import until

CODE = "import os\nprint(sorted(os.listdir()))"


def run_code(path: str) -> str:
    board = SerialTransport(path, timeout=0.1)
    try:
        board.enter_raw_repl(timeout_overall=20)
        return board.exec(CODE).decode()
    finally:
        board.serial.close()


@pytest.fixture
def session():
    with Session(load("gel_viewer"), seed=1) as made:
        yield made


def test_mpremote_reads_the_files_of_a_board_in_maintenance(session: Session) -> None:
    session.twin.close()
    put_files(session.twin.flash, {"maintenance": b"1"})
    for _ in range(400):
        session.step()
    said = serve(session, run_code)
    assert "settings.0" in said
    assert "maintenance" not in said, "the next boot is an ordinary one"
    assert session.twin.peak_A() == 0.0


def test_a_board_that_may_light_answers_no_prompt(session: Session) -> None:
    until(session.twin, "dark")

    def refused(path: str) -> None:
        board = SerialTransport(path, timeout=0.1)
        try:
            with pytest.raises(TransportError, match="raw repl"):
                board.enter_raw_repl(timeout_overall=1)
        finally:
            board.serial.close()

    serve(session, refused)
    assert session.twin.ended_at is None
    assert session.twin.look.mode == "dark"
