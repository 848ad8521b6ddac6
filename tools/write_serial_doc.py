"""Write docs/serial.md from the command table and the registers' own tables.

``python tools/write_serial_doc.py`` writes it; with ``--check`` it only says whether it is stale.
"""

import sys
from collections.abc import Iterable
from pathlib import Path
from textwrap import fill

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "firmware")]

from page import table, write_or_check  # noqa: E402

from diodedriver import acts, commands, grammar, scpi, status, words  # noqa: E402

PAGE = ROOT / "docs" / "serial.md"
INTRO = """# Serial commands

Written by `tools/write_serial_doc.py` from `commands.py`, `status.py` and `scpi.py`; a test fails
where it is stale.

The board is a USB serial port that speaks a subset of SCPI-99 over IEEE 488.2. No speed or parity
needs to be set. Serial can never light the diode: only a hand on the trigger does, and a press
that follows a release. Serial never weakens a limit while lit.

- A line ends with LF or CR LF, a reply with LF. Nothing is echoed; a command without a question
  mark says nothing. `SYSTem:ERRor?` gives what was wrong, one error at a time.
- Capitals are the short form, `[ ]` may be left out, upper and lower case are one.
- `;` separates commands and keeps the path, a leading `:` begins at the root, commands with `*`
  don't touch the path. The replies of one line are one line, with `;` between them.
- A command that can't be read ends its line; one that can't be done does not.
- A number may have its unit: {units}. Without one the
  first of its kind is meant. It is rounded to 1 mA, 1 ms or 1. `MIN`, `MAX` and `DEF` stand for
  the ends of a range; `#H`, `#Q` and `#B` numbers are taken.
- A line holds {line} bytes, the replies that wait {out} bytes, the error queue {queue} errors.
  What is longer does nothing, or says nothing, and is an error: there is no half line.
- There is no time-out and no locking: a second program's bytes would run into the first's.

## Commands

"dark" is refused with -221 while lit, about to light, or in the self-test.
"""
PIECES = """
## What is sent in pieces

Every such line ends with a comma and the CRC-32 of what stands before that comma (ISO-HDLC, as in
IEEE 802.3), eight hexadecimal digits.

- *Telemetry*: `@`, the mode, and while the law runs these words, in the word tables' units:
{telemetry}.
  A line for which there is no room is left out whole; the tick shows the gap.
- *Burst*: after `BURSt:STARt` every tick is kept. Each row is two words of eight digits: current
  code, output code << 12, channel << 24; then multiplexed code, pins << 12, level << 17, gap << 19,
  heartbeat << 23. With state and readings of the first tick the law gives every word again.
- *Journal*: `JOURnal?` gives one entry, newest first, and `""` behind the last: kind, boot,
  uptime [s], reset cause, row (-1: none), mode, tick, limit, reading, and every reading at the
  first cause.
- *Settings*: `SETTings:BEGin` with the size, `SETTings:DATA` with up to {piece} bytes as
  hexadecimal in quotes until all are sent, `SETTings:COMMit` with the CRC-32 of all. The board
  checks sum, version, unit and every range before it stores anything.
"""


def _end(value: object, unit: str) -> str:
    """Return an end of a range in the unit that is meant where none is written."""
    if not isinstance(value, int):
        return f"*{value}*"
    power = grammar.UNITS[unit][0][1] if unit else 0
    return f"{value / 10**power:g}" if power else str(value)


def _parameter(row: tuple[object, ...]) -> str:
    name, kind, unit, low, high, default = row
    if kind == "switch":
        return "ON, OFF, 1 or 0"
    if kind == "extreme":
        return "[MIN, MAX or DEF]"
    if kind in ("text", "hex"):
        what = "characters" if kind == "text" else "bytes in hexadecimal"
        return f'{name}: "{low} to {high} {what}"'
    ends = f"{name}: {_end(low, str(unit))} to {_end(high, str(unit))} {unit}".strip()
    return ends + (f", DEF {_end(default, str(unit))}" if default is not None else "")


def _commands() -> Iterable[tuple[str, ...]]:
    for pattern, parameters, when, _, does in commands.COMMANDS:
        texts = "; ".join(_parameter(parameter) for parameter in parameters)
        yield f"`{pattern}`", texts, when, does


def _wrapped(names: list[str], indent: str) -> str:
    text = ", ".join(names)
    return fill(text, 100, initial_indent=indent, subsequent_indent=indent)


def _bits(table: Iterable[tuple[int, str]]) -> Iterable[tuple[object, ...]]:
    return ((bit, 1 << bit, meaning) for bit, meaning in table)


def page() -> str:
    """Return the whole page."""
    units = "; ".join(
        ", ".join(name for name, _ in suffixes) for suffixes in grammar.UNITS.values() if suffixes
    )
    rows = [f"`{row[0]}` bit {status.FAULT_BITS[row[0]]}" for row in words.FAULTS]
    return "".join(
        (
            INTRO.format(
                units=units,
                line=scpi.LINE_BYTES,
                out=scpi.OUT_BYTES,
                queue=scpi.QUEUE,
            ),
            table(("command", "parameters", "when", "it"), _commands()),
            "\n*start* is the start level, *limit* the current limit, *highest* the highest named\n"
            "level of the settings. A measurement without a reading is "
            f"{acts.NOT_A_NUMBER}, SCPI's not-a-number.\n",
            PIECES.format(
                telemetry=_wrapped([f"`{name}`" for name, _ in acts.TELEMETRY], "  "),
                piece=commands.LONGEST_PIECE,
            ),
            "\n## Operation register\n",
            table(("bit", "weight", "meaning"), _bits(status.OPERATION)),
            "\n## Questionable register\n",
            table(("bit", "weight", "meaning"), _bits(status.QUESTIONABLE)),
            "\nWhich latched row sets which bit, beside bit 9:\n",
            _wrapped(rows, ""),
            ".\n\n## Errors\n",
            table(("number", "text"), scpi.ERRORS.items()),
        )
    )


if __name__ == "__main__":
    sys.exit(write_or_check(PAGE, page()))
