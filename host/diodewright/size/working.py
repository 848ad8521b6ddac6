"""A working point: pack, stage, diode, path and heat settled at one asked current, by the plant.

The plant's own sub-step is repeated with a step so long that every lag has settled, until nothing
moves; mount and sink, which the plant moves in forward steps, are set between the repetitions.
The comparators are left out: what would trip is told by the limits, not by darkness here.
"""

from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive import plant_values
from diodewright.plant import record
from diodewright.plant.buck import buck_ohm
from diodewright.plant.circuit import carry_current
from diodewright.plant.diode import shine
from diodewright.plant.factors import prepare
from diodewright.plant.heat import warm_pass, warm_up
from diodewright.plant.kernel import Record
from diodewright.plant.linear import linear_ohm
from diodewright.plant.pack import discharge
from diodewright.plant.params import PARAM_RECORD, STATE

__all__ = ["Corner", "Working", "lit_state", "plant_of", "regulating_ohm", "settled"]

#: Longer than any time constant there is [s].
_LONG_S = 1e12
_ROUNDS = 200
#: Nothing moves any more: amperes and kelvins.
_STILL = 1e-9


@dataclass(frozen=True)
class Corner:
    """What differs from the typical part in a warm room.

    Attributes
    ----------
    air_degC : air; None for the build's own.
    spread_V : this diode's forward voltage less the typical.
    cold_factor : multiplies the cells' resistance.
    """

    air_degC: float | None = None
    spread_V: float = 0.0
    cold_factor: float = 1.0


@dataclass(frozen=True)
class Working:
    """The whole loop at one asked current, settled.

    Attributes
    ----------
    asked_A, diode_A : asked for, and what flows; less where the stage drops out.
    diode_V, output_V, pack_V : across the diode, at the stage's output, at its input.
    pack_A : drawn, controller and indicator included.
    peak_A : highest diode current, half the ripple included.
    headroom_V : of `pack_V`, above what the stage needs at its end of regulation.
    light_W, heat_W : of the diode.
    stage_W, pass_W : lost in the whole stage; of that in a linear stage's pass MOSFET.
    a_W, path_W, output_W : lost in cut-off A; in monitor shunt and leads; in the bleeder.
    controller_W, wiring_W, cells_W : controller and indicator; pack wiring; inside the cells.
    mount_degC, sink_degC, junction_degC, a_degC, pass_degC : temperatures.
    drops_out : the stage can't hold what is asked for.
    """

    asked_A: float
    diode_A: float
    diode_V: float
    output_V: float
    pack_V: float
    pack_A: float
    peak_A: float
    headroom_V: float
    light_W: float
    heat_W: float
    stage_W: float
    pass_W: float
    a_W: float
    path_W: float
    output_W: float
    controller_W: float
    wiring_W: float
    cells_W: float
    mount_degC: float
    sink_degC: float
    junction_degC: float
    a_degC: float
    pass_degC: float
    drops_out: bool

    @property
    def electrical_W(self) -> float:
        """Into the diode."""
        return self.light_W + self.heat_W

    @property
    def drawn_W(self) -> float:
        """At the pack's own terminals, ahead of its wiring."""
        return self.pack_V * self.pack_A + self.wiring_W

    @property
    def given_W(self) -> float:
        """At the stage's output, into the diode's path and the bleeder."""
        return self.electrical_W + self.a_W + self.path_W + self.output_W


def plant_of(build: Build, corner: Corner | None = None) -> Record:
    """Return the build's plant parameters in a corner, every lag settled in one step."""
    corner = corner or Corner()
    given: dict[str, object] = {
        "cell_R_factor": corner.cold_factor,
        "diode_spread_V": corner.spread_V,
        "over_current_dead": 1,
        "over_voltage_dead": 1,
    }
    if corner.air_degC is not None:
        given["ambient_degC"] = corner.air_degC
    p = record.make(PARAM_RECORD, plant_values(build) | given, compiled=False).record
    prepare(p, _LONG_S)
    return p


def lit_state(charge_pct: float = 100.0) -> Record:
    """Return a state with the stage running into a closed path, everything at 25 degC."""
    lit = {"soc": charge_pct / 100, "latch": 0, "indicator_lit": 1}
    on = {"a_closed": 1, "b_on": 1, "b_on_s": _LONG_S, "path_closed": 1, "stage_live": 1}
    return record.make(STATE, lit | on, compiled=False).record


def ask(p: Record, x: Record, asked_A: float) -> None:
    """Ask the stage for `asked_A` [A] through the diode, the bleeder's share on top.

    A gated module is taken as one of that current.
    """
    stage_A = asked_A + x.output_V * p.bleeder_S
    x.set_A = stage_A
    p.module_A = stage_A


def _round(p: Record, x: Record, asked_A: float, mount_degC: float | None) -> None:
    """Take one long sub-step; None for the mount lets it settle against the air."""
    ask(p, x, asked_A)
    carry_current(p, x, _LONG_S)
    shine(p, x)
    discharge(p, x, 0.0)
    linear = p.stage_kind == 1.0
    if mount_degC is None:
        x.sink_degC = p.ambient_degC + (x.heat_W + x.pass_loss_W) * p.sink_air_K_W
        x.mount_degC = x.sink_degC + x.heat_W * p.mount_sink_K_W
    else:
        x.mount_degC = x.sink_degC = mount_degC
    mount_degC, sink_degC = x.mount_degC, x.sink_degC
    warm_up(p, x, 0.0)
    if linear:
        warm_pass(p, x, 0.0)
        x.pass_degC = sink_degC + x.pass_rise_K
    # what junction and channel store is settled as well: nothing of it is taken from the mount
    x.mount_degC, x.sink_degC = mount_degC, sink_degC
    x.junction_degC = mount_degC + x.junction_rise_K


def settled(
    p: Record,
    asked_A: float,
    charge_pct: float = 100.0,
    mount_degC: float | None = None,
    x: Record | None = None,
) -> Working:
    """Return the loop at `asked_A` [A], on a mount held at `mount_degC` [degC] or let settle.

    Parameters
    ----------
    p : `plant_of` a build.
    charge_pct : of the pack's cells; a bench supply has none.
    mount_degC : a mount held there, its sink as well; None: both settle against the air.
    x : a `lit_state` to go on from: near points are found sooner.
    """
    x = lit_state(charge_pct) if x is None else x
    x.soc = charge_pct / 100
    for _ in range(_ROUNDS):
        before = (x.pack_A, x.diode_A, x.junction_degC, x.a_degC, x.pass_degC)
        _round(p, x, asked_A, mount_degC)
        after = (x.pack_A, x.diode_A, x.junction_degC, x.a_degC, x.pass_degC)
        if max(abs(b - a) for a, b in zip(before, after, strict=True)) < _STILL:
            break
    return _read(p, x, asked_A)


def regulating_ohm(p: Record, x: Record) -> float:
    """Return what the stage's own way has [ohm] at its end of regulation, fully on."""
    return float(linear_ohm(p, x) if p.stage_kind == 1.0 else buck_ohm(p, 1.0))


def _read(p: Record, x: Record, asked_A: float) -> Working:
    cells_ohm = p.pack_fast_ohm - p.wiring_ohm + p.pack_slow_ohm
    return Working(
        asked_A=asked_A,
        diode_A=x.diode_A,
        diode_V=x.diode_V,
        output_V=x.output_V,
        pack_V=x.pack_V,
        pack_A=x.pack_A,
        peak_A=x.diode_peak_A,
        headroom_V=x.pack_V - x.output_V - x.stage_A * regulating_ohm(p, x),
        light_W=x.light_W,
        heat_W=x.heat_W,
        stage_W=x.stage_loss_W,
        pass_W=x.pass_loss_W,
        a_W=x.a_loss_W,
        path_W=x.path_loss_W,
        output_W=x.output_loss_W,
        controller_W=x.standing_W,
        wiring_W=x.pack_A * x.pack_A * p.wiring_ohm,
        cells_W=x.pack_A * x.pack_A * cells_ohm,
        mount_degC=x.mount_degC,
        sink_degC=x.sink_degC,
        junction_degC=x.junction_degC,
        a_degC=x.a_degC,
        pass_degC=x.pass_degC,
        drops_out=x.dropout > 0.5,
    )
