"""Real clients at the board's serial port; what they did is recorded, and replays exactly."""

import json
import signal
import subprocess
import sys
from binascii import crc32
from pathlib import Path

import msgspec
import pytest
import serial

from command import diodewright
from diodewright.build import load
from diodewright.twin import Event, Port, Session, read_recording, replay
from diodewright.twin.session import BadRecording
from serving import serve
from stories import until

pyvisa = pytest.importorskip("pyvisa")
pytest.importorskip("pyvisa_py")


@pytest.fixture
def session():
    with Session(load("smoke_tunnel"), seed=3) as made:
        until(made.twin, "dark")
        yield made


def hand(session: Session, part: str, on: int) -> None:
    session.step(events=[Event(0, f"plant.{part}", on)])


def visa(*lines: str):
    """Return a client that opens the port with PyVISA's defaults and sends or asks `lines`."""

    def client(path: str) -> list[str]:
        manager = pyvisa.ResourceManager("@py")
        with manager.open_resource(f"ASRL{path}::INSTR", timeout=20_000) as device:
            replies = []
            for line in lines:
                if "?" in line:
                    replies.append(device.query(line).strip())
                else:
                    device.write(line)
        manager.close()
        return replies

    return client


def test_a_laboratory_watches_the_light_moves_it_and_makes_it_dark(session: Session) -> None:
    with Port() as port:
        replies = serve(session, visa("*IDN?", "*TST?", "OUTP ON", "OUTP?", "STAT:MODE?"), port)
        assert replies[0].startswith("diodewright,") and replies[1:] == ["0", "1", '"dark"']
        hand(session, "trigger", 1)
        until(session.twin, "run", "limited")
        before_A = session.twin.look.diode_A
        measured, limit = serve(session, visa("MEAS:CURR?", "CURR:LIM?"), port)
        assert abs(float(measured) - before_A) < 0.02
        serve(session, visa("CURR 0.5", "*OPC?"), port)
        for _ in range(1500):
            session.step()
        assert abs(session.twin.look.drive_A - 0.5) < 0.02
        errors = serve(session, visa("CURR:LIM 0.6", f"CURR:LIM {limit}", "SYST:ERR?"), port)
        assert errors[0].startswith("-221,"), "a limit never rises while lit"
        serve(session, visa("OUTP OFF", "OUTP ON", "*OPC?"), port)
        for _ in range(8000):
            session.step()
        assert session.twin.look.drive_A == 0, "the trigger is still held: no light from serial"
        assert session.twin.look.mode == "dark"


def test_pyserial_reads_telemetry_whole_line_by_line(session: Session) -> None:
    def client(path: str) -> list[str]:
        with serial.Serial(path, timeout=20) as port:
            port.write(b"TEL 50\n")
            return [port.readline().decode() for _ in range(60)]

    lines = serve(session, client)
    for line in lines:
        text, _, check = line.rstrip("\n").rpartition(",")
        assert f"{crc32(text.encode()):08X}" == check


def test_a_session_replays_to_the_byte_and_another_seed_does_not(session: Session) -> None:
    with Port() as port:
        serve(session, visa("TEL 20", "MEAS:VOLT:PACK?", "MEAS:TEMP?"), port)
        hand(session, "trigger", 1)
        serve(session, visa("MEAS:CURR?", "BURS:STAR 0.1", "STAT:MODE?"), port)
        for _ in range(300):
            session.step()
    assert session.record.given and session.record.events and len(session.record.said) > 6
    build = load("smoke_tunnel")
    assert replay(session.record, build) == ""
    other = msgspec.structs.replace(session.record, seed=4)
    assert "recorded at" in replay(other, build)


def test_the_verb_opens_a_port_records_and_replays(tmp_path: Path) -> None:
    record = tmp_path / "session.json"
    verb = [sys.executable, "-m", "diodewright.cli", "twin", "gel_viewer"]
    with subprocess.Popen(
        [*verb, "--speed", "0", "--out", str(tmp_path)], stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        word, _, path = process.stdout.readline().strip().partition(" ")
        assert word == "port"
        assert visa("*IDN?", "SYST:VERS?")(path)[1] == "1999.0"
        process.send_signal(signal.SIGTERM)
        said = process.stdout.read()
        assert process.wait(20) == 0
    assert "simulated board" in said
    assert json.loads(record.read_text())["given"]
    again = subprocess.run(
        [*verb, "--replay", str(record)], capture_output=True, text=True, check=False
    )
    assert again.returncode == 0, again.stdout + again.stderr
    assert again.stdout.startswith("same")


def test_without_micropython_the_verb_is_incomplete_and_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DIODEWRIGHT_MICROPYTHON", str(tmp_path / "nothing"))
    done = diodewright("twin", "gel_viewer", "--for", "1", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (3, "")
    assert done.stderr.startswith("INCOMPLETE: DIODEWRIGHT_MICROPYTHON = ")
    assert "Traceback" not in done.stderr


def test_a_recording_of_another_build_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "session.json"
    with Session(load("gel_viewer"), seed=1) as session:
        session.step()
        path.write_bytes(msgspec.json.encode(session.record))
    with pytest.raises(BadRecording, match="recorded with build gel_viewer"):
        read_recording(path, load("smoke_tunnel"))
    for part, wrong, said in (
        ("given", [[3, "0g"]], "0g is no byte after byte"),
        ("events", [[3, "plant.trigge", 1]], "nothing is called plant.trigge here"),
        ("charge_pct", 101, "`float` <= 100"),
        ("seed", 0, "`int` >= 1"),
    ):
        path.write_text(json.dumps(json.loads(msgspec.json.encode(session.record)) | {part: wrong}))
        with pytest.raises(BadRecording, match=said):
            read_recording(path, load("gel_viewer"))
    path.write_text("{}")
    with pytest.raises(BadRecording, match="no recording of a session"):
        read_recording(path, load("smoke_tunnel"))
