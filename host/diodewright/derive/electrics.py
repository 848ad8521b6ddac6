"""What several derivations and the size summary ask of one build's diode and heat path.

Every equation is the plant's own function, called on the build's parameters.
"""

from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive.plant import pack_full_V, plant_values
from diodewright.plant import diode as part
from diodewright.plant import record
from diodewright.plant.factors import prepare
from diodewright.plant.kernel import Record
from diodewright.plant.params import PARAM_RECORD, STATE

__all__ = [
    "Point",
    "full_on_A",
    "heat_per_diode_W",
    "highest_level_A",
    "operate",
    "parameters",
    "settle_on_mount",
    "total_K_W",
    "volts_V",
]


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


def operate(p: Record, current_A: float, junction_degC: float, spread_V: float = 0.0) -> Point:
    """Return the diode at `current_A` [A] with its junction held at `junction_degC` [degC]."""
    x = record.make(STATE, {"junction_degC": junction_degC}, compiled=False).record
    x.diode_A = current_A
    x.diode_V = part.forward_V(p, part.knee_V(p, x), current_A) + spread_V
    part.shine(p, x)
    mount_degC = junction_degC - p.junction_mount_K_W * x.heat_W
    return Point(current_A, x.diode_V, x.light_W, x.heat_W, mount_degC, junction_degC)


def settle_on_mount(p: Record, current_A: float, mount_degC: float, spread_V: float = 0.0) -> Point:
    """Return the diode at `current_A` [A] settled on a mount held at `mount_degC` [degC].

    Fixed point of Tj = Tmount + R heat(Tj), by bisection: heat changes little with Tj, so the
    difference is monotone over any diode's range.
    """
    low_degC, high_degC = mount_degC, mount_degC + 400.0
    for _ in range(60):
        middle_degC = (low_degC + high_degC) / 2
        if operate(p, current_A, middle_degC, spread_V).mount_degC < mount_degC:
            low_degC = middle_degC
        else:
            high_degC = middle_degC
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
