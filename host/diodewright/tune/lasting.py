"""Minutes of light from one full pack, at what heat and pack leave of the highest level.

Full level until heat cuts back, then the current at which heat holds the light for good, each less
what the law's pack cutback and headroom rule take. Every step of charge is one settled working
point of the plant (`size.working`); within a step the draw is that of its middle.

Leaves out: what cold and age take of the charge, the way from the one current to the other, the
mount's warmth (the diode is taken as cool: its voltage is some per cent high), the auto-off (a
person presses again), and the controller between presses.
"""

from collections.abc import Callable, Mapping

from diodewright.build import Build
from diodewright.derive.electrics import bisected, highest_level_A
from diodewright.size.descent import end_of, held_point, start_charge_pct
from diodewright.size.working import Working, lit_state, plant_of

__all__ = ["pack_min"]

#: Charge is taken in steps of so much of the whole.
_STEP_PCT = 2.0
_HALVINGS = 12
_MINUTE_S = 60.0
#: Cutback as near as this is there [s].
_SOON_S = 1e-3


def pack_min(
    build: Build, words: Mapping[str, int], before_cut_s: float, kept_A: float
) -> float | None:
    """Return the minutes of light from a full pack; None on a bench supply.

    Parameters
    ----------
    words : the build's settings.
    before_cut_s : the highest level lasts so long from cold [s].
    kept_A : where heat holds the light after that [A].
    """
    if build.pack.kind == "bench_supply":
        return None
    p, x, level_A = plant_of(build), lit_state(), highest_level_A(build)
    whole_C = 1.0 / float(p.soc_per_C)

    def at(asked_A: float, charge_pct: float) -> Working:
        return held_point(p, x, words, asked_A, charge_pct)[0]

    def dark(asked_A: float, charge_pct: float) -> bool:
        return bool(end_of(build, words, at(asked_A, charge_pct)))

    light_s, left_pct = 0.0, start_charge_pct(build)
    while left_pct > 0:
        asked_A = level_A if light_s < before_cut_s - _SOON_S else kept_A
        step_pct = min(_STEP_PCT, left_pct)
        point = at(asked_A, left_pct - step_pct / 2)
        left_s = before_cut_s - light_s
        if _SOON_S < left_s < step_pct / 100 * whole_C / point.pack_A:
            step_pct = 100 * left_s * point.pack_A / whole_C  # the step ends as heat cuts back
        last = dark(asked_A, left_pct - step_pct)
        if last:
            step_pct = left_pct - _end_pct(dark, asked_A, left_pct - step_pct, left_pct)
            point = at(asked_A, left_pct - step_pct / 2)
        light_s += step_pct / 100 * whole_C / point.pack_A
        if last:
            break
        left_pct -= step_pct
    return light_s / _MINUTE_S


def _end_pct(
    dark: Callable[[float, float], bool], asked_A: float, low_pct: float, high_pct: float
) -> float:
    """Return the charge [%] at which the light ends, between one where it is dark and one lit."""
    found, _ = bisected(low_pct, high_pct, lambda pct: dark(asked_A, pct), _HALVINGS)
    return found
