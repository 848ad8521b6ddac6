"""The figures of a choice: what it gives, in a builder's words, each with where it is from."""

from collections.abc import Mapping

import numpy as np

from diodewright.build import Build
from diodewright.derive.guard_bands import GuardBand
from diodewright.sim import Trace
from diodewright.sim.tally import NEVER
from diodewright.size.figure import Figure
from diodewright.size.optical import light_lm
from diodewright.size.warming import kept_by_heat
from diodewright.tune.hunting import Swing
from diodewright.tune.lasting import pack_min
from diodewright.tune.runs import WarmRun

__all__ = ["figures_of", "tightest_band"]

#: Light that is told as sustained is the mean of so much of a use's end [s].
_LAST_S = 30.0
#: The steepest rise is read over so much, and the largest step of light within so much [ms].
_STEEP_MS, _STEP_MS = 10, 20
_ONE_USE = "a use of ten minutes, full pack, typical parts"
_NO_HOLD = "the law's heat budget, the sensor's lag, the pack"


def figures_of(
    build: Build,
    words: Mapping[str, int],
    warm: WarmRun,
    swing: Swing | None,
    bands: tuple[GuardBand, ...],
) -> tuple[Figure, ...]:
    """Return the figures of one choice from its use, in the order of a table."""
    return (
        *_light(build, warm),
        *_lasting(build, words, warm),
        *_start(warm),
        *_peaks(warm),
        *_bands(bands),
        *([] if swing is None else _hunting(swing)),
    )


def _light(build: Build, warm: WarmRun) -> list[Figure]:
    first_W, last_W = warm.values["light_first_minute_W"], _last(warm, "light_W")
    rows = [
        Figure("light_first_minute_W", first_W, "W", "light at the end of the first minute"),
        Figure("light_sustained_W", last_W, "W", f"light in the last half minute of {_ONE_USE}"),
    ]
    if light_lm(build, 1.0) > 0:
        for row in tuple(rows):
            seen_lm = light_lm(build, row.value)
            rows.append(Figure(f"{row.id[:-1]}lm", seen_lm, "lm", f"{row.meaning}, as seen"))
    return rows


def _last(warm: WarmRun, column: str) -> float:
    """Return the mean of the last lit half minute; 0 where it never lit."""
    assert warm.trace is not None
    time_s, lit = warm.trace["time_s"], warm.trace["drive_A"] > 0
    if not lit.any():
        return 0.0
    end_s = time_s[lit][-1]
    return float(np.mean(warm.trace[column][lit & (time_s >= end_s - _LAST_S)]))


def _lasting(build: Build, words: Mapping[str, int], warm: WarmRun) -> list[Figure]:
    kept_A = kept_by_heat(build, words).diode_A
    cut_s = warm.values["first_heat_cut_s"]
    before_s = warm.values["before_cutback_s"]
    cut = cut_s != NEVER
    said = "full level before heat cuts back" if cut else "full level, not cut back in the use"
    rows = [
        Figure("before_cutback_s", before_s, "s", f"{said}: {_ONE_USE}"),
        Figure("settled_A", kept_A, "A", "where heat holds a light left on, full pack", _NO_HOLD),
    ]
    minutes = pack_min(build, words, before_s if cut else np.inf, kept_A)
    if minutes is not None:
        said = "light from one full pack, full level and then what heat leaves"
        rows.append(Figure("pack_min", minutes, "min", said, "cold, age, auto-off"))
    return rows


def _start(warm: WarmRun) -> list[Figure]:
    steep_A_s, step_pct = _gentleness(warm.trace) if warm.trace is not None else (0.0, 0.0)
    return [
        Figure("start_A_s", steep_A_s, "A/s", f"steepest rise of current over {_STEEP_MS} ms"),
        Figure("start_step_pct", step_pct, "%", f"largest rise of light within {_STEP_MS} ms"),
    ]


def _gentleness(trace: Trace) -> tuple[float, float]:
    """Return the steepest rise [A/s] and the largest step of light [% of the highest]."""
    ms = np.round(1000 * trace["time_s"]).astype(int)
    lit = np.flatnonzero(trace["drive_A"] > 0)
    light_W = trace["light_W"]
    if not len(lit):
        return 0.0, 0.0
    # the rise is kept tick by tick: the rows between the two gaps around the first light
    gaps = np.flatnonzero(np.diff(ms) > 1) + 1
    place = int(np.searchsorted(gaps, lit[0], "right"))
    begin = int(gaps[place - 1]) if place else 0
    end = int(gaps[place]) if place < len(gaps) else len(ms)
    current_A, rise_W = trace["diode_A"][begin:end], light_W[begin:end]
    steep_A = np.max(current_A[_STEEP_MS:] - current_A[:-_STEEP_MS], initial=0.0)
    step_W = np.max(rise_W[_STEP_MS:] - rise_W[:-_STEP_MS], initial=0.0)
    top_W = float(np.max(light_W))
    return float(1000 * steep_A / _STEEP_MS), float(100 * step_W / top_W) if top_W > 0 else 0.0


#: Tally quantity -> its name here and what it is.
_PEAKS = {
    "peak_current_A": ("peak_A", "A", "highest true diode current in use"),
    "peak_junction_degC": ("junction_degC", "degC", "hottest junction in use"),
    "peak_mount_degC": ("mount_degC", "degC", "hottest mount in use"),
    "peak_sink_degC": ("sink_degC", "degC", "hottest sink in use"),
}


def _peaks(warm: WarmRun) -> list[Figure]:
    return [
        Figure(name, warm.values[column], unit, said)
        for column, (name, unit, said) in _PEAKS.items()
    ]


def tightest_band(bands: tuple[GuardBand, ...]) -> GuardBand:
    """Return the threshold with the least of its band left, as part of what is built in."""
    return min(bands, key=lambda band: (band.built_in - band.needed) / max(band.built_in, 1e-12))


def _bands(bands: tuple[GuardBand, ...]) -> list[Figure]:
    """Return how far a healthy light is from a false trip at the threshold nearest to one."""
    band = tightest_band(bands)
    left_pct = 100 * (band.built_in - band.needed) / band.built_in if band.built_in else 0.0
    said = f"of the narrowest guard band left at worst parts: {band.row} ({band.word})"
    return [Figure("false_trip_margin_pct", left_pct, "%", said)]


def _hunting(swing: Swing) -> list[Figure]:
    said = "swing of the light in settled cutback, trough to peak"
    if swing.period_s is not None:
        said += f", every {swing.period_s:.3g} s"
    return [Figure("hunting_pct", 100 * swing.share, "%", said)]
