"""The prompt that MicroPython falls back to when a program has ended, over serial.

Raw mode and raw paste as the reference documentation of MicroPython describes them (raw REPL); in
friendly mode a line is run when it ends. The plant's time passes while the prompt waits for a byte,
pins as they are.
"""

import select
import sys

import machine

_RAW = b"raw REPL; CTRL-B to exit\r\n>"
_FRIENDLY = b"MicroPython on a simulated board\r\n>>> "
# bytes that raw paste takes before they must be granted again
_WINDOW = 256
_poller = select.poll()
_poller.register(sys.stdin, select.POLLIN)


def _byte():
    machine._keep_break(-1)
    while not _poller.poll(0):
        try:
            machine._pass(True)
        except KeyboardInterrupt:
            return b"\x03"  # it came while the program before still ran
    return sys.stdin.buffer.read(1)


def _say(data):
    sys.stdout.buffer.write(data)


def _run(code, space):
    """Run `code` as raw mode does; return what it raised, None for nothing."""
    machine._keep_break(3)
    try:
        exec(code, space)
    except BaseException as error:
        return error
    finally:
        machine._keep_break(-1)


def _pasted():
    """Take a program by raw paste: a window of bytes at a time, each granted when the last is in.

    Returns None where Ctrl-C ends it.
    """
    _say(b"R\x01" + bytes([_WINDOW & 255, _WINDOW >> 8]) + b"\x01")
    taken = []
    while True:
        byte = _byte()
        if byte == b"\x03":
            return None
        if byte == b"\x04":
            _say(byte)
            return b"".join(taken)
        taken.append(byte)
        if len(taken) % _WINDOW == 0:
            _say(b"\x01")


def _ended(line, raw, space, pasted=False):
    """Run a line that is whole and answer as its mode does."""
    if raw and not pasted:
        _say(b"OK")
    error = _run(line, space)
    if raw:
        _say(b"\x04")
    if error is not None:
        sys.print_exception(error, sys.stdout)
    _say(b"\x04>" if raw else b"\r\n>>> ")


def _soft_reset(raw, boot):
    """Begin anew: in raw mode at the prompt, behind boot.py; else with the whole program."""
    _say(b"OK\r\nMPY: soft reboot\r\n" if raw else b"\r\nMPY: soft reboot\r\n")
    if not raw:
        machine._leave(machine.SOFT)
    boot()
    _say(_RAW)


def serve(boot):
    """Serve the prompt until a reset; `boot` runs boot.py, as a soft reset in raw mode does."""
    machine._kind = machine.PROMPT
    space = {"__name__": "__main__"}
    _say(_FRIENDLY)
    raw, line = False, b""
    while True:
        byte = _byte()
        line += byte
        if byte in (b"\x01", b"\x02") and line != b"\x05A\x01":
            raw, line = byte == b"\x01", b""
            _say(_RAW if raw else b"\r\n" + _FRIENDLY)
        elif byte == b"\x03":
            line = b""
            _say(b"\r\n>" if raw else b"\r\n>>> ")
        elif line == b"\x05A\x01":
            line = b""
            program = _pasted() if raw else None
            if program is None:
                _say(b"\r\n>")
            else:
                _ended(program, True, space, True)
        elif byte == b"\x04" and not line[:-1].strip():
            _soft_reset(raw, boot)
            space, line = {"__name__": "__main__"}, b""
        elif byte == (b"\x04" if raw else b"\r"):
            _ended(line[:-1], raw, space)
            line = b""
