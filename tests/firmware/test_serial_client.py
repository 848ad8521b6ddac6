"""A laboratory's own client talks to the port: PyVISA over a serial line, its defaults kept.

Opens the desk behind a pseudo-terminal, or what DIODEWRIGHT_SERIAL names, dark and with settings.
"""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

pyvisa = pytest.importorskip("pyvisa")
pytest.importorskip("pyvisa_py")
HERE = Path(__file__).parent


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """Return the path of a serial port with a dark board behind it."""
    if named := os.environ.get("DIODEWRIGHT_SERIAL"):
        yield named
        return
    pytest.importorskip("pty", reason="no pseudo-terminals here")
    server = subprocess.Popen(
        [sys.executable, str(HERE / "serial_server.py")],
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(HERE), *sys.path])},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert server.stdin is not None and server.stdout is not None
    try:
        path = server.stdout.readline().strip()
        assert path, "the server ended"
        yield path
    finally:
        server.stdin.close()
        server.wait(10)
        server.stdout.close()


@pytest.fixture
def session(address: str) -> "Iterator[pyvisa.resources.MessageBasedResource]":
    """Return an open session as a client has it by default; it begins with *CLS."""
    manager = pyvisa.ResourceManager("@py")
    opened = manager.open_resource(f"ASRL{address}::INSTR")
    opened.timeout = 10_000
    opened.write("*CLS")
    yield opened
    opened.write("*RST;:OUTP ON")
    opened.close()
    manager.close()


def test_every_reply_is_one_line_that_ends_with_lf(session) -> None:
    for query in ("*IDN?", "*STB?", "SYST:ERR?", "MEAS:VOLT:PACK?;:OUTP?", "STAT:CAUS?"):
        reply = session.query(query)
        assert reply.endswith("\n") and reply.count("\n") == 1 and "\r" not in reply, query


def test_it_identifies_itself_by_four_fields(session) -> None:
    maker, _, unit, _ = session.query("*IDN?").strip().split(",")
    assert maker == "diodewright" and len(unit) == 16


def test_values_are_read_as_the_client_parses_numbers(session) -> None:
    lowest, highest = session.query_ascii_values("CURR? MIN;CURR? MAX", separator=";")
    assert 0 < lowest < highest <= 10
    session.write(f"CURR {lowest}")
    assert session.query_ascii_values("CURR?") == [lowest]
    assert 0 < session.query_ascii_values("MEAS:VOLT:PACK?")[0] < 20


def test_synchronising_and_errors_work_as_in_any_instrument(session) -> None:
    assert session.query("*RST;*CLS;*OPC?").strip() == "1"
    session.write("NO:SUCH:THING")
    assert session.query("*ESR?").strip() == "32"
    assert session.query("SYST:ERR?").strip() == '-113,"Undefined header"'
    assert session.query("SYST:ERR?").strip() == '0,"No error"'


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_both_line_ends_are_taken(session, end: str) -> None:
    session.write_termination = end
    session.read_termination = "\n"
    assert session.query("*OPC?") == "1"


def test_a_command_is_silent_and_nothing_is_echoed(session) -> None:
    session.timeout = 200
    session.write("OUTP OFF")
    with pytest.raises(pyvisa.errors.VisaIOError, match="VI_ERROR_TMO"):
        session.read()
    session.timeout = 10_000
    assert session.query("OUTP?").strip() == "0"


def test_a_second_session_finds_the_port_in_order_behind_half_a_line(address: str) -> None:
    manager = pyvisa.ResourceManager("@py")
    with manager.open_resource(f"ASRL{address}::INSTR", timeout=10_000) as first:
        first.write_raw(b"CURR 0.")
    with manager.open_resource(f"ASRL{address}::INSTR", timeout=10_000) as second:
        second.write("")
        assert second.query("*CLS;*OPC?").strip() == "1"
    manager.close()


def test_the_journal_and_a_burst_come_over_the_line(session) -> None:
    session.write("JOUR:REW")
    entries = []
    while not entries or (entries[-1] != '""' and len(entries) < 1000):
        entries.append(session.query("JOUR?").strip())
    assert entries[-1] == '""' and all(entry.count(",") >= 10 for entry in entries[:-1])
    session.write("BURS:STAR 20 MS")
    waited = 0
    while session.query("BURS:COUN?").strip() != "20,20":
        waited += 1
        assert waited < 1000
    assert len(session.query("BURS:ROWS? 0,20").split(",")) == 23
    assert session.query("SYST:ERR?").startswith("0,")
