"""The plant driven by what a record says, row by row: for fits and comparisons, both engines.

A kernel module. Three ways to drive it: by what the law put out (`follow_outputs`, the whole
plant); by the diode's recorded current and voltage (`follow_heat`, the heat path alone); by
recorded current and voltage at the output, or at the pack (`follow_pack`, the pack alone).
Each row is first written, as the sensors would see it, then held for its count of sub-steps: a
record's readings are of the moment at which its outputs begin.

Limits. Between two rows nothing is known: what a row says is held. In `follow_outputs` no hardware
gate acts by itself (no latch, no key, no dynamic enable that drops): the law's enables say what
was on. The caller declares the comparators dead in `p`.
"""

from diodewright.plant.buck import hold_buck
from diodewright.plant.diode import shine
from diodewright.plant.factors import prepare
from diodewright.plant.heat import warm_pass, warm_up
from diodewright.plant.kernel import Record, kernel
from diodewright.plant.linear import burn_linear, hold_linear
from diodewright.plant.pack import discharge, draw, pack_source_V, standing_load_W
from diodewright.plant.sensors import follow_sensors
from diodewright.plant.step import advance, settle
from diodewright.plant.switch import a_now_ohm

# bits of the law's word "enable"
FOLLOW_A = 1
FOLLOW_B = 2
FOLLOW_INDICATOR = 4
NEVER_S = 1e6


@kernel
def write_followed(row: Record, x: Record) -> int:
    """Fill one row: what the sensors show, then junction, light, heat and pack current."""
    row[0] = x.monitor_A
    row[1] = x.output_V
    row[2] = x.pack_V
    row[3] = x.mount_ntc_degC
    row[4] = x.sink_ntc_degC
    row[5] = x.junction_degC
    row[6] = x.light_W
    row[7] = x.heat_W
    row[8] = x.pack_A
    return 0


@kernel
def begin_following(
    p: Record, x: Record, dt_s: float, mount_degC: float, sink_degC: float, level_A: float
) -> int:
    """Put `x` at rest, then mount and sink at [degC], and the stage as if at `level_A` [A]."""
    prepare(p, dt_s)
    settle(p, x)
    x.mount_degC = mount_degC
    x.mount_ntc_degC = mount_degC
    x.sink_degC = sink_degC
    x.sink_ntc_degC = sink_degC
    x.pass_degC = sink_degC
    x.junction_degC = mount_degC
    x.latch = 0.0
    if level_A > 0.0:
        x.b_on_s = NEVER_S
        x.set_pole_A = level_A
        x.set_A = level_A
        x.stage_A = level_A
        x.stage_live = 1.0
        x.path_closed = 1.0
    return 0


@kernel
def follow_outputs(
    p: Record,
    x: Record,
    duty: Record,
    enable: Record,
    steps: Record,
    rows: Record,
    count: int,
    dt_s: float,
) -> int:
    """Run the whole plant under the law's outputs: `duty` [part of full], `enable` [bits]."""
    for i in range(count):
        write_followed(rows[i], x)
        bits = enable[i]
        x.duty = duty[i]
        x.enable_b = 1.0 if bits & FOLLOW_B != 0 else 0.0
        x.indicator = 1.0 if bits & FOLLOW_INDICATOR != 0 else 0.0
        for _ in range(steps[i]):
            x.latch = 0.0
            x.pulse_age_s = 0.0 if bits & FOLLOW_A != 0 else NEVER_S
            advance(p, x, dt_s)
    return count


@kernel
def follow_heat(
    p: Record,
    x: Record,
    diode_A: Record,
    output_V: Record,
    pack_V: Record,
    steps: Record,
    rows: Record,
    count: int,
    dt_s: float,
) -> int:
    """Run the heat path under recorded current [A], output and pack voltage [V]."""
    for i in range(count):
        write_followed(rows[i], x)
        x.diode_A = diode_A[i]
        x.stage_A = diode_A[i]
        x.output_V = output_V[i]
        x.pack_V = pack_V[i]
        for _ in range(steps[i]):
            a_ohm = a_now_ohm(p, x)
            x.diode_V = x.output_V - x.diode_A * (p.series_ohm + a_ohm)
            x.a_loss_W = x.diode_A * x.diode_A * a_ohm
            shine(p, x)
            warm_up(p, x, dt_s)
            if p.stage_kind == 1.0:
                burn_linear(p, x, 0.0)
                warm_pass(p, x, dt_s)
            follow_sensors(p, x)
    return count


@kernel
def follow_pack(
    p: Record,
    x: Record,
    output_A: Record,
    output_V: Record,
    enable: Record,
    metered: int,
    steps: Record,
    rows: Record,
    count: int,
    dt_s: float,
) -> int:
    """Run the pack under recorded current [A] and voltage [V] at the stage's output.

    With `metered` the current is the pack's own, and nothing else is drawn.
    """
    for i in range(count):
        x.indicator_lit = 1.0 if enable[i] & FOLLOW_INDICATOR != 0 else 0.0
        x.b_on = 1.0 if enable[i] & FOLLOW_B != 0 else 0.0
        x.output_V = output_V[i]
        x.stage_A = output_A[i]
        if metered == 0 and x.stage_A > 0.0:
            x.stage_A = x.stage_A + x.output_V * p.bleeder_S
        draw_followed(p, x, metered)
        write_followed(rows[i], x)
        for _ in range(steps[i]):
            draw_followed(p, x, metered)
            discharge(p, x, dt_s)
    return count


@kernel
def draw_followed(p: Record, x: Record, metered: int) -> int:
    """Set the pack's current and terminal voltage for what the output takes."""
    source_V = pack_source_V(p, x)
    if metered != 0:
        x.pack_A = x.stage_A
        x.pack_V = source_V - x.pack_A * p.pack_fast_ohm
        return 0
    x.standing_W = standing_load_W(p, x, source_V)
    held = False
    if x.stage_A > 0.0:
        held = hold_linear(p, x, source_V) if p.stage_kind == 1.0 else hold_buck(p, x, source_V)
    if not held:
        given_W = x.stage_A * x.output_V
        draw(p, x, source_V, x.standing_W + p.stage_idle_W * x.b_on + given_W)
    return 0
