"""Points for a calibration: of a file, or board and meter read together.

At a point the board is read many times, in blocks between which the meter is read, so that both see
the same stretch of time. What drifts meanwhile is refused. The scatter of the board's readings
holds noise and rounding; the meter's own is that of its readings, or where a person reads it once,
a tenth of its accuracy (common practice, no source).
"""

import math
from collections import deque
from collections.abc import Sequence
from pathlib import Path
from statistics import fmean, stdev

from diodewright.bench.calibrate_line import Point
from diodewright.bench.calibrate_rows import Row
from diodewright.bench.line import Line
from diodewright.bench.meters import Meter, number_in
from diodewright.bench.problems import BenchError
from diodewright.bench.tables import rows_of
from diodewright.build.plain_file import printable

__all__ = ["points_of", "take"]

_BLOCK = 20
_BLOCKS = 4
#: Blocks that a reading may take to settle.
_PATIENCE = 60
_MOST_BYTES = 1_000_000
#: SCPI's "not a number" and beyond.
_NO_READING = 9e37


def _meter_u(value: float, accuracy: float, row: Row) -> float:
    """Return the standard uncertainty of a meter's scatter where it was read once."""
    bounds = accuracy if row.is_temperature else accuracy / 100.0 * abs(value)
    return 0.1 * max(bounds, 1e-6) / math.sqrt(3.0)


def points_of(file: str | Path, row: Row, accuracy: float) -> list[Point]:
    """Return the points of a CSV with the columns ``board_UNIT`` and ``meter_UNIT``.

    A column ``board_scatter_UNIT`` gives the standard uncertainty of the board's mean; else it is
    a code's.

    Raises
    ------
    BenchError
        No such file or column, or a cell that is no reading.
    """
    shown = printable(str(file))
    rows = [cells for _, cells in rows_of(file, _MOST_BYTES)]
    head = rows[0] if rows else []
    wanted = (f"board_{row.unit}", f"meter_{row.unit}")
    missing = [name for name in wanted if name not in head]
    if missing:
        raise BenchError(f"{shown}: no column {missing[0]}; it needs {' and '.join(wanted)}")
    points = []
    for number, line in enumerate(rows[1:], start=2):
        cells = dict(zip(head, line, strict=False))
        try:
            read, true = (number_in(cells.get(name, ""), row.unit) for name in wanted)
            scatter = cells.get(f"board_scatter_{row.unit}", "")
            read_u = number_in(scatter, row.unit) if scatter else _LEAST_U[row.unit]
        except ValueError as error:
            raise BenchError(f"{shown}: row {number}: {error}") from None
        points.append(Point(read, read_u, true, _meter_u(true, accuracy, row)))
    return points


#: The board's own rounding as a standard uncertainty: a step over the square root of twelve.
_LEAST_U = {"A": 0.001 / math.sqrt(12), "V": 0.001 / math.sqrt(12), "degC": 0.01 / math.sqrt(12)}


def _asked(line: Line, row: Row) -> float:
    said = line.ask(row.query)
    try:
        value = float(said)
    except ValueError:
        raise BenchError(
            f"{line.name}: {row.query}: {printable(said)[:40]} is no reading"
        ) from None
    if not abs(value) < _NO_READING:
        raise BenchError(f"{line.name}: the board has no reading yet: its law does not run")
    return value


def _block(line: Line, row: Row) -> list[float]:
    return [_asked(line, row) for _ in range(_BLOCK)]


def _settled(line: Line, row: Row) -> None:
    """Wait until the ends of a stretch as long as a point's agree within their scatter.

    Two blocks in a row would: a tail of 0.1 s hardly moves from one to the next.
    """
    blocks = deque((_block(line, row) for _ in range(_BLOCKS)), maxlen=_BLOCKS)
    for _ in range(_PATIENCE):
        if _agree(blocks[0], blocks[-1], row):
            return
        blocks.append(_block(line, row))
    raise BenchError(
        f"{row.noun}: the board's reading does not come to rest ({fmean(blocks[-1]):.4g})"
    )


def _agree(a: Sequence[float], b: Sequence[float], row: Row) -> bool:
    own = math.hypot(stdev(a), stdev(b)) / math.sqrt(_BLOCK)
    return abs(fmean(a) - fmean(b)) <= 4.0 * own + 3.5 * _LEAST_U[row.unit]


def take(line: Line, meter: Meter, row: Row, accuracy: float) -> Point:
    """Return one point: the board's mean and the meter's, over one stretch of time.

    Raises
    ------
    BenchError
        No reading, or one that drifts; whatever meter and port raise.
    """
    _settled(line, row)
    reads, trues = [_block(line, row)], list[float]()
    for _ in range(_BLOCKS - 1):
        trues.append(meter())
        reads.append(_block(line, row))
        if meter.single:
            break
    if not _agree(reads[0], reads[-1], row):
        raise BenchError(
            f"{row.noun}: the board's reading moved from {fmean(reads[0]):.4g} to "
            f"{fmean(reads[-1]):.4g} {row.unit} while the meter was read: once more, steadier"
        )
    every = [value for block in reads for value in block]
    true = fmean(trues)
    scatter = stdev(trues) / math.sqrt(len(trues)) if len(trues) > 1 else 0.0
    return Point(
        fmean(every),
        math.hypot(stdev(every) / math.sqrt(len(every)), _LEAST_U[row.unit] / 10),
        true,
        math.hypot(scatter, _meter_u(true, accuracy, row)),
    )
