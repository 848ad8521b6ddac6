"""One sub-step of the whole plant, and the state at rest.

Order within a sub-step: rail, one-shot inputs, hardware gates, set path, loop (with comparators),
pack, heat, energies, sensors, ages. The electrical part thus sees the temperatures and charge of
the sub-step's start; the heat sees its electrical part. Halving the sub-step moves peaks by less
than 0.5 % (a test).

The caller sets the state's inputs (`duty`, `enable_b`, `indicator`, `trickle`, and the one-shots
`pulse_edge`, `latch_reset`, `trip_inject`, which are consumed) and the parameters' controls
(`trigger`, `key`, `interlock`; the plant's hardware reads the last two).
"""

from diodewright.plant.circuit import carry_current
from diodewright.plant.diode import shine
from diodewright.plant.heat import warm_pass, warm_up
from diodewright.plant.kernel import Record, kernel
from diodewright.plant.pack import discharge, follow_rail, pack_source_V
from diodewright.plant.sensors import follow_sensors
from diodewright.plant.stage import follow_set
from diodewright.plant.switch import age_cutoffs, gate_cutoffs, take_edges


@kernel
def advance(p: Record, x: Record, dt_s: float) -> None:
    """Move the state `x` by one sub-step of `dt_s` [s], the one that `p` was prepared for."""
    x.indicator_lit = x.indicator if p.indicator_open < 0.5 else 0.0
    follow_rail(p, x)
    take_edges(p, x)
    gate_cutoffs(p, x)
    follow_set(p, x)
    carry_current(p, x, dt_s)
    shine(p, x)
    discharge(p, x, dt_s)
    warm_up(p, x, dt_s)
    if p.stage_kind == 1.0:
        warm_pass(p, x, dt_s)
    sum_energies(p, x, dt_s)
    follow_sensors(p, x)
    age_cutoffs(x, dt_s)


@kernel
def sum_energies(p: Record, x: Record, dt_s: float) -> None:
    """Add the sub-step's energies [J]; the pack's side is its own terminal volts times amperes."""
    wiring_V = x.pack_A * p.wiring_ohm
    x.pack_J += (x.pack_V + wiring_V) * x.pack_A * dt_s
    x.wiring_J += wiring_V * x.pack_A * dt_s
    x.light_J += x.light_W * dt_s
    x.heat_J += x.heat_W * dt_s
    x.stage_J += x.stage_loss_W * dt_s
    x.a_J += x.a_loss_W * dt_s
    x.path_J += x.path_loss_W * dt_s
    x.output_J += x.output_loss_W * dt_s
    x.controller_J += x.standing_W * dt_s


@kernel
def settle(p: Record, x: Record) -> None:
    """Put `x` at rest: all at ambient, no current, rail and pack voltage as the pack gives them.

    The inputs, the latch, the charge and the energies are left as they are.
    """
    x.pack_slow_V = 0.0
    x.pack_A = 0.0
    x.pack_V = pack_source_V(p, x)
    x.rail_V = 0.0
    follow_rail(p, x)
    x.set_pole_A = 0.0
    x.set_A = 0.0
    x.stage_A = 0.0
    x.output_V = 0.0
    x.diode_A = 0.0
    x.monitor_A = 0.0
    x.junction_rise_K = 0.0
    x.junction_degC = p.ambient_degC
    x.mount_degC = p.ambient_degC
    x.sink_degC = p.ambient_degC
    x.pass_loss_W = 0.0
    x.pass_rise_K = 0.0
    x.pass_degC = p.ambient_degC
    x.a_degC = p.ambient_degC
    x.mount_ntc_degC = p.ambient_degC
    x.sink_ntc_degC = p.ambient_degC
