"""What a sweep is made of: plan, points, steps, why it stops; and the lines through its points.

Equations. Least squares on ``1, x`` and on ``1, x, x2 - (m3 / m2) x - m2`` about the mean current,
which are orthogonal there. Source. Any text on least squares.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

__all__ = [
    "BEST",
    "DRIFT",
    "JUDGED",
    "NEWEST",
    "SIGNS",
    "STOPS",
    "Plan",
    "Point",
    "Step",
    "Stop",
    "Trail",
    "end_slope_W_A",
    "error_of_W",
    "on_line",
    "slope_W_A",
    "spread_A",
]

#: Points of the line whose slope may be the highest.
BEST = 8
#: Points of the newest slope.
NEWEST = 4
#: A roll-over or a bend is judged from so many points with light on.
JUDGED = BEST + NEWEST
#: Drift of meter and mount from one step to the next, as a share of the light.
DRIFT = 3e-4

#: Kind of stop -> what it means; those of `SIGNS` are the diode's own.
STOPS = {
    "roll-over": "the slope of light has fallen to the share of its highest that ends a sweep",
    "kink": "light or voltage left the line that the steps before had drawn",
    "weak": "the slope of light is far below the class's from the start",
    "bound": "the bound was reached without a sign",
    "noise": "the meter is too noisy to show a kink at this step",
    "lag": "the meter had not settled",
    "unit": "the light can't be what the meter says",
    "no light": "no light where the class has long had some",
    "held": "the board held the current below what was asked for",
    "current": "the current read is not the one asked for",
    "lost": "the diode is no longer lit",
    "ended": "ended by hand",
}
SIGNS = ("roll-over", "kink", "weak")


@dataclass(frozen=True)
class Plan:
    """What a sweep may do, and what ends it.

    Attributes
    ----------
    start_A, bound_A : first current, and the highest that is asked for [A].
    fine, coarse : a step as a share of the present current, with light and before it.
    least_A : no step is smaller [A]: what the set path resolves, three times.
    resolution_A : error of a current that was set, one standard deviation [A].
    lit_W : from here on it counts as light [W].
    dark_most_A : where light must have come [A].
    slope_most_W_A : the slope of one photon an electron [W/A].
    slope_least_W_A : a highest slope below it is not its class's [W/A].
    stop_slope : the share of the highest slope at which a roll-over ends the sweep.
    kink : change of the slope, as a share, that is a kink.
    readings, readings_most : of the meter at a step, at least and at most.
    settle_s, rest_s : at a step before the first reading, and at the start level between steps [s].
    warmer_K : a step waits until the mount is no more than this above its first reading [K].
    one_error : error of a meter that is read once a step, as a share.
    """

    start_A: float
    bound_A: float
    lit_W: float
    dark_most_A: float
    slope_most_W_A: float
    slope_least_W_A: float = 0.0
    resolution_A: float = 4e-4
    least_A: float = 0.004
    fine: float = 0.01
    coarse: float = 0.05
    stop_slope: float = 0.72
    kink: float = 0.15
    readings: int = 8
    readings_most: int = 64
    settle_s: float = 0.3
    rest_s: float = 1.0
    warmer_K: float = 6.0
    one_error: float = 0.003

    @property
    def sees_from(self) -> float:
        """How far below damage a sign must begin to be seen in time, as a share of damage."""
        return 1 - (1 + self.fine) ** -(NEWEST + 1)


@dataclass(frozen=True)
class Point:
    """One step, measured.

    Attributes
    ----------
    asked_A, current_A : asked for, and read [A].
    volts_V : across the diode [V].
    light_W, error_W : mean of the meter's readings, and the standard error of that [W].
    mount_degC : its mount [degC].
    settled : whether the meter stood still in the end.
    """

    asked_A: float
    current_A: float
    volts_V: float
    light_W: float
    error_W: float
    mount_degC: float = 25.0
    settled: bool = True


@dataclass(frozen=True)
class Step:
    """Ask for `asked_A` [A]; repeat readings until the light is known to `error_W` [W]."""

    asked_A: float
    error_W: float


@dataclass(frozen=True)
class Stop:
    """Go no further.

    Attributes
    ----------
    kind : one of `STOPS`.
    at_A : last current that was asked for [A]; 0 before the first.
    why : the figure and its limit, one line.
    """

    kind: str
    at_A: float
    why: str


@dataclass(frozen=True)
class Trail:
    """What was measured so far, in order.

    Attributes
    ----------
    points : every step.
    lit : those with light.
    best_W_A : highest slope so far [W/A]; 0 before there is one.
    """

    points: tuple[Point, ...] = ()
    lit: tuple[Point, ...] = field(default=(), repr=False)
    best_W_A: float = 0.0

    def after(self, point: Point, plan: Plan) -> "Trail":
        """Return the trail with one more point."""
        lit = (*self.lit, point) if point.light_W >= plan.lit_W else self.lit
        best_W_A = self.best_W_A
        if len(lit) >= BEST and lit is not self.lit:
            best_W_A = max(best_W_A, slope_W_A(lit[-BEST:]))
        return Trail((*self.points, point), lit, best_W_A)


# least squares, in plain numbers: a thousand sweeps of two hundred steps pass here


def slope_W_A(points: Sequence[Point]) -> float:
    """Return the slope of light over current asked for [W/A]."""
    n = len(points)
    mean_A = sum(p.asked_A for p in points) / n
    mean_W = sum(p.light_W for p in points) / n
    square = sum((p.asked_A - mean_A) ** 2 for p in points)
    return sum((p.asked_A - mean_A) * (p.light_W - mean_W) for p in points) / square


def end_slope_W_A(points: Sequence[Point]) -> float:
    """Return the slope at the end of the parabola through `points` [W/A]: it does not lag."""
    n = len(points)
    mean_A = sum(p.asked_A for p in points) / n
    xs = [p.asked_A - mean_A for p in points]
    m2, m3 = sum(x * x for x in xs) / n, sum(x * x * x for x in xs) / n
    bends = [x * x - m3 / m2 * x - m2 for x in xs]
    bend = sum(q * p.light_W for q, p in zip(bends, points, strict=True)) / sum(
        q * q for q in bends
    )
    slope = sum(x * p.light_W for x, p in zip(xs, points, strict=True)) / (n * m2)
    return slope + bend * (2 * xs[-1] - m3 / m2)


def spread_A(points: Sequence[Point]) -> float:
    """Return the root of the summed squares of the currents about their mean [A]."""
    mean_A = sum(p.asked_A for p in points) / len(points)
    return math.sqrt(sum((p.asked_A - mean_A) ** 2 for p in points))


def error_of_W(points: Sequence[Point], trail: Trail, plan: Plan) -> float:
    """Return the error of one point's light [W], all that is known of it."""
    mean = sum(p.error_W**2 for p in points) / len(points)
    set_W = trail.best_W_A * plan.resolution_A
    return math.sqrt(mean + set_W**2 + (DRIFT * points[-1].light_W) ** 2)


def on_line(points: Sequence[Point], at_A: float, of: Callable[[Point], float]) -> float:
    """Return what the line through `points` says at `at_A` [A]."""
    n = len(points)
    mean_A = sum(p.asked_A for p in points) / n
    mean = sum(of(p) for p in points) / n
    square = sum((p.asked_A - mean_A) ** 2 for p in points)
    slope = sum((p.asked_A - mean_A) * (of(p) - mean) for p in points) / square
    return mean + slope * (at_A - mean_A)
