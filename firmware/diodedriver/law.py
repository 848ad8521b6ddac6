"""The control law: soft-start, current limiting, thermal cutback, lockout and latched faults.

One source for every engine: MicroPython bytecode and viper machine code on the board, CPython
in tests, Numba in sweeps, formulas in the prover. Plain integer functions over int32 arrays; no
pin, clock, file, float, allocation or exception. All words are non-negative and every
intermediate stays within 2**30. What a word is, its unit and its range: ``words.py``.

``tick`` runs once a millisecond: guard (limits and state are sound), convert (codes to units),
observe (junction, heat, pack), watch (which rows hold), latch and unlatch, allow (caps), demand
(hard reasons to be dark), advance_mode, drive and put_out. Priority, highest first: guard, hard
reasons, latched rows, caps, level. Damage to a junction or facet takes a millisecond or less:
that is the comparator's job, never this one's.
"""

from diodedriver.portable import const, micropython, ptr32

# raw codes
_C_CURRENT_CODE = const(0)
_C_OUTPUT_CODE = const(1)
_C_MUX_CODE = const(2)
_C_MUX_CHANNEL = const(3)
_C_PINS = const(4)
_C_GAP_TICKS = const(5)
_C_BEAT_TICKS = const(6)
_C_LEVEL = const(7)
# readings
_R_CURRENT_MA = const(0)
_R_OUTPUT_MV = const(1)
_R_PACK_MV = const(2)
_R_REFERENCE_MV = const(3)
_R_INDICATOR_UA = const(4)
_R_MOUNT_CK = const(5)
_R_SINK_CK = const(6)
_R_PACK_AGE = const(7)
_R_PINS = const(12)
_R_GAP_TICKS = const(13)
_R_BEAT_TICKS = const(14)
_R_LEVEL = const(15)
_R_POWER_MW = const(16)
_R_LEAD_CK = const(17)
_R_JUNCTION_CK = const(18)
_R_REST_MV = const(19)
# limits
_L_CURRENT_FULL_MA = const(0)
_L_CURRENT_ZERO_CODE = const(1)
_L_OUTPUT_FULL_MV = const(2)
_L_PACK_FULL_MV = const(3)
_L_DUTY_FULL_MA = const(6)
_L_DUTY_TOP = const(7)
_L_LEVEL_0_MA = const(8)
_L_TOP_MA = const(12)
_L_ABSOLUTE_MA = const(13)
_L_START_MA = const(14)
_L_RAMP_TICKS = const(15)
_L_RISE_Q64 = const(16)
_L_FALL_Q64 = const(17)
_L_DELAY_TICKS = const(18)
_L_STAGE_TICKS = const(19)
_L_GATE_MA = const(20)
_L_SAFE_MV = const(21)
_L_CLOSE_TICKS = const(22)
_L_AUTO_OFF_TICKS = const(23)
_L_AUTHORITY_MA = const(24)
_L_TRIM_SHIFT = const(25)
_L_DIM_MA = const(26)
_L_WARM_CK = const(27)
_L_HOT_CK = const(28)
_L_TRIP_CK = const(29)
_L_LEAD_X16 = const(30)
_L_LEAD_SHIFT = const(31)
_L_JUNCTION_CK_W = const(32)
_L_JUNCTION_SHIFT = const(33)
_L_JUNCTION_WARM_CK = const(34)
_L_JUNCTION_HOT_CK = const(35)
_L_JUNCTION_TRIP_CK = const(36)
_L_MOUNT_CK_W = const(37)
_L_MODEL_SHIFT = const(38)
_L_MODEL_MIN_CK = const(39)
_L_MODEL_EXTRA_CK = const(40)
_L_BUDGET_CAP = const(41)
_L_BUDGET_LEAK_S = const(42)
_L_SUSTAIN_MA = const(43)
_L_SAG_MOHM = const(44)
_L_PACK_SHIFT = const(45)
_L_CUTBACK_MV = const(46)
_L_CUTBACK_END_MV = const(47)
_L_RESERVE_MA = const(48)
_L_LOCKOUT_MV = const(49)
_L_LOADED_MIN_MV = const(50)
_L_REARM_MV = const(51)
_L_REST_TICKS = const(52)
_L_HEADROOM_MV = const(53)
_L_PACK_MAX_MV = const(54)
_L_WARN_MV = const(55)
_L_OVERCURRENT_MA = const(56)
_L_DARK_MA = const(57)
_L_SHORT_MV = const(58)
_L_OPEN_MV = const(59)
_L_FOLLOW_MA = const(60)
_L_SENSOR_MIN_CK = const(61)
_L_SENSOR_MAX_CK = const(62)
_L_REFERENCE_MIN_MV = const(63)
_L_REFERENCE_MAX_MV = const(64)
_L_INDICATOR_MIN_UA = const(65)
_L_INDICATOR_MAX_UA = const(66)
_L_INTERLOCK_FITTED = const(67)
_L_AGE_TICKS = const(68)
_L_LATE_TICKS = const(69)
_L_BEAT_MAX_TICKS = const(70)
_L_COUNT_SETTINGS = const(71)
_L_NTC_0_CK = const(91)
_L_CEILING_MODE = const(124)
# state
_S_MODE = const(0)
_S_TICK = const(1)
_S_MODE_TICKS = const(2)
_S_ON_TICKS = const(3)
_S_DRIVE = const(4)
_S_TRIM = const(5)
_S_RAMP = const(6)
_S_ENABLE = const(7)
_S_PULSE = const(8)
_S_DUTY = const(9)
_S_FAULTS = const(10)
_S_CAUSE = const(11)
_S_CAUSE_TICK = const(12)
_S_CAUSE_MODE = const(13)
_S_READY = const(14)
_S_OPENED = const(15)
_S_REST = const(16)
_S_ALLOWED = const(17)
_S_BOUND = const(18)
_S_HARD = const(19)
_S_SUSPECT = const(20)
_S_BUDGET = const(21)
_S_BUDGET_PART = const(22)
_S_RISE = const(23)
_S_SMOOTH = const(24)
_S_SLOW = const(25)
_S_MODEL = const(26)
_S_PACK = const(27)
_S_LAMP_TICKS = const(28)
_S_COUNT_SETTINGS = const(29)
_S_SEEN_CURRENT_MA = const(49)
# fault rows, in order of priority
_F_SETTINGS = const(0)
_F_STATE = const(1)
_F_LATCH = const(2)
_F_OVERCURRENT = const(3)
_F_STUCK = const(4)
_F_SHORT = const(5)
_F_OPEN = const(6)
_F_FOLLOW = const(7)
_F_HOT = const(8)
_F_JUNCTION = const(9)
_F_HEAT = const(10)
_F_SENSOR = const(11)
_F_STALE = const(12)
_F_INDICATOR = const(13)
_F_PACK_WRONG = const(14)
_F_PACK_MIN = const(15)
_F_PACK_LOW = const(16)
_F_LATE = const(17)
_F_BEAT = const(18)
_F_CHARGED = const(19)
# sizes and fixed values
_STATE = const(69)
_READINGS = const(20)
_LIMITS = const(193)
_ROWS = const(20)
_ALL_ROWS = const(0xFFFFF)
_BY_RELEASE = const(918272)
_BY_INTERLOCK = const(15596)
_BY_REST = const(114688)
_ONES = const(0x3FFFFFFF)
_CODES = const(4095)
_CHANNELS = const(5)
_NTC_CHANNELS = const(3)
_OLDEST = const(65535)
_HOTTEST = const(60000)
_HIGHEST_PACK = const(60000)
_HIGHEST_TERMINAL = const(20000)
_LARGEST_LOAD = const(20000)
_SMOOTH_SHIFT = const(8)
_TRIM_BIAS = const(65536)
_HARD_MAX = const(640000)
# modes
_BOOT = const(0)
_DARK = const(1)
_DELAY = const(2)
_CLOSE = const(3)
_START = const(4)
_SOFT_START = const(5)
_RUN = const(6)
_LIMITED = const(7)
_PACK_LOW = const(8)
_FAULT = const(9)
# bits of the reading "pins" and of the state word "enable"
_PIN_TRIGGER = const(1)
_PIN_KEY = const(2)
_PIN_INTERLOCK = const(4)
_PIN_LATCH = const(8)
_PIN_BAD = const(16)
_ALL_PINS = const(31)
_ON_A = const(1)
_ON_B = const(2)
_ON_INDICATOR = const(4)
_ON_RESET = const(8)
_ON_WARN = const(16)


@micropython.viper
def guard(state: ptr32, limits: ptr32, readings: ptr32) -> int:
    """Return the bits of rows "settings" and "state"; what is out of range becomes empty and dark.

    At every tick each limit is compared with its complement, each state word and each reading
    that is kept from tick to tick with its range. Limits that can't be trusted judge nothing.
    """
    wrong = 0
    for i in range(_LIMITS):
        wrong |= limits[i] ^ limits[_LIMITS + i] ^ _ONES
    if wrong != 0:
        return 1 << _F_SETTINGS
    stray = 0
    for i in range(_NTC_CHANNELS):
        stray |= _HIGHEST_TERMINAL - readings[_R_PACK_MV + i]
    for i in range(_CHANNELS):
        value = readings[_R_PACK_MV + i]
        age = readings[_R_PACK_AGE + i]
        stray |= value | (_HOTTEST - value) | age | (_OLDEST - age)
    for i in range(_STATE):
        stray |= state[i] | (limits[_L_CEILING_MODE + i] - state[i])
    if stray >= 0:
        return 0
    for i in range(_READINGS):
        readings[i] = 0
    for i in range(_STATE):
        state[i] = 0
    state[_S_MODE] = _FAULT
    state[_S_TRIM] = _TRIM_BIAS
    state[_S_BUDGET] = limits[_L_BUDGET_CAP]
    return 1 << _F_STATE


@micropython.viper
def convert(limits: ptr32, readings: ptr32, raw: ptr32) -> int:
    """Turn raw codes into readings in mA, mV, uA and cK; age the multiplexed ones.

    One multiplexed channel arrives a tick. An unknown channel refreshes nothing, so that the
    others go stale. The NTC table has a point every 128 codes, straight lines between.
    """
    code = (raw[_C_CURRENT_CODE] & _CODES) - limits[_L_CURRENT_ZERO_CODE]
    if code < 0:
        code = 0
    readings[_R_CURRENT_MA] = (code * limits[_L_CURRENT_FULL_MA]) >> 12
    readings[_R_OUTPUT_MV] = ((raw[_C_OUTPUT_CODE] & _CODES) * limits[_L_OUTPUT_FULL_MV]) >> 12
    gap = raw[_C_GAP_TICKS]
    for i in range(_CHANNELS):
        age = readings[_R_PACK_AGE + i] + gap
        if age > _OLDEST:
            age = _OLDEST
        readings[_R_PACK_AGE + i] = age
    channel = raw[_C_MUX_CHANNEL]
    code = raw[_C_MUX_CODE] & _CODES
    if channel < _CHANNELS:
        if channel < _NTC_CHANNELS:
            value = (code * limits[_L_PACK_FULL_MV + channel]) >> 12
        else:
            place = _L_NTC_0_CK + (code >> 7)
            value = limits[place]
            value += ((limits[place + 1] - value) * (code & 127)) >> 7
        readings[_R_PACK_MV + channel] = value
        readings[_R_PACK_AGE + channel] = 0
    readings[_R_PINS] = raw[_C_PINS] & _ALL_PINS
    readings[_R_GAP_TICKS] = gap
    readings[_R_BEAT_TICKS] = raw[_C_BEAT_TICKS]
    readings[_R_LEVEL] = raw[_C_LEVEL] & 3
    return 0


@micropython.viper
def first_look(state: ptr32, limits: ptr32, readings: ptr32) -> int:
    """Start every filter from what is read, and what is remembered from its pessimistic end."""
    mount = readings[_R_MOUNT_CK]
    state[_S_SMOOTH] = mount << 10
    state[_S_SLOW] = mount << 10
    difference = mount - readings[_R_SINK_CK]
    if difference < 0:
        difference = 0
    state[_S_MODEL] = difference << 10
    rise = limits[_L_JUNCTION_WARM_CK] - mount
    if rise < 0:
        rise = 0
    state[_S_RISE] = rise << 6
    state[_S_BUDGET] = limits[_L_BUDGET_CAP]
    state[_S_PACK] = readings[_R_PACK_MV] << 10
    return 0


@micropython.viper
def observe_heat(state: ptr32, limits: ptr32, readings: ptr32) -> int:
    """Advance power, junction observer, mount filters, difference model and heat budget.

    Power takes the larger of asked and read current: a current sensor that reads low must not
    let the budget believe in a cold sink.
    """
    current = readings[_R_CURRENT_MA]
    asked = state[_S_DRIVE] >> 6
    if asked > current:
        current = asked
    power = current * readings[_R_OUTPUT_MV] // 1000
    readings[_R_POWER_MW] = power

    aim = (power * limits[_L_JUNCTION_CK_W] // 1000) << 6
    rise = state[_S_RISE]
    rise += (aim - rise) >> limits[_L_JUNCTION_SHIFT]
    state[_S_RISE] = rise

    smooth = state[_S_SMOOTH]
    smooth += ((readings[_R_MOUNT_CK] << 10) - smooth) >> _SMOOTH_SHIFT
    state[_S_SMOOTH] = smooth
    slow = state[_S_SLOW]
    slow += (smooth - slow) >> limits[_L_LEAD_SHIFT]
    state[_S_SLOW] = slow
    lead = smooth >> 10
    if smooth > slow:
        lead += (((smooth - slow) >> 10) * limits[_L_LEAD_X16]) >> 4
    if lead > _HOTTEST:
        lead = _HOTTEST
    readings[_R_LEAD_CK] = lead
    readings[_R_JUNCTION_CK] = lead + (rise >> 6)

    aim = (power * limits[_L_MOUNT_CK_W] // 1000) << 10
    model = state[_S_MODEL]
    state[_S_MODEL] = model + ((aim - model) >> limits[_L_MODEL_SHIFT])
    return 0


@micropython.viper
def observe_stores(state: ptr32, limits: ptr32, readings: ptr32) -> int:
    """Advance the two stores: the heat budget fills and leaks, the pack estimate undoes the sag.

    The budget knows no sensor but current and voltage. The pack estimate adds back only the
    smallest plausible sag, of the smaller of asked and read current: too much would hold full
    drive on an empty pack.
    """
    power = readings[_R_POWER_MW]
    budget = state[_S_BUDGET]
    cap = limits[_L_BUDGET_CAP]
    part = state[_S_BUDGET_PART] + power - budget // limits[_L_BUDGET_LEAK_S]
    budget += part >> 10
    part &= 1023
    if budget >= cap:
        budget = cap
        part = 0
    state[_S_BUDGET] = budget
    state[_S_BUDGET_PART] = part

    current = readings[_R_CURRENT_MA]
    asked = state[_S_DRIVE] >> 6
    if asked < current:
        current = asked
    terminal = readings[_R_PACK_MV]
    load = 0
    if terminal >= 500:
        load = current * readings[_R_OUTPUT_MV] // terminal
    if load > _LARGEST_LOAD:
        load = _LARGEST_LOAD
    rested = (terminal + load * limits[_L_SAG_MOHM] // 1000) << 10
    pack = state[_S_PACK]
    pack += (rested - pack) >> limits[_L_PACK_SHIFT]
    state[_S_PACK] = pack
    readings[_R_REST_MV] = pack >> 10
    return 0


@micropython.viper
def watch_dark(state: ptr32, limits: ptr32, readings: ptr32) -> int:
    """Return the bits of the rows about what should be off, empty or not tripped."""
    mode = state[_S_MODE]
    bad = 0
    if (mode < _START or mode > _LIMITED) and readings[_R_CURRENT_MA] > limits[_L_DARK_MA]:
        bad = 1 << _F_STUCK
    if mode == _CLOSE and state[_S_MODE_TICKS] >= limits[_L_CLOSE_TICKS]:
        bad |= 1 << _F_CHARGED
    if mode >= _CLOSE and mode <= _LIMITED and (readings[_R_PINS] & _PIN_LATCH) != 0:
        bad |= 1 << _F_LATCH
    return bad


@micropython.viper
def watch_light(state: ptr32, limits: ptr32, readings: ptr32) -> int:
    """Return the bits of the rows about current and output voltage that hold in this tick."""
    mode = state[_S_MODE]
    current = readings[_R_CURRENT_MA]
    output = readings[_R_OUTPUT_MV]
    bad = 0
    if current > limits[_L_OVERCURRENT_MA]:
        bad = 1 << _F_OVERCURRENT
    if mode >= _SOFT_START and mode <= _LIMITED:
        asked = state[_S_DRIVE] >> 6
        error = current - asked
        if error < 0:
            error = -error
        if error > limits[_L_FOLLOW_MA] + (asked >> 4):
            bad |= 1 << _F_FOLLOW
        if current * 4 < asked or output > limits[_L_OPEN_MV]:
            bad |= 1 << _F_OPEN
        if output < limits[_L_SHORT_MV]:
            bad |= 1 << _F_SHORT
    return bad


@micropython.viper
def watch_heat(state: ptr32, limits: ptr32, readings: ptr32) -> int:
    """Return the bits of the rows about temperatures that hold in this tick."""
    bad = 0
    if readings[_R_LEAD_CK] >= limits[_L_TRIP_CK]:
        bad = 1 << _F_HOT
    if readings[_R_JUNCTION_CK] >= limits[_L_JUNCTION_TRIP_CK]:
        bad |= 1 << _F_JUNCTION
    mount = readings[_R_MOUNT_CK]
    sink = readings[_R_SINK_CK]
    model = state[_S_MODEL] >> 10
    if model > limits[_L_MODEL_MIN_CK] and (mount - sink) * 3 < model:
        bad |= 1 << _F_HEAT
    if mount - sink > model * 2 + limits[_L_MODEL_EXTRA_CK]:
        bad |= 1 << _F_HEAT
    coldest = limits[_L_SENSOR_MIN_CK]
    hottest = limits[_L_SENSOR_MAX_CK]
    if mount < coldest or mount > hottest or sink < coldest or sink > hottest:
        bad |= 1 << _F_SENSOR
    return bad


@micropython.viper
def watch_supply(limits: ptr32, readings: ptr32) -> int:
    """Return the bits of the rows about reference and pack that hold in this tick."""
    bad = 0
    reference = readings[_R_REFERENCE_MV]
    if reference < limits[_L_REFERENCE_MIN_MV] or reference > limits[_L_REFERENCE_MAX_MV]:
        bad = 1 << _F_SENSOR
    if readings[_R_PACK_MV] > limits[_L_PACK_MAX_MV]:
        bad |= 1 << _F_PACK_WRONG
    if readings[_R_PACK_MV] < limits[_L_LOADED_MIN_MV]:
        bad |= 1 << _F_PACK_MIN
    if readings[_R_REST_MV] < limits[_L_LOCKOUT_MV]:
        bad |= 1 << _F_PACK_LOW
    return bad


@micropython.viper
def watch_time(state: ptr32, limits: ptr32, readings: ptr32) -> int:
    """Return the bits of the rows about ages, ticks, heartbeat and indicator that hold now.

    The indicator reads dark for its first few ticks, until the multiplexer has come round: its
    row counts longer than that, and the emission delay starts over with each such tick.
    """
    bad = 0
    for i in range(_CHANNELS):
        if readings[_R_PACK_AGE + i] > limits[_L_AGE_TICKS]:
            bad = 1 << _F_STALE
    if (state[_S_ENABLE] & _ON_INDICATOR) != 0:
        lamp = readings[_R_INDICATOR_UA]
        if lamp < limits[_L_INDICATOR_MIN_UA] or lamp > limits[_L_INDICATOR_MAX_UA]:
            bad |= 1 << _F_INDICATOR
    if readings[_R_GAP_TICKS] > limits[_L_LATE_TICKS]:
        bad |= 1 << _F_LATE
    if readings[_R_BEAT_TICKS] > limits[_L_BEAT_MAX_TICKS]:
        bad |= 1 << _F_BEAT
    return bad


@micropython.viper
def latch(state: ptr32, limits: ptr32, readings: ptr32, bad: int) -> int:
    """Count each row's ticks in a row; latch the full ones; keep the first cause as it was seen.

    An interlock that was opened before a row latched does not clear it.
    Rows "settings" and "state" latch at once, whatever a limit that can't be trusted says.
    """
    faults = state[_S_FAULTS]
    first = 0
    for row in range(_ROWS):
        count = 0
        if (bad >> row) & 1 != 0:
            count = state[_S_COUNT_SETTINGS + row] + 1
            limit = 1
            if row > _F_STATE:
                limit = limits[_L_COUNT_SETTINGS + row]
            if count >= limit:
                count = limit
                faults |= 1 << row
                if first == 0:
                    first = row + 1
        state[_S_COUNT_SETTINGS + row] = count
    if faults != state[_S_FAULTS]:
        state[_S_OPENED] = 0
    state[_S_FAULTS] = faults
    state[_S_SUSPECT] = bad
    if first != 0 and state[_S_CAUSE] == 0:
        state[_S_CAUSE] = first
        state[_S_CAUSE_TICK] = state[_S_TICK]
        state[_S_CAUSE_MODE] = state[_S_MODE]
        for i in range(_READINGS):
            state[_S_SEEN_CURRENT_MA + i] = readings[i]
    return first


@micropython.viper
def unlatch(state: ptr32, limits: ptr32, readings: ptr32) -> int:
    """Clear latched rows by their rule, never while their condition stands or the trigger is held.

    A thermal row stands until the temperature is back where cutback begins. Rows under rule
    "service" never clear.
    """
    pins = readings[_R_PINS]
    closed = pins & (_PIN_KEY | _PIN_INTERLOCK)
    if closed != (_PIN_KEY | _PIN_INTERLOCK):
        state[_S_OPENED] = 1
    if (pins & _PIN_TRIGGER) != 0:
        return 0
    standing = state[_S_SUSPECT]
    if readings[_R_LEAD_CK] > limits[_L_WARM_CK]:
        standing |= 1 << _F_HOT
    if readings[_R_JUNCTION_CK] > limits[_L_JUNCTION_WARM_CK]:
        standing |= 1 << _F_JUNCTION
    forgiven = _BY_RELEASE
    if state[_S_OPENED] != 0 and closed == (_PIN_KEY | _PIN_INTERLOCK):
        forgiven |= _BY_INTERLOCK
        state[_S_OPENED] = 0
    if limits[_L_INTERLOCK_FITTED] == 0:
        forgiven |= _BY_INTERLOCK
    if state[_S_REST] >= limits[_L_REST_TICKS] and readings[_R_REST_MV] >= limits[_L_REARM_MV]:
        forgiven |= _BY_REST
    faults = state[_S_FAULTS] & (standing | (_ALL_ROWS ^ forgiven))
    state[_S_FAULTS] = faults
    if faults == 0:
        state[_S_CAUSE] = 0
    return 0


@micropython.viper
def starved(state: ptr32, limits: ptr32) -> int:
    """Return 1 where a gated stage, which knows no partial current, is allowed too little."""
    need = limits[_L_GATE_MA]
    if need == 0:
        return 0
    mode = state[_S_MODE]
    if mode < _START or mode > _LIMITED:
        need = limits[_L_START_MA]
    if state[_S_ALLOWED] < need:
        return 1
    return 0


@micropython.viper
def demand(state: ptr32, limits: ptr32, readings: ptr32) -> int:
    """Return the hard reasons to be dark in this tick, and keep "ready" (see HARD).

    Light needs a release and then a press that finds nothing else in its way: a press made
    while something is open or latched is used up and lights nothing later. A gated stage lights
    only where its full current is allowed, and stays lit down to `gate_mA`.
    """
    pins = readings[_R_PINS]
    hard = int(starved(state, limits)) << 6
    if (pins & _PIN_INTERLOCK) == 0:
        hard |= 1
    if (pins & _PIN_KEY) == 0:
        hard |= 2
    if (state[_S_SUSPECT] & (1 << _F_LATCH)) != 0:
        hard |= 8
    if state[_S_FAULTS] != 0:
        hard |= 16
    if state[_S_MODE] == _BOOT:
        hard |= 32
    if (pins & _PIN_TRIGGER) == 0:
        state[_S_READY] = 1
        hard |= 4
    elif hard != 0:
        state[_S_READY] = 0
    state[_S_HARD] = hard
    return hard


@micropython.viper
def approach(state: ptr32, limits: ptr32, readings: ptr32, mode: int) -> int:
    """Return the mode after ``mode`` while still dark: press, delay, an empty output.

    An indicator that falls ill behind the delay starts it over, and nothing lights in a tick that
    has anything suspect.
    """
    output = readings[_R_OUTPUT_MV]
    lamp = state[_S_LAMP_TICKS]
    spent = state[_S_MODE_TICKS]
    suspect = state[_S_SUSPECT]
    if mode == _DARK and state[_S_READY] != 0:
        state[_S_READY] = 0
        mode = _DELAY
    elif mode == _DELAY and lamp >= limits[_L_DELAY_TICKS]:
        mode = _CLOSE
    elif mode == _CLOSE and lamp < limits[_L_DELAY_TICKS]:
        mode = _DELAY
    elif mode == _CLOSE and spent >= 1 and suspect == 0 and output <= limits[_L_SAFE_MV]:
        mode = _START
    return mode


@micropython.viper
def shine_on(state: ptr32, limits: ptr32, mode: int) -> int:
    """Return the mode after ``mode`` while lit: start-up, rise, capped or not, auto-off."""
    if mode == _START and state[_S_MODE_TICKS] >= limits[_L_STAGE_TICKS]:
        mode = _SOFT_START
        state[_S_RAMP] = 0
    elif mode == _SOFT_START and state[_S_RAMP] >= limits[_L_RAMP_TICKS]:
        mode = _RUN
    elif mode == _RUN and state[_S_BOUND] != 0:
        mode = _LIMITED
    elif mode == _LIMITED and state[_S_BOUND] == 0:
        mode = _RUN
    if state[_S_ON_TICKS] >= limits[_L_AUTO_OFF_TICKS]:
        mode = _DARK
    return mode


@micropython.viper
def boot(state: ptr32, limits: ptr32, readings: ptr32) -> int:
    """Return the mode after boot: dark once every multiplexed channel was read."""
    if state[_S_MODE_TICKS] <= limits[_L_AGE_TICKS]:
        return _BOOT
    mode = _DARK
    for i in range(_CHANNELS):
        if readings[_R_PACK_AGE + i] > limits[_L_AGE_TICKS]:
            mode = _BOOT
    return mode


@micropython.viper
def advance_mode(state: ptr32, limits: ptr32, readings: ptr32, hard: int) -> int:
    """Step the mode: whatever is hard goes dark at once, else one step towards the light."""
    before = state[_S_MODE]
    mode = before
    if state[_S_FAULTS] != 0:
        mode = _FAULT
        if state[_S_FAULTS] & (_ALL_ROWS ^ _BY_REST) == 0:
            mode = _PACK_LOW
    elif before == _BOOT:
        mode = int(boot(state, limits, readings))
    elif before >= _PACK_LOW or hard != 0:
        mode = _DARK
    elif before < _START:
        mode = int(approach(state, limits, readings, mode))
    else:
        mode = int(shine_on(state, limits, mode))
    spent = state[_S_MODE_TICKS]
    if spent < _ONES:
        spent += 1
    if mode != before:
        spent = 0
    state[_S_MODE_TICKS] = spent
    state[_S_MODE] = mode
    return mode


@micropython.viper
def tally_time(state: ptr32, mode: int) -> int:
    """Advance the saturating clocks: since boot, of light, of dark, of a healthy indicator."""
    tick = state[_S_TICK]
    if tick < _ONES:
        state[_S_TICK] = tick + 1
    on = state[_S_ON_TICKS]
    rest = state[_S_REST]
    if mode < _START or mode > _LIMITED:
        on = 0
        if rest < _ONES:
            rest += 1
    else:
        rest = 0
        if on < _ONES:
            on += 1
    state[_S_ON_TICKS] = on
    state[_S_REST] = rest
    lamp = state[_S_LAMP_TICKS]
    if mode < _DELAY or mode > _LIMITED or (state[_S_SUSPECT] & (1 << _F_INDICATOR)) != 0:
        lamp = 0
    elif lamp < _ONES:
        lamp += 1
    state[_S_LAMP_TICKS] = lamp
    return 0


@micropython.viper
def fade(value: int, begin: int, end: int, depth: int) -> int:
    """Return what a cap takes away: nothing up to ``begin``, ``depth`` from ``end`` on."""
    taken = 0
    if value >= end:
        taken = depth
    elif value > begin:
        taken = depth * (value - begin) // (end - begin)
    return taken


@micropython.viper
def allow(state: ptr32, limits: ptr32, readings: ptr32) -> int:
    """Find the least cap and what sets it; nothing binds at or above the level asked for."""
    top = limits[_L_TOP_MA]
    dim = top - limits[_L_DIM_MA]
    most = int(fade(readings[_R_LEAD_CK], limits[_L_WARM_CK], limits[_L_HOT_CK], dim))
    bound = 1
    warm = limits[_L_JUNCTION_WARM_CK]
    hot = limits[_L_JUNCTION_HOT_CK]
    taken = int(fade(readings[_R_JUNCTION_CK], warm, hot, dim))
    if taken > most:
        most = taken
        bound = 2
    cap = limits[_L_BUDGET_CAP] >> 6
    depth = top - limits[_L_SUSTAIN_MA]
    taken = int(fade(state[_S_BUDGET] >> 6, cap - (cap >> 3), cap, depth))
    if taken > most:
        most = taken
        bound = 3
    begin = _HIGHEST_PACK - limits[_L_CUTBACK_MV]
    end = _HIGHEST_PACK - limits[_L_CUTBACK_END_MV]
    depth = top - limits[_L_RESERVE_MA]
    taken = int(fade(_HIGHEST_PACK - readings[_R_REST_MV], begin, end, depth))
    if taken > most:
        most = taken
        bound = 4
    allowed = top - most
    held = int(hold_headroom(state, limits, readings))
    if held < allowed:
        allowed = held
        bound = 5
    if allowed >= limits[_L_LEVEL_0_MA + readings[_R_LEVEL]]:
        bound = 0
    state[_S_ALLOWED] = allowed
    state[_S_BOUND] = bound
    return allowed


@micropython.viper
def hold_headroom(state: ptr32, limits: ptr32, readings: ptr32) -> int:
    """Return the current [mA] that the pack's voltage above the output leaves room for.

    A stage that drops out no longer follows its set input, and would be taken for broken: short
    of headroom the light steps down, and it rises again only where there is twice of it, so that
    it does not hunt. Never below the start level: an empty pack is the lockout's.
    """
    mode = state[_S_MODE]
    short = limits[_L_HEADROOM_MV]
    room = readings[_R_PACK_MV] - readings[_R_OUTPUT_MV]
    if mode < _START or mode > _LIMITED or short == 0 or room >= 2 * short:
        return _LARGEST_LOAD
    held = state[_S_DRIVE] >> 6
    if room < short:
        held -= (limits[_L_FALL_Q64] >> 7) + 1
    if held < limits[_L_START_MA]:
        held = limits[_L_START_MA]
    return held


@micropython.viper
def regulate(state: ptr32, limits: ptr32, readings: ptr32, target: int) -> int:
    """Step the trim towards ``target`` [q64] and return it without its bias.

    Frozen while anything is suspect, or the drive is not where target and trim would have it
    (ramping, slewing, capped); its authority bounds what a lying current sensor can do, given
    that the stage regulates on its own shunt.
    """
    trim = state[_S_TRIM] - _TRIM_BIAS
    if state[_S_MODE] == _RUN and state[_S_SUSPECT] == 0 and state[_S_DRIVE] == target + trim:
        trim += (target - (readings[_R_CURRENT_MA] << 6)) >> limits[_L_TRIM_SHIFT]
    authority = limits[_L_AUTHORITY_MA] << 6
    if trim > authority:
        trim = authority
    if trim < -authority:
        trim = -authority
    state[_S_TRIM] = trim + _TRIM_BIAS
    return trim


@micropython.viper
def shape(state: ptr32, limits: ptr32, goal: int) -> int:
    """Return the soft-start's place between the start level and ``goal`` [q64]: 3x2 - 2x3.

    Zero slope at both ends, so that neither the stage nor the chip sees a corner. x is in 1/1024;
    `shine_on` left this mode before the place could pass the end.
    """
    ramp = state[_S_RAMP] + 1
    state[_S_RAMP] = ramp
    x = ramp * 1024 // limits[_L_RAMP_TICKS]
    share = (((x * x) >> 4) * (3072 - 2 * x)) >> 16
    start = limits[_L_START_MA] << 6
    return start + (((goal - start) * share) >> 10)


@micropython.viper
def heading(state: ptr32, limits: ptr32, readings: ptr32) -> int:
    """Return where the drive is heading [q64]: level or ramp, trim, the least cap.

    A gated stage gives its start level or nothing.
    """
    mode = state[_S_MODE]
    start = limits[_L_START_MA] << 6
    target = start
    if mode >= _SOFT_START:
        target = limits[_L_LEVEL_0_MA + readings[_R_LEVEL]] << 6
    if mode == _SOFT_START:
        target = int(shape(state, limits, target))
    wanted = target + int(regulate(state, limits, readings, target))
    most = state[_S_ALLOWED] << 6
    if wanted > most:
        wanted = most
    if wanted < 0:
        wanted = 0
    if limits[_L_GATE_MA] != 0:
        wanted = start
    return wanted


@micropython.viper
def drive(state: ptr32, limits: ptr32, readings: ptr32) -> int:
    """Set the drive: what it aims at, through the one slew limiter."""
    mode = state[_S_MODE]
    if mode < _SOFT_START or mode > _LIMITED:
        state[_S_RAMP] = 0
    if mode < _START or mode > _LIMITED:
        state[_S_DRIVE] = 0
        state[_S_TRIM] = _TRIM_BIAS
        return 0
    wanted = int(heading(state, limits, readings))
    now = state[_S_DRIVE]
    if wanted > now:
        step = limits[_L_RISE_Q64]
        if now == 0:
            step = limits[_L_START_MA] << 6
        if state[_S_SUSPECT] != 0:
            step = 0
        if wanted > now + step:
            wanted = now + step
    elif wanted < now - limits[_L_FALL_Q64]:
        wanted = now - limits[_L_FALL_Q64]
    state[_S_DRIVE] = wanted
    return wanted


@micropython.viper
def put_out(state: ptr32, limits: ptr32, readings: ptr32) -> int:
    """Clamp the drive once more and turn it into counts and pin levels."""
    mode = state[_S_MODE]
    wanted = state[_S_DRIVE]
    if wanted > limits[_L_ABSOLUTE_MA] << 6:
        wanted = limits[_L_ABSOLUTE_MA] << 6
    if wanted > _HARD_MAX:
        wanted = _HARD_MAX
    if wanted < 0:
        wanted = 0
    state[_S_DRIVE] = wanted
    duty = wanted * limits[_L_DUTY_TOP] // (limits[_L_DUTY_FULL_MA] << 6)
    if duty > limits[_L_DUTY_TOP]:
        duty = limits[_L_DUTY_TOP]
    state[_S_DUTY] = duty
    enable = 0
    pulse = 0
    if mode >= _START and mode <= _LIMITED:
        enable = _ON_A | _ON_B
        pulse = 1 - state[_S_PULSE]
    if mode == _CLOSE:
        enable = _ON_RESET
    if mode >= _DELAY and mode <= _LIMITED:
        enable |= _ON_INDICATOR
    if readings[_R_REST_MV] < limits[_L_WARN_MV]:
        enable |= _ON_WARN
    state[_S_ENABLE] = enable
    state[_S_PULSE] = pulse
    return duty


@micropython.viper
def black_out(state: ptr32) -> int:
    """Go dark without looking at a single limit: none of them can be trusted any more."""
    if state[_S_TICK] < _ONES:
        state[_S_TICK] = state[_S_TICK] + 1
    if state[_S_MODE] != _FAULT:
        state[_S_MODE_TICKS] = 0
    state[_S_MODE] = _FAULT
    state[_S_DRIVE] = 0
    state[_S_TRIM] = _TRIM_BIAS
    state[_S_RAMP] = 0
    state[_S_ON_TICKS] = 0
    state[_S_LAMP_TICKS] = 0
    state[_S_READY] = 0
    state[_S_ALLOWED] = 0
    state[_S_DUTY] = 0
    state[_S_ENABLE] = 0
    state[_S_PULSE] = 0
    return _FAULT


@micropython.viper
def tick(state: ptr32, limits: ptr32, readings: ptr32, raw: ptr32) -> int:
    """One period of the law: raw, readings, watch, advance, allow, drive. Returns the mode.

    With a limit that differs from its complement nothing is computed from any limit: it may be
    a divisor, and it may be zero.
    """
    bad = int(guard(state, limits, readings))
    if bad & (1 << _F_SETTINGS) != 0:
        latch(state, limits, readings, bad)
        return int(black_out(state))
    convert(limits, readings, raw)
    if state[_S_MODE] == _BOOT:
        first_look(state, limits, readings)
    observe_heat(state, limits, readings)
    observe_stores(state, limits, readings)
    if (readings[_R_PINS] & _PIN_BAD) != 0:
        bad |= 1 << _F_SETTINGS
    if state[_S_MODE] != _BOOT or state[_S_MODE_TICKS] > limits[_L_AGE_TICKS]:
        bad |= int(watch_dark(state, limits, readings))
        bad |= int(watch_light(state, limits, readings))
        bad |= int(watch_heat(state, limits, readings))
        bad |= int(watch_supply(limits, readings))
        bad |= int(watch_time(state, limits, readings))
    latch(state, limits, readings, bad)
    unlatch(state, limits, readings)
    allow(state, limits, readings)
    hard = int(demand(state, limits, readings))
    mode = int(advance_mode(state, limits, readings, hard))
    tally_time(state, mode)
    drive(state, limits, readings)
    put_out(state, limits, readings)
    return state[_S_MODE]
