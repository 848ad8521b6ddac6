"""Uneven codes of the converter, from a slow ramp: which are too wide, and what reads near them.

A slow even ramp gives every code as many readings as it is wide (code density test, IEEE Std 1241).
A code is called wide where it holds more than its neighbours' median by more than a whole code and
by five of the counting's own standard deviations. Noise ahead of the converter does not blur that.

What it can't see: how far the codes as a whole bend from a straight line; that takes some thousand
readings a code, an hour of ramp. So a ramp can raise the converter's tolerance, never lower it.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from diodedriver.driver import unfold
from diodewright.bench.calibrate_edits import edits_of
from diodewright.bench.calibrate_margin import Bought, bought, moved_words
from diodewright.bench.line import Line
from diodewright.bench.problems import BenchError
from diodewright.bench.tables import rows_of
from diodewright.build import Build, load
from diodewright.build.edit import Edit
from diodewright.build.plain_file import printable
from diodewright.derive.calibrated import adc_uneven_codes
from diodewright.derive.settings import settings

__all__ = ["SETUP", "Near", "Uneven", "Wide", "codes_of", "ramp", "uneven", "wide_codes"]

SETUP = (
    "Bench supply at TP2 through 1 kohm, J2 open, dark. Turn it slowly and evenly through bursts "
    "of six seconds, up to just below the over-voltage trip.",
)
_CODES = 4096
_AROUND = 24
#: Readings a code that a verdict takes.
_LEAST = 8.0
_BURST_S = 6
_ROWS = 32
_OUTPUT = 1
_MOST_BYTES = 50_000_000


@dataclass(frozen=True)
class Wide:
    """One code that is too wide: by how many codes, more or less by two standard deviations."""

    code: int
    extra_codes: float
    extra_95_codes: float


@dataclass(frozen=True)
class Near:
    """A word of the settings that reads within a wide code's reach: its name and its code."""

    word: str
    code: int


@dataclass(frozen=True)
class Uneven:
    """What a ramp found; the last five as in `calibrate.Calibrated`."""

    readings: int
    low: int
    high: int
    wide: tuple[Wide, ...]
    near: tuple[Near, ...]
    meter: str
    keys: dict[str, float]
    edits: tuple[Edit, ...]
    bands: tuple[Bought, ...]
    words: tuple[tuple[str, int, int], ...]


def wide_codes(codes: Sequence[int]) -> tuple[int, int, tuple[Wide, ...]]:
    """Return first and last code that a ramp passed through, and the wide ones between.

    Raises
    ------
    BenchError
        Too few readings for its span, or no ramp.
    """
    counts = [0] * _CODES
    for code in codes:
        counts[code] += 1
    seen = [code for code, count in enumerate(counts) if count]
    if len(seen) < 4 * _AROUND:
        raise BenchError(f"adc: the ramp passed {len(seen)} codes: at least {4 * _AROUND}")
    low, high = seen[0], seen[-1]
    mean = len(codes) / (high - low + 1)
    if mean < _LEAST:
        raise BenchError(
            f"adc: {mean:.2g} readings a code, at least {_LEAST:g}: a slower ramp, or more bursts"
        )
    # where the ramp begins and ends it stands still, which looks like a wide code
    inner = range(low + _AROUND, high - _AROUND + 1)
    found = (_judged(counts, code) for code in inner)
    return low, high, tuple(each for each in found if each is not None)


def _judged(counts: Sequence[int], code: int) -> Wide | None:
    expected = median(
        counts[near] for near in range(code - _AROUND, code + _AROUND + 1) if near != code
    )
    if expected < 1:
        return None
    over = counts[code] - expected
    if over <= expected or over <= 5.0 * math.sqrt(expected):
        return None
    return Wide(code, over / expected, 2.0 * math.sqrt(counts[code]) / expected)


def uneven(file: str, codes: Sequence[int], source: str, also: Sequence[str] = ()) -> Uneven:
    """Return what a ramp's codes say of the build's converter.

    Raises
    ------
    BenchError
        Too few codes, or no ramp.
    BuildErrors
        A file is wrong.
    """
    build = load(file)
    low, high, wide = wide_codes(codes)
    worst = max((each.extra_codes + each.extra_95_codes for each in wide), default=0.0)
    keys: dict[str, float] = {}
    if worst > adc_uneven_codes(build):
        keys["calibration.adc_uneven_codes"] = math.ceil(10 * worst) / 10
    note = f"widest code of {source}"[:80]
    edits = edits_of(file, also, keys, note)
    after = edits[0].build
    return Uneven(
        len(codes),
        low,
        high,
        wide,
        tuple(_near(build, wide)),
        source,
        keys,
        edits,
        bought(build, after),
        tuple(moved_words(build, after)),
    )


#: Words of thresholds that look at a code directly, and the full scale that turns them into one.
_READS = {
    "current_full_mA": ("level_0_mA", "level_1_mA", "level_2_mA", "overcurrent_mA", "dark_mA"),
    "pack_full_mV": ("cutback_mV", "cutback_end_mV", "lockout_mV", "loaded_min_mV", "rearm_mV"),
    "output_full_mV": ("open_mV", "short_mV", "safe_mV"),
}


def _near(build: Build, wide: Sequence[Wide]) -> list[Near]:
    """Return the words whose code lies within a wide code's own width of it."""
    values = settings(build)
    rows = []
    for full, names in _READS.items():
        for name in names:
            code = round(values[name] * 4096 / values[full])
            if any(abs(code - each.code) <= each.extra_codes + 2 for each in wide):
                rows.append(Near(name, code))
    return rows


def codes_of(file: Path) -> list[int]:
    """Return the codes of a CSV with a column ``code``; BenchError where there are none."""
    shown = printable(str(file))
    rows = [cells for _, cells in rows_of(file, _MOST_BYTES)]
    if not rows or "code" not in rows[0]:
        raise BenchError(f"{shown}: no column code")
    at = rows[0].index("code")
    codes = []
    for number, row in enumerate(rows[1:], start=2):
        cell = row[at] if at < len(row) else ""
        if not cell.isdecimal() or int(cell) >= _CODES:
            raise BenchError(
                f"{shown}: row {number}: {printable(cell)[:20]!r} is no code of 12 bits"
            )
        codes.append(int(cell))
    return codes


def ramp(line: Line, again: Callable[[int], bool]) -> list[int]:
    """Return the output's codes of one burst after the other, until a person ends it.

    Raises
    ------
    BenchError
        The board would not keep a burst, or a damaged reply.
    """
    codes: list[int] = []
    number = 1
    while again(number):
        line.tell(f"BURS:STAR {_BURST_S}")
        kept, wanted = 0, 1
        while kept < wanted:
            line.listen(0.02)
            kept, wanted = (int(part) for part in line.ask("BURS:COUN?").split(","))
        for row in range(0, kept, _ROWS):
            said = line.ask_sealed(f"BURS:ROWS? {row},{min(_ROWS, kept - row)}")
            pairs = said.split(",")[2:]
            codes += [unfold(int(each[:8], 16), int(each[8:], 16))[_OUTPUT] for each in pairs]
        number += 1
    return codes
