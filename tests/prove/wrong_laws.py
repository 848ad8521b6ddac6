"""Wrong laws: a shipped law with one mistake each, and the obligation that must refute it.

Written from the law and the list of obligations, not from the proof. A row is (name, obligation,
text of the law, wrong text); an obligation is meant with all that begin with its name.
"""

from pathlib import Path

from diodedriver import law

LAW = Path(law.__file__).read_text(encoding="utf-8")

Row = tuple[str, str, str, str]


def wrong_source(row: Row) -> str:
    """Return the law's source with the row's mistake; the text must stand there once."""
    name, _, right, wrong = row
    assert LAW.count(right) == 1, (name, LAW.count(right))
    return LAW.replace(right, wrong)


DARK: tuple[Row, ...] = (
    (
        "interlock-ignored",
        "zero-hard",
        "(pins & _PIN_INTERLOCK) == 0:\n        hard |= 1",
        "(pins & _PIN_INTERLOCK) == 0:\n        hard |= 0",
    ),
    (
        "key-only-with-interlock",
        "zero-hard",
        "    if (pins & _PIN_KEY) == 0:\n        hard |= 2",
        "    if (pins & (_PIN_KEY | _PIN_INTERLOCK)) == 0:\n        hard |= 2",
    ),
    (
        "trigger-let-go-stays-lit",
        "zero-hard",
        "        state[_S_READY] = 1\n        hard |= 4",
        "        state[_S_READY] = 1",
    ),
    (
        "hard-only-while-dark",
        "zero-hard",
        "elif before >= _PACK_LOW or hard != 0:",
        "elif before >= _PACK_LOW or (hard != 0 and before < _START):",
    ),
    (
        "late-tick-by-one",
        "zero-hard",
        "readings[_R_GAP_TICKS] > limits[_L_LATE_TICKS]",
        "readings[_R_GAP_TICKS] > limits[_L_LATE_TICKS] + 1",
    ),
    (
        "heartbeat-ignored",
        "zero-hard",
        "readings[_R_BEAT_TICKS] > limits[_L_BEAT_MAX_TICKS]",
        "readings[_R_BEAT_TICKS] > limits[_L_BEAT_MAX_TICKS] * 100",
    ),
    (
        "latched-fades",
        "zero",
        "        state[_S_DRIVE] = 0\n        state[_S_TRIM] = _TRIM_BIAS\n        return 0",
        "        state[_S_DRIVE] = state[_S_DRIVE] >> 1\n"
        "        state[_S_TRIM] = _TRIM_BIAS\n        return 0",
    ),
    (
        "enable-outlives-light",
        "zero",
        "    if mode >= _START and mode <= _LIMITED:\n        enable = _ON_A | _ON_B",
        "    if mode >= _START and mode <= _PACK_LOW:\n        enable = _ON_A | _ON_B",
    ),
    (
        "suspicion-may-rise",
        "zero-soft",
        "        if state[_S_SUSPECT] != 0:\n            step = 0",
        "        if state[_S_SUSPECT] > 1 << 12:\n            step = 0",
    ),
    (
        "suspicion-ignored",
        "zero-soft",
        "        if state[_S_SUSPECT] != 0:\n            step = 0",
        "        if state[_S_SUSPECT] < 0:\n            step = 0",
    ),
    (
        "suspicion-forgives-the-start",
        "zero-soft",
        "        if now == 0:\n            step = limits[_L_START_MA] << 6\n"
        "        if state[_S_SUSPECT] != 0:\n            step = 0",
        "        if state[_S_SUSPECT] != 0:\n            step = 0\n"
        "        if now == 0:\n            step = limits[_L_START_MA] << 6",
    ),
)

ROWS: tuple[Row, ...] = (
    (
        "settings-row-unseen",
        "detect-settings",
        "    if (readings[_R_PINS] & _PIN_BAD) != 0:\n        bad |= 1 << _F_SETTINGS",
        "    if (readings[_R_PINS] & _PIN_BAD) != 0:\n        bad |= 0",
    ),
    ("state-row-unseen", "detect-state", "    return 1 << _F_STATE\n", "    return 0\n"),
    (
        "latch-row-unseen-in-close",
        "detect-latch",
        "if mode >= _CLOSE and mode <= _LIMITED and (readings[_R_PINS] & _PIN_LATCH) != 0:",
        "if mode >= _START and mode <= _LIMITED and (readings[_R_PINS] & _PIN_LATCH) != 0:",
    ),
    (
        "overcurrent-while-lit-only",
        "detect-overcurrent",
        "    if current > limits[_L_OVERCURRENT_MA]:",
        "    if current > limits[_L_OVERCURRENT_MA] and mode >= _RUN:",
    ),
    (
        "stuck-not-in-fault",
        "detect-stuck",
        "if (mode < _START or mode > _LIMITED) and",
        "if mode < _START and",
    ),
    (
        "short-against-open",
        "detect-short",
        "        if output < limits[_L_SHORT_MV]:",
        "        if output < limits[_L_SHORT_MV] and current > asked:",
    ),
    (
        "open-needs-both",
        "detect-open",
        "current * 4 < asked or output > limits[_L_OPEN_MV]",
        "current * 4 < asked and output > limits[_L_OPEN_MV]",
    ),
    (
        "follow-one-sided",
        "detect-follow",
        "        if error < 0:\n            error = -error\n",
        "",
    ),
    (
        "hot-by-one",
        "detect-hot",
        "readings[_R_LEAD_CK] >= limits[_L_TRIP_CK]",
        "readings[_R_LEAD_CK] > limits[_L_TRIP_CK]",
    ),
    (
        "junction-by-its-warm-end",
        "detect-junction",
        "readings[_R_JUNCTION_CK] >= limits[_L_JUNCTION_TRIP_CK]",
        "readings[_R_JUNCTION_CK] >= limits[_L_JUNCTION_TRIP_CK] + 100",
    ),
    (
        "heat-by-a-quarter",
        "detect-heat",
        "(mount - sink) * 3 < model",
        "(mount - sink) * 4 < model",
    ),
    ("sensor-sink-unchecked", "detect-sensor", " or sink < coldest or sink > hottest", ""),
    (
        "stale-skips-the-last-channel",
        "detect-stale",
        "    for i in range(_CHANNELS):\n        if readings[_R_PACK_AGE + i] > limits[_L_AGE_TICKS]:\n"
        "            bad = 1 << _F_STALE",
        "    for i in range(_NTC_CHANNELS):\n        if readings[_R_PACK_AGE + i] > limits[_L_AGE_TICKS]:\n"
        "            bad = 1 << _F_STALE",
    ),
    (
        "indicator-too-bright-unseen",
        "detect-indicator",
        "lamp < limits[_L_INDICATOR_MIN_UA] or lamp > limits[_L_INDICATOR_MAX_UA]",
        "lamp < limits[_L_INDICATOR_MIN_UA]",
    ),
    (
        "pack-wrong-of-estimate",
        "detect-pack_wrong",
        "readings[_R_PACK_MV] > limits[_L_PACK_MAX_MV]",
        "readings[_R_REST_MV] > limits[_L_PACK_MAX_MV]",
    ),
    (
        "pack-min-of-lockout",
        "detect-pack_min",
        "readings[_R_PACK_MV] < limits[_L_LOADED_MIN_MV]",
        "readings[_R_PACK_MV] + 50 < limits[_L_LOADED_MIN_MV]",
    ),
    (
        "pack-low-unseen",
        "detect-pack_low",
        "        bad |= 1 << _F_PACK_LOW\n",
        "        bad |= 0\n",
    ),
    ("late-unseen", "detect-late", "        bad |= 1 << _F_LATE\n", "        bad |= 0\n"),
    (
        "beat-at-twice",
        "detect-beat",
        "readings[_R_BEAT_TICKS] > limits[_L_BEAT_MAX_TICKS]",
        "readings[_R_BEAT_TICKS] > limits[_L_BEAT_MAX_TICKS] << 1",
    ),
    (
        "charged-never",
        "detect-charged",
        "state[_S_MODE_TICKS] >= limits[_L_CLOSE_TICKS]",
        "state[_S_MODE_TICKS] >= limits[_L_CLOSE_TICKS] + 20000",
    ),
    (
        "count-one-too-many",
        "detect",
        "            if count >= limit:",
        "            if count > limit:",
    ),
    ("count-latches-without-its-bit", "detect", "                faults |= 1 << row\n", ""),
    (
        "quiet-counter-stays",
        "quiet",
        "        count = 0\n        if (bad >> row) & 1 != 0:",
        "        count = state[_S_COUNT_SETTINGS + row]\n        if (bad >> row) & 1 != 0:",
    ),
    (
        "quiet-row-latches-its-neighbour",
        "quiet",
        "                faults |= 1 << row\n",
        "                faults |= 3 << row\n",
    ),
    (
        "quiet-hot-while-warm",
        "quiet-hot",
        "readings[_R_LEAD_CK] >= limits[_L_TRIP_CK]",
        "readings[_R_LEAD_CK] >= limits[_L_HOT_CK]",
    ),
    (
        "quiet-indicator-while-off",
        "quiet-indicator",
        "    if (state[_S_ENABLE] & _ON_INDICATOR) != 0:\n        lamp",
        "    if True:\n        lamp",
    ),
)

DRIVE: tuple[Row, ...] = (
    ("cap-dropped", "max", "    if wanted > most:\n        wanted = most\n", ""),
    (
        "trim-above-the-cap",
        "max",
        "    wanted = target + int(regulate(state, limits, readings, target))\n"
        "    most = state[_S_ALLOWED] << 6\n    if wanted > most:\n        wanted = most\n",
        "    wanted = target\n    most = state[_S_ALLOWED] << 6\n    if wanted > most:\n"
        "        wanted = most\n    wanted += int(regulate(state, limits, readings, target))\n",
    ),
    (
        "absolute-clamp-by-the-top",
        "max",
        "    if wanted > limits[_L_ABSOLUTE_MA] << 6:\n"
        "        wanted = limits[_L_ABSOLUTE_MA] << 6\n",
        "    if wanted > limits[_L_ABSOLUTE_MA] << 7:\n        wanted = limits[_L_ABSOLUTE_MA] << 7\n",
    ),
    (
        "rise-of-a-whole-start",
        "rise",
        "        step = limits[_L_RISE_Q64]\n",
        "        step = limits[_L_START_MA] << 6\n",
    ),
    (
        "rise-by-one",
        "rise",
        "            wanted = now + step\n",
        "            wanted = now + step + 1\n",
    ),
    (
        "rise-free-in-run",
        "rise",
        "        if wanted > now + step:",
        "        if wanted > now + step and mode != _RUN:",
    ),
    (
        "fall-halved",
        "fall",
        "        wanted = now - limits[_L_FALL_Q64]\n    state",
        "        wanted = now - (limits[_L_FALL_Q64] >> 1)\n    state",
    ),
    (
        "fall-only-in-run",
        "fall",
        "    elif wanted < now - limits[_L_FALL_Q64]:",
        "    elif wanted < now and mode != _RUN:",
    ),
    (
        "fall-frozen-by-suspicion",
        "fall",
        "    elif wanted < now - limits[_L_FALL_Q64]:",
        "    elif state[_S_SUSPECT] != 0:\n        wanted = now\n"
        "    elif wanted < now - limits[_L_FALL_Q64]:",
    ),
    ("trim-one-sided", "trim", "    if trim < -authority:\n        trim = -authority\n", ""),
    (
        "trim-not-cleared",
        "trim",
        "        state[_S_DRIVE] = 0\n        state[_S_TRIM] = _TRIM_BIAS\n        return 0",
        "        state[_S_DRIVE] = 0\n        return 0",
    ),
    (
        "trim-while-suspect",
        "trim",
        "state[_S_MODE] == _RUN and state[_S_SUSPECT] == 0 and",
        "state[_S_MODE] == _RUN and",
    ),
    (
        "trim-while-limited",
        "trim",
        "state[_S_MODE] == _RUN and state[_S_SUSPECT] == 0 and",
        "state[_S_MODE] >= _RUN and state[_S_SUSPECT] == 0 and",
    ),
    (
        "trim-while-slewing",
        "trim",
        " and state[_S_DRIVE] == target + trim:",
        " and state[_S_DRIVE] >= target + trim:",
    ),
    (
        "hotter-allows-more",
        "monotone",
        "        taken = depth * (value - begin) // (end - begin)",
        "        taken = depth * (end - value) // (end - begin)",
    ),
    (
        "weaker-pack-allows-more",
        "monotone",
        "fade(_HIGHEST_PACK - readings[_R_REST_MV], begin",
        "fade(readings[_R_REST_MV], begin",
    ),
    (
        "second-cap-replaces-the-first",
        "monotone",
        "    if taken > most:\n        most = taken\n        bound = 2",
        "    if taken > 0:\n        most = taken\n        bound = 2",
    ),
    (
        "budget-overfills",
        "budget",
        "    if budget >= cap:\n        budget = cap\n        part = 0\n",
        "",
    ),
    (
        "budget-wraps-empty",
        "budget",
        "        budget = cap\n        part = 0\n",
        "        budget = 0 - cap\n        part = 0\n",
    ),
    (
        "full-budget-allows-dim",
        "caps",
        "    depth = top - limits[_L_SUSTAIN_MA]\n",
        "    depth = (top - limits[_L_SUSTAIN_MA]) >> 1\n",
    ),
    ("gate-gives-a-part", "gated", "    if limits[_L_GATE_MA] != 0:\n        wanted = start\n", ""),
    (
        "gate-lights-at-its-gate",
        "gated",
        "        need = limits[_L_START_MA]\n",
        "        need = need\n",
    ),
    (
        "gate-ignored-while-lit",
        "gated",
        "    if state[_S_ALLOWED] < need:",
        "    if state[_S_ALLOWED] < need and mode < _START:",
    ),
    ("headroom-hunts", "headroom", " or room >= 2 * short:", " or room >= short:"),
    (
        "headroom-below-the-start",
        "headroom",
        "    if held < limits[_L_START_MA]:\n        held = limits[_L_START_MA]\n",
        "",
    ),
    (
        "headroom-rises",
        "headroom",
        "        held -= (limits[_L_FALL_Q64] >> 7) + 1",
        "        held += (limits[_L_FALL_Q64] >> 7) + 1",
    ),
)

LIGHT: tuple[Row, ...] = (
    (
        "press-before-release",
        "relight",
        "    if mode == _DARK and state[_S_READY] != 0:",
        "    if mode == _DARK:",
    ),
    (
        "fault-relights-by-itself",
        "relight",
        "        mode = _DARK\n    elif before < _START:",
        "        mode = _DARK\n        if hard == 0:\n            mode = _START\n"
        "    elif before < _START:",
    ),
    ("press-not-used-up", "relight", "    elif hard != 0:\n        state[_S_READY] = 0\n", ""),
    (
        "ready-at-power-up",
        "relight",
        "    state[_S_BUDGET] = limits[_L_BUDGET_CAP]\n    state[_S_PACK] =",
        "    state[_S_BUDGET] = limits[_L_BUDGET_CAP]\n"
        "    state[_S_READY] = 1\n    state[_S_PACK] =",
    ),
    (
        "delay-half",
        "indicate",
        "state[_S_LAMP_TICKS] >= limits[_L_DELAY_TICKS]",
        "state[_S_LAMP_TICKS] * 2 >= limits[_L_DELAY_TICKS]",
    ),
    (
        "delay-counts-a-dead-lamp",
        "indicate",
        " or (state[_S_SUSPECT] & (1 << _F_INDICATOR)) != 0:\n        lamp = 0",
        ":\n        lamp = 0",
    ),
    (
        "lamp-off-while-lit",
        "indicate",
        "    if mode >= _DELAY and mode <= _LIMITED:\n        enable |= _ON_INDICATOR",
        "    if mode >= _DELAY and mode <= _RUN:\n        enable |= _ON_INDICATOR",
    ),
    (
        "restart-in-run",
        "restart",
        "    elif mode == _CLOSE and state[_S_MODE_TICKS] >= 1 and output "
        "<= limits[_L_SAFE_MV]:\n        mode = _START",
        "    elif mode == _CLOSE and state[_S_MODE_TICKS] >= 1 and output "
        "<= limits[_L_SAFE_MV]:\n        mode = _RUN",
    ),
    (
        "restart-mid-ramp",
        "restart",
        "    if mode < _SOFT_START or mode > _LIMITED:\n        state[_S_RAMP] = 0\n",
        "",
    ),
    (
        "restart-at-twice-the-start",
        "restart",
        "            step = limits[_L_START_MA] << 6\n        if state",
        "            step = limits[_L_START_MA] << 7\n        if state",
    ),
    ("closes-onto-charge", "close", " and output <= limits[_L_SAFE_MV]:\n", ":\n"),
    (
        "closes-by-the-short-limit",
        "close",
        "output <= limits[_L_SAFE_MV]",
        "output <= limits[_L_SAFE_MV] + 1",
    ),
    (
        "closes-in-close",
        "close",
        "    if mode >= _START and mode <= _LIMITED:\n        enable = _ON_A | _ON_B",
        "    if mode >= _CLOSE and mode <= _LIMITED:\n        enable = _ON_A | _ON_B",
    ),
    (
        "delay-never-ends",
        "live",
        "state[_S_LAMP_TICKS] >= limits[_L_DELAY_TICKS]",
        "state[_S_LAMP_TICKS] >= limits[_L_DELAY_TICKS] + 70000",
    ),
    ("ramp-stands-still", "live", "    ramp = state[_S_RAMP] + 1\n", "    ramp = state[_S_RAMP]\n"),
    (
        "start-never-ends",
        "live",
        "state[_S_MODE_TICKS] >= limits[_L_STAGE_TICKS]",
        "state[_S_MODE_TICKS] > 60000",
    ),
)

MEMORY: tuple[Row, ...] = (
    (
        "cause-overwritten",
        "cause",
        "    if first != 0 and state[_S_CAUSE] == 0:",
        "    if first != 0:",
    ),
    (
        "cause-is-the-last-row",
        "cause",
        "                if first == 0:\n                    first = row + 1",
        "                first = row + 1",
    ),
    (
        "cause-cleared-with-a-row",
        "cause",
        "    if faults == 0:\n        state[_S_CAUSE] = 0",
        "    if faults == state[_S_FAULTS]:\n        state[_S_CAUSE] = 0",
    ),
    (
        "service-forgiven",
        "latch",
        "    forgiven = _BY_RELEASE\n",
        "    forgiven = _BY_RELEASE | 16\n",
    ),
    (
        "cleared-with-the-trigger-held",
        "latch",
        "    if (pins & _PIN_TRIGGER) != 0:\n        return 0\n",
        "",
    ),
    (
        "rest-too-short",
        "latch",
        "state[_S_REST] >= limits[_L_REST_TICKS] and",
        "state[_S_REST] >= 0 and",
    ),
    (
        "cleared-while-it-stands",
        "latch",
        "state[_S_FAULTS] & (standing | (_ALL_ROWS ^ forgiven))",
        "state[_S_FAULTS] & (_ALL_ROWS ^ forgiven)",
    ),
    (
        "interlock-never-opened",
        "latch",
        "    if state[_S_OPENED] != 0 and closed ==",
        "    if closed ==",
    ),
    (
        "copy-skips-the-last",
        "copy",
        "        wrong |= limits[i] ^ limits[_LIMITS + i] ^ _ONES\n",
        "        wrong |= (limits[i] ^ limits[_LIMITS + i] ^ _ONES) >> 1\n",
    ),
    (
        "copy-warns-only",
        "copy",
        "        return int(black_out(state))\n",
        "        black_out(state)\n",
    ),
    (
        "black-out-keeps-enable",
        "copy",
        "    state[_S_ENABLE] = 0\n    state[_S_PULSE] = 0\n    return _FAULT",
        "    return _FAULT",
    ),
    ("last-clamp-open", "copy", "    if wanted > _HARD_MAX:\n        wanted = _HARD_MAX\n", ""),
    (
        "unknown-channel-refreshes",
        "stale",
        "    if channel < _CHANNELS:\n        if channel < _NTC",
        "    if channel >= _CHANNELS:\n        readings[_R_PACK_AGE] = 0\n"
        "    if channel < _CHANNELS:\n        if channel < _NTC",
    ),
    (
        "age-by-one-tick",
        "stale",
        "        age = readings[_R_PACK_AGE + i] + gap\n",
        "        age = readings[_R_PACK_AGE + i] + 1\n",
    ),
    ("age-frozen", "stale", "        readings[_R_PACK_AGE + i] = age\n", ""),
    (
        "limit-raised-while-lit",
        "comms",
        "    state[_S_PULSE] = pulse\n    return duty",
        "    state[_S_PULSE] = pulse\n    limits[_L_ABSOLUTE_MA] = limits[_L_ABSOLUTE_MA] + 1\n    return duty",
    ),
    (
        "limit-written-by-convert",
        "comms",
        "    readings[_R_GAP_TICKS] = gap\n",
        "    readings[_R_GAP_TICKS] = gap\n    limits[_L_LATE_TICKS] = gap\n",
    ),
    (
        "limit-written-in-the-fault",
        "comms",
        "    state[_S_SUSPECT] = bad\n",
        "    state[_S_SUSPECT] = bad\n    if first != 0:\n        limits[_L_TOP_MA] = 1\n",
    ),
)

RANGES: tuple[Row, ...] = (
    ("stray-state-kept", "any-state", "    for i in range(_STATE):\n        state[i] = 0\n", ""),
    (
        "stray-high-unseen",
        "any-state",
        "state[i] | (limits[_L_CEILING_MODE + i] - state[i])",
        "state[i]",
    ),
    (
        "stray-negative-unseen",
        "any-state",
        "stray |= state[i] | (limits[_L_CEILING_MODE + i] - state[i])",
        "stray |= limits[_L_CEILING_MODE + i] - state[i]",
    ),
    ("budget-part-runs-off", "any-state", "    part &= 1023\n", ""),
    (
        "mode-clock-grows",
        "arithmetic",
        "    if spent < _ONES:\n        spent += 1\n",
        "    spent += 1\n",
    ),
    (
        "tick-clock-grows",
        "arithmetic",
        "    tick = state[_S_TICK]\n    if tick < _ONES:\n        state[_S_TICK] = tick + 1\n",
        "    state[_S_TICK] = state[_S_TICK] + 1\n",
    ),
    (
        "counter-grows",
        "arithmetic",
        "                count = limit\n",
        "                count = count\n",
    ),
    (
        "power-in-microwatts",
        "arithmetic",
        "    power = current * readings[_R_OUTPUT_MV] // 1000\n",
        "    power = current * readings[_R_OUTPUT_MV] * 10 // 10000\n",
    ),
    (
        "load-unchecked-divisor",
        "arithmetic",
        "    if terminal >= 500:\n",
        "    if terminal >= 0:\n",
    ),
    ("table-over-its-end", "arithmetic", "(code >> 7)\n", "(code >> 6)\n"),
    (
        "drive-negative",
        "arithmetic",
        "    if wanted < 0:\n        wanted = 0\n    if limits[_L_GATE",
        "    if limits[_L_GATE",
    ),
    (
        "duty-overflows",
        "arithmetic",
        "wanted * limits[_L_DUTY_TOP] // (limits[_L_DUTY_FULL_MA] << 6)",
        "wanted * 2 * limits[_L_DUTY_TOP] // (limits[_L_DUTY_FULL_MA] << 7)",
    ),
)

WRONG: tuple[Row, ...] = (*DARK, *ROWS, *DRIVE, *LIGHT, *MEMORY, *RANGES)
