"""A closed-form upper bound on the light that any single fault can give.

The hazard needs the worst fault, the faults need settings, settings need the hazard: the bound
cuts that circle, and `rehearse` checks it against the worst case that it simulated.
"""

from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive.edges import stuck
from diodewright.derive.electrics import full_on_A, operate, parameters
from diodewright.derive.plant import pack_full_V

__all__ = ["WorstLight", "worst_light"]


@dataclass(frozen=True)
class WorstLight:
    """The bound and what it comes from.

    Attributes
    ----------
    light_W : highest light [W].
    current_A : the current that gives it [A].
    cause : in words.
    """

    light_W: float
    current_A: float
    cause: str


def worst_light(build: Build) -> WorstLight:
    """Return the bound: the comparator's highest trip, its overshoot, at the coldest junction.

    Any single fault leaves either the stage's regulation or the comparator in force. With the
    comparator in force the current ends at trip + (V_pack,max - V_diode,min) / L * delay and half
    the ripple, which a comparator that sees the mean lets pass on top; with
    it dead, the healthy stage holds at most its full scale. Threshold and slope are taken at the
    lowest ambient, where a laser of positive T0 and T1 gives most. Not covered: a diode brighter
    than its data-sheet points; a loose contact's surge of less than a microsecond.
    """
    p, spread_V = parameters(build), build.diode.forward_spread_V
    coldest_degC = build.heat.ambient_min_degC
    hottest = operate(p, build.comparator.trip_min_A, build.diode.junction_max_degC)
    slope_A_s = (pack_full_V(build) - hottest.volts_V + spread_V) / (build.stage.inductor_uH * 1e-6)
    overshoot_A = max(0.0, slope_A_s) * build.comparator.delay_us * 1e-6
    half_ripple_A = 0.5 * stuck(build, p).ripple_A
    current_A = max(build.comparator.trip_max_A + overshoot_A + half_ripple_A, full_on_A(build))
    return WorstLight(
        light_W=max(operate(p, current_A, at).light_W for at in (coldest_degC, 25.0)),
        current_A=current_A,
        cause="stage stuck full on, until the comparator acts",
    )
