"""A whole board at the seam: levels of its pins in, codes and input levels out, once a tick.

A kernel module, for the twin, where the firmware runs by itself and the plant follows. Order as
in `loop.run_ticks`: what the pins say, one period of the plant, then what the pins will read.
"""

from diodewright.plant.kernel import Record, kernel
from diodewright.plant.sensors import (
    adc_code,
    current_pin_V,
    noise_lsb,
    output_pin_V,
    ref_V,
)
from diodewright.plant.step import advance
from diodewright.sim.peaks import tally_substep, tally_tick
from diodewright.sim.seam import input_levels, mux_pin_V

# bits of `levels`, the board's outputs
OUT_B = 1
OUT_PULSE = 2
OUT_TRICKLE = 4
OUT_INJECT = 8
OUT_RESET = 16
OUT_INDICATOR = 32


@kernel
def take_levels(x: Record, duty: float, levels: int, before: int) -> int:
    """Give the board's outputs to the circuit; `duty` is 0 to 1, `before` the levels before."""
    rising = levels & (levels ^ before)
    x.duty = duty
    x.enable_b = 1.0 if levels & OUT_B != 0 else 0.0
    x.indicator = 1.0 if levels & OUT_INDICATOR != 0 else 0.0
    x.trickle = 1.0 if levels & OUT_TRICKLE != 0 else 0.0
    x.pulse_edge = 1.0 if (levels ^ before) & OUT_PULSE != 0 else 0.0
    x.latch_reset = 1.0 if rising & OUT_RESET != 0 else 0.0
    if rising & OUT_INJECT != 0:
        x.trip_inject = 1.0
    return levels


@kernel
def read_pins(p: Record, x: Record, channel: int, codes: Record) -> int:
    """Fill `codes` with current, output, multiplexed `channel`, and the input levels as bits."""
    reference_V = ref_V(p, x)
    codes[0] = adc_code(current_pin_V(p, x), reference_V, noise_lsb(p, x))
    codes[1] = adc_code(output_pin_V(p, x), reference_V, noise_lsb(p, x))
    codes[2] = adc_code(mux_pin_V(p, x, channel), reference_V, noise_lsb(p, x))
    codes[3] = input_levels(p, x)
    return 0


@kernel
def run_board_tick(
    p: Record,
    x: Record,
    t: Record,
    duty: float,
    levels: int,
    before: int,
    mode: int,
    bound: int,
    faults: int,
    row: int,
    substeps: int,
    dt_s: float,
) -> int:
    """Run the plant for one tick under the board's outputs; return `levels`.

    `mode`, `bound`, `faults` and first cause `row` are what the board's own law says, for the
    Tally; 0 where it does not run.
    """
    take_levels(x, duty, levels, before)
    for _ in range(substeps):
        advance(p, x, dt_s)
        tally_substep(p, x, t, dt_s)
    tally_tick(x, t, mode, bound, faults, row)
    return levels
