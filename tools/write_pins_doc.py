"""Write hardware_notes/pins.md from the firmware's own pin tables.

``python tools/write_pins_doc.py``; with ``--check`` it only says whether it is stale. Here are only
the words: which signal goes where. A signal without words, or words without a signal, is refused.
"""

import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "firmware"), str(ROOT / "tools")]

from page import table, write_or_check  # noqa: E402

from diodedriver import pins  # noqa: E402

PAGE = ROOT / "hardware_notes" / "pins.md"
#: signal -> (goes to, what it means)
WORDS = {
    "current": ("U2, through 100 ohm and 100 nF", "diode current, fresh each tick"),
    "output": ("U10, from R2 and R3", "output voltage, fresh each tick"),
    "mux": ("U11's common", "pack, thermistors, check, indicator: one a tick"),
    "set": ("R7", "PWM of the set path, 100 kHz"),
    "enable_b": ("gate logic, then the stage's enable", "cut-off B"),
    "pulse": ("C5", "dynamic enable: toggled by each completed tick"),
    "indicator": ("H1", "emission indicator"),
    "reset": ("U5", "resets the latch by its edge"),
    "warn": ("a second lamp, or none", "ten minutes of light left"),
    "trickle": ("Q3", "self-test's 2 mA into the output"),
    "inject": ("U3", "self-test's false trip at the comparator's input"),
    "blink": ("the board's own lamp", "tells faults by blinks"),
    "mux_0": ("U11's address", ""),
    "mux_1": ("U11's address", ""),
    "mux_2": ("U11's address", ""),
    "trigger": ("S1", "high is pressed"),
    "key": ("behind S2's filter", "high is on"),
    "interlock": ("behind S3's filter", "high is closed"),
    "latch": ("U5's output", "high is tripped; pulled up: a broken wire reads tripped"),
}
#: connector -> (signals of its contacts in their order, how it is made)
CONNECTORS = {
    "pack": ("+, -", "polarised; cannot be plugged in the wrong way round"),
    "diode": ("anode, cathode", "none on a laser: soldered or screwed"),
    "mount thermistor": ("RT1, ground", "its own pair, twisted"),
    "sink thermistor": ("RT2, ground", "its own pair, twisted"),
    "interlock": ("out, back", "through every cover; open terminals stop emission"),
    "key": ("out, back", "its second pole; the first switches nothing"),
    "trigger": ("rail through 1 kohm, S1", "logic current"),
    "USB": ("the board's", "settings and log; can't light the diode"),
}
INTRO = """# Pins and connectors

Written by `tools/write_pins_doc.py` from `firmware/diodedriver/pins.py`, the table that the
firmware itself reads. The marks are those of [circuit.md](circuit.md).

- The set PWM lies on a slice that stops at a soft reset. Pins {on} run on through one. No enable
  is a PWM.
- Every output has 4.7 kohm to ground (R23) at what it drives: out of reset a pin floats, and one
  stepping of a common controller sources 120 uA into it (DS).
- Analogue inputs stand {rail} V at most, and nothing while the board has no supply: through a
  follower or 1 kohm.

## Pins
"""
END = """
## Connectors

Logic connectors carry no diode current. Keep the diode's pair away from the thermistors' pairs.
"""


def _kind(name: str) -> str:
    if name in pins.OUTPUTS:
        return "output"
    if name in pins.INPUTS:
        return "input"
    return "PWM" if name == "set" else "analogue input"


def _rows() -> Iterator[tuple[object, ...]]:
    for table_name, numbers in pins.BOARDS.items():
        if numbers.keys() != WORDS.keys():
            odd = ", ".join(sorted(numbers.keys() ^ WORDS.keys()))
            raise RuntimeError(f"{table_name}: pins and their words differ: {odd}")
    for name, (goes_to, means) in WORDS.items():
        yield (
            f"`{name}`",
            *(numbers[name] for numbers in pins.BOARDS.values()),
            _kind(name),
            goes_to,
            means,
        )


def _span(numbers: tuple[int, ...]) -> str:
    """Return numbers as ranges: ``8 to 15, 24 to 29``."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]} to {run[-1]}" for run in runs)


def page() -> str:
    """Return the whole page."""
    boards = (f"GPIO on {name}" for name in pins.BOARDS)
    return "".join(
        (
            INTRO.format(on=_span(pins.RUNS_ON), rail="3.3"),
            table(("signal", *boards, "kind", "to", "means"), _rows()),
            END,
            table(
                ("connector", "contacts", "made so"),
                ((name, *words) for name, words in CONNECTORS.items()),
            ),
        )
    )


if __name__ == "__main__":
    sys.exit(write_or_check(PAGE, page()))
