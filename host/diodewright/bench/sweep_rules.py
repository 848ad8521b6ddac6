"""The rules that end a sweep, one function each, in the order in which they are asked.

Each returns the kind of stop with its figure and limit, or None. Source and limits: see `sweep`.
"""

import math
from collections.abc import Callable

from diodewright.bench.sweep_trail import (
    BEST,
    JUDGED,
    NEWEST,
    Plan,
    Trail,
    end_slope_W_A,
    error_of_W,
    on_line,
    slope_W_A,
    spread_A,
)

__all__ = ["NOISE_MOST", "RULES"]

#: Points of the line before the newest; of the parabola whose slope at its end is compared with the
#: highest.
BEFORE = 6
CURVE = 24
#: A change counts from so many of its own errors on.
SIGMAS = 4.0
#: How far a voltage may lie off the line through the last ones [V].
VOLTS_OFF_V = 0.05
#: How far the current read may lie off the one asked for: as a share, and at least [A].
CURRENT_OFF = 0.05
CURRENT_OFF_A = 0.03
#: Largest error of the newest slope, as a share of the best, with which a kink is still seen.
NOISE_MOST = 0.065

_Found = tuple[str, str] | None


def _lost(trail: Trail, _plan: Plan) -> _Found:
    last = trail.points[-1]
    if last.asked_A > 0 and last.current_A < 0.2 * last.asked_A - 0.01:
        return "lost", f"{last.current_A:.3f} A read where {last.asked_A:.3f} A was asked for"
    return None


def _held(trail: Trail, _plan: Plan) -> _Found:
    last = trail.points[-1]
    off_A = last.current_A - last.asked_A
    most_A = max(CURRENT_OFF_A, CURRENT_OFF * last.asked_A)
    if abs(off_A) <= most_A:
        return None
    kind = "held" if off_A < 0 else "current"
    return kind, f"{last.current_A:.3f} A read where {last.asked_A:.3f} A was asked for"


def _unit(trail: Trail, plan: Plan) -> _Found:
    last = trail.points[-1]
    most_W = 1.05 * min(last.volts_V, plan.slope_most_W_A) * last.current_A + plan.lit_W
    if last.light_W > most_W:
        return "unit", (
            f"{last.light_W:.4g} W of light from {last.current_A:.3f} A: more than one photon an "
            "electron; mW taken for W, or the wavelength set wrong?"
        )
    if last.light_W < -5 * last.error_W - plan.lit_W:
        return "unit", f"{last.light_W:.4g} W of light: zero the meter"
    return None


def _no_light(trail: Trail, plan: Plan) -> _Found:
    last = trail.points[-1]
    if trail.lit or last.asked_A < plan.dark_most_A:
        return None
    return "no light", (
        f"{last.light_W:.3g} W at {last.asked_A:.3f} A, where the class has more than "
        f"{plan.lit_W:.3g} W: beam beside the meter, W taken for mW, or a dead diode"
    )


def _lag(trail: Trail, _plan: Plan) -> _Found:
    last = trail.points[-1]
    if last.settled:
        return None
    return "lag", f"the meter still moved at {last.asked_A:.3f} A: give it longer (--settle)"


def _noise(trail: Trail, plan: Plan) -> _Found:
    if trail.best_W_A <= 0.0 or len(trail.lit) < NEWEST:
        return None
    newest = trail.lit[-NEWEST:]
    share = error_of_W(newest, trail, plan) / spread_A(newest) / trail.best_W_A
    if share <= NOISE_MOST:
        return None
    return "noise", (
        f"the slope at {newest[-1].asked_A:.3f} A is known to {100 * share:.1f} %, a kink needs "
        f"{100 * NOISE_MOST:.1f} %: average more in the meter, or larger steps (--step)"
    )


def _fell(trail: Trail, plan: Plan) -> _Found:
    if len(trail.lit) < 2:
        return None
    before, last = trail.points[-2:]
    error_W = math.sqrt(2) * error_of_W((before, last), trail, plan)
    if last.light_W - before.light_W >= -max(SIGMAS * error_W, 0.002 * before.light_W):
        return None
    return "kink", (
        f"light fell from {before.light_W:.4g} to {last.light_W:.4g} W as the current rose to "
        f"{last.asked_A:.3f} A"
    )


def _off_the_line(trail: Trail, plan: Plan) -> _Found:
    if len(trail.lit) <= BEST:
        return None
    before, last = trail.lit[-BEFORE - 1 : -1], trail.lit[-1]
    off_W = last.light_W - on_line(before, last.asked_A, lambda p: p.light_W)
    # a line of n even steps, one step on: 1 + 1/n + 3 (n + 1) / (n (n - 1)) of a point's variance
    n = len(before)
    error_W = error_of_W(before, trail, plan) * math.sqrt(1 + 1 / n + 3 * (n + 1) / (n * (n - 1)))
    most_W = max(SIGMAS * error_W, 0.015 * last.light_W)
    if abs(off_W) <= most_W:
        return None
    return "kink", f"light {1000 * off_W:+.3g} mW off its line at {last.asked_A:.3f} A"


def _bent(trail: Trail, plan: Plan) -> _Found:
    """Compare the newest slope with the one before it."""
    if len(trail.lit) < JUDGED or trail.best_W_A <= 0.0:
        return None
    # both share the point at which a knee would be
    newest, before = trail.lit[-NEWEST:], trail.lit[-NEWEST - BEFORE + 1 : -NEWEST + 1]
    error_W = error_of_W(newest, trail, plan)
    error = error_W * math.hypot(1 / spread_A(newest), 1 / spread_A(before)) / trail.best_W_A
    change = (slope_W_A(newest) - slope_W_A(before)) / trail.best_W_A
    if abs(change) <= max(plan.kink, SIGMAS * error):
        return None
    return "kink", f"slope {100 * change:+.0f} % of its highest within a few steps"


def _rolled(trail: Trail, plan: Plan) -> _Found:
    if trail.best_W_A <= 0.0 or len(trail.lit) < JUDGED:
        return None
    share = end_slope_W_A(trail.lit[-CURVE:]) / trail.best_W_A
    if share >= plan.stop_slope:
        return None
    return "roll-over", (
        f"slope {100 * share:.0f} % of its highest, {trail.best_W_A:.3f} W/A; "
        f"{100 * plan.stop_slope:.0f} % ends a sweep"
    )


def _weak(trail: Trail, plan: Plan) -> _Found:
    if len(trail.lit) < BEST or trail.best_W_A >= plan.slope_least_W_A:
        return None
    return "weak", (
        f"slope {trail.best_W_A:.3g} W/A, {plan.slope_least_W_A:.3g} W/A at least in its class: a "
        "weak diode, or part of the light beside the meter"
    )


def _volts(trail: Trail, _plan: Plan) -> _Found:
    if len(trail.lit) <= BEST:
        return None
    last = trail.lit[-1]
    off_V = last.volts_V - on_line(trail.lit[-BEFORE - 1 : -1], last.asked_A, lambda p: p.volts_V)
    if abs(off_V) <= VOLTS_OFF_V:
        return None
    return "kink", f"voltage {1000 * off_V:+.0f} mV off its line at {last.asked_A:.3f} A"


RULES: tuple[Callable[[Trail, Plan], _Found], ...] = (
    _lost,
    _held,
    _unit,
    _no_light,
    _lag,
    _fell,
    _off_the_line,
    _bent,
    _rolled,
    _weak,
    _volts,
    _noise,
)
