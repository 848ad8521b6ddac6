"""Every way in which a port can fail a flash: one clear line, nothing written, exit 2."""

import os
import resource
import select
import subprocess
import sys
import tty
from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Event, Thread
from types import SimpleNamespace

import pytest
import serial
from flash_board import NAME, Verb, board, cargo, differs, document, flashed, quiet, serve

from diodewright.bench import BenchError, boards
from diodewright.bench import flash as flashing
from diodewright.bench.flash import flash
from diodewright.bench.transport import Prompt
from diodewright.build import load
from diodewright.twin import Session
from diodewright.twin.provision import put_files


def refused(session: Session) -> str:
    """Flash and return the one line that it is refused with; the board must be as it was."""
    for _ in range(500):  # its first boot makes a file system
        session.step()
    before = session.twin.flash.read_bytes()
    with pytest.raises(BenchError) as error:
        flashed(session, cargo())
    assert "\n" not in str(error.value)
    assert session.twin.flash.read_bytes() == before, "something was written"
    return str(error.value)


def test_a_micropython_without_hard_timers_is_refused() -> None:
    with board(release="1.25.0") as session:
        assert "MicroPython 1.25.0; a tick in the timer's own interrupt needs 1.26" in refused(
            session
        )


def test_a_board_of_another_chip_is_refused() -> None:
    with board(chip="XY1234") as session:
        assert "with XY1234: this firmware has pins for RP2040, RP2350" in refused(session)


def test_a_board_without_room_is_refused_before_anything_is_written() -> None:
    with board() as session:
        put_files(session.twin.flash, {"photos": os.urandom(950_000)})
        said = refused(session)
        assert "KiB free on the board's flash" in said and "nothing was written" in said


def test_a_board_that_runs_full_half_way_says_so_and_stays_dark(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    with board() as session:
        put_files(session.twin.flash, {"photos": os.urandom(950_000)})
        monkeypatch.setattr(flashing, "_refuse_full", lambda *_: None)
        with pytest.raises(BenchError, match=r"the board's flash is full; .* stays dark"):
            flashed(session, cargo())
        for _ in range(500):
            session.step()
        assert session.twin.look.mode == "" and session.twin.peak_A() < 1e-3


def test_a_file_that_reads_back_otherwise_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    write = Prompt.write

    def rots(self: Prompt, path: str, data: bytes) -> None:
        write(self, path, data[:-1] + bytes([data[-1] ^ 1]) if "law" in path else data)

    with board() as session:
        monkeypatch.setattr(Prompt, "write", rots)
        with pytest.raises(BenchError, match=r"law\.mpy on the board is not what was sent"):
            flashed(session, cargo())


def test_a_port_in_use_is_refused() -> None:
    with board() as session:

        def busy(port: str) -> str:
            with serial.Serial(port, exclusive=True), pytest.raises(BenchError) as error:
                flash(port, cargo(), quiet)
            return str(error.value)

        assert "in use by another program: close that one first" in serve(session, busy)


@pytest.fixture
def pretender() -> Iterator[Callable[[dict[bytes, bytes]], str]]:
    """Return what makes a port at which something answers as it was told."""
    ends: list[int] = []
    talks: list[Thread] = []
    over = Event()

    def make(answers: dict[bytes, bytes]) -> str:
        near, far = os.openpty()
        tty.setraw(far)
        ends.extend((near, far))

        def talk() -> None:
            held = b""
            while not over.is_set():
                if not select.select([near], [], [], 0.05)[0]:
                    continue
                held += os.read(near, 256)
                *lines, held = held.split(b"\n")
                for line in lines:
                    for asked, answer in answers.items():
                        if asked in line:
                            os.write(near, answer)

        talks.append(Thread(target=talk, daemon=True))
        talks[-1].start()
        return os.ttyname(far)

    yield make
    over.set()
    for talk in talks:  # else it would read whatever gets the number of its end next
        talk.join()
    for end in ends:
        os.close(end)


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        ({b"": b"temperature 21.5\n"}, "no board of ours, it says temperature 21.5"),
        ({b"": b"\x00\xff" * 40}, "no board of ours, it says"),
        (
            {
                b"*IDN?": b"diodewright,0,e6,0\n",
                b"STAT:BARR?": b'""\n',
                b"SYST:ERR?": b'-113,"Undefined header"\n',
            },
            "firmware version 0 knows no maintenance: put MicroPython on the board anew",
        ),
    ],
)
def test_what_is_no_board_to_flash_is_told_in_one_line(
    pretender: Callable[[dict[bytes, bytes]], str], answers: dict[bytes, bytes], said: str
) -> None:
    with pytest.raises(BenchError, match=said.replace("?", r"\?")) as error:
        flash(pretender(answers), cargo(), quiet)
    assert "\n" not in str(error.value)


def test_a_port_at_which_nothing_answers_is_told(
    pretender: Callable[[dict[bytes, bytes]], str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from diodewright.bench import transport

    monkeypatch.setattr(transport, "_WAIT_S", 0.5)
    with pytest.raises(BenchError, match="no MicroPython answers"):
        flash(pretender({}), cargo(), quiet)


def row(port: str, vendor: int | None, serial_number: str) -> SimpleNamespace:
    return SimpleNamespace(
        device=port, vid=vendor, pid=5, serial_number=serial_number, description="Board in FS mode"
    )


def test_boards_are_found_by_their_usb_ids_and_never_guessed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from serial.tools import list_ports

    here = [row("/dev/b", 0x2E8A, "2"), row("/dev/modem", None, ""), row("/dev/a", 0x2E8A, "1")]
    monkeypatch.setattr(list_ports, "comports", lambda: here)
    with pytest.raises(BenchError, match=r"2 boards: /dev/a \(2e8a:0005, serial 1.*name one"):
        boards.chosen((), False)
    assert boards.chosen((), True) == ["/dev/a", "/dev/b"]
    assert boards.port_again("/dev/gone", "2") == "/dev/b"
    here.pop()
    assert boards.chosen((), False) == ["/dev/b"]
    here.pop(0)
    with pytest.raises(BenchError, match=r"hold its boot button .* 1 other serial ports"):
        boards.chosen((), False)
    with pytest.raises(BenchError, match="2 ports named"):
        boards.chosen(("/dev/a", "/dev/b"), False)
    with pytest.raises(BenchError, match="one port twice"):
        boards.chosen(("/dev/a", "/dev/a"), True)


def in_a_process(*words: str, **limits: object) -> subprocess.CompletedProcess[str]:
    line = [sys.executable, "-m", "diodewright.cli", "flash", NAME, *words]
    return subprocess.run(line, capture_output=True, text=True, check=False, **limits)


def test_the_command_line_ends_with_2_in_one_line_and_1_without_a_rehearsal(
    tmp_path: Path, verb: Verb, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = str(document(load(NAME), tmp_path / "r.json"))
    code, _, said = verb(None, "--port", "/dev/no-such-board", "--rehearsal", file)
    assert code == 2 and said == "/dev/no-such-board: no such port\n"
    monkeypatch.chdir(tmp_path)
    code, _, said = verb(None, "--port", "/dev/no-such-board")
    assert code == 1 and "no rehearsal at smoke_tunnel_rehearsal/" in said
    code, _, said = verb(None, "--rehearsal", str(tmp_path / "absent.json"))
    assert code == 2 and said.endswith("absent.json: no such file\n")
    monkeypatch.setitem(sys.modules, "mpremote.transport", None)
    with board() as session:
        code, _, said = verb(session, "--rehearsal", file)
    assert code == 3 and said.startswith("INCOMPLETE: mpremote is not installed: pip install")


@pytest.mark.by_hand
def test_a_full_disk_here_leaves_no_half_record_and_the_board_flashed_whole(
    tmp_path: Path,
) -> None:
    file = str(document(load(NAME), tmp_path / "r.json"))
    out = tmp_path / "out"

    def full() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))

    def client(port: str) -> subprocess.CompletedProcess[str]:
        words = ("--port", port, "--rehearsal", file, "--out", str(out))
        return in_a_process(*words, preexec_fn=full)

    with board() as session:
        done = serve(session, client)
        assert done.returncode == 2 and done.stderr.count("\n") == 1, done.stderr
        assert "can't write there" in done.stderr and list(out.iterdir()) == []
        assert differs(session, cargo()) == []
