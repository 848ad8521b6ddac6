"""What a sweep's points say of the diode: threshold, slope, resistance, heat, with their errors.

Equations. Two segments: light is one straight line below the threshold and another above, which
meet there; least squares over the points up to 40 % of the brightest. Second derivative: the
threshold is where the light's slope changes most; its grain is the step. Heat: the junction stands
at ``mount + K (V I - P)`` with the build's K; then ``P = eta exp(-(Tj - 25)/T1) (I - I0 exp((Tj -
25)/T0))`` is fitted for eta, I0 and T1, with T0 as the build has it: one mount's sweep can't tell
T0 from T1. Voltage: ``V = a + b ln(I / 1 A) + Rs I + tc (Tj - 25)``, for a and Rs; b and tc are the
build's.

Source. Both threshold methods are the trade's usual ones, from memory (no standard was read); the
laws are those of `plant.diode`. Errors are one standard deviation of the fit, scaled to what the
points scatter (lmfit); the meter's and the monitor's own errors come on top, as `systematic` says.

Limits. K, tc, b and T0 are believed: an error of K moves T1 by as much. What is fitted holds
between the first and last point and says nothing of life.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from diodewright.bench.problems import BenchError
from diodewright.bench.sweep import DRIFT, SIGNS, Plan, Point, Stop, Trail
from diodewright.build import Build
from diodewright.build.extras import Missing
from diodewright.derive.electrics import bisected, parameters, settle_on_mount
from diodewright.plant.kernel import Record

__all__ = ["Figure", "Fits", "fitted", "recommended"]

#: The threshold is looked for among the points up to this share of the brightest.
_LOW = 0.40
#: The straight part, where heat is fitted, begins at this share.
_STRAIGHT = 0.05
#: Below this share of its class's threshold a laser is dark.
_DARK = 0.55
_FEWEST = 8
_REFERENCE_degC = 25.0
#: A T1 whose inverse is not this many errors from 0 is not resolved.
_RESOLVED = 2.0
#: Part of a current at which there was a sign, or of an absolute maximum, that is recommended; and
#: what a junction is kept below its limit [K]. Common practice of derating, from memory.
DERATE = 0.80
COOLER_K = 25.0

_Array = NDArray[np.float64]


@dataclass(frozen=True)
class Figure:
    """A value and its error: one standard deviation of the fit, and the instruments' own beside."""

    value: float
    error: float


@dataclass(frozen=True)
class Fits:
    """What was found; the unit ends each name.

    Attributes
    ----------
    threshold_A, slope_W_A : as measured, by two segments, and the highest slope; of an LED the
        threshold is None.
    bend_A : threshold by the second derivative; None where there is none.
    threshold_25_A, slope_25_W_A : at a junction of 25 degC.
    slope_T1_K : None where the sweep does not resolve it.
    rs_ohm, a_V : of the forward voltage at 25 degC.
    off_W : largest distance of a lit point from the fit [W].
    systematic : share by which a slope of light may be off, in its error already.
    """

    threshold_A: Figure | None
    bend_A: float | None
    slope_W_A: Figure
    threshold_25_A: Figure
    slope_25_W_A: Figure
    slope_T1_K: Figure | None
    rs_ohm: Figure
    a_V: Figure
    off_W: float
    systematic: float


def fitted(trail: Trail, build: Build, plan: Plan, meter_pct: float) -> Fits:
    """Return what the points of a sweep say.

    Raises
    ------
    BenchError
        Too few points with light.
    Missing
        lmfit is not installed.
    """
    if len(trail.lit) < _FEWEST:
        raise BenchError(
            f"{len(trail.lit)} points with light, {_FEWEST} are needed to fit anything"
        )
    p = parameters(build)
    seen = _Seen(trail, plan, p)
    threshold = _two_segments(seen) if p.threshold_A > 0 else None
    start = p.threshold_A if threshold is None else threshold.value
    heat = _heat(seen, p, start, trail.best_W_A)
    a_V, rs_ohm = _volts(seen, p)
    own = systematic(build, meter_pct)
    monitor = build.sensors.monitor_tolerance_pct / 100
    warm = abs(p.threshold_1_K) * build.sensors.ntc_tolerance_degC
    volts = math.hypot(monitor, build.sensors.voltage_tolerance_pct / 100)
    return Fits(
        threshold_A=threshold and _wider(threshold, monitor),
        bend_A=_bend_A(seen) if p.threshold_A > 0 else None,
        slope_W_A=_wider(_best(seen, trail), own),
        threshold_25_A=_wider(heat.threshold, math.hypot(warm, monitor)),
        slope_25_W_A=_wider(heat.slope, own),
        slope_T1_K=heat.T1,
        rs_ohm=_wider(rs_ohm, volts),
        a_V=_wider(a_V, build.sensors.voltage_tolerance_pct / 100),
        off_W=float(np.abs(heat.off_W).max()),
        systematic=own,
    )


def systematic(build: Build, meter_pct: float) -> float:
    """Return the share by which a slope of light may be off, whatever the points scatter."""
    return math.hypot(meter_pct, build.sensors.monitor_tolerance_pct) / 100


def _wider(figure: Figure, share: float) -> Figure:
    """Return the figure with what instruments may be off by, as a share, beside its scatter."""
    return Figure(figure.value, math.hypot(figure.error, share * abs(figure.value)))


class _Seen:
    """The points as columns."""

    def __init__(self, trail: Trail, plan: Plan, p: Record) -> None:
        points: Sequence[Point] = trail.points
        self.current_A = np.array([point.asked_A for point in points])
        self.light_W = np.array([point.light_W for point in points])
        self.light_W -= self._dark_W(points, p.threshold_A)
        self.volts_V = np.array([point.volts_V for point in points])
        heat_W = self.volts_V * self.current_A - self.light_W
        mount_degC = np.array([point.mount_degC for point in points])
        self.over_K = mount_degC + p.junction_mount_K_W * heat_W - _REFERENCE_degC
        own_W = np.array([point.error_W for point in points])
        set_W = trail.best_W_A * plan.resolution_A
        self.error_W = np.sqrt(own_W**2 + set_W**2 + (DRIFT * self.light_W) ** 2) + 1e-9

    def _dark_W(self, points: Sequence[Point], threshold_A: float) -> float:
        """Return what the meter showed well below a laser's threshold [W]: its zero."""
        dark = [each.light_W for each in points if each.asked_A < _DARK * threshold_A]
        return sum(dark) / len(dark) if dark else 0.0


def _lmfit() -> Any:
    try:
        import lmfit
    except ImportError:
        raise Missing("lmfit, which fits with uncertainty,") from None
    return lmfit


def _two_segments(seen: _Seen) -> Figure | None:
    low = seen.light_W <= _LOW * seen.light_W.max()
    x, y, error = seen.current_A[low], seen.light_W[low], seen.error_W[low]
    rising = y > 0.25 * y.max()
    if len(x) < _FEWEST or rising.sum() < 2:
        return None
    slope, offset = np.polyfit(x[rising], y[rising], 1)
    knee_A = float(np.clip(-offset / slope, x[1], x[-2]))

    def off(values: Any) -> _Array:
        v = values.valuesdict()
        line = v["dark_W"] + v["low"] * x + (v["high"] - v["low"]) * np.maximum(0, x - v["knee_A"])
        return (line - y) / error  # type: ignore[no-any-return]

    lmfit = _lmfit()
    names = lmfit.Parameters()
    names.add("dark_W", value=0.0)
    names.add("low", value=0.0)
    names.add("high", value=float(slope))
    names.add("knee_A", value=knee_A, min=float(x[0]), max=float(x[-1]))
    found = lmfit.minimize(off, names)
    return _figure(found, "knee_A", float(np.diff(x).max()))


def _figure(found: Any, name: str, else_error: float) -> Figure:
    each = found.params[name]
    return Figure(float(each.value), float(each.stderr) if each.stderr else else_error)


def _bend_A(seen: _Seen) -> float | None:
    """Return where the slope of light changes most [A]: the peak of the second derivative."""
    x, y = seen.current_A, seen.light_W
    if len(x) < 2 * _FEWEST:
        return None
    # over steps of three points: the meter's noise is worth more than a point's grain
    middle = (x[3:] + x[:-3]) / 2
    slope = (y[3:] - y[:-3]) / (x[3:] - x[:-3])
    change = (slope[3:] - slope[:-3]) / (middle[3:] - middle[:-3])
    at = int(np.argmax(change))
    return float((middle[at + 3] + middle[at]) / 2)


def _best(seen: _Seen, trail: Trail) -> Figure:
    """Return the highest slope so far, and its error."""
    lit = seen.light_W >= _STRAIGHT * seen.light_W.max()
    x = seen.current_A[lit][:8]
    error = float(np.median(seen.error_W[lit])) / math.sqrt(float(np.sum((x - x.mean()) ** 2)))
    return Figure(trail.best_W_A, error)


@dataclass(frozen=True)
class _Heat:
    threshold: Figure
    slope: Figure
    T1: Figure | None
    off_W: _Array


def _heat(seen: _Seen, p: Record, start_A: float, slope_W_A: float) -> _Heat:
    straight = seen.light_W >= _STRAIGHT * seen.light_W.max()
    x, y = seen.current_A[straight], seen.light_W[straight]
    over_K, error = seen.over_K[straight], seen.error_W[straight]
    laser = p.threshold_A > 0

    def off_W(values: Any) -> _Array:
        v = values.valuesdict()
        threshold_A = v["threshold_A"] * np.exp(over_K * p.threshold_1_K)
        slope = v["slope_W_A"] * np.exp(-over_K * v["slope_1_K"])
        return slope * (x - threshold_A) - y  # type: ignore[no-any-return]

    lmfit = _lmfit()
    names = lmfit.Parameters()
    names.add("threshold_A", value=start_A if laser else 0.0, min=0.0, vary=bool(laser))
    names.add("slope_W_A", value=slope_W_A)
    names.add("slope_1_K", value=float(p.slope_1_K))
    found = lmfit.minimize(lambda values: off_W(values) / error, names)
    inverse = _figure(found, "slope_1_K", math.inf)
    resolved = abs(inverse.value) > _RESOLVED * inverse.error
    T1 = Figure(1 / inverse.value, inverse.error / inverse.value**2) if resolved else None
    return _Heat(
        _figure(found, "threshold_A", 0.0),
        _figure(found, "slope_W_A", 0.0),
        T1,
        off_W(found.params),
    )


def _volts(seen: _Seen, p: Record) -> tuple[Figure, Figure]:
    """Return a and Rs of the forward voltage by plain least squares."""
    lit = seen.light_W >= _STRAIGHT * seen.light_W.max()
    x = seen.current_A[lit]
    y = seen.volts_V[lit] - p.diode_b_V * np.log(x) - p.diode_tempco_V_K * seen.over_K[lit]
    basis = np.column_stack([np.ones_like(x), x])
    values, *_ = np.linalg.lstsq(basis, y, rcond=None)
    square = float(np.sum((basis @ values - y) ** 2)) / max(len(x) - 2, 1)
    spread = np.sqrt(square * np.diag(np.linalg.inv(basis.T @ basis)))
    return tuple(Figure(float(v), float(e)) for v, e in zip(values, spread, strict=True))  # type: ignore[return-value]


def recommended(
    fits: Fits, build: Build, trail: Trail, stop: Stop | None
) -> list[tuple[float, str]]:
    """Return the currents that a rule each allows [A], the lowest first; it is recommended."""
    seen_A = max(point.asked_A for point in trail.points)
    rules = [
        (seen_A, "no current is recommended that was not tried"),
        (build.diode.rated_A, "what its class is rated for"),
        (DERATE * build.diode.absolute_A, f"{100 * DERATE:g} % of its class's absolute maximum"),
        (_cool_A(fits, build, seen_A), _cool_words(build)),
    ]
    if stop is not None and stop.kind in SIGNS:
        rules.append((DERATE * stop.at_A, f"{100 * DERATE:g} % of where it showed {stop.kind}"))
    return sorted((math.floor(100 * most_A + 1e-6) / 100, why) for most_A, why in rules)


def _cool_words(build: Build) -> str:
    top = build.diode.junction_max_degC - COOLER_K
    return f"junction at {top:g} degC on a mount of {build.limits.mount_warm_degC:g} degC"


def _cool_A(fits: Fits, build: Build, most_A: float) -> float:
    """Return the current that keeps the junction `COOLER_K` below its limit [A], at most `most_A`.

    On a mount as warm as it may get before cutback, by the diode as it was measured.
    """
    p = measured_parameters(fits, build)
    top_degC = build.diode.junction_max_degC - COOLER_K

    def cool(at_A: float) -> bool:
        return settle_on_mount(p, at_A, build.limits.mount_warm_degC).junction_degC < top_degC

    return most_A if cool(most_A) else bisected(0.0, most_A, cool, 30)[0]


def measured_parameters(fits: Fits, build: Build) -> Record:
    """Return the plant's parameters of `build` with the diode as it was measured."""
    p = parameters(build)
    p.threshold_A, p.slope_W_A = fits.threshold_25_A.value, fits.slope_25_W_A.value
    if fits.slope_T1_K is not None:
        p.slope_1_K = 1 / fits.slope_T1_K.value
    p.diode_rs_ohm = max(0.0, fits.rs_ohm.value)
    p.diode_knee_V += fits.a_V.value - p.diode_a_V
    return p
