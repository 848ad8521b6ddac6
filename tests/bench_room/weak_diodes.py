"""A thousand hidden diodes for the sweep: seeded, stated, and swept on a fast model of the bench.

    python tests/bench_room/weak_diodes.py SEED COUNT

prints what became of them. The diode is the plant's own (`plant.diode`), its parameters drawn; on
top of it a knee or a step in the light, set by the plant's `light_factor`. Set path, readings and
meter err as the board's and a thermal meter's do. All values in `draw` are ours: no maker's.
"""

import copy
import math
import random
import sys
from collections import Counter
from dataclasses import dataclass
from functools import cache

from diodewright.bench.sweep import Plan, Point, Step, Stop, Trail, next_step
from diodewright.bench.sweep_plan import class_bound_A, planned
from diodewright.build import Build, load
from diodewright.derive.electrics import parameters
from diodewright.plant import diode as part
from diodewright.plant import record
from diodewright.plant.kernel import Record
from diodewright.plant.params import STATE

#: Roll-over begins, by our definition, where the true slope is two thirds of its highest.
BEGINS = 2 / 3
#: A population that gives a warning has at least this between that and damage.
GAP = 0.05
AIR_degC = 25.0


@dataclass(frozen=True)
class Weak:
    """One hidden diode.

    Attributes
    ----------
    kind : heat (it rolls over of its own heat), knee, step, none (no sign), sudden.
    factors : plant parameter -> what it is multiplied by.
    sign_A : where a knee or a step lies [A]; infinity without one.
    loss : of the slope above a knee, or of the light at a step, as a share.
    damage_A : true mean current that destroys it [A].
    begins_A : where its roll-over begins [A]; infinity where it never does.
    """

    kind: str
    factors: dict[str, float]
    sign_A: float
    loss: float
    damage_A: float
    begins_A: float


@cache
def fresh(name: str) -> tuple[Record, Record]:
    """Return parameters and state of a shipped build, to be copied: making them takes long."""
    return parameters(load(name)), record.make(STATE, {}, compiled=False).record


class Chip:
    """A diode on its mount: the plant's equations, settled at each step."""

    def __init__(self, build: Build, factors: dict[str, float]) -> None:
        p, x = fresh(build.name)
        self.p, self.x = copy.copy(p), copy.copy(x)
        for name, factor in factors.items():
            setattr(self.p, name, getattr(self.p, name) * factor)
        self.p.threshold_1_K = 1.0 / self.p.threshold_T0_K
        self.p.slope_1_K = 1.0 / self.p.slope_T1_K
        self.mount_degC = AIR_degC
        self.rise_K = 0.0
        self.sign_A, self.loss, self.step = math.inf, 0.0, False

    def at(self, current_A: float) -> tuple[float, float, float]:
        """Return voltage [V], light and heat [W] at a current [A], the junction settled."""
        p, x = self.p, self.x
        for _ in range(4):
            x.junction_degC = self.mount_degC + self.rise_K
            x.diode_A = current_A
            x.diode_V = part.forward_V(p, part.knee_V(p, x), current_A)
            p.light_factor = 1.0
            part.shine(p, x)
            p.light_factor = self._left(current_A)
            part.shine(p, x)
            self.rise_K = x.heat_W * p.junction_mount_K_W
        return x.diode_V, x.light_W, x.heat_W

    def _left(self, current_A: float) -> float:
        """Return what a knee or step leaves of the plain light."""
        if current_A <= self.sign_A:
            return 1.0
        if self.step:
            return 1.0 - self.loss
        over_A = self.sign_A - part.threshold_now_A(self.p, self.x, self.x.junction_degC - 25.0)
        lit_A = over_A + current_A - self.sign_A
        return max(0.0, 1.0 - self.loss * (current_A - self.sign_A) / lit_A)

    def pass_time(self, heat_W: float, for_s: float) -> None:
        """Let the mount, cooled through pad and interface, warm or cool for so long [s]."""
        p = self.p
        tau_s = p.mount_J_K * p.mount_sink_K_W
        end_degC = AIR_degC + heat_W * p.mount_sink_K_W
        self.mount_degC = end_degC + (self.mount_degC - end_degC) * math.exp(-for_s / tau_s)


def begins_A(build: Build, factors: dict[str, float], most_A: float) -> float:
    """Return where a plain diode's slope falls to `BEGINS` of its highest [A]."""
    chip, best, before = Chip(build, factors), 0.0, 0.0
    step_A = 0.01
    for k in range(2, int(most_A / step_A) + 1):
        _, light_W, _ = chip.at(k * step_A)
        slope = (light_W - before) / step_A
        before, best = light_W, max(best, slope)
        if best > 0 and slope < BEGINS * best:
            return k * step_A
    return math.inf


def draw(build: Build, seed: int, sudden: bool = False, least_gap: float = GAP) -> Weak:
    """Return the diode of a seed.

    All: threshold x 0.6 to 1.6, slope x 0.6 to 1.15, series resistance x 0.7 to 1.5, T0 x 0.4 to
    1.5, T1 x 0.5 to 1.5, heat resistance x 0.8 to 1.3. One in four rolls over of its own heat (heat
    resistance x 1.5 to 4); two in four have a knee, somewhere from 1.4 of its threshold to beyond
    the bound, above which 35 to 130 % of the slope is lost; one in eight a step of 4 to 30 % of
    its light; one in eight no sign at all. Damage lies where roll-over begins, over 1 less a gap:
    `least_gap` (5 %) for one in two, else up to 40 %, even; without a sign it lies above 1.1 of the
    bound. The sudden ones have no sign, and damage from 1.4 of the threshold to the bound.
    """
    rng = random.Random(f"weak {seed} {sudden}")
    factors = {
        "threshold_A": rng.uniform(0.6, 1.6),
        "slope_W_A": rng.uniform(0.6, 1.15),
        "diode_rs_ohm": rng.uniform(0.7, 1.5),
        "threshold_T0_K": rng.uniform(0.4, 1.5),
        "slope_T1_K": rng.uniform(0.5, 1.5),
        "junction_mount_K_W": rng.uniform(0.8, 1.3),
    }
    bound_A = build.diode.rated_A
    first_A = 1.4 * 0.25 * factors["threshold_A"] + 0.05
    gap = least_gap if rng.random() < 0.5 else rng.uniform(least_gap, 0.40)
    if sudden:
        return Weak("sudden", factors, math.inf, 0.0, rng.uniform(first_A, bound_A), math.inf)
    dice = rng.random()
    if dice < 0.25:
        factors["junction_mount_K_W"] = rng.uniform(1.5, 4.0)
    begin_A = begins_A(build, factors, 1.2 * bound_A)
    if dice < 0.25:
        kind, sign_A, loss = "heat", math.inf, 0.0
    elif dice < 0.75:
        kind, sign_A, loss = "knee", rng.uniform(first_A, 1.1 * bound_A), rng.uniform(0.35, 1.3)
    elif dice < 0.875:
        kind, sign_A, loss = "step", rng.uniform(first_A, 1.1 * bound_A), rng.uniform(0.04, 0.30)
    else:
        kind, sign_A, loss = "none", math.inf, 0.0
    begin_A = min(begin_A, sign_A)
    damage_A = begin_A / (1 - gap) if begin_A < math.inf else bound_A * rng.uniform(1.1, 1.5)
    return Weak(kind, factors, sign_A, loss, damage_A, begin_A)


class Bench:
    """A board and a meter around one hidden diode.

    Set path: whole counts of 1.32 mA, gain within 1 %; current read within 1 %; meter: gain within
    5 %, zero within 0.5 mW, noise `noise` of the reading and 0.1 mW, tenths of a milliwatt, a zero
    that wanders by 0.1 mW from step to step; `lag_s` its time constant.
    """

    def __init__(self, build: Build, weak: Weak, seed: int, noise: float = 0.002) -> None:
        self.rng = random.Random(f"bench {seed}")
        self.weak, self.noise = weak, noise
        self.chip = Chip(build, weak.factors)
        self.chip.sign_A, self.chip.loss = weak.sign_A, weak.loss
        self.chip.step = weak.kind == "step"
        self.set_gain = self.rng.uniform(0.99, 1.01)
        self.read_gain = self.rng.uniform(0.99, 1.01)
        self.meter_gain = self.rng.uniform(0.95, 1.05)
        self.zero_W = self.rng.uniform(-5e-4, 5e-4)
        self.highest_A = 0.0
        self.unit = 1.0
        self.lag_s = 0.0

    @property
    def damaged(self) -> bool:
        return self.highest_A >= self.weak.damage_A

    def measure(self, step: Step, plan: Plan) -> Point:
        """Take one step as the board would: set, settle, read, rest."""
        count_A = 1.65 / 1250
        true_A = round(step.asked_A * self.set_gain / count_A) * count_A
        self.highest_A = max(self.highest_A, true_A)
        volts_V, light_W, heat_W = self.chip.at(true_A)
        self.chip.pass_time(heat_W, plan.settle_s)
        self.zero_W += self.rng.gauss(0.0, 1e-4)
        shown_W = light_W * self.meter_gain
        if self.lag_s:
            shown_W *= 1 - math.exp(-plan.settle_s / self.lag_s)
        sigma_W = math.hypot(self.noise * shown_W, 1e-4)
        aim_W = max(step.error_W, 1e-9)
        count = math.ceil(min(max(plan.readings, (sigma_W / aim_W) ** 2), plan.readings_most))
        error_W = sigma_W / math.sqrt(count)
        mean_W = shown_W + self.zero_W + self.rng.gauss(0.0, error_W)
        self.chip.pass_time(heat_W, 0.05 * count)
        mount_degC = self.chip.mount_degC + self.rng.gauss(0.0, 0.1)
        self.chip.pass_time(0.3, plan.rest_s)
        read_A = true_A * self.read_gain + self.rng.gauss(0.0, 3e-4)
        read_V = volts_V + self.rng.gauss(0.0, 1.5e-3)
        return Point(
            step.asked_A,
            round(read_A / 4.88e-4) * 4.88e-4,
            round(read_V / 2.44e-3) * 2.44e-3,
            round(mean_W * self.unit * 1e4) / 1e4,
            error_W * self.unit,
            mount_degC,
            self.lag_s < plan.settle_s / 4,
        )


def swept(bench: Bench, plan: Plan) -> tuple[Trail, Stop]:
    """Run a whole sweep on the fast model."""
    trail = Trail()
    while True:
        found = next_step(trail, plan)
        if isinstance(found, Stop):
            return trail, found
        trail = trail.after(bench.measure(found, plan), plan)


def population(
    build: Build,
    plan: Plan,
    seeds: range,
    sudden: bool = False,
    least_gap: float = GAP,
    **ills: float,
) -> Counter[str]:
    """Sweep one diode a seed; return how many ended how, were damaged, or passed the bound.

    `ills` are attributes of each `Bench`: noise, unit, lag_s.
    """
    found: Counter[str] = Counter()
    most_A = class_bound_A(build)
    for seed in seeds:
        weak = draw(build, seed, sudden, least_gap)
        bench = Bench(build, weak, seed)
        for name, value in ills.items():
            setattr(bench, name, value)
        _, stop = swept(bench, plan)
        found[stop.kind] += 1
        found["damaged"] += bench.damaged
        found["beyond the class"] += bench.highest_A > most_A
        found[f"of kind {weak.kind}"] += 1
        found[f"damaged {weak.kind}"] += bench.damaged
    return found


if __name__ == "__main__":
    first, number = int(sys.argv[1]), int(sys.argv[2])
    lamp = load("smoke_tunnel")
    for name, flag in (("roll-over before damage", False), ("sudden", True)):
        print(name, dict(population(lamp, planned(lamp), range(first, first + number), flag)))
