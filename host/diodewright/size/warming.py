"""From cold to hot in time: the plant's heat path stepped, and the duty rating of one lump.

Equation of the rating (closed form). One lump with final rise F = P R and time constant tau, lit
for t_on of every period T: its peak settles at the limit D where

    T = -tau ln(1 - F (1 - exp(-t_on/tau)) / D)

Source. Sum of a geometric series of exponentials; any text on the duty of motors and transformers.

Validity. One lump; the plant has two (mount and sink) behind a junction, and what that makes of
the rating is told beside it (`over_K`). The law's heat budget, its filters and the lag of its
sensor are left out: the light is cut where the mount truly is where the law would cut it.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive.electrics import bisected, highest_level_A
from diodewright.plant.circuit import carry_current
from diodewright.plant.diode import shine
from diodewright.plant.factors import prepare
from diodewright.plant.heat import warm_pass, warm_up
from diodewright.plant.kernel import Record
from diodewright.size.caps import by_mount_A
from diodewright.size.working import Corner, Working, ask, lit_state, plant_of, settled

__all__ = [
    "Duty",
    "before_cut_s",
    "duty_of",
    "duty_period_s",
    "felt_degC",
    "kept_by_heat",
    "light_after_W",
    "sustained_pct",
]

#: The heat path is stepped this many times within its shortest time constant, at least [s].
_STEPS_A_TAU = 10
_LONGEST_STEP_S = 0.25
_MOST_STEPS = 60_000
#: A burst that a rest is told for [s], or half of what there is from cold.
_BURST_S = 60.0
#: Cycles are repeated for this many time constants of the sink.
_SETTLE_TAUS = 5.0


@dataclass(frozen=True)
class Duty:
    """Light in bursts for ever.

    Attributes
    ----------
    burst_s, rest_s : lit, and then dark.
    over_K : by how much the plant's two lumps pass the limit at that (below 0: they don't).
    """

    burst_s: float
    rest_s: float
    over_K: float


def duty_period_s(final_K: float, limit_K: float, tau_s: float, on_s: float) -> float:
    """Return the shortest period [s] in which one lump may be heated for `on_s` [s].

    `final_K` [K] is what it would rise to, `limit_K` [K] what it may. `on_s` itself where no rest
    is needed; infinite where even the first burst from cold is too long.
    """
    if final_K <= limit_K:
        return on_s
    left = 1.0 - final_K * (1.0 - math.exp(-on_s / tau_s)) / limit_K if limit_K > 0 else -1.0
    return -tau_s * math.log(left) if left > 0 else math.inf


def felt_degC(build: Build, words: Mapping[str, int]) -> float:
    """Return the mount [degC] from which on thermal cutback takes light from the highest level."""
    level_A, limits = highest_level_A(build), build.limits
    _, high = bisected(
        limits.mount_warm_degC,
        limits.mount_trip_degC,
        lambda at_degC: by_mount_A(words, at_degC) >= level_A - 5e-4,
        30,
    )
    return high


def kept_by_heat(build: Build, words: Mapping[str, int], corner: Corner | None = None) -> Working:
    """Return where the light settles under thermal cutback, lit for ever on a full pack.

    The mount at which what the law allows there keeps it there. A gated stage, which goes dark
    and comes back, is taken as lit at the mount where it goes dark.
    """
    p, level_A, limits = plant_of(build, corner), highest_level_A(build), build.limits
    free = settled(p, level_A)
    if free.mount_degC < felt_degC(build, words):
        return free
    if words["gate_mA"]:
        return settled(p, level_A, 100.0, limits.mount_hot_degC)

    def at(mount_degC: float) -> Working:
        return settled(p, min(level_A, by_mount_A(words, mount_degC)))

    ends_degC = (limits.mount_warm_degC, limits.mount_hot_degC)
    low, _ = bisected(*ends_degC, lambda at_degC: at(at_degC).mount_degC > at_degC, 20)
    return at(low)


def _step_s(p: Record) -> float:
    """Return a step [s] that the plant's forward steps of mount and sink bear well."""
    mount_s = p.mount_J_K * p.mount_sink_K_W
    sink_s = p.sink_J_K * min(p.mount_sink_K_W, p.sink_air_K_W)
    return float(min(_LONGEST_STEP_S, mount_s / _STEPS_A_TAU, sink_s / _STEPS_A_TAU))


def _cold(p: Record) -> Record:
    """Return a lit state on a full pack with everything at the air's temperature."""
    x = lit_state()
    for name in ("junction", "mount", "sink", "pass", "a"):
        setattr(x, f"{name}_degC", p.ambient_degC)
    return x


def _lit_step(p: Record, x: Record, asked_A: float, dt_s: float) -> None:
    ask(p, x, asked_A)
    carry_current(p, x, dt_s)
    shine(p, x)
    warm_up(p, x, dt_s)
    if p.stage_kind == 1.0:
        warm_pass(p, x, dt_s)


def _dark_step(p: Record, x: Record, dt_s: float) -> None:
    x.heat_W = x.a_loss_W = x.pass_loss_W = 0.0
    warm_up(p, x, dt_s)
    if p.stage_kind == 1.0:
        warm_pass(p, x, dt_s)


def _heated(build: Build, corner: Corner | None) -> tuple[Record, float]:
    p = plant_of(build, corner)
    dt_s = _step_s(p)
    prepare(p, dt_s)
    return p, dt_s


def before_cut_s(
    build: Build, words: Mapping[str, int], corner: Corner | None = None
) -> float | None:
    """Return the time [s] of the highest level, from cold, until heat takes light.

    Infinite where it never does; None where that lies beyond what is worth stepping. On a full
    pack, which is the hottest for a linear stage.
    """
    level_A, limit_degC = highest_level_A(build), felt_degC(build, words)
    if settled(plant_of(build, corner), level_A).mount_degC < limit_degC:
        return math.inf
    p, dt_s = _heated(build, corner)
    x = _cold(p)
    for step in range(_MOST_STEPS):
        if x.mount_degC >= limit_degC:
            return step * dt_s
        _lit_step(p, x, level_A, dt_s)
    return None


def light_after_W(build: Build, seconds: float) -> float:
    """Return the light [W] of the highest level after `seconds` [s] from cold, not cut back."""
    p = plant_of(build)
    x = _cold(p)
    steps = min(_MOST_STEPS, math.ceil(seconds / _step_s(p)))
    prepare(p, seconds / steps)
    for _ in range(steps):
        _lit_step(p, x, highest_level_A(build), seconds / steps)
    return float(x.light_W)


def _lump(build: Build, limit_degC: float, corner: Corner | None) -> tuple[float, float, float]:
    """Return final rise [K], rise allowed [K] and time constant [s] of sink and mount as one lump.

    The mount stands ``P R_pad`` above the sink at once; heat is that of a mount at its limit.
    """
    p, heat = plant_of(build, corner), build.heat
    hot = settled(p, highest_level_A(build), 100.0, limit_degC)
    above_sink_K = hot.heat_W * (heat.mount_pad_K_W + heat.interface_K_W)
    final_K = (hot.heat_W + hot.pass_W) * heat.sink_air_K_W
    tau_s = heat.sink_air_K_W * (heat.sink_J_K + heat.mount_J_K)
    return final_K, limit_degC - float(p.ambient_degC) - above_sink_K, tau_s


def sustained_pct(build: Build, words: Mapping[str, int], corner: Corner | None = None) -> float:
    """Return the share of time [%] that the highest level may be lit for ever, in short bursts.

    Mean heat over the whole path puts the mount where cutback begins to be felt.
    """
    limit_degC = felt_degC(build, words)
    p, heat = plant_of(build, corner), build.heat
    hot = settled(p, highest_level_A(build), 100.0, limit_degC)
    pad_K_W = heat.mount_pad_K_W + heat.interface_K_W
    whole_K = hot.heat_W * (pad_K_W + heat.sink_air_K_W) + hot.pass_W * heat.sink_air_K_W
    return min(100.0, max(0.0, 100 * (limit_degC - float(p.ambient_degC)) / whole_K))


def duty_of(build: Build, words: Mapping[str, int], corner: Corner | None = None) -> Duty | None:
    """Return burst and rest that the mount stands for ever; None where no rest is needed.

    None as well where no burst is short enough: the air is as hot as the limit.
    """
    limit_degC = felt_degC(build, words)
    final_K, limit_K, tau_s = _lump(build, limit_degC, corner)
    if final_K <= limit_K or limit_K <= 0:
        return None
    from_cold_s = -tau_s * math.log(1.0 - limit_K / final_K)
    burst_s = min(_BURST_S, from_cold_s / 2)
    rest_s = duty_period_s(final_K, limit_K, tau_s, burst_s) - burst_s
    peak_degC = _cycled_degC(build, corner, burst_s, rest_s, tau_s)
    return None if peak_degC is None else Duty(burst_s, rest_s, peak_degC - limit_degC)


def _cycled_degC(
    build: Build, corner: Corner | None, burst_s: float, rest_s: float, tau_s: float
) -> float | None:
    """Return the mount's peak [degC] in the plant's own path after many cycles."""
    p, dt_s = _heated(build, corner)
    x, level_A = _cold(p), highest_level_A(build)
    cycles = math.ceil(_SETTLE_TAUS * tau_s / (burst_s + rest_s))
    lit, dark = (max(1, round(each / dt_s)) for each in (burst_s, rest_s))
    if cycles * (lit + dark) > _MOST_STEPS:
        return None
    steps: tuple[tuple[int, Callable[[], None]], ...] = (
        (lit, lambda: _lit_step(p, x, level_A, dt_s)),
        (dark, lambda: _dark_step(p, x, dt_s)),
    )
    peak_degC = float(x.mount_degC)
    for _ in range(cycles):
        peak_degC = float(p.ambient_degC)
        for count, take in steps:
            for _ in range(count):
                take()
                peak_degC = max(peak_degC, float(x.mount_degC))
    return peak_degC
