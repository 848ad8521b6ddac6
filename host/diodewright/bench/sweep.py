"""The decisions of a sweep: what was measured so far, and the next step or why to stop.

Pure functions: the sweep at a board and the analysis of an old table ask the very same ones, and so
does the test with a thousand diodes. Nothing here waits, reads or asks.

Equations. The slope of light over current is the least-squares line through the last points; its
error is ``s / sqrt(sum (I - mean)^2)`` with s a point's own: the mean of its readings, what the set
path can't resolve, and drift from step to step. For the share of the highest slope it is the slope
at the end of a parabola, which does not lag behind a slow bend. A stop is one of `STOPS`; each
names its limit.

Source. The line and its error: any text on least squares. Where a roll-over or a kink begins is
nobody's standard here: the shares in `Plan` are common practice, no source.

Limits. It sees what shows in light or voltage at a step before damage, at the step's own pace. A
diode that dies without such a sign, at once, or within its first twelve points of light, it can't
see.
"""

import math
from collections.abc import Sequence

from diodewright.bench.sweep_rules import NOISE_MOST, RULES
from diodewright.bench.sweep_trail import (
    DRIFT,
    JUDGED,
    NEWEST,
    SIGNS,
    STOPS,
    Plan,
    Point,
    Step,
    Stop,
    Trail,
)

__all__ = [
    "DRIFT",
    "SIGNS",
    "STOPS",
    "Plan",
    "Point",
    "Step",
    "Stop",
    "Trail",
    "next_step",
    "replayed",
    "step_by_A",
]

#: Readings are repeated until a step's light is known to this share of `NOISE_MOST`.
NOISE_AIM = 0.5
#: The first steps with light are no wider than this share of the current.
EARLY = 0.01


def replayed(points: Sequence[Point], plan: Plan) -> tuple[Trail, Stop | None]:
    """Return how far a sweep would have gone along `points`, and why it would have ended there.

    None: the points end before the sweep would have.
    """
    trail = Trail()
    for point in points:
        trail = trail.after(point, plan)
        found = next_step(trail, plan)
        if isinstance(found, Stop):
            return trail, found
    return trail, None


def next_step(trail: Trail, plan: Plan) -> Step | Stop:
    """Return the next step of a sweep, or why there is none; the whole of its judgement."""
    if not trail.points:
        return Step(plan.start_A, math.inf)
    last = trail.points[-1]
    for rule in RULES:
        found = rule(trail, plan)
        if found is not None:
            return Stop(found[0], last.asked_A, found[1])
    if last.asked_A >= plan.bound_A - 5e-4:
        return Stop("bound", last.asked_A, _at_bound(trail, plan))
    by_A = step_by_A(last.asked_A, len(trail.lit), plan)
    asked_A = min(math.floor(1000 * (last.asked_A + by_A) + 1e-6) / 1000, plan.bound_A)
    return Step(asked_A, _aim_W(trail, plan, by_A))


def _at_bound(trail: Trail, plan: Plan) -> str:
    seen = "" if trail.lit else ", and no light"
    return f"no sign up to the bound of {plan.bound_A:.3f} A{seen}"


def step_by_A(at_A: float, lit: int, plan: Plan) -> float:
    """Return how far the next step goes from `at_A` [A] with `lit` points of light behind it."""
    share = plan.coarse if not lit else plan.fine
    if 0 < lit < JUDGED:  # wide steps are safe once there is a slope to compare with
        share = min(share, EARLY)
    return max(plan.least_A, at_A * share)


def _aim_W(trail: Trail, plan: Plan, by_A: float) -> float:
    """Return how well the light must be known for a kink to show at steps of `by_A` [A]."""
    if trail.best_W_A <= 0.0:
        return math.inf
    return NOISE_AIM * NOISE_MOST * trail.best_W_A * by_A * math.sqrt(NEWEST * (NEWEST**2 - 1) / 12)
