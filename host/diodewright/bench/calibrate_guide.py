"""The guided way through one calibration: cautions, setup, points, then what they say.

What is said goes out by `say`, a question by `ask`, which returns the answer's line, "" where
nobody can answer any more.
"""

from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from diodewright.bench import calibrate_adc as adc
from diodewright.bench import calibrate_trip as trip
from diodewright.bench.calibrate import (
    Calibrated,
    board_build,
    calibrated,
    current_points,
    refuse_lit,
    set_points,
)
from diodewright.bench.calibrate_line import Point
from diodewright.bench.calibrate_rows import CAUTIONS, ROWS, Row
from diodewright.bench.calibrate_take import points_of
from diodewright.bench.line import Line
from diodewright.bench.meters import open_meter
from diodewright.bench.problems import BenchError
from diodewright.build import load

__all__ = ["Asked", "guided"]

_MOST = 20


@dataclass(frozen=True)
class Asked:
    """What a person asked for; see the verb's options."""

    file: str
    quantity: str
    port: str | None
    meter: str
    accuracy: float
    points_file: Path | None
    also: tuple[str, ...]
    real_diode: bool
    ask: Callable[[str], str]
    say: Callable[[str], None]


def guided(asked: Asked) -> Calibrated | trip.Tripped | adc.Uneven:
    """Return what one calibration found.

    Raises
    ------
    BenchError
        Whatever board, meter, points or person make impossible.
    BuildErrors
        A build file is wrong, or would be with what was found.
    """
    load(asked.file)
    if asked.quantity == "trip":
        return _trip(asked)
    if asked.quantity == "adc":
        return _adc(asked)
    row = ROWS[asked.quantity]
    if asked.points_file is not None:
        points = points_of(asked.points_file, row, asked.accuracy)
        name = asked.points_file.name
        return calibrated(asked.file, row.name, points, asked.accuracy, name, asked.also)
    return _measured(asked, row)


def _measured(asked: Asked, row: Row) -> Calibrated:
    port = _port(asked)
    refuse_lit(row, load(asked.file), asked.real_diode)
    for text in (*CAUTIONS, *row.setup):
        asked.say(text)
    with ExitStack() as stack:
        meter = stack.enter_context(open_meter(asked.meter, row.name, row.unit))
        line = stack.enter_context(Line(port))
        base = board_build(line, asked.file)
        if row.lit:
            points = current_points(line, meter, base, asked.accuracy, _done(asked))
        else:
            points = set_points(line, meter, row, asked.accuracy, _again(asked))
        _say_points(asked, row, points)
    return calibrated(asked.file, row.name, points, asked.accuracy, meter.name, asked.also, base)


def _port(asked: Asked) -> str:
    if asked.port is None:
        raise BenchError(
            f"{asked.quantity}: --port names the board's port, or --points a file of points"
        )
    return asked.port


def _adc(asked: Asked) -> adc.Uneven:
    if asked.points_file is not None:
        codes = adc.codes_of(asked.points_file)
        return adc.uneven(asked.file, codes, asked.points_file.name, asked.also)
    port = _port(asked)
    for text in (*CAUTIONS, *adc.SETUP):
        asked.say(text)
    with Line(port) as line:
        codes = adc.ramp(line, _again(asked))
    return adc.uneven(asked.file, codes, "a ramp", asked.also)


def _say_points(asked: Asked, row: Row, points: list[Point]) -> None:
    for point in points:
        asked.say(f"{point.true:.5g} {row.unit} by the meter, {point.read:.5g} {row.unit} read")


def _done(asked: Asked) -> Callable[[str], None]:
    """Return what waits until a person did something."""

    def wait(text: str) -> None:
        if not asked.ask(f"{text}; then Enter:"):
            raise BenchError("nobody is there to do it: standard input has ended")

    return wait


def _again(asked: Asked) -> Callable[[int], bool]:
    """Return what waits for a point to be set; False where a person says that there are no more."""

    def more(number: int) -> bool:
        what = "burst" if asked.quantity == "adc" else "point"
        answer = asked.ask(f"{what} {number}: set it, then Enter; e to end:")
        return bool(answer) and answer.strip().lower() not in ("e", "end")

    return more


def _trip(asked: Asked) -> trip.Tripped:
    if asked.points_file is not None:
        spec, count = f"csv:{asked.points_file}", None
    else:
        spec = asked.meter
        for text in (*CAUTIONS, *trip.SETUP):
            asked.say(text)
        count = _MOST
    with open_meter(spec, "meter" if spec.startswith("csv:") else "trip", "A") as meter:
        readings: list[float] = []
        if count is None:
            readings = meter.all()
        else:
            more = _again(asked)
            while len(readings) < count and more(len(readings) + 1):
                readings.append(meter())
        return trip.tripped(asked.file, readings, asked.accuracy, meter.name, asked.also)
