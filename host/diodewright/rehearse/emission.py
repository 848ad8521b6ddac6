"""The light that a build lets out: in normal use, and under the single fault that gives most.

The brightest fault is taken from fault cases as they ran. What a tick's mean hides counts as well:
the current's highest peak, transients of microseconds included, is turned into light on the
coldest diode, as if it lasted. The closed-form bound of `derive.worst` stands beside it.
"""

from collections.abc import Iterable
from concurrent.futures import Executor
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive import WorstLight, settings, worst_light
from diodewright.derive.electrics import full_on_A, highest_level_A, operate, parameters
from diodewright.faults import ENGINE
from diodewright.judge import CaseFinding
from diodewright.rehearse.cases import SLOWLY_S, run_cases
from diodewright.rehearse.moments import NoHealthyStart, fresh
from diodewright.rehearse.use import dark_A, rested, start_charge
from diodewright.sim import Engine, new_tally
from diodewright.sim.machine import peek

__all__ = ["RAISING", "Brightest", "Emission", "brightest", "emission"]

#: Faults whose current is the diode's own, and so can raise its light: all but a shorted diode's.
RAISING = frozenset(
    row.id for row in ENGINE if all(target != "plant.diode_short" for target, _ in row.changes)
)


@dataclass(frozen=True)
class Brightest:
    """The fault case that gave most light.

    Attributes
    ----------
    light_W : its light [W]: the highest tick, or what its highest current gives, whichever is more.
    current_A : its highest current, transients included [A].
    case : ``FAULT@MOMENT``.
    """

    light_W: float
    current_A: float
    case: str


@dataclass(frozen=True)
class Emission:
    """What a build lets out.

    Attributes
    ----------
    normal_W : highest light of a healthy start and minute, simulated [W]; None where it never lit.
    normal_most_W : the most that the highest level can ask for, on the coldest diode [W].
    brightest : the brightest simulated fault; None where there was no light to break.
    worst : the closed-form bound.
    missing : why something was not simulated; "" where all was.
    """

    normal_W: float | None
    normal_most_W: float
    brightest: Brightest | None
    worst: WorstLight
    missing: str = ""


def brightest(build: Build, cases: Iterable[CaseFinding]) -> Brightest | None:
    """Return the brightest of these cases; None for none."""
    p = parameters(build)

    def of(case: CaseFinding) -> Brightest:
        light_W = case.peak_light_W
        if case.id in RAISING:
            light_W = max(light_W, _coldest_W(build, p, case.peak_current_A))
        return Brightest(light_W, case.peak_current_A, f"{case.id}@{case.at}")

    return max((of(case) for case in cases), key=lambda each: each.light_W, default=None)


def _coldest_W(build: Build, p: object, current_A: float) -> float:
    """Return the light [W] at a current, at the lowest ambient or 25 degC, whichever gives more."""
    temperatures_degC = (build.heat.ambient_min_degC, 25.0)
    return max(float(operate(p, current_A, at).light_W) for at in temperatures_degC)


def _most_A(build: Build) -> float:
    """Return the most [A] that a healthy light is asked for: trim and tolerance added."""
    if build.stage.kind == "gated":
        return full_on_A(build)
    off = 1 + (build.limits.authority_pct + build.stage.set_accuracy_pct) / 100
    return min(full_on_A(build), highest_level_A(build) * off)


def emission(build: Build, engine: Engine, seed: int = 1, pool: Executor | None = None) -> Emission:
    """Run the healthy light and the faults that can raise it, and return what they give.

    Raises
    ------
    DerivedError
        The build gives a settings word that the board would refuse.
    """
    worst = worst_light(build)
    most_W = _coldest_W(build, parameters(build), _most_A(build))
    try:
        normal_W = _healthy_W(build, engine, seed)
        faults = [row for row in ENGINE if row.id in RAISING and row.watch_s <= SLOWLY_S]
        cases = list(run_cases(build, engine, seed, faults=faults, pool=pool))
    except NoHealthyStart as error:
        return Emission(None, most_W, None, worst, str(error))
    return Emission(normal_W, most_W, brightest(build, cases), worst)


def _healthy_W(build: Build, engine: Engine, seed: int) -> float:
    machine = rested(build, engine, seed, start_charge(build), build.comparator.trip_max_A)
    tally = new_tally(engine, dark_A(build))
    fresh(build, machine, tally, settings(build)["ramp_ticks"], ("steady",))
    return float(peek(tally, "peak_light_W"))
