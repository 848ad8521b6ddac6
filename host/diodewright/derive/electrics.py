"""What several derivations and the size summary ask of one build's diode and heat path.

Every equation is the plant's own function, called on the build's parameters.
"""

from collections.abc import Callable
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive.plant import pack_full_V, plant_values
from diodewright.plant import diode as part
from diodewright.plant import record
from diodewright.plant.factors import prepare
from diodewright.plant.kernel import Record
from diodewright.plant.pack import cell_ocv_V, constant_power_A
from diodewright.plant.params import PARAM_RECORD

__all__ = [
    "STAGE_EFFICIENCY",
    "Point",
    "bisected",
    "charge_for_volts",
    "cold_hold_A",
    "full_on_A",
    "heat_per_diode_W",
    "highest_level_A",
    "operate",
    "pack_load_A",
    "parameters",
    "settle_on_mount",
    "stage_ohm",
    "total_K_W",
    "volts_V",
]

#: A switching stage's, taken for sizing only; the plant works out its own losses.
STAGE_EFFICIENCY = 0.93


@dataclass(frozen=True)
class Point:
    """The diode at one current and one mount temperature, settled.

    Attributes
    ----------
    current_A, volts_V : through and across the diode.
    light_W, heat_W : what comes out as light and stays as heat.
    mount_degC, junction_degC : temperatures.
    """

    current_A: float
    volts_V: float
    light_W: float
    heat_W: float
    mount_degC: float
    junction_degC: float

    @property
    def electrical_W(self) -> float:
        """Electrical power [W]."""
        return self.light_W + self.heat_W


def parameters(build: Build) -> Record:
    """Return the build's plant parameters as a record of the uncompiled form."""
    made = record.make(PARAM_RECORD, plant_values(build), compiled=False)
    prepare(made.record, 1e-3)
    return made.record


@dataclass(slots=True)
class _Lit:
    """What the diode's functions read and write of a state: a whole one takes longer to make."""

    diode_A: float
    junction_degC: float
    diode_V: float = 0.0
    diode_W: float = 0.0
    light_W: float = 0.0
    heat_W: float = 0.0
    threshold_from: float = 0.0
    threshold_there: float = 1.0
    slope_from: float = 0.0
    slope_there: float = 1.0


def operate(p: Record, current_A: float, junction_degC: float, spread_V: float = 0.0) -> Point:
    """Return the diode at `current_A` [A] with its junction held at `junction_degC` [degC]."""
    x = _Lit(current_A, junction_degC)
    x.diode_V = part.forward_V(p, part.knee_V(p, x), current_A) + spread_V
    part.shine(p, x)
    mount_degC = junction_degC - p.junction_mount_K_W * x.heat_W
    return Point(current_A, x.diode_V, x.light_W, x.heat_W, mount_degC, junction_degC)


def bisected(
    low: float, high: float, still_low: Callable[[float], bool], rounds: int = 60
) -> tuple[float, float]:
    """Halve `low` to `high` so often; `still_low` says whether a value is below what is sought."""
    for _ in range(rounds):
        middle = (low + high) / 2
        if still_low(middle):
            low = middle
        else:
            high = middle
    return low, high


def settle_on_mount(p: Record, current_A: float, mount_degC: float, spread_V: float = 0.0) -> Point:
    """Return the diode at `current_A` [A] settled on a mount held at `mount_degC` [degC].

    Fixed point of Tj = Tmount + R heat(Tj), by bisection: heat changes little with Tj, so the
    difference is monotone over any diode's range.
    """
    _, high_degC = bisected(
        mount_degC,
        mount_degC + 400.0,
        lambda at_degC: operate(p, current_A, at_degC, spread_V).mount_degC < mount_degC,
    )
    return operate(p, current_A, high_degC, spread_V)


def volts_V(build: Build, current_A: float, junction_degC: float) -> float:
    """Return the typical forward voltage [V] at `current_A` [A] and `junction_degC` [degC]."""
    return operate(parameters(build), current_A, junction_degC).volts_V


def highest_level_A(build: Build) -> float:
    """Return the highest named level [A]."""
    return build.levels.by_current[0][1]


def full_on_A(build: Build) -> float:
    """Return the highest current [A] that the healthy stage can be asked for."""
    stage = build.stage
    if stage.kind == "gated":
        return stage.module_A * (1 + stage.module_tolerance_pct / 100)
    return stage.full_scale_A


def heat_per_diode_W(build: Build) -> float:
    """Return the heat that reaches the sink per watt into the diode, at most.

    A linear stage's pass MOSFET sits on the diode's sink and burns what the full pack has above
    the diode's lowest voltage, at the same current; a switching stage's losses are elsewhere.
    """
    if build.stage.kind != "linear":
        return 1.0
    hot_V = volts_V(build, highest_level_A(build), build.diode.junction_max_degC)
    return max(1.0, pack_full_V(build) / (hot_V - build.diode.forward_spread_V))


def total_K_W(build: Build) -> float:
    """Return the heat resistance from mount to air [K/W]."""
    heat = build.heat
    return heat.mount_pad_K_W + heat.interface_K_W + heat.sink_air_K_W


def pack_load_A(build: Build, output_W: float, source_V: float, source_ohm: float) -> float:
    """Return what the stage draws [A] at the highest level from a source of [V] behind [ohm].

    A linear stage draws the diode's current; a switching one the power `output_W` [W] with a
    usual efficiency.
    """
    if build.stage.kind == "linear":
        return highest_level_A(build) + build.stage.quiescent_mA / 1000
    return constant_power_A(source_V, source_ohm, output_W / STAGE_EFFICIENCY)


def charge_for_volts(build: Build, open_circuit_V: float) -> float:
    """Return the pack's state of charge [0 to 1] at an open-circuit voltage [V], by bisection."""
    p = parameters(build)
    series = build.pack.series
    _, high = bisected(0.0, 1.0, lambda charge: series * cell_ocv_V(p, charge) < open_circuit_V, 40)
    return high


def stage_ohm(build: Build) -> float:
    """Return what the stage's own way to the output has at its end of regulation [ohm]."""
    stage = build.stage
    own_mohm = stage.pass_mohm
    if stage.kind != "linear":
        own_mohm = stage.high_side_mohm + stage.inductor_mohm
    return (own_mohm + stage.own_shunt_mohm) / 1000


def cold_hold_A(build: Build) -> float:
    """Return what the light still gives [A] of a cold, low pack and a diode of highest voltage.

    The pack stands where the law still lets the lowest level shine (lockout; for a gated stage
    the end of cutback), its cells at `cold_factor` times their resistance; the diode is at the
    coldest air, its spread added. By bisection up to one and a half times the highest level.
    Leaves out what the cold takes of a cell's charge.
    """
    pack, limits = build.pack, build.limits
    highest_A = highest_level_A(build)
    if pack.kind == "bench_supply":
        return highest_A
    gated = build.stage.kind == "gated"
    source_V = limits.pack_cutback_end_V if gated else limits.pack_lockout_V
    p = parameters(build)
    cells_ohm = p.pack_fast_ohm + p.pack_slow_ohm - p.wiring_ohm
    ohm = cells_ohm * pack.cold_factor + p.wiring_ohm
    path_ohm = p.series_ohm + p.a_ohm + stage_ohm(build)

    def holds(at_A: float) -> bool:
        cold = operate(p, at_A, build.heat.ambient_min_degC, build.diode.forward_spread_V)
        needed_V = cold.volts_V + at_A * path_ohm
        load_A = at_A
        if build.stage.kind != "linear":
            load_A = constant_power_A(source_V, ohm, at_A * needed_V)
        return bool(source_V - load_A * ohm >= needed_V)

    low_A, _ = bisected(0.0, 1.5 * highest_A, holds)
    return low_A
