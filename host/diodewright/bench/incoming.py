"""The incoming test: whether a bought or salvaged diode is dead, leaky, weak or fine.

First without light: the board's self-test puts its 2 mA trickle through the diode and keeps the
output voltage (the knee). Then, where there is a meter, a sweep to little more than the threshold.

Equations. At the trickle's current I a healthy diode stands between
``V0 - Rs I0 - n kT/q ln(I0/I)`` with the largest n and the lowest part, and V0 of the highest part,
(I0, V0) the first of the class's forward points: n is 1 to 3 (gallium nitride: 1.5 to 3 and more,
from memory).
A leak of R ohm takes ``V/R`` of the trickle past the junction.

Limits. What the trickle does not notice: a leak of far less than its 2 mA, and all that shows only
with light. The trickle itself is not measured: it is below what the shunt resolves.
"""

import math
from dataclasses import dataclass

from diodedriver.selftest import STEPS
from diodewright.bench.line import Line
from diodewright.bench.problems import BenchError
from diodewright.bench.sweep import SIGNS, Plan, Stop, Trail
from diodewright.bench.sweep_fit import Fits
from diodewright.build import Build
from diodewright.derive import settings
from diodewright.derive.electrics import operate, parameters

__all__ = ["Band", "Finding", "Knee", "by_light", "by_trickle", "knee_band", "read_knee"]

_kT_q_V = 0.025693
_MOST_IDEALITY = 3.0
_ADC_CODES = 4095
_NOT_A_NUMBER = 9.0e37
_DIODE_STEP = 1 + next(at for at, row in enumerate(STEPS) if row[0] == "diode")
#: The trickle's clamp holds the output of an open diode, to this share of it.
_CLAMPED = 0.97
#: A threshold beyond, a slope below so much of its class's is weak. Common practice, no source.
WEAK_THRESHOLD = 1.4
WEAK_SLOPE = 0.7
#: How far the test with light goes: so many of the class's thresholds, or this part of the bound.
_THRESHOLDS = 2.2
_LED_PART = 0.25


@dataclass(frozen=True)
class Knee:
    """What the self-test left: the step it failed at (0: none), and the output [V] or None."""

    failed: int
    output_V: float | None


@dataclass(frozen=True)
class Band:
    """Where a healthy diode of the class stands under the trickle.

    Attributes
    ----------
    low_V, high_V : the band.
    trickle_A : what flows through it [A], by the parts; it is not measured.
    resolved_A : a current below it is not told from none by one reading of the shunt.
    """

    low_V: float
    high_V: float
    trickle_A: float
    resolved_A: float


@dataclass(frozen=True)
class Finding:
    """A verdict, "dead", "leaky", "weak", "fine" or "not judged", and why, one line."""

    verdict: str
    why: str


def read_knee(line: Line) -> Knee:
    """Ask the board what its self-test found.

    Raises
    ------
    BenchError
        No self-test has ended, or a firmware that does not keep the knee.
    """
    failed = int(line.ask("*TST?"))
    if failed < 0:
        raise BenchError(f"{line.name}: its self-test has not ended: key on, interlock closed?")
    try:
        said = float(line.ask("MEAS:VOLT:KNEE?"))
    except ValueError:
        raise BenchError(f"{line.name}: gives no knee voltage: flash the board again") from None
    return Knee(failed, None if said > _NOT_A_NUMBER else said)


def knee_band(build: Build) -> Band:
    """Return where a healthy diode of the build's class stands under the trickle."""
    p, words = parameters(build), settings(build)
    first_A, first_V = build.diode.forward_points_A_V[0]
    trickle_A = p.trickle_A - first_V * p.bleeder_S
    off_V = build.diode.forward_spread_V + build.sensors.voltage_tolerance_pct / 100 * first_V
    fall_V = p.diode_rs_ohm * first_A
    fall_V += _MOST_IDEALITY * _kT_q_V * max(0.0, math.log(first_A / trickle_A))
    lsb_A = words["current_full_mA"] / 1000 / _ADC_CODES
    return Band(
        low_V=first_V - fall_V - off_V,
        high_V=first_V + off_V,
        trickle_A=trickle_A,
        resolved_A=lsb_A * max(1.0, 2 * build.sensors.adc_noise_codes),
    )


def by_trickle(knee: Knee, build: Build) -> Finding:
    """Return what the trickle says; "fine" is only as fine as 2 mA can tell."""
    band = knee_band(build)
    told = f"{knee.output_V:.2f} V" if knee.output_V is not None else "no voltage"
    healthy = f"its class stands between {band.low_V:.2f} and {band.high_V:.2f} V"
    if knee.failed and knee.failed != _DIODE_STEP:
        name, points_to = STEPS[knee.failed - 1][0], STEPS[knee.failed - 1][4]
        if knee.failed < _DIODE_STEP or knee.output_V is None:
            return Finding("not judged", f"self-test failed at {name}: {points_to}")
    if knee.output_V is None:
        return Finding("not judged", "the self-test did not come to the diode")
    if knee.failed == _DIODE_STEP:
        return _dead(knee.output_V, build, told, healthy)
    if knee.output_V < band.low_V:
        return Finding("leaky", f"{told} at {1000 * band.trickle_A:.1f} mA; {healthy}: {_LEAK}")
    if knee.output_V > band.high_V:
        return Finding("weak", f"{told} at {1000 * band.trickle_A:.1f} mA; {healthy}: {_HIGH}")
    return Finding("fine", f"{told} at {1000 * band.trickle_A:.1f} mA; {healthy}")


_LEAK = "most of the trickle goes past the junction, or it is of another class"
_HIGH = "a bad bond or contact, or another class"


def _dead(output_V: float, build: Build, told: str, healthy: str) -> Finding:
    if output_V < settings(build)["short_mV"] / 1000:
        return Finding("dead", f"{told} under the trickle: shorted, or nearly; {healthy}")
    if output_V < _CLAMPED * parameters(build).trickle_clamp_V:
        return Finding("weak", f"{told} under the trickle; {healthy}: {_HIGH}")
    return Finding("dead", f"{told} under the trickle: open, or fitted the wrong way round")


def light_bound_A(build: Build, most_A: float) -> float:
    """Return how far the test with light may go [A]."""
    p = parameters(build)
    far_A = _THRESHOLDS * p.threshold_A if p.threshold_A > 0 else _LED_PART * most_A
    return float(min(most_A, max(far_A, 3 * settings(build)["start_mA"] / 1000)))


def by_light(trail: Trail, stop: Stop, fits: Fits | None, build: Build, plan: Plan) -> Finding:
    """Return what a short sweep says of a diode that the trickle found nothing wrong with."""
    p = parameters(build)
    if stop.kind == "no light":
        return Finding("dead", stop.why)
    if stop.kind in SIGNS:
        return Finding("weak", stop.why)
    if fits is None or stop.kind != "bound":
        return Finding("not judged", stop.why)
    slope = fits.slope_W_A.value / _class_slope_W_A(build, trail.points[-1].asked_A)
    if slope < WEAK_SLOPE:
        return Finding("weak", f"slope {100 * slope:.0f} % of its class's")
    if p.threshold_A > 0 and fits.threshold_A is not None:
        share = fits.threshold_A.value / p.threshold_A
        if share > WEAK_THRESHOLD:
            return Finding("weak", f"threshold {share:.2f} of its class's: aged, or hot")
    return Finding("fine", f"threshold and slope of its class, up to {plan.bound_A:.3f} A")


def _class_slope_W_A(build: Build, at_A: float) -> float:
    """Return the slope of the class about `at_A` [W/A], at a junction of 25 degC."""
    p = parameters(build)
    return (operate(p, at_A, 25.0).light_W - operate(p, 0.9 * at_A, 25.0).light_W) / (0.1 * at_A)
