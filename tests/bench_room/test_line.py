"""A line to a board: what goes over it, and every way in which it can fail."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from cable import Answering, Cable

from diodewright.bench import BenchError, Line, Refused
from diodewright.bench.line import checked
from diodewright.twin import Session
from serving import serve


def test_a_board_says_who_it_is_and_what_it_would_not_do(session: Session) -> None:
    def client(port: str) -> tuple[str, str, float]:
        with Line(port) as line:
            with pytest.raises(Refused, match="CURR: -222 Data out of range"):
                line.tell("CURR 9")
            with pytest.raises(Refused, match="-113 Undefined header"):
                line.tell("LIGHT:ON")
            line.tell("CURR 0.5")  # an error before leaves nothing behind
            return line.identity.build, line.identity.unit, float(line.ask("CURR?"))

    build, unit, asked_A = serve(session, client)
    assert (build, unit) == (session.twin.build.fingerprint[:16], session.twin.unit)
    assert asked_A == 0.5


def test_telemetry_between_replies_is_kept_apart_and_whole(
    session: Session, tmp_path: Path
) -> None:
    def client(port: str) -> tuple[int, list[str]]:
        with Line(port) as line:
            line.tell("TEL 50")
            replies = [line.ask("OUTP?") for _ in range(40)]
            line.listen(0.3)
            line.tell("TEL 0")
            assert set(replies) == {"1"}
            return len(line.heard), list(line.heard)

    # fifty lines a second of the board's time: no slower client may lose one
    with Cable(tmp_path / "board") as cable:
        number, heard = serve(session, client, cable)
    assert number > 2
    assert all(line.startswith("@") and checked(line) for line in heard)


def test_a_flipped_bit_is_seen_by_the_sum() -> None:
    assert checked("@idle,1,2,7A2F0B11") is None
    assert checked("123456789,CBF43926") == "123456789"  # the check value of CRC-32/ISO-HDLC
    assert checked("123456788,CBF43926") is None
    assert checked("no sum at all") is None


def test_a_second_program_is_refused_while_the_first_has_the_port(session: Session) -> None:
    def client(port: str) -> str:
        with Line(port), pytest.raises(BenchError) as refused:
            Line(port)
        return str(refused.value)

    assert "in use by another program" in serve(session, client)


def test_a_port_that_is_not_there_is_one_line() -> None:
    with pytest.raises(BenchError, match="/dev/no-such-board: no such port"):
        Line("/dev/no-such-board")


@pytest.fixture
def pretender(tmp_path: Path) -> Iterator[Callable[[bytes], str]]:
    """Return what makes a port at which something answers each line with the same bytes."""
    with ExitStack() as open_ports:

        def make(answer: bytes) -> str:
            open_ports.enter_context(Answering(tmp_path / "port", answer))
            return str(tmp_path / "port")

        yield make


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        (b"", "nothing answers"),
        (b"OK 1\r\n", "no board of ours, it says OK 1"),
        (b"\x00\xff" * 3000, "no board of ours, it sends"),
        (b"\r\n>>> ", "MicroPython's prompt answers"),
        (b"somebody,model,1,2\n", "no board of ours, it says somebody,model,1,2"),
        (b"diodewright,0,e6,0\n", "firmware version 0, this package speaks version 1"),
    ],
)
def test_what_is_no_board_of_ours_is_told_in_one_line(
    pretender: Callable[[bytes], str], answer: bytes, said: str
) -> None:
    with pytest.raises(BenchError, match=said) as refused:
        Line(pretender(answer), reply_s=0.5)
    assert "\n" not in str(refused.value)


def test_a_port_that_vanishes_is_told_as_such(session: Session, tmp_path: Path) -> None:
    cable = Cable(tmp_path / "board")

    def client(port: str) -> str:
        with Line(port) as line:
            cable.unplug()
            with pytest.raises(BenchError) as gone:
                line.ask("OUTP?")
            return str(gone.value)

    assert "the port is gone" in serve(session, client, cable)
