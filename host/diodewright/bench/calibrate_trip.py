"""The over-current comparator's trip, from several slow approaches of a current to it.

The stage can't be used for it: its full drive lies below the trip by design. A bench source feeds
the monitor shunt alone, the controller in maintenance or not fitted yet, and is raised slowly until
the latch's probe point goes high; the current there is typed or asked of a meter. Nothing in it
needs the board's serial port.

Method. Mean and scatter of the approaches; the next one lies within t(99.73 %) s sqrt(1 + 1/n) of
the mean (JCGM 100:2008, table G.2 and 4.2). The meter's accuracy and what heat does to reference
and amplifier are added in full.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from diodewright.bench.calibrate_edits import edits_of
from diodewright.bench.calibrate_margin import Bought, bought, moved_words
from diodewright.bench.problems import BenchError
from diodewright.build import load
from diodewright.build.edit import Edit

__all__ = ["FEWEST", "SETUP", "STUDENT", "Tripped", "tripped"]

FEWEST = 3
SETUP = (
    "Stage not powered, J1 open: a bench source through R4 alone, limit a tenth above the trip; "
    "controller in maintenance, in reset or not fitted.",
    "Raise the current slowly until TP6 goes high: that current is one reading. Pulse the latch's "
    "reset and come again, at least three times.",
)
#: Student's t that holds 99.73 % of degrees of freedom 1, 2, ...: JCGM 100:2008, table G.2.
STUDENT = (235.80, 19.21, 9.22, 6.62, 5.51, 4.90, 4.53, 4.28, 4.09, 3.96)
#: Reference and amplifier over temperature, of the trip; typical, no source.
DRIFT_PCT = 1.0


@dataclass(frozen=True)
class Tripped:
    """What the approaches found.

    Attributes
    ----------
    meter, accuracy_pct : what the current is from, and its accuracy.
    readings_A : the approaches.
    mean_A, scatter_A : of them.
    band_A, band_before_A : lowest and highest trip, now and as the build file had it.
    keys, edits, bands, words : as in `calibrate.Calibrated`.
    """

    meter: str
    accuracy_pct: float
    readings_A: tuple[float, ...]
    mean_A: float
    scatter_A: float
    band_A: tuple[float, float]
    band_before_A: tuple[float, float]
    keys: Mapping[str, float]
    edits: tuple[Edit, ...]
    bands: tuple[Bought, ...]
    words: tuple[tuple[str, int, int], ...]


def tripped(
    file: str,
    readings_A: Sequence[float],
    accuracy_pct: float,
    meter: str,
    also: Sequence[str] = (),
) -> Tripped:
    """Return the trip's band after several approaches.

    Raises
    ------
    BenchError
        Too few, a trip that the build file's band excludes, or a band that is no narrower.
    BuildErrors
        A file is wrong, or would be with the new band.
    """
    if len(readings_A) < FEWEST:
        raise BenchError(f"trip: {len(readings_A)} approaches, at least {FEWEST}, better ten")
    build = load(file)
    before = (build.comparator.trip_min_A, build.comparator.trip_max_A)
    mean_A, scatter_A = fmean(readings_A), stdev(readings_A)
    by_meter_A = accuracy_pct / 100 * mean_A
    _refuse_outside(mean_A, before, by_meter_A)
    count = len(readings_A)
    factor = STUDENT[min(count - 1, len(STUDENT)) - 1]
    half_A = factor * max(scatter_A, 0.0005) * math.sqrt(1 + 1 / count)
    half_A += by_meter_A + DRIFT_PCT / 100 * mean_A
    band = (
        math.floor(1000 * (mean_A - half_A)) / 1000,
        math.ceil(1000 * (mean_A + half_A)) / 1000,
    )
    if band[1] - band[0] >= before[1] - before[0]:
        raise BenchError(
            f"trip: nothing is gained: {band[0]:g} to {band[1]:g} A is no narrower than the build "
            f"file's {before[0]:g} to {before[1]:g} A: more approaches, or a better meter"
        )
    keys = {"comparator.trip_min_A": band[0], "comparator.trip_max_A": band[1]}
    note = f"{count} approaches by {meter}"[:80]
    edits = edits_of(file, also, keys, note)
    after = edits[0].build
    return Tripped(
        meter,
        accuracy_pct,
        tuple(readings_A),
        mean_A,
        scatter_A,
        band,
        before,
        keys,
        edits,
        bought(build, after),
        tuple(moved_words(build, after)),
    )


def _refuse_outside(mean_A: float, band: tuple[float, float], by_meter_A: float) -> None:
    if band[0] - by_meter_A <= mean_A <= band[1] + by_meter_A:
        return
    raise BenchError(
        f"trip: {mean_A:.4g} A lies outside of the parts' {band[0]:g} to {band[1]:g} A: R4's taps, "
        "U2's gain or U3's reference; a diode's current besides, or the meter's range"
    )
