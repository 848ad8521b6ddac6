"""How a board is brought to its prompt, dark, and back to its program.

A board that runs our firmware is asked for maintenance: it restarts into a boot that arms no
watchdog and steps no law, and lets Ctrl-C through. A blank board is at its prompt already. Whatever
else runs there is not interrupted.
"""

import contextlib
import time
from collections.abc import Callable

import serial

from diodewright.bench.boards import boards, port_again
from diodewright.bench.line import Line, Refused, not_opened, vanished
from diodewright.bench.problems import AtPrompt, BenchError, Silent
from diodewright.bench.transport import Prompt
from diodewright.build.plain_file import printable

__all__ = ["at_prompt", "prompt_again", "running", "serial_of"]

#: A board takes about two seconds to restart and to be found again over USB, from memory [s].
RESTART_S = 20.0
_PROBE_S = 0.3
_REPLY_S = 3.0
#: A self-test that need not wait for a hand is over by then [s].
_SELF_TEST_S = 3.0
_LOOK_S = 0.1
#: A refusal comes at once, a restart says nothing [s].
_REFUSAL_S = 0.7
MAINTENANCE = '"maintenance"'


def _greeting(port: str) -> bytes:
    """Return what an empty line brings out of the port.

    Raises
    ------
    BenchError
        No such port, in use, or gone.
    """
    try:
        opened = serial.Serial(port, timeout=_PROBE_S, write_timeout=_REPLY_S, exclusive=True)
    except (serial.SerialException, OSError, ValueError) as error:
        raise not_opened(port, error) from None
    try:
        opened.reset_input_buffer()
        opened.write(b"\r\n")
        return bytes(opened.read(4096))
    except (serial.SerialException, OSError, TypeError) as error:
        raise vanished(port, error) from None
    finally:
        opened.close()


def at_prompt(port: str, say: Callable[[str], None]) -> Prompt:
    """Return the board at its prompt, light impossible, at the port where it is now.

    Raises
    ------
    BenchError
        Something else runs there, the board is lit or in its self-test, or it does not come back.
    """
    say(f"{port}: who is there")
    line = None
    if b">>>" not in _greeting(port):
        # raw mode says nothing either: an interrupted flash leaves that behind
        with contextlib.suppress(AtPrompt, Silent):
            line = Line(port, _REPLY_S, any_version=True)
    if line is None:
        return Prompt(port)
    with line:
        port = _into_maintenance(line, say)
    return Prompt(port, maintained=True)


def prompt_again(prompt: Prompt, number: str) -> None:
    """Wait until a board that was reset is at its prompt again.

    Raises
    ------
    BenchError
        It does not come back in time.
    """
    until_s = time.monotonic() + RESTART_S
    while True:
        try:
            return prompt.open(port_again(prompt.port, number))
        except BenchError:
            if time.monotonic() > until_s:
                raise
        time.sleep(_LOOK_S)


def _into_maintenance(line: Line, say: Callable[[str], None]) -> str:
    """Have a board of ours restart into maintenance, unless it is there; return its port."""
    unit, port = line.identity.unit, line.name
    number = serial_of(port)
    if line.ask("STAT:BARR?") == MAINTENANCE:
        return port
    say(f"{port}: restarts into maintenance")
    _ask_for_maintenance(line)
    line.close()
    with running(port, number, any_version=True) as back:
        if back.identity.unit != unit or back.ask("STAT:BARR?") != MAINTENANCE:
            raise BenchError(f"{back.name}: did not come back in maintenance; nothing was written")
        return back.name


def _ask_for_maintenance(line: Line) -> None:
    """Have it restart; a self-test that has just begun is waited for."""
    until_s = time.monotonic() + _SELF_TEST_S
    patient_s = line.reply_s
    while True:
        line.reply_s = _REFUSAL_S
        try:
            line.tell("SYST:MAIN")
        except Refused as refused:
            line.reply_s = patient_s
            known = "-113" not in str(refused)
            testing = known and line.ask("STAT:MODE?") == '"testing"'
            if not testing or time.monotonic() > until_s:
                raise BenchError(f"{line.name}: {_why_not(line, str(refused))}") from None
        except BenchError:
            return  # it restarts
        else:
            return
        time.sleep(_LOOK_S)


def _why_not(line: Line, refused: str) -> str:
    if "-113" in refused:
        return (
            f"firmware version {printable(line.identity.version)} knows no maintenance: put "
            "MicroPython on the board anew, which clears it"
        )
    mode = line.ask("STAT:MODE?").strip('"')
    if mode == "testing":
        return "its self-test waits: close interlock and key, let go of the trigger, flash again"
    return (
        f"not while it is lit or about to light (mode {mode}): let go of the trigger, flash again"
    )


def serial_of(port: str) -> str:
    """Return the USB serial number of the board at `port`; "" where there is none."""
    return next((board.serial for board in boards() if board.port == port), "")


def running(port: str, number: str = "", any_version: bool = False) -> Line:
    """Return a line to the board that restarts at `port`, once its firmware answers.

    Parameters
    ----------
    number : its USB serial number, by which it is found at another port too.

    Raises
    ------
    BenchError
        It does not answer in time; the last reason why.
    """
    until_s = time.monotonic() + RESTART_S
    while True:
        try:
            return Line(port_again(port, number), _REPLY_S, any_version)
        except BenchError:
            if time.monotonic() > until_s:
                raise
        time.sleep(_LOOK_S)
