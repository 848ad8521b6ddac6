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


def test_ctrl_c_that_comes_as_a_program_ends_leaves_the_prompt_standing() -> None:
    with Session(load("gel_viewer"), seed=1, blank=True) as session:
        put_files(session.twin.flash, {"main.py": b"import machine\nmachine.idle()\n"})
        for tick in range(400):
            session.step(b"\x03" if 150 <= tick < 260 else b"")
        session.step(b"print(6 * 7)\r")
        for _ in range(20):
            session.step()
        told = b"".join(bytes.fromhex(said) for _, said in session.record.said)
        assert b"42" in told
