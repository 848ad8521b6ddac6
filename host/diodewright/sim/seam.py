"""The seam between physics and law: raw codes in, PWM counts and pin levels out.

A kernel module (see `diodewright.plant.kernel`). The board's own disturbances (a late or dead
tick, a stopped main loop, a multiplexer that gives another channel) live here too, in the `board`
words, because neither the law nor the circuit knows of them.
"""

from diodewright.plant.kernel import Record, kernel
from diodewright.plant.sensors import (
    adc_code,
    check_pin_V,
    current_pin_V,
    indicator_pin_V,
    mount_pin_V,
    noise_lsb,
    output_pin_V,
    pack_pin_V,
    ref_V,
    sink_pin_V,
)

# words of `board`; which of them an event may change: `diodewright.sim.scenario.BOARD`
BOARD_STRIDE = 0
BOARD_DEAD = 1
BOARD_MAIN_STOPPED = 2
BOARD_LEVEL = 3
BOARD_SETTINGS_BAD = 4
BOARD_MUX_STUCK = 5
BOARD_SINCE = 6
BOARD_BEAT = 7
BOARD_MUX = 8
BOARD_MUX_LOW = 9
BOARD_MUX_LATE = 10
BOARD_MUX_SWAPPED = 11

# raw words, in the order of the law's table
RAW_CURRENT = 0
RAW_OUTPUT = 1
RAW_MUX = 2
RAW_CHANNEL = 3
RAW_PINS = 4
RAW_GAP = 5
RAW_BEAT = 6
RAW_LEVEL = 7

BEAT_TOP = 65535


@kernel
def routed(channel: int, stuck: int, low: int, late: int, swapped: int) -> int:
    """Return the channel that a multiplexer asked for `channel` gives.

    `stuck` below 5 is what it always gives; address bits in `low` are stuck at 0; `late` places
    behind is what it gives where readings come out of order; `swapped`: mount and sink exchanged.
    """
    if stuck < 5:
        return stuck
    given = channel - late
    if given < 0:
        given += 5
    given -= given & low
    if swapped != 0 and given >= 3:
        given = 7 - given
    return given


@kernel
def mux_pin_V(p: Record, x: Record, channel: int) -> float:
    """Return the pin voltage [V] of one multiplexed channel, in the law's order."""
    volts = 0.0
    if channel == 0:
        volts = pack_pin_V(p, x)
    elif channel == 1:
        volts = check_pin_V(p, x)
    elif channel == 2:
        volts = indicator_pin_V(p, x)
    elif channel == 3:
        volts = mount_pin_V(p, x)
    elif channel == 4:
        volts = sink_pin_V(p, x)
    return volts


@kernel
def input_levels(p: Record, x: Record) -> int:
    """Return trigger, key, interlock and latch as bits, in the law's order."""
    levels = 0
    if p.trigger > 0.5 or p.trigger_stuck > 0.5:
        levels = 1
    if p.key > 0.5 or p.key_stuck > 0.5:
        levels |= 2
    if p.interlock > 0.5 or p.interlock_stuck > 0.5:
        levels |= 4
    if x.latch > 0.5:
        levels |= 8
    return levels


@kernel
def sense(p: Record, x: Record, raw: Record, board: Record) -> int:
    """Fill `raw` as the board would in this tick: three conversions, the pins, the clock words."""
    reference_V = ref_V(p, x)
    raw[RAW_CURRENT] = adc_code(current_pin_V(p, x), reference_V, noise_lsb(p, x))
    raw[RAW_OUTPUT] = adc_code(output_pin_V(p, x), reference_V, noise_lsb(p, x))
    channel = board[BOARD_MUX]
    read = routed(
        channel,
        board[BOARD_MUX_STUCK],
        board[BOARD_MUX_LOW],
        board[BOARD_MUX_LATE],
        board[BOARD_MUX_SWAPPED],
    )
    raw[RAW_MUX] = adc_code(mux_pin_V(p, x, read), reference_V, noise_lsb(p, x))
    raw[RAW_CHANNEL] = channel
    channel += 1
    if channel == 5:
        channel = 0
    board[BOARD_MUX] = channel
    pins = input_levels(p, x)
    if board[BOARD_SETTINGS_BAD] != 0:
        pins |= 16
    raw[RAW_PINS] = pins
    raw[RAW_GAP] = board[BOARD_SINCE]
    raw[RAW_BEAT] = board[BOARD_BEAT]
    raw[RAW_LEVEL] = board[BOARD_LEVEL]
    return 0


@kernel
def act(
    x: Record,
    duty: int,
    duty_top: int,
    enable: int,
    pulse_before: int,
    pulse: int,
    reset_before: int,
) -> int:
    """Give the law's outputs to the circuit; the circuit consumes an edge in its next sub-step."""
    x.duty = duty / duty_top
    x.enable_b = 0.0
    if enable & 2 != 0:
        x.enable_b = 1.0
    x.indicator = 0.0
    if enable & 4 != 0:
        x.indicator = 1.0
    x.pulse_edge = 0.0
    if pulse != pulse_before:
        x.pulse_edge = 1.0
    x.latch_reset = 0.0
    if enable & 8 != 0 and reset_before == 0:
        x.latch_reset = 1.0
    return 0


@kernel
def pass_time(board: Record) -> int:
    """Advance the board's clocks by one period and return 1 where the law is to run in it."""
    board[BOARD_SINCE] = board[BOARD_SINCE] + 1
    if board[BOARD_SINCE] > BEAT_TOP:
        board[BOARD_SINCE] = BEAT_TOP
    beat = 0
    if board[BOARD_MAIN_STOPPED] != 0:
        beat = board[BOARD_BEAT] + 1
        if beat > BEAT_TOP:
            beat = BEAT_TOP
    board[BOARD_BEAT] = beat
    runs = 0
    if board[BOARD_DEAD] == 0 and board[BOARD_SINCE] >= board[BOARD_STRIDE]:
        runs = 1
    return runs
