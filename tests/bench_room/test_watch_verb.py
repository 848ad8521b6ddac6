"""The verb: what it shows, which keys it knows, how it ends, and what it leaves on disk."""

import io
import json
import os
import re
import select
import signal
import struct
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from fcntl import ioctl
from pathlib import Path
from termios import TIOCSWINSZ
from threading import Event as Flag
from threading import Thread

import pytest
from cable import Answering, Cable, wait_long

import diodewright.twin.provision as provisioning
from diodedriver import words
from diodewright.bench import BenchError
from diodewright.bench.boards import HOW_TO_BEGIN
from diodewright.bench.outlook import Prospect
from diodewright.bench.passport import as_built, passport
from diodewright.bench.record import Heard, load
from diodewright.bench.watch import Cause
from diodewright.build import Build
from diodewright.build import load as load_build
from diodewright.derive import settings
from diodewright.report import screen_watch
from diodewright.report.screen_watch import show_watch
from diodewright.report.watch_words import STATES, bound_words, cause_lines, prospect_words, span
from diodewright.twin import Event, Session
from diodewright.twin.child import share_core
from serving import needs_micropython

BUILD = "smoke_tunnel"
#: Boot and self-test are over by then [ms].
BOOTED_MS = 3000


@contextmanager
def running(session: Session, folder: Path) -> Iterator[str]:
    """Let the board run beside the test; yield its port."""
    over = Flag()
    with Cable(folder / "port") as port:

        def run() -> None:
            while not over.is_set():
                if said := session.step(port.read()):
                    port.write(said)

        beside = Thread(target=run, daemon=True)
        beside.start()
        share_core(None)  # else what is started from here gets no turn beside the board
        try:
            yield port.name
        finally:
            over.set()
            port.unplug()  # nobody reads any more: the board waits for nobody
            beside.join(30)


@pytest.fixture(autouse=True)
def _patient(monkeypatch: pytest.MonkeyPatch) -> None:
    wait_long(monkeypatch)


@pytest.fixture
def port_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("port")


@contextmanager
def booted(build: Build) -> Iterator[Session]:
    """Yield a board behind its self-test; skip where there is no MicroPython."""
    needs_micropython()
    with Session(build, seed=1) as session:
        for _ in range(BOOTED_MS):
            session.step()
        yield session


def press(session: Session) -> None:
    session.step(events=[Event(0, "plant.trigger", 1.0)])


def test_without_a_terminal_it_prints_plain_lines_and_leaves_a_recording(
    session: Session, port_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    press(session)
    before = signal.getsignal(signal.SIGTERM)
    with running(session, port_folder) as port:
        assert show_watch(load_build(BUILD), port, tmp_path / "r.csv", 30.0, 50) == 0
    out = capsys.readouterr().out
    assert signal.getsignal(signal.SIGTERM) == before
    assert "\x1b" not in out and "CAUTION" not in out
    assert re.search(r"s; (run|limited): .*; \d\.\d{3} A; asked", out)
    assert "waits for a release and a fresh press" not in out.splitlines()[-1]
    trace = load(tmp_path / "r.csv")
    assert f"readings, gaps {trace.provenance['gaps']}, damaged lines 0" in " ".join(out.split()), (
        out
    )
    assert trace.provenance["fingerprint"] == session.twin.build.fingerprint
    assert trace.provenance["recorder"] == "telemetry"
    assert trace["time_s"][-1] > 7 and 7 in trace["mode"]
    assert [path.name for path in tmp_path.iterdir()] == ["r.csv"]


def test_json_is_one_document_with_what_was_recorded_and_what_is_not_judged(
    session: Session, port_folder: Path, tmp_path: Path, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    with running(session, port_folder) as port:
        show_watch(load_build(BUILD), port, tmp_path / "r.npz", 10.0, 50, as_json=True)
    document = json.loads(capsysbinary.readouterr().out)
    assert next(iter(document)) == "format"
    assert document["readings"] > 2 and document["modes"] == ["dark"]
    assert document["provenance"]["unit"] == session.twin.unit
    assert {"diode-current", "junction", "emission-against-controls"} <= set(document["not_judged"])
    assert document["written"] == str(tmp_path / "r.npz")


def test_a_board_of_another_build_or_unit_is_refused_or_marked_all_along(
    session: Session, port_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lamp = load_build("cave_lamp")
    out = tmp_path / "r.npz"
    with running(session, port_folder) as port:
        with pytest.raises(BenchError, match=r"flashed for another build \(.*use --other-build"):
            show_watch(lamp, port, out, 1.0, 50)
        with pytest.raises(BenchError, match=f"this is unit {session.twin.unit}, not 00ff"):
            show_watch(load_build(BUILD), port, out, 1.0, 50, unit="00ff")
        assert list(tmp_path.iterdir()) == []
        show_watch(lamp, port, out, 1.0, 50, unit=session.twin.unit, other=True)
    assert "CAUTION  the board was flashed for another build" in capsys.readouterr().out
    said = load(out).provenance
    assert said["fingerprint"] == lamp.fingerprint
    assert said["board_fingerprint"] == session.twin.build.fingerprint[:16]


def test_the_passport_and_what_a_board_was_flashed_despite_are_shown_and_kept(
    port_folder: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    build = load_build(BUILD)
    number = passport(build, settings(build))
    pack = provisioning.slots.pack
    monkeypatch.setattr(
        provisioning.slots,
        "pack",
        lambda *given: pack(*given[:3], as_built(number, ["junction"]), given[4]),
    )
    with booted(build) as session, running(session, port_folder) as port:
        show_watch(build, port, tmp_path / "r.csv", 1.0, 50)
    out = " ".join(capsys.readouterr().out.split())
    assert f"passport {number}, as build file, law and settings are here" in out
    assert "CAUTION flashed despite what fails: junction" in out
    said = load(tmp_path / "r.csv").provenance
    assert (said["passport"], said["despite"]) == (number, ["junction"])


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        (b"OK\n", "no board of ours, it says OK"),
        (b"\r\n>>> ", "MicroPython's prompt answers, no firmware runs"),
        (b"diodewright,0,e6,0\n", "firmware version 0, this package speaks"),
        (b"diodewright,0,e6,1\n", "the board has no settings yet"),
        (b"\x00\xff" * 3000, "no board of ours, it sends"),
    ],
)
def test_what_can_not_be_watched_is_one_line_and_leaves_nothing(
    tmp_path: Path, answer: bytes, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(screen_watch.Line.__init__, "__defaults__", (0.5, False))
    with (
        Answering(tmp_path / "port", answer) as port,
        pytest.raises(BenchError, match=said) as refused,
    ):
        show_watch(load_build(BUILD), port.name, tmp_path / "r.npz", 1.0, 50)
    assert "\n" not in str(refused.value)
    assert list(tmp_path.iterdir()) == []


def test_no_board_is_told_with_how_to_begin_and_two_are_never_guessed_between(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from diodewright.bench import boards

    class Plugged:
        vid, pid, serial_number, description = 0x2E8A, 5, "e6", "Board"

        def __init__(self, device: str) -> None:
            self.device = device

    for devices, said in (
        ([], HOW_TO_BEGIN[:14]),
        (["/dev/a", "/dev/b"], "2 boards: /dev/a .*; /dev/b .*name one with --port"),
    ):
        plugged = [Plugged(device) for device in devices]
        monkeypatch.setattr(boards.list_ports, "comports", lambda plugged=plugged: plugged)
        with pytest.raises(BenchError, match=said):
            show_watch(load_build(BUILD), None, None, 1.0, 20)


# in a process of its own

COMMAND = [sys.executable, "-m", "diodewright.cli", "watch", BUILD, "--rate", "50"]


def comes(what: Callable[[], bool], told: Callable[[], str] = str) -> None:
    """Wait until something is so; fail with what is `told` where it does not within a minute."""
    end_s = time.monotonic() + 60
    while not what():
        assert time.monotonic() < end_s, f"never came: {told()[-2000:]}"
        time.sleep(0.05)


class Terminal:
    """A terminal of 80 columns with the verb in it."""

    def __init__(self, *more: str) -> None:
        self.near, far = os.openpty()
        ioctl(far, TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        self.process = subprocess.Popen(
            [*COMMAND, *more], stdin=far, stdout=far, stderr=far, start_new_session=True,
            env=os.environ | {"TERM": "xterm", "COLUMNS": "80", "LINES": "24"},
        )  # fmt: skip
        os.close(far)
        self.shown = io.BytesIO()

    def look(self) -> str:
        """Return all that was shown so far, without its control sequences.

        One that moves to another line ends a line.
        """
        while select.select([self.near], [], [], 0)[0]:
            with suppress(OSError):
                if data := os.read(self.near, 65536):
                    self.shown.write(data)
                    continue
            break
        text = self.shown.getvalue().decode("utf-8", "replace")
        text = re.sub(r"\x1b\[[0-9;]*[ABH]", "\n", text)
        return re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", text)

    def type(self, keys: str) -> None:
        os.write(self.near, keys.encode())

    def ended(self) -> int:
        """Return how it ended, all that it says taken in."""
        comes(lambda: (self.look(), self.process.poll() is not None)[1])
        self.text = self.look()
        os.close(self.near)
        return self.process.wait()


def test_in_a_terminal_one_key_makes_dark_another_ends_and_the_rest_do_nothing(
    session: Session, port_folder: Path, tmp_path: Path
) -> None:
    press(session)
    with running(session, port_folder) as port:
        terminal = Terminal("--port", port, "--out", str(tmp_path / "r.npz"))
        comes(lambda: "limited: held below" in terminal.look(), terminal.look)
        terminal.type("abcdefghijklmnprstuvwxyzABCO 1\r\x1b[A")
        shown = terminal.look()
        comes(lambda: len(terminal.look()) > len(shown) + 2000)
        assert session.twin.true("diode_A") > 0.5
        terminal.type("xo")  # typed at once: the second is seen as well
        comes(lambda: "made dark: OUTPut OFF" in terminal.look())
        assert session.twin.true("diode_A") < 0.001
        terminal.type("q")
        assert terminal.ended() == 0
    lines = terminal.text.replace("\r", "\n").split("\n")
    # a path stays whole, so that it can be copied
    assert not [line for line in lines if len(line) > 80 and not line.startswith("written")]
    sent = b"".join(bytes.fromhex(data) for _, data in session.record.given)
    assert sent.count(b"OUTP OFF\n") == 1
    assert "made dark: OUTPut OFF" in [text for _, text in load(tmp_path / "r.npz").events]


def test_a_request_to_end_saves_and_a_killed_program_loses_nothing_either(
    session: Session, port_folder: Path, tmp_path: Path
) -> None:
    side = tmp_path / "r.csv.lines"
    with running(session, port_folder) as port:
        for ending, code in ((signal.SIGTERM, 0), (signal.SIGKILL, -signal.SIGKILL)):
            line = [*COMMAND, "--port", port, "--out", str(tmp_path / "r.csv")]
            process = subprocess.Popen(line, stdout=subprocess.DEVNULL)
            comes(lambda: side.exists() and side.read_text().count("@dark") > 20)
            process.send_signal(ending)
            assert process.wait(60) == code
            if ending == signal.SIGTERM:
                assert len(load(tmp_path / "r.csv")) > 20 and not side.exists()
                (tmp_path / "r.csv").unlink()
    kept = side.read_text().count("@dark")
    line = [*COMMAND, "--out", str(tmp_path / "r.csv")]
    again = subprocess.run(
        [*line, "--recover"], capture_output=True, text=True, check=False, timeout=60
    )
    assert (again.returncode, again.stderr) == (0, "")
    assert kept - 1 <= len(load(tmp_path / "r.csv")) - 1 <= kept + 5
    assert "cut off here" in again.stdout and not side.exists()


# words


def _latched(row: int) -> Heard:
    return Heard("fault", {"faults": 1 << row, "hard": 16, "bound": 0}, 1.0)


def test_each_fault_is_told_with_what_was_read_and_what_the_hand_must_do() -> None:
    for row, (name, rule, judged, _, condition) in enumerate(words.FAULTS):
        lines = cause_lines(_latched(row), Cause(row, 5, 33_320, 33_315))
        assert lines[0].startswith(f"{name}: {condition}")
        assert ("read" in lines[0]) == (judged != "pins")
        assert lines[1] == f"next: {dict(words.RULES)[rule]}"
    hot = [row[0] for row in words.FAULTS].index("hot")
    assert (
        "read 60.05 °C, limit 60.00 °C"
        in cause_lines(_latched(hot), Cause(hot, 5, 33_320, 33_315))[0]
    )
    assert cause_lines(_latched(hot), None) == ["latched: hot"]
    assert cause_lines(Heard("run", {"faults": 0}, 0.0), None) == ["none"]
    both = Heard("fault", {"faults": 3 << hot}, 1.0)
    assert cause_lines(both, Cause(hot, 5, 1, 1))[2] == "latched too: junction"


def test_every_mode_and_every_cap_has_its_words() -> None:
    assert set(STATES) == {"barred", "testing"} | {name for name, _ in words.MODES}
    for place in range(len(words.BOUNDS)):
        assert bound_words(Heard("run", {"bound": place}, 0.0))


@pytest.mark.parametrize(
    ("prospect", "said"),
    [
        (Prospect("unknown"), "-"),
        (Prospect("not soon"), "not soon"),
        (Prospect("now", "budget", 0, 0, 0), "now, by the heat budget"),
        (Prospect("not before", "mount", 72.0), "not before 70 s, by the mount's heat"),
        (
            Prospect("about", "pack", 3500.0, 4000.0, 5000.0),
            "in about 1 h 10 min (58 min to 1 h 20 min), by the pack's charge",
        ),
        (Prospect("about", "mount", 41.0, 42.0, 42.4), "in about 40 s, by the mount's heat"),
    ],
)
def test_a_prospect_is_told_with_no_more_digits_than_it_has(prospect: Prospect, said: str) -> None:
    assert prospect_words(prospect) == said
    assert [span(each) for each in (3, 12, 89, 95, 3570, 7200)] == [
        "3 s", "10 s", "90 s", "2 min", "1 h", "2 h",
    ]  # fmt: skip
