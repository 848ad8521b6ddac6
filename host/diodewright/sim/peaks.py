"""What a run leaves behind without a Trace: peaks at sub-step, first times, exposure.

A kernel module. The record that it fills is described by `diodewright.sim.tally.TALLY`.
"""

from diodewright.plant.kernel import Record, kernel

# the law's mode "limited" and its cap "pack": caps before it are about heat, the one behind it
# (headroom) about the pack as well
TALLY_LIMITED = 7
TALLY_PACK = 4


@kernel
def tally_substep(p: Record, x: Record, t: Record, dt_s: float) -> int:
    """Keep the extremes of one sub-step and the time [s] that the diode was lit."""
    t.elapsed_s = t.elapsed_s + dt_s
    if x.diode_peak_A > t.peak_current_A:
        t.peak_current_A = x.diode_peak_A
    if x.junction_degC > t.peak_junction_degC:
        t.peak_junction_degC = x.junction_degC
    if x.pack_A > t.peak_pack_A:
        t.peak_pack_A = x.pack_A
    if x.pack_V < t.least_pack_V:
        t.least_pack_V = x.pack_V
    if x.light_W > t.peak_light_W:
        t.peak_light_W = x.light_W
    if x.diode_A > t.dark_A:
        t.lit_s = t.lit_s + dt_s
        t.last_lit_s = t.elapsed_s
        if t.first_lit_s < 0.0:
            t.first_lit_s = t.elapsed_s
        if p.key < 0.5 or p.interlock < 0.5 or p.trigger < 0.5:
            t.against_s = t.against_s + dt_s
            if t.against_s > t.longest_against_s:
                t.longest_against_s = t.against_s
        else:
            t.against_s = 0.0
    else:
        t.against_s = 0.0
    return 0


@kernel
def tally_tick(x: Record, t: Record, mode: int, bound: int, faults: int, row: int) -> int:
    """Keep the slow extremes and the first times [s] of one tick."""
    if x.mount_degC > t.peak_mount_degC:
        t.peak_mount_degC = x.mount_degC
    if x.sink_degC > t.peak_sink_degC:
        t.peak_sink_degC = x.sink_degC
    if x.a_degC > t.peak_a_degC:
        t.peak_a_degC = x.a_degC
    if x.pass_degC > t.peak_pass_degC:
        t.peak_pass_degC = x.pass_degC
    if mode == TALLY_LIMITED and bound >= TALLY_PACK and t.first_pack_cut_s < 0.0:
        t.first_pack_cut_s = t.elapsed_s
    if mode == TALLY_LIMITED and bound < TALLY_PACK and t.first_heat_cut_s < 0.0:
        t.first_heat_cut_s = t.elapsed_s
    if faults != 0 and t.first_fault_s < 0.0:
        t.first_fault_s = t.elapsed_s
        t.first_cause = row
    t.end_mode = mode
    return 0
