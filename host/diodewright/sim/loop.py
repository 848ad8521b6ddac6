"""The closed loop: events, sensors, the law, the circuit in sub-steps, tally and Trace.

A kernel module; the same lines run in CPython and compiled. `tick` is the law's own.
"""

from diodedriver.law import tick
from diodewright.plant.factors import prepare
from diodewright.plant.kernel import Record, kernel
from diodewright.plant.step import advance
from diodewright.sim.peaks import tally_substep, tally_tick
from diodewright.sim.seam import act, pass_time, sense

# where an event writes
INTO_PARAMS = 0
INTO_STATE = 1
INTO_BOARD = 2
INTO_LIMITS = 3
INTO_LAW = 4

# words of the law that the loop hands on, by their place in the law's tables
LAW_MODE = 0
LAW_DRIVE = 4
LAW_ENABLE = 7
LAW_PULSE = 8
LAW_DUTY = 9
LAW_FAULTS = 10
LAW_CAUSE = 11
LAW_ALLOWED = 17
LAW_BOUND = 18
LAW_SUSPECT = 20
LAW_BUDGET = 21
LIMIT_DUTY_TOP = 7
READ_JUNCTION = 18
READ_REST = 19
RESET_BIT = 8

DENSE_TICKS = 200
SPARSE_TICKS = 20


@kernel
def apply_event(
    what: int,
    place: int,
    value: float,
    params: Record,
    states: Record,
    board: Record,
    limits: Record,
    state: Record,
) -> int:
    """Write one event's value; integer words take its whole part."""
    if what == INTO_PARAMS:
        params[place] = value
    elif what == INTO_STATE:
        states[place] = value
    elif what == INTO_BOARD:
        board[place] = int(value)
    elif what == INTO_LIMITS:
        limits[place] = int(value)
    else:
        state[place] = int(value)
    return 0


@kernel
def step_law(
    p: Record,
    x: Record,
    state: Record,
    limits: Record,
    readings: Record,
    raw: Record,
    board: Record,
) -> int:
    """Run one tick of the law on what the sensors say and hand its outputs to the circuit."""
    sense(p, x, raw, board)
    pulse = state[LAW_PULSE]
    reset = state[LAW_ENABLE] & RESET_BIT
    mode = int(tick(state, limits, readings, raw))
    board[6] = 0
    act(
        x,
        state[LAW_DUTY],
        limits[LIMIT_DUTY_TOP],
        state[LAW_ENABLE],
        pulse,
        state[LAW_PULSE],
        reset,
    )
    return mode


@kernel
def write_row(
    row: Record, now_s: float, x: Record, state: Record, readings: Record, budget_cap: int
) -> int:
    """Fill one row of a Trace, in the order of `diodewright.sim.trace.COLUMNS`."""
    row[0] = now_s
    row[1] = x.diode_A
    row[2] = x.diode_peak_A
    row[3] = x.light_W
    row[4] = x.junction_degC
    row[5] = x.mount_degC
    row[6] = x.sink_degC
    row[7] = x.a_degC
    row[8] = x.pack_V
    row[9] = x.pack_A
    row[10] = x.output_V
    row[11] = x.soc
    row[12] = readings[0] / 1000.0
    row[13] = readings[1] / 1000.0
    row[14] = readings[2] / 1000.0
    row[15] = readings[5] / 100.0 - 273.15
    row[16] = readings[6] / 100.0 - 273.15
    row[17] = readings[READ_JUNCTION] / 100.0 - 273.15
    row[18] = readings[READ_REST] / 1000.0
    row[19] = state[LAW_DRIVE] / 64000.0
    row[20] = state[LAW_ALLOWED] / 1000.0
    row[21] = state[LAW_BUDGET] / budget_cap
    row[22] = state[LAW_MODE]
    row[23] = state[LAW_BOUND]
    row[24] = state[LAW_FAULTS]
    row[25] = state[LAW_SUSPECT]
    return 0


@kernel
def run_ticks(
    p: Record,
    params: Record,
    x: Record,
    states: Record,
    t: Record,
    state: Record,
    limits: Record,
    readings: Record,
    raw: Record,
    board: Record,
    at: Record,
    what: Record,
    place: Record,
    value: Record,
    events: int,
    begin: int,
    end: int,
    substeps: int,
    dt_s: float,
    budget_place: int,
    rows: Record,
    room: int,
) -> int:
    """Run ticks `begin` to `end` - 1 and return the number of Trace rows written.

    `at`, `what`, `place`, `value` hold `events` events sorted by tick; those before `begin` are
    taken as done. A Trace row is written at every tick for 200 ms behind an event or a change of
    mode and every 20 ms elsewhere, while there is `room`.
    """
    following = 0
    while following < events and at[following] < begin:
        following += 1
    written = 0
    dense_until = begin
    prepare(p, dt_s)
    for now in range(begin, end):
        before = state[LAW_MODE]
        changed = 0
        while following < events and at[following] == now:
            apply_event(
                what[following],
                place[following],
                value[following],
                params,
                states,
                board,
                limits,
                state,
            )
            following += 1
            changed = 1
        if changed != 0:
            prepare(p, dt_s)
            dense_until = now + DENSE_TICKS
        if pass_time(board) != 0:
            step_law(p, x, state, limits, readings, raw, board)
        for _ in range(substeps):
            advance(p, x, dt_s)
            tally_substep(p, x, t, dt_s)
        mode = state[LAW_MODE]
        tally_tick(x, t, mode, state[LAW_BOUND], state[LAW_FAULTS], state[LAW_CAUSE])
        if mode != before:
            dense_until = now + DENSE_TICKS
        if written < room and (now < dense_until or now % SPARSE_TICKS == 0):
            write_row(rows[written], now / 1000.0, x, state, readings, limits[budget_place])
            written += 1
    return written
