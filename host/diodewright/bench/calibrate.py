"""One calibration from its points to what would be written: the build file's keys, and no more.

Nothing here writes. The board's own settings follow from the build file: `flash` puts them on the
board, behind its rehearsal.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from diodewright.bench.calibrate_edits import edits_of
from diodewright.bench.calibrate_keys import Found, as_line, found
from diodewright.bench.calibrate_line import Fitted, Point, straight_line
from diodewright.bench.calibrate_margin import Bought, bought, moved_words
from diodewright.bench.calibrate_rows import ROWS, Row
from diodewright.bench.calibrate_take import take
from diodewright.bench.line import Line
from diodewright.bench.meters import Meter
from diodewright.bench.problems import BenchError
from diodewright.build import Build, BuildErrors, load
from diodewright.build.edit import Edit
from diodewright.build.source import is_path
from diodewright.derive.electrics import highest_level_A

__all__ = [
    "Calibrated",
    "board_build",
    "calibrated",
    "current_points",
    "refuse_lit",
    "set_points",
    "steps_A",
]

_LIT = ("run", "limited")
_FEWEST, _MOST = 2, 20


@dataclass(frozen=True)
class Calibrated:
    """What one calibration found.

    Attributes
    ----------
    row : of the quantity.
    meter : what the truth is from; accuracy : of it, % (K of a temperature).
    points, line : as measured, in the quantity's unit; on the axis where they are straight.
    result : keys, gains and what is left uncertain.
    edits : the changed files, the build's own first.
    bands, words : what it buys, and the settings words that change.
    """

    row: Row
    meter: str
    accuracy: float
    points: tuple[Point, ...]
    line: Fitted
    result: Found
    edits: tuple[Edit, ...]
    bands: tuple[Bought, ...]
    words: tuple[tuple[str, int, int], ...]


def calibrated(
    file: str,
    quantity: str,
    points: Sequence[Point],
    accuracy: float,
    meter: str,
    also: Sequence[str] = (),
    board: Build | None = None,
) -> Calibrated:
    """Return what `points` say about one quantity of the build in `file`.

    Parameters
    ----------
    accuracy : of the meter, % of its reading; of a thermometer K.
    also : further build files of the same circuit, which get the same keys.
    board : the build whose settings made the readings, where it is another one than the file's.

    Raises
    ------
    BenchError
        The points are none that a calibration can rest on.
    BuildErrors
        A file is wrong, or would be with the new keys.
    """
    row = ROWS[quantity]
    build = load(file)
    base = board or build
    straight = [_straight(row, point) for point in points]
    line = straight_line(straight, row.least_span(base), row.uneven(base), row.unit, row.noun)
    result = found(row, base, line, accuracy)
    edits = edits_of(file, also, result.keys, f"calibrated against {meter}"[:80])
    after = edits[0].build
    return Calibrated(
        row,
        meter,
        accuracy,
        tuple(points),
        line,
        result,
        edits,
        bought(build, after),
        tuple(moved_words(build, after)),
    )


def _straight(row: Row, point: Point) -> Point:
    """Return a point on the axis on which the calibration is a straight line."""
    if not row.is_temperature:
        return point
    steep = (298.15 / (point.true + 273.15)) ** 2
    return Point(
        as_line(row, point.read),
        point.read_u * steep,
        as_line(row, point.true),
        point.true_u * steep,
    )


def board_build(line: Line, file: str) -> Build:
    """Return the build that the board's settings came from: the file's, or one kept beside it.

    Raises
    ------
    BenchError
        The board's settings came from another build: what it reads can't be told.
    """
    for each in _versions(file):
        try:
            build = load(each)
        except BuildErrors:
            if each == file:
                raise
            continue
        if build.fingerprint[:16] == line.identity.build:
            return build
    raise BenchError(
        f"{line.name}: the board's settings are of build {line.identity.build}, neither of {file} "
        f"nor of one kept beside it: diodewright flash {file}"
    )


def _versions(file: str) -> Iterator[str]:
    yield file
    if is_path(file):
        kept = sorted(Path(file).parent.glob(f"{Path(file).name}.before-*"))
        yield from (str(path) for path in kept if path.suffix.partition("-")[2].isdigit())


def refuse_lit(row: Row, build: Build, real_diode: bool) -> None:
    """Raise BenchError where light would be needed into a real diode and nobody said so."""
    if row.lit and build.diode.kind != "dummy_string" and not real_diode:
        raise BenchError(
            f'{build.name}: diode.kind = "{build.diode.kind}": calibrate {row.noun} on its build '
            "with a dummy string first, then --also this file; or say --real-diode"
        )


def steps_A(build: Build) -> list[float]:
    """Return the currents to measure at: four from the least to the highest level, or the one.

    A level whose code lies near 512, 1536, 2560 or 3584, where a common converter is uneven, is
    moved off by twenty codes.
    """
    top_A = highest_level_A(build)
    if build.stage.kind == "gated":
        return [top_A]
    low_A = max(build.limits.start_level_A, 0.1 * top_A)
    code_A = ROWS["current"].code(build)
    return [_off_bad_codes(low_A + (top_A - low_A) * part / 3, code_A, top_A) for part in range(4)]


def _off_bad_codes(at_A: float, code_A: float, top_A: float) -> float:
    code = at_A / code_A
    nearest = 512 + 1024 * round((code - 512) / 1024)
    if abs(code - nearest) < 20:
        moved_A = (nearest + 20) * code_A
        at_A = moved_A if moved_A <= top_A else (nearest - 20) * code_A
    return math.floor(1000 * at_A) / 1000


def current_points(
    line: Line,
    meter: Meter,
    build: Build,
    accuracy: float,
    ask: Callable[[str], None],
) -> list[Point]:
    """Return the current's points: one level after the other, then dark.

    Parameters
    ----------
    ask : tells a person what to do, and returns once it was done.

    Raises
    ------
    BenchError
        No light comes, or it goes out on the way; whatever a point raises.
    """
    row = ROWS["current"]
    points = []
    if build.stage.kind == "gated":
        ask("let the trigger go: the first point is dark, the meter at nothing")
        points.append(take(line, meter, row, accuracy))
    steps = steps_A(build)
    if build.stage.kind != "gated":
        line.tell(f"CURR {steps[0]:.3f}")
    ask("press the trigger and hold it until the last point")
    try:
        for at_A in steps:
            if build.stage.kind != "gated":
                line.tell(f"CURR {at_A:.3f}")
            _lit(line)
            points.append(take(line, meter, row, accuracy))
            _lit(line)
    finally:
        _dark(line)
    return points


def _lit(line: Line) -> None:
    """Wait until the light stands; BenchError where it does not come or has gone."""
    for _ in range(2000):
        mode = line.ask("STAT:MODE?").strip('"')
        if mode in _LIT:
            return
        if mode in ("dark", "fault", "pack_low", "barred"):
            raise BenchError(f"{line.name}: no light ({mode}; {line.ask('STAT:CAUS?')})")
    raise BenchError(f"{line.name}: the light does not come to rest")


def _dark(line: Line) -> None:
    """Make it dark, and let the next press light again; a board that is gone is dark already."""
    try:
        line.tell("OUTP OFF")
        line.tell("OUTP ON")
    except BenchError:
        return


def set_points(
    line: Line,
    meter: Meter,
    row: Row,
    accuracy: float,
    again: Callable[[int], bool],
) -> list[Point]:
    """Return points of which a person sets each; `again(n)` waits for point n or ends them."""
    points: list[Point] = []
    while len(points) < _MOST and again(len(points) + 1):
        points.append(take(line, meter, row, accuracy))
    if len(points) < _FEWEST:
        raise BenchError(f"{row.noun}: {len(points)} point: a line takes two, better four")
    return points
