"""What a sweep may do with the diode of a build, worked out before its first step.

The bound is the least of: the highest level that the board's settings hold, the diode's rated
current (its absolute maximum where the build exceeds the rating), and what the builder asks for.
What is asked for stays below it by the errors of set path and monitor and one count of the set, so
that the true mean current never passes it. The stage's ripple comes on top, as in every use.
"""

import math

from diodewright.bench.problems import BenchError
from diodewright.bench.sweep import Plan, step_by_A
from diodewright.build import Build
from diodewright.build.points import slope_limit_W_A
from diodewright.derive import settings
from diodewright.derive.electrics import operate, parameters
from diodewright.plant.kernel import Record

__all__ = ["class_bound_A", "planned", "predicted_steps", "sweepable"]

#: An expected light below this share of that at the bound counts as none.
_LIT = 0.01
#: A laser's threshold may lie so far above its class's; there must be light then.
_LATE = 1.8
_LED_LATE = 0.3
#: A diode whose slope is less than this share of its class's is not of it.
_WEAK = 0.45
_REFERENCE_degC = 25.0
_HIGHEST_STEP = 0.10


def sweepable(build: Build) -> None:
    """Raise BenchError where there is nothing to sweep."""
    if build.stage.kind == "gated":
        raise BenchError(f"{build.name}: a gated stage has one current: there is nothing to sweep")
    if build.diode.kind == "dummy_string":
        raise BenchError(f"{build.name}: a dummy string gives no light: name the diode's own build")


def class_bound_A(build: Build) -> float:
    """Return the highest mean current that the class and the build allow [A]."""
    diode = build.diode
    most_A = diode.absolute_A if diode.exceed_rating else diode.rated_A
    return min(most_A, max(settings(build)[f"level_{i}_mA"] for i in range(4)) / 1000)


def planned(
    build: Build,
    bound_A: float | None = None,
    fine: float | None = None,
    **own: float,
) -> Plan:
    """Return the plan of a sweep.

    Parameters
    ----------
    bound_A : highest true mean current [A]; None: the class's.
    fine : a step as a share of the present current; None: 1 %.
    own : other values of `Plan`.

    Raises
    ------
    BenchError
        Nothing to sweep, or a bound or step outside what is allowed.
    """
    sweepable(build)
    words = settings(build)
    most_A, start_A = class_bound_A(build), words["start_mA"] / 1000
    wanted_A = most_A if bound_A is None else bound_A
    if not start_A < wanted_A <= most_A:
        raise BenchError(
            f"bound {wanted_A:g} A: allowed above {start_A:g} A (the start level) up to {most_A:g} "
            f"A, the least of the highest level and the diode's rating in {build.name}"
        )
    if fine is not None and not 0.005 <= fine <= _HIGHEST_STEP:
        raise BenchError(f"step {100 * fine:g} %: allowed 0.5 to {100 * _HIGHEST_STEP:g} %")
    p = parameters(build)
    off = max(build.stage.set_accuracy_pct, build.sensors.monitor_tolerance_pct) / 100
    count_A = words["duty_full_mA"] / words["duty_top"] / 1000
    asked_A = math.floor(1000 * (wanted_A - count_A) / (1 + off) + 1e-6) / 1000
    values: dict[str, float] = {
        "resolution_A": count_A / math.sqrt(12),
        "least_A": math.ceil(3000 * count_A) / 1000,
    }
    if fine is not None:
        values["fine"] = fine
        values["coarse"] = max(fine, Plan.coarse)
    return Plan(
        start_A=start_A,
        bound_A=asked_A,
        lit_W=_LIT * operate(p, asked_A, _REFERENCE_degC).light_W,
        dark_most_A=_dark_most_A(p, start_A, asked_A),
        slope_most_W_A=slope_limit_W_A(build.diode.wavelength_nm),
        slope_least_W_A=_WEAK * p.slope_W_A,
        **{**values, **own},  # type: ignore[arg-type]
    )


def _dark_most_A(p: Record, start_A: float, bound_A: float) -> float:
    late_A = _LATE * p.threshold_A if p.threshold_A > 0 else _LED_LATE * bound_A
    return float(max(late_A, 1.2 * start_A))


def predicted_steps(build: Build, plan: Plan) -> list[float]:
    """Return the currents that a diode just like its class would be taken to [A]."""
    p, steps_A, lit = parameters(build), [plan.start_A], 0
    while steps_A[-1] < plan.bound_A - 5e-4:
        at_A = steps_A[-1]
        lit += operate(p, at_A, _REFERENCE_degC).light_W >= plan.lit_W
        by_A = step_by_A(at_A, lit, plan)
        steps_A.append(min(math.floor(1000 * (at_A + by_A) + 1e-6) / 1000, plan.bound_A))
    return steps_A
