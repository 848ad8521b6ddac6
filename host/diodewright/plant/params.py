"""The plant's tables: every parameter, every factor computed from them, every state.

One row is one float64 (or, for a curve, `count` of them) in a record by `record.make`; `index_of`
gives its flat index, for fault events and snapshots.

`PARAMS` are given: the build, its tolerances, its faults, the controls a person moves. `FACTORS`
follow from them and the sub-step (`factors.prepare`, at the start and after every change) and lie
behind them in the same record. `STATE` is what the sub-step changes; its first rows are the law's
outputs, which the caller sets.

Flags are 0 or 1; a unit ends its name. All is SI but temperatures in degC and the cell's capacity
in Ah. What lies beyond the stated ranges is outside the models' validity, not merely unusual.
"""

from diodewright.plant.row import Row

__all__ = ["FACTORS", "OCV_POINTS", "PARAMS", "PARAM_RECORD", "STATE", "Row", "index_of"]

#: Points of the open-circuit curve over state of charge.
OCV_POINTS = 13


_R = Row

_PACK = (
    _R("pack_kind", "code", "0 cells, 1 bench supply", 0, 1, 0),
    _R("pack_connected", "flag", "0 breaks the pack's contact (ahead of everything)", 0, 1, 1),
    _R("cells_series", "code", "cells in series", 1, 6, 1),
    _R("cells_parallel", "code", "strings in parallel", 1, 12, 1),
    _R("cell_capacity_Ah", "Ah", "capacity of one cell", 0.01, 100),
    _R("cell_R0_ohm", "ohm", "one cell's instant resistance, warm and fresh", 1e-4, 2),
    _R("cell_R1_ohm", "ohm", "one cell's slow (polarisation) resistance", 0, 2, 0),
    _R("cell_tau_s", "s", "time constant of the slow part", 0.05, 1e4, 30.55),
    _R("cell_R_factor", "", "cold or aged: multiplies R0 and R1", 0.1, 20, 1),
    _R("ocv_soc", "", "states of charge of the curve", 0, 1, None, OCV_POINTS, rising=True),
    _R("ocv_V", "V", "one cell's open-circuit voltage there", 0, 5, None, OCV_POINTS),
    _R("wiring_ohm", "ohm", "holder, leads, fuse, reverse protection", 0, 10),
    _R("bench_V", "V", "bench supply: set voltage", 0, 60, 0),
    _R("bench_limit_A", "A", "bench supply: current limit", 0.001, 100, 1),
    _R("bench_ohm", "ohm", "bench supply: source and lead resistance", 1e-4, 10, 0.01),
)
_RAIL = (
    _R("rail_nominal_V", "V", "controller rail when well supplied", 1.8, 5.5, 3.3),
    _R("rail_pack_min_V", "V", "pack voltage below which the rail falls with it", 0.5, 20, 2.5),
    _R("rail_hold_s", "s", "time constant of the rail's hold-up", 1e-5, 10, 0.01),
    _R("usb", "flag", "1: the rail is also fed from outside", 0, 1, 0),
    _R("controller_W", "W", "what the controller draws from the pack", 0, 5, 0.1),
    _R("supervisor_V", "V", "rail below this opens A and B in hardware", 0, 5, 2.93),
    _R("supervisor_dead", "flag", "1: the supervisor never acts", 0, 1, 0),
)
_CONTROLS = (
    _R("trigger", "flag", "1: trigger pressed", 0, 1, 0),
    _R("key", "flag", "1: key on; 0 opens A and B in hardware", 0, 1, 1),
    _R("interlock", "flag", "1: loop closed; 0 opens A and B in hardware", 0, 1, 1),
    _R("trigger_stuck", "flag", "1: its contact stays closed whatever the hand does", 0, 1, 0),
    _R("key_stuck", "flag", "1: its contacts stay closed", 0, 1, 0),
    _R("interlock_stuck", "flag", "1: the loop stays closed: a plug, a pinched wire", 0, 1, 0),
    _R("gates_dead", "flag", "1: key and interlock open nothing in hardware, only read", 0, 1, 0),
)
_SET = (
    _R("set_full_A", "A", "current asked for at full duty, rail at set_rail_V", 0.001, 20),
    _R("set_rail_V", "V", "rail at which set_full_A is true (the highest)", 1.8, 5.5, 3.3),
    _R("set_filter_s", "s", "time constant of each of the two poles", 1e-6, 1, 2e-4),
    _R("set_gain", "", "accuracy of the set path: asked / meant", 0, 10, 1),
    _R("set_offset_A", "A", "offset of the set path", -1, 1, 0),
    _R("set_open", "flag", "1: set input open, reads zero", 0, 1, 0),
    _R("set_stuck_full", "flag", "1: set input tied to the rail", 0, 1, 0),
    _R("set_frozen", "flag", "1: set input goes on asking for what it asks now", 0, 1, 0),
)
_STAGE = (
    _R("stage_kind", "code", "0 buck, 1 linear (a pass MOSFET), 2 gated (a module)", 0, 2, 0),
    _R("stage_startup_s", "s", "from enable B to first current", 0, 1, 0.004),
    _R("stage_loop_s", "s", "time constant of the current loop", 1e-6, 0.1, 5e-5),
    _R("inductor_H", "H", "inductance; of leads and choke if linear", 1e-7, 0.01),
    _R("inductor_factor", "", "saturated, shorted turns: multiplies it", 1e-4, 10, 1),
    _R("inductor_ohm", "ohm", "its winding", 0, 10, 0.05),
    _R("switching_Hz", "Hz", "switching frequency", 1e3, 1e7),
    _R("high_side_ohm", "ohm", "high-side switch, on", 0, 10, 0.05),
    _R("low_side_ohm", "ohm", "low-side switch, on", 0, 10, 0.05),
    _R("own_shunt_ohm", "ohm", "shunt that the stage regulates on", 1e-4, 10, 0.05),
    _R("own_shunt_gain", "", "what the stage believes / true current; 0 drives full on", 0, 10, 1),
    _R("switching_edges_s", "s", "rise plus fall time of the switch node", 0, 1e-6, 2e-8),
    _R("stage_idle_W", "W", "gate drive and control while enabled", 0, 5, 0.02),
    _R("duty_max", "", "largest duty of the stage; beyond it it drops out", 0.5, 1, 1),
    _R("ripple_share", "", "part of the inductor's ripple that the diode gets", 0, 1, 1),
    _R("overshoot", "", "turn-on overshoot / set current", 0, 5, 0),
    _R("stage_stuck_full", "flag", "1: high-side switch shorted, B has no effect", 0, 1, 0),
    _R("stage_stuck_off", "flag", "1: the stage gives nothing", 0, 1, 0),
    _R("b_stuck_on", "flag", "1: enable B held on whatever drives it", 0, 1, 0),
)
_PASS = (
    _R("pass_ohm", "ohm", "linear: pass MOSFET at 25 degC fully on, or shorted", 1e-4, 10, 0.05),
    _R("pass_tempco_1_K", "1/K", "rise per kelvin, of its 25 degC value", 0, 0.02, 0.005),
    _R("pass_sink_K_W", "K/W", "its channel to the diode's sink, on which it is", 0.01, 500, 2),
    _R("pass_tau_s", "s", "time constant of that", 1e-4, 1e4, 0.1),
)
_MODULE = (
    _R("module_A", "A", "gated: the module's current, times set_gain", 0.001, 20, 1),
    _R("module_rise_s", "s", "its own straight rise, after stage_startup_s", 0, 1, 0.002),
)
_OUTPUT = (
    _R("output_F", "F", "output capacitor", 1e-9, 1e-2, 1e-6),
    _R("bleeder_ohm", "ohm", "bleeder across it; small: a shorted output", 0.01, 1e9, 1e4),
    _R("output_clamp_V", "V", "clamp across it; 1000 means none", 1, 1000, 1000),
    _R("lead_ohm", "ohm", "leads and contacts of the diode", 0, 10, 0.02),
    _R("loop_H", "H", "wiring of the diode's loop, for surges alone; 0 for none", 0, 1e-4, 0),
    _R("monitor_ohm", "ohm", "monitor shunt as it truly is", 1e-4, 10, 0.05),
    _R("trickle_A", "A", "self-test trickle into the output", 0, 0.1, 0.002),
    _R("trickle_clamp_V", "V", "its clamp", 0, 20, 5),
)
_CUTOFFS = (
    _R("a_ohm", "ohm", "cut-off A at 25 degC, fully driven", 1e-4, 10, 0.02),
    _R("a_tempco_1_K", "1/K", "rise of a_ohm per kelvin, of its 25 degC value", 0, 0.02, 0.005),
    _R("a_air_K_W", "K/W", "its channel to air", 0.1, 500, 62),
    _R("a_tau_s", "s", "time constant of that", 1e-4, 1e4, 1),
    _R("a_open", "flag", "1: A never conducts", 0, 1, 0),
    _R("a_short", "flag", "1: A always conducts", 0, 1, 0),
    _R("pulse_hold_s", "s", "dynamic enable drops this long after its last edge", 1e-4, 1e9, 0.008),
    _R("pulse_close_s", "s", "dynamic enable closes A so long after its first edge", 0, 1e9, 0),
    _R("b_delay_s", "s", "B's enable rises so long after its pin; it falls at once", 0, 1e9, 0),
    _R("trip_A", "A", "over-current comparator", 0.001, 100),
    _R("trip_V", "V", "over-voltage comparator at the output", 0.1, 100),
    _R("trip_A_factor", "", "drift of the over-current trip: multiplies it", 0, 100, 1),
    _R("trip_V_factor", "", "drift of the over-voltage trip: multiplies it", 0, 100, 1),
    _R("trip_delay_s", "s", "from crossing to A open", 0, 1e-3, 1e-6),
    _R("inject_A", "A", "height of the injected trip, as diode current", 0, 1e6, 1e6),
    _R("inject_s", "s", "its length", 0, 1e3, 1e3),
    _R("over_current_dead", "flag", "1: over-current never trips", 0, 1, 0),
    _R("over_voltage_dead", "flag", "1: over-voltage never trips", 0, 1, 0),
    _R("reset_stuck", "flag", "1: no edge resets the latch", 0, 1, 0),
)
_DIODE = (
    _R("diode_a_V", "V", "a of V = a + b ln(I/1 A) + I Rs", 0, 60),
    _R("diode_b_V", "V", "b, per e-fold of current", 0, 5, 0),
    _R("diode_rs_ohm", "ohm", "series resistance", 0, 50),
    _R("diode_floor_A", "A", "current below which the logarithm is flattened", 1e-9, 0.01, 1e-4),
    _R("diode_tempco_V_K", "V/K", "of the forward voltage", -0.05, 0.05, 0),
    _R("diode_ref_degC", "degC", "junction temperature of all diode figures", -60, 200, 25),
    _R("diode_spread_V", "V", "this part's forward voltage less the typical", -5, 5, 0),
    _R("diode_open", "flag", "1: no path through the diode", 0, 1, 0),
    _R("diode_short", "flag", "1: the diode is diode_short_ohm, dark", 0, 1, 0),
    _R("diode_short_ohm", "ohm", "what a shorted diode leaves", 1e-4, 1, 0.02),
    _R("threshold_A", "A", "laser threshold; 0 for an LED", 0, 20, 0),
    _R("threshold_T0_K", "K", "its T0, of either sign", -1e6, 1e6, 1e6, least=1),
    _R("threshold_factor", "", "ageing: multiplies the threshold", 0, 100, 1),
    _R("slope_W_A", "W/A", "slope of light over current", 0, 20),
    _R("slope_T1_K", "K", "its T1, of either sign", -1e6, 1e6, 1e6, least=1),
    _R("light_factor", "", "ageing, facet damage: multiplies the light", 0, 10, 1),
)
_HEAT = (
    _R("junction_mount_K_W", "K/W", "junction to mount, per watt of heat", 0.01, 500),
    _R("junction_tau_s", "s", "time constant of that", 1e-5, 10, 0.02),
    _R("mount_J_K", "J/K", "mount with the diode's body", 0.05, 1e5),
    _R("mount_sink_K_W", "K/W", "pad and interface, mount to sink", 0.05, 1e6),
    _R("sink_J_K", "J/K", "sink", 0.05, 1e6),
    _R("sink_air_K_W", "K/W", "sink to air", 0.05, 1e6),
    _R("ambient_degC", "degC", "air", -60, 120, 25),
)


def _reading(channel: str, what: str, faults: str) -> tuple[Row, ...]:
    """Return the three fault rows that every reading has."""
    return (
        _R(f"{channel}_read_gain", "", f"{what}: drift, read / true", 0, 100, 1),
        _R(f"{channel}_read_offset_V", "V", f"{what}: offset at the pin", -5, 5, 0),
        _R(f"{channel}_read_fault", "code", f"{what}: {faults}", 0, 4, 0),
    )


_PLAIN = "0 healthy, 1 open (0 V), 2 shorted (rail), 3 frozen"
_NTC = "0 healthy, 1 open, 2 shorted, 3 frozen, 4 detached (follows the air)"
_SENSORS = (
    _R("monitor_gain_V_V", "V/V", "monitor amplifier", 0.1, 1000, 20),
    _R("monitor_zero_V", "V", "its output at no current", 0, 5, 0),
    _R("monitor_lag_s", "s", "time constant of its filter", 1e-6, 1, 1e-4),
    *_reading("current", "diode current", _PLAIN),
    _R("output_ratio", "", "output divider: pin / true, unloaded", 1e-3, 1, 0.3),
    _R("output_source_ohm", "ohm", "its source resistance at the pin", 0, 1e6, 0),
    *_reading("output", "output voltage", _PLAIN),
    _R("pack_ratio", "", "pack divider: pin / true, unloaded", 1e-3, 1, 0.3),
    _R("pack_source_ohm", "ohm", "its source resistance at the pin", 0, 1e6, 0),
    *_reading("pack", "pack voltage", _PLAIN),
    _R("ntc_kind", "code", "0 Beta, 1 Steinhart-Hart", 0, 1, 0),
    _R("ntc_25_ohm", "ohm", "NTC at 25 degC (Beta)", 10, 1e7, 1e4),
    _R("ntc_beta_K", "K", "its Beta", 500, 10000, 3950),
    _R("ntc_sh_A", "1/K", "Steinhart-Hart A", 0, 0.01, 1.129241e-3),
    _R("ntc_sh_B", "1/K", "Steinhart-Hart B", 1e-6, 0.01, 2.341077e-4),
    _R("ntc_sh_C", "1/K", "Steinhart-Hart C", 1e-10, 1e-5, 8.775468e-8),
    _R("ntc_pull_ohm", "ohm", "resistor from the rail to the pin", 10, 1e7, 1e4),
    _R("ntc_lag_s", "s", "time constant of an attached NTC", 1e-3, 1000, 5),
    _R("ntc_air_lag_s", "s", "time constant of a detached one in air", 1e-3, 1000, 15),
    *_reading("mount", "mount NTC (gain on its resistance)", _NTC),
    *_reading("sink", "sink NTC (gain on its resistance)", _NTC),
    _R("check_V", "V", "known voltage that checks the ADC's reference", 0.1, 3, 1.25),
    *_reading("check", "reference check", _PLAIN),
    _R("indicator_A", "A", "current of the lit indicator", 0, 0.1, 0.005),
    _R("indicator_sense_ohm", "ohm", "resistor that senses it", 1, 1e4, 200),
    _R("indicator_open", "flag", "1: indicator dark though driven", 0, 1, 0),
    *_reading("indicator", "indicator current", _PLAIN),
    _R("adc_ohm", "ohm", "input resistance of the ADC", 1e4, 1e12, 1e12),
    _R("ref_gain", "", "ADC reference / rail", 0.5, 2, 1),
    _R("ref_offset_V", "V", "ADC reference offset (drop in its filter)", -0.5, 0.5, 0),
    _R("adc_noise_lsb", "LSB", "rms noise of one reading", 0, 50, 0),
)

PARAMS: tuple[Row, ...] = (
    *_PACK,
    *_RAIL,
    *_CONTROLS,
    *_SET,
    *_STAGE,
    *_PASS,
    *_MODULE,
    *_OUTPUT,
    *_CUTOFFS,
    *_DIODE,
    *_HEAT,
    *_SENSORS,
)

_BIG = 1e300  # stands for "no limit": the plant computes these rows itself


def _free(name: str, unit: str, meaning: str, start: float = 0.0) -> Row:
    """Return a row that the plant itself fills in, so that no range is imposed on it."""
    return Row(name, unit, meaning, -_BIG, _BIG, start)


FACTORS: tuple[Row, ...] = (
    _free("pack_fast_ohm", "ohm", "pack terminals: R0 part and wiring"),
    _free("pack_slow_ohm", "ohm", "pack terminals: R1 part"),
    _free("pack_slow_decay", "", "exp(-dt/tau) of the R1 part"),
    Row("ocv_slope_V", "V", "slope of the curve below each point", -_BIG, _BIG, 0.0, OCV_POINTS),
    _free("soc_per_C", "1/C", "state of charge per coulomb"),
    _free("rail_decay", "", "exp(-dt/tau) of the rail's hold-up"),
    _free("set_decay", "", "exp(-dt/tau) of one set pole"),
    _free("set_carry", "", "dt/tau times that: first pole into second"),
    _free("loop_decay", "", "exp(-dt/tau) of the current loop"),
    _free("set_A_V", "A/V", "asked current per volt of rail at full duty"),
    _free("shunt_gain_inverse", "", "true current per current the stage believes in; 0 full on"),
    _free("step_s", "s", "the sub-step"),
    _free("pass_decay", "", "exp(-dt/tau) of the pass MOSFET's channel"),
    _free("pass_J_K", "J/K", "heat capacity of its own lump"),
    _free("ripple_A_V", "A/V", "1 / (inductance times switching frequency)"),
    _free("bleeder_S", "S", "1 / bleeder"),
    _free("bleeder_decay", "", "exp(-dt/RC) of output capacitor and bleeder"),
    _free("series_ohm", "ohm", "monitor shunt and leads"),
    _free("surge_ohm", "ohm", "sqrt(L/C) of the diode's loop and the output capacitor"),
    _free("a_decay", "", "exp(-dt/tau) of cut-off A's channel"),
    _free("diode_knee_V", "V", "forward voltage at no current, at the reference"),
    _free("diode_floor_1_A", "1/A", "1 / the floor in its logarithm"),
    _free("threshold_1_K", "1/K", "1/T0"),
    _free("slope_1_K", "1/K", "1/T1"),
    _free("junction_decay", "", "exp(-dt/tau) of the junction"),
    _free("junction_J_K", "J/K", "heat capacity of the junction's own lump"),
    _free("mount_sink_W_K", "W/K", "1 / mount_sink_K_W"),
    _free("sink_air_W_K", "W/K", "1 / sink_air_K_W"),
    _free("mount_K_J", "K/J", "1 / mount_J_K"),
    _free("sink_K_J", "K/J", "1 / sink_J_K"),
    _free("monitor_decay", "", "exp(-dt/tau) of the monitor amplifier"),
    _free("mount_ntc_decay", "", "exp(-dt/tau) of the mount NTC"),
    _free("sink_ntc_decay", "", "exp(-dt/tau) of the sink NTC"),
)

#: A parameter record: what is given, and behind it what follows from it.
PARAM_RECORD: tuple[Row, ...] = PARAMS + FACTORS

STATE: tuple[Row, ...] = (
    # the law's outputs and the self-test's, set by the caller
    Row("duty", "", "set output, part of full", 0, 1, 0),
    Row("enable_b", "flag", "the law's enable B", 0, 1, 0),
    Row("pulse_edge", "flag", "1 for one sub-step: the dynamic enable toggled", 0, 1, 0),
    Row("indicator", "flag", "indicator driven", 0, 1, 0),
    Row("trickle", "flag", "self-test trickle on", 0, 1, 0),
    Row("latch_reset", "flag", "1 for one sub-step: edge that resets the latch", 0, 1, 0),
    Row("trip_inject", "flag", "1 for one sub-step: self-test sets the latch", 0, 1, 0),
    # hardware gates
    _free("rail_V", "V", "controller rail", 3.3),
    _free("pulse_age_s", "s", "since the dynamic enable's last edge", 1e6),
    _free("pulse_run_s", "s", "for how long its edges have come"),
    _free("b_asked_s", "s", "for how long the pin of enable B has been high"),
    Row("latch", "flag", "comparator latch; powers up tripped", 0, 1, 1),
    Row("latch_cause", "code", "0 power-up, 1 over-current, 2 over-voltage, 3 injected", 0, 3, 0),
    _free("a_closed", "flag", "cut-off A conducts"),
    _free("b_on", "flag", "the stage is enabled"),
    _free("b_on_s", "s", "for how long it has been"),
    # electrical, true
    Row("soc", "", "state of charge", 0, 1, 1),
    _free("pack_slow_V", "V", "voltage across the pack's R1 part"),
    _free("pack_ocv_V", "V", "open-circuit voltage of the pack"),
    _free("pack_V", "V", "at the stage's input, behind the pack's wiring"),
    _free("pack_A", "A", "drawn from the pack, the controller's share included"),
    _free("pack_C", "C", "charge drawn so far"),
    _free("set_pole_A", "A", "first pole of the set filter"),
    _free("set_A", "A", "current that the stage is asked for"),
    _free("stage_A", "A", "mean inductor current"),
    _free("stage_live", "flag", "the stage runs and its load path is closed"),
    _free("stage_duty", "", "duty of the stage's switch; 1 for a running pass MOSFET"),
    _free("dropout", "flag", "the stage can't hold its current from this pack"),
    _free("ripple_A", "A", "inductor ripple, peak to peak"),
    _free("path_closed", "flag", "a way through diode and A at the sub-step's end"),
    _free("output_V", "V", "across the output capacitor"),
    _free("output_peak_V", "V", "highest of it in this sub-step"),
    _free("diode_A", "A", "mean diode current"),
    _free("diode_peak_A", "A", "highest diode current in this sub-step, edges included"),
    _free("diode_V", "V", "across the diode"),
    _free("light_W", "W", "light"),
    _free("diode_W", "W", "electrical power of the diode"),
    _free("heat_W", "W", "heat of the diode"),
    _free("stage_loss_W", "W", "lost in the stage, its pass MOSFET included"),
    _free("pass_loss_W", "W", "lost in the pass MOSFET of a linear stage"),
    _free("standing_W", "W", "drawn from the pack by controller and indicator"),
    _free("a_loss_W", "W", "lost in cut-off A"),
    _free("path_loss_W", "W", "lost in monitor shunt and leads"),
    _free("output_loss_W", "W", "lost in bleeder and output capacitor"),
    _free("indicator_lit", "flag", "the indicator truly shines"),
    # temperatures, true
    _free("junction_rise_K", "K", "junction over mount"),
    _free("junction_degC", "degC", "junction", 25),
    _free("mount_degC", "degC", "mount", 25),
    _free("sink_degC", "degC", "sink", 25),
    _free("pass_rise_K", "K", "channel of the pass MOSFET over the sink"),
    _free("pass_degC", "degC", "channel of a linear stage's pass MOSFET", 25),
    _free("a_degC", "degC", "channel of cut-off A", 25),
    # where the diode's functions were last evaluated (see `near`); at no current, at the reference
    _free("log_from_1", "", "1 / (1 + I/I_f) there", 1),
    _free("log_there", "", "ln(1 + I/I_f) there", 0),
    _free("threshold_from", "", "exponent of the threshold there", 0),
    _free("threshold_there", "", "its exponential", 1),
    _free("slope_from", "", "exponent of the light's slope there", 0),
    _free("slope_there", "", "its exponential", 1),
    # energies since the start
    _free("pack_J", "J", "out of the pack's terminals: sum of V I dt"),
    _free("light_J", "J", "light"),
    _free("heat_J", "J", "heat of the diode"),
    _free("stage_J", "J", "stage losses"),
    _free("pass_J", "J", "of them, the pass MOSFET's heat"),
    _free("a_J", "J", "lost in cut-off A"),
    _free("path_J", "J", "lost in monitor shunt and leads"),
    _free("wiring_J", "J", "lost in the pack's wiring"),
    _free("output_J", "J", "bleeder, and dumps of the output capacitor"),
    _free("controller_J", "J", "controller and indicator"),
    _free("air_J", "J", "from the sink into the air"),
    # what sensors hold
    _free("monitor_A", "A", "diode current behind the monitor's filter"),
    _free("mount_ntc_degC", "degC", "temperature of the mount's NTC", 25),
    _free("sink_ntc_degC", "degC", "temperature of the sink's NTC", 25),
    _free("current_held_V", "V", "last pin voltage, kept when frozen"),
    _free("output_held_V", "V", "same"),
    _free("pack_held_V", "V", "same"),
    _free("mount_held_V", "V", "same"),
    _free("sink_held_V", "V", "same"),
    _free("check_held_V", "V", "same"),
    _free("indicator_held_V", "V", "same"),
    Row("noise_state", "code", "state of the noise generator (whole number)", 0, 4294967295, 1),
)


#: Tables whose indices were asked for; each is kept, so that its identity stays its own.
_INDICES: dict[int, tuple[tuple[Row, ...], dict[str, int]]] = {}


def index_of(table: tuple[Row, ...]) -> dict[str, int]:
    """Return name -> flat index of the row's (first) float64 in a record of `table`."""
    known = _INDICES.get(id(table))
    if known is not None:
        return known[1]
    indices: dict[str, int] = {}
    at = 0
    for row in table:
        indices[row.name] = at
        at += row.count
    _INDICES[id(table)] = (table, indices)
    return indices
