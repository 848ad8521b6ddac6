"""The word tables: every array element of the control law, its unit, range and meaning.

The board enforces these ranges when it loads settings, the host converts builds into them and
telemetry out of them. A row is ``(name, unit, low, high, meaning)``; a word's index is its place
in its table. One test ties each table to the constants of ``law.py``. All words are non-negative
int32 below 2**30. Units: ``cK`` is 0.01 K (absolute), ``q64`` is 1/64 mA, ``code`` is an ADC
count of 12 bits, ``tick`` is 1 ms, ``part`` is 1/1024 of the unit before it.
"""

FORMAT = 1
ONES = 0x3FFFFFFF
TRIM_BIAS = 65536
NTC_POINTS = 33

MODES = (
    ("boot", "waits until every channel was read once"),
    ("dark", "waits for a release and a fresh press"),
    ("delay", "indicator on, no light yet: the emission delay"),
    ("close", "latch reset; waits for an empty output before cut-off A closes"),
    ("start", "cut-offs closed at the start level; waits for the stage's own start-up"),
    ("soft_start", "the shaped rise"),
    ("run", "at the level asked for"),
    ("limited", "held below the level asked for by a cap"),
    ("pack_low", "locked out until the pack has rested above re-arm"),
    ("fault", "latched dark; the first cause says why and how it clears"),
)

# What opens a latched row again, beside its condition being gone and the trigger released.
RULES = (
    ("release", "let the trigger go and press afresh"),
    (
        "interlock",
        "open and close the interlock or the key, with the trigger released; where neither is "
        "fitted, let the trigger go and press afresh",
    ),
    ("rest", "let the pack rest until it stands above re-arm, or fit a charged one"),
    ("service", "power off and find the cause before the next use"),
)

# Order is priority: where two rows latch in one tick, the first is the cause.
# (name, rule, what it was judged on, against which limit, condition in words)
FAULTS = (
    ("settings", "service", "pins", "ceiling", "a limit differs from its complement"),
    ("state", "service", "pins", "ceiling", "a state word left its range"),
    ("latch", "interlock", "pins", "ceiling", "the comparator latch is set"),
    ("overcurrent", "interlock", "current_mA", "overcurrent_mA", "diode current above its limit"),
    ("stuck", "service", "current_mA", "dark_mA", "current while dark: a switch is stuck on"),
    ("short", "interlock", "output_mV", "short_mV", "current with too little voltage"),
    ("open", "interlock", "output_mV", "open_mV", "commanded on, but no current"),
    ("follow", "interlock", "current_mA", "follow_mA", "current does not follow the drive"),
    ("hot", "release", "lead_cK", "trip_cK", "mount above its trip"),
    ("junction", "release", "junction_cK", "junction_trip_cK", "junction estimate above its trip"),
    ("heat", "interlock", "mount_cK", "model_min_cK", "temperatures do not rise as physics says"),
    ("sensor", "interlock", "mount_cK", "sensor_max_cK", "a reading no healthy sensor can give"),
    ("stale", "interlock", "mount_age", "age_ticks", "a reading older than its allowed age"),
    (
        "indicator",
        "interlock",
        "indicator_uA",
        "indicator_min_uA",
        "emission indicator not healthy",
    ),
    ("pack_wrong", "rest", "pack_mV", "pack_max_mV", "pack voltage above any healthy pack"),
    ("pack_min", "rest", "pack_mV", "loaded_min_mV", "pack below its loaded minimum"),
    ("pack_low", "rest", "rest_mV", "lockout_mV", "pack estimate below lockout"),
    ("late", "release", "gap_ticks", "late_ticks", "a tick came late"),
    ("beat", "release", "beat_ticks", "beat_max_ticks", "the main loop's heartbeat is old"),
    ("charged", "release", "output_mV", "safe_mV", "output still charged when it should be empty"),
)
ROWS = len(FAULTS)


def blinks(row: int) -> tuple[int, int]:
    """Return how row number ``row`` is shown: so many long blinks, then so many short ones."""
    return row // 5 + 1, row % 5 + 1


# Reasons to be dark in this very tick (bits of the state word "hard").
HARD = (
    "interlock open",
    "key off",
    "trigger released",
    "comparator latch",
    "latched",
    "boot",
    "less allowed than a gated stage gives",
)
# What binds the light (state word "bound").
BOUNDS = ("level", "mount", "junction", "budget", "pack", "headroom")
# Bits of the reading "pins" and of the state word "enable".
PINS = ("trigger", "key", "interlock", "latch", "settings_bad")
ENABLES = ("cutoff_a", "cutoff_b", "indicator", "reset", "warn")

RAW = (
    ("current_code", "code", 0, 4095, "monitor amplifier"),
    ("output_code", "code", 0, 4095, "output divider"),
    ("mux_code", "code", 0, 4095, "the multiplexed channel read in this tick"),
    ("mux_channel", "1", 0, 255, "which: 0 pack 1 reference 2 indicator 3 mount 4 sink"),
    ("pins", "bits", 0, 31, "see PINS"),
    ("gap_ticks", "tick", 0, 65535, "periods since the tick before; 1 is on time"),
    ("beat_ticks", "tick", 0, 65535, "age of the main loop's last heartbeat"),
    ("level", "1", 0, 3, "which named level is asked for"),
)

READINGS = (
    ("current_mA", "mA", 0, 10000, "diode current, from the monitor shunt"),
    ("output_mV", "mV", 0, 20000, "stage output against ground"),
    ("pack_mV", "mV", 0, 20000, "pack terminals"),
    ("reference_mV", "mV", 0, 20000, "reference check"),
    ("indicator_uA", "uA", 0, 20000, "emission indicator current"),
    ("mount_cK", "cK", 0, 60000, "sensor on the diode's mount"),
    ("sink_cK", "cK", 0, 60000, "sensor on the sink"),
    ("pack_age", "tick", 0, 65535, "since the pack was read"),
    ("reference_age", "tick", 0, 65535, "since the reference was read"),
    ("indicator_age", "tick", 0, 65535, "since the indicator was read"),
    ("mount_age", "tick", 0, 65535, "since the mount was read"),
    ("sink_age", "tick", 0, 65535, "since the sink was read"),
    ("pins", "bits", 0, 31, "see PINS"),
    ("gap_ticks", "tick", 0, 65535, "periods since the tick before"),
    ("beat_ticks", "tick", 0, 65535, "age of the heartbeat"),
    ("level", "1", 0, 3, "which named level is asked for"),
    ("power_mW", "mW", 0, 200000, "electrical power of the diode, the larger of asked and read"),
    ("lead_cK", "cK", 0, 60000, "mount with the sensor's lag compensated, never below the sensor"),
    ("junction_cK", "cK", 0, 1100000, "junction estimate"),
    ("rest_mV", "mV", 0, 60000, "pack with its sag compensated, filtered"),
)

SETTINGS: tuple[tuple[str, str, int, int, str], ...] = (
    # calibration
    ("current_full_mA", "mA", 100, 10000, "monitor current at code 4096"),
    ("current_zero_code", "code", 0, 400, "code at no current"),
    ("output_full_mV", "mV", 1000, 20000, "output at code 4096"),
    ("pack_full_mV", "mV", 1000, 20000, "pack at code 4096"),
    ("reference_full_mV", "mV", 1000, 20000, "reference channel at code 4096"),
    ("indicator_full_uA", "uA", 100, 20000, "indicator current at code 4096"),
    ("duty_full_mA", "mA", 50, 10000, "what the stage is asked for at full duty"),
    ("duty_top", "count", 100, 1600, "set PWM counts at full duty"),
    # levels and the rise
    ("level_0_mA", "mA", 1, 10000, "first named level"),
    ("level_1_mA", "mA", 1, 10000, "second named level"),
    ("level_2_mA", "mA", 1, 10000, "third named level"),
    ("level_3_mA", "mA", 1, 10000, "fourth named level"),
    ("top_mA", "mA", 1, 10000, "highest level plus authority: where every cap begins"),
    ("absolute_mA", "mA", 1, 10000, "never asked for above this, trim included"),
    ("start_mA", "mA", 1, 10000, "start level"),
    ("ramp_ticks", "tick", 1, 60000, "length of the soft-start"),
    ("rise_q64", "q64", 1, 640000, "largest rise a tick, trim and cap release included"),
    ("fall_q64", "q64", 1, 640000, "largest fall a tick while lit"),
    ("delay_ticks", "tick", 0, 60000, "indicator on and healthy before any light"),
    ("stage_ticks", "tick", 0, 1000, "the stage's own start-up"),
    ("gate_mA", "mA", 0, 10000, "gated stage: dark where less is allowed; 0: it has a set input"),
    ("safe_mV", "mV", 0, 20000, "cut-off A closes only onto an output at or below this"),
    ("close_ticks", "tick", 1, 10000, "longest wait for that"),
    ("auto_off_ticks", "tick", 1000, 86400000, "longest light from one press"),
    ("authority_mA", "mA", 0, 1000, "how far the trim may shift the drive"),
    ("trim_shift", "1", 2, 14, "trim moves by error / 2**shift a tick"),
    # heat
    ("dim_mA", "mA", 1, 10000, "what thermal cutback leaves at its end"),
    ("warm_cK", "cK", 27300, 60000, "mount: cutback begins"),
    ("hot_cK", "cK", 27300, 60000, "mount: cutback ends"),
    ("trip_cK", "cK", 27300, 60000, "mount: trip"),
    ("lead_x16", "1/16", 0, 64, "lag compensation: sensor lag over slow filter"),
    ("lead_shift", "1", 8, 15, "slow filter, 2**shift ticks"),
    ("junction_cK_W", "cK/W", 1, 5000, "junction to mount"),
    ("junction_shift", "1", 0, 8, "junction observer, 2**shift ticks"),
    ("junction_warm_cK", "cK", 27300, 60000, "junction estimate: cutback begins"),
    ("junction_hot_cK", "cK", 27300, 60000, "junction estimate: cutback ends"),
    ("junction_trip_cK", "cK", 27300, 60000, "junction estimate: trip"),
    ("mount_cK_W", "cK/W", 1, 5000, "mount to sink, for the model of the difference"),
    ("model_shift", "1", 8, 16, "that model's filter, 2**shift ticks"),
    ("model_min_cK", "cK", 50, 10000, "below this modelled difference nothing is judged"),
    ("model_extra_cK", "cK", 50, 10000, "measured above twice the model plus this is a fault"),
    ("budget_cap", "1.024mJ", 1000, 4000000, "heat budget when full"),
    ("budget_leak_s", "1.024s", 1, 10000, "time constant of its leak"),
    ("sustain_mA", "mA", 1, 10000, "what a full budget still allows"),
    # pack
    ("sag_mohm", "mohm", 0, 2000, "smallest plausible pack resistance"),
    ("pack_shift", "1", 0, 12, "pack estimate's filter, 2**shift ticks"),
    ("cutback_mV", "mV", 500, 20000, "pack estimate: cutback begins"),
    ("cutback_end_mV", "mV", 500, 20000, "pack estimate: cutback ends at the reserve level"),
    ("reserve_mA", "mA", 1, 10000, "reserve level"),
    ("lockout_mV", "mV", 500, 20000, "pack estimate: dark"),
    ("loaded_min_mV", "mV", 500, 20000, "pack terminals: dark, sag not compensated"),
    ("rearm_mV", "mV", 500, 20000, "pack estimate after rest: may light again"),
    ("rest_ticks", "tick", 0, 600000, "dark for so long before the estimate re-arms"),
    (
        "headroom_mV",
        "mV",
        0,
        5000,
        "pack above output: falls below, no rise below twice; 0 off",
    ),
    ("pack_max_mV", "mV", 500, 20000, "above any healthy pack"),
    ("warn_mV", "mV", 500, 20000, "pack estimate: warn"),
    # plausibility
    ("overcurrent_mA", "mA", 1, 10000, "diode current: fault above"),
    ("dark_mA", "mA", 1, 1000, "current allowed while dark"),
    ("short_mV", "mV", 1, 20000, "lit output below this is a short"),
    ("open_mV", "mV", 1, 20000, "lit output above this is an open diode"),
    ("follow_mA", "mA", 1, 5000, "allowed difference of current and drive, plus drive / 16"),
    ("sensor_min_cK", "cK", 20000, 60000, "colder is implausible (open)"),
    ("sensor_max_cK", "cK", 20000, 60000, "hotter is implausible (short)"),
    ("reference_min_mV", "mV", 1, 20000, "reference check window"),
    ("reference_max_mV", "mV", 1, 20000, "reference check window"),
    ("indicator_min_uA", "uA", 0, 20000, "indicator window; 0: none is fitted"),
    ("indicator_max_uA", "uA", 1, 20000, "indicator window"),
    ("interlock_fitted", "1", 0, 1, "0: neither interlock nor key, their rows clear by release"),
    ("age_ticks", "tick", 5, 1000, "allowed age of a multiplexed reading"),
    ("late_ticks", "tick", 1, 100, "largest gap that counts as on time"),
    ("beat_max_ticks", "tick", 10, 1000, "allowed age of the heartbeat"),
)
# Rows that must act in the tick that sees them: their count can't be set to anything but 1.
AT_ONCE = ("settings", "state", "latch", "late", "beat")
SETTINGS += tuple(
    (
        "count_" + row[0],
        "tick",
        1,
        1 if row[0] in AT_ONCE else 10000,
        "ticks until this row latches",
    )
    for row in FAULTS
)
SETTINGS += tuple(
    (f"ntc_{i}_cK", "cK", 1, 60000, f"temperature at code {128 * i}") for i in range(NTC_POINTS)
)

STATE: tuple[tuple[str, str, int, int, str], ...] = (
    ("mode", "1", 0, 9, "see MODES"),
    ("tick", "tick", 0, ONES, "since boot, saturating"),
    ("mode_ticks", "tick", 0, ONES, "in this mode, saturating"),
    ("on_ticks", "tick", 0, ONES, "since the light came on, saturating"),
    ("drive", "q64", 0, 640000, "what the stage is asked for"),
    ("trim", "q64", 0, 2 * TRIM_BIAS, "trim, biased by TRIM_BIAS"),
    ("ramp", "tick", 0, 60000, "place in the soft-start"),
    ("enable", "bits", 0, 31, "see ENABLES"),
    ("pulse", "1", 0, 1, "level of the dynamic enable"),
    ("duty", "count", 0, 1600, "set PWM"),
    ("faults", "bits", 0, (1 << ROWS) - 1, "latched rows"),
    ("cause", "1", 0, ROWS, "first cause: row + 1, 0 is none"),
    ("cause_tick", "tick", 0, ONES, "when"),
    ("cause_mode", "1", 0, 9, "in which mode"),
    ("ready", "1", 0, 1, "a release was seen: a press may light"),
    ("opened", "1", 0, 1, "interlock or key was open since a row last latched or cleared"),
    ("rest", "tick", 0, ONES, "dark for, saturating"),
    ("allowed", "mA", 0, 10000, "the least of all caps"),
    ("bound", "1", 0, 5, "which cap is the least, see BOUNDS"),
    ("hard", "bits", 0, 127, "see HARD"),
    ("suspect", "bits", 0, (1 << ROWS) - 1, "rows whose condition holds in this tick"),
    ("budget", "1.024mJ", 0, 4000000, "heat held, by the budget's own account"),
    ("budget_part", "uJ", 0, 1023, "its fraction"),
    ("rise", "cK/64", 0, 64000000, "junction above mount"),
    ("smooth", "cK/1024", 0, 60000 * 1024, "mount sensor, noise removed"),
    ("slow", "cK/1024", 0, 60000 * 1024, "mount sensor, slow filter"),
    ("model", "cK/1024", 0, 1024000000, "modelled difference mount - sink"),
    ("pack", "mV/1024", 0, 60000 * 1024, "pack estimate"),
    ("lamp_ticks", "tick", 0, ONES, "indicator on and healthy for, saturating"),
)
STATE += tuple(("count_" + row[0], "tick", 0, 10000, "ticks in a row") for row in FAULTS)
STATE += tuple(("seen_" + row[0], row[1], row[2], row[3], "at the first cause") for row in READINGS)

# (lower, higher, least difference): what must hold between two settings for them to be accepted.
ORDER = (
    ("start_mA", "top_mA", 0),
    ("top_mA", "absolute_mA", 0),
    ("level_0_mA", "top_mA", 0),
    ("level_1_mA", "top_mA", 0),
    ("level_2_mA", "top_mA", 0),
    ("level_3_mA", "top_mA", 0),
    ("dim_mA", "top_mA", 0),
    ("sustain_mA", "top_mA", 0),
    ("reserve_mA", "top_mA", 0),
    ("gate_mA", "start_mA", 0),
    ("warm_cK", "hot_cK", 1),
    ("hot_cK", "trip_cK", 1),
    ("junction_warm_cK", "junction_hot_cK", 1),
    ("junction_hot_cK", "junction_trip_cK", 1),
    ("cutback_end_mV", "cutback_mV", 1),
    ("lockout_mV", "cutback_end_mV", 0),
    ("lockout_mV", "rearm_mV", 1),
    ("rearm_mV", "pack_max_mV", 1),
    ("short_mV", "open_mV", 1),
    ("sensor_min_cK", "sensor_max_cK", 1),
    ("reference_min_mV", "reference_max_mV", 1),
    ("indicator_min_uA", "indicator_max_uA", 1),
)

# Part of the limits as well: the range that the law itself checks its state against.
LIMITS = SETTINGS + tuple(
    ("ceiling_" + row[0], row[1], row[3], row[3], "highest " + row[0]) for row in STATE
)


def assemble(settings: dict[str, int]) -> list[int]:
    """Return the limits array as a list: settings, ceilings, and the complement of each.

    ``settings`` maps each name of SETTINGS to its integer. Raises ValueError with name, value and
    range on a missing, unknown or out-of-range word: the board refuses what the prover never saw.
    """
    known = {row[0] for row in SETTINGS}
    unknown = [name for name in settings if name not in known]
    if unknown:
        raise ValueError("unknown word " + unknown[0])
    values = []
    for name, unit, low, high, _ in SETTINGS:
        value = settings.get(name, -1)
        if not isinstance(value, int) or value < low or value > high:
            raise ValueError(f"{name} = {value!r}, allowed {low}..{high} {unit}")
        values.append(value)
    for lower, higher, least in ORDER:
        if settings[higher] - settings[lower] < least:
            raise ValueError(f"{lower} = {settings[lower]} above {higher} = {settings[higher]}")
    values += [row[3] for row in STATE]
    return values + [value ^ ONES for value in values]


def first_state() -> list[int]:
    """Return the state at power-up as a list: boot mode, everything dark and empty."""
    return [0] * len(STATE)


def index(table: tuple[tuple[str, str, int, int, str], ...], name: str) -> int:
    """Return the place of word ``name`` in ``table``; KeyError where there is none."""
    for place, row in enumerate(table):
        if row[0] == name:
            return place
    raise KeyError(name)
