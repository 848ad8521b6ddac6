"""A pack run down by one steady load, on the plant's own curve and constant-power equation."""

import math
from collections.abc import Callable
from dataclasses import dataclass

from diodewright.plant.kernel import Record
from diodewright.plant.pack import cell_ocv_V

__all__ = ["RunDown", "run_down"]

#: Charge is taken in steps of so much of the whole.
STEP_PCT = 1.0


@dataclass(frozen=True)
class RunDown:
    """What a load found on its way down.

    Attributes
    ----------
    light_s : until the terminals stood below the floor, or all charge was taken.
    left_pct : charge left then.
    highest_A : highest current on the way; NaN where the load could not begin.
    """

    light_s: float
    left_pct: float
    highest_A: float


def run_down(
    p: Record, draws_A: Callable[[float, float], float], floor_V: float, start_pct: float
) -> RunDown:
    """Run cells from `start_pct` of charge down to `floor_V` [V] at the loaded terminals.

    `p` are the pack's plant parameters, `draws_A(source_V, ohm)` what the load takes [A] from a
    source [V] behind a resistance [ohm]: here all of the pack's, slow part and wiring included, in
    steps of 1 % of charge. Leaves out temperature, ageing, and what a high current takes of the
    capacity.
    """
    ohm = p.pack_fast_ohm + p.pack_slow_ohm
    step_C = STEP_PCT / 100 / p.soc_per_C
    light_s, left_pct, highest_A = 0.0, start_pct, math.nan
    while left_pct > STEP_PCT:
        source_V = p.cells_series * cell_ocv_V(p, left_pct / 100)
        current_A = draws_A(source_V, ohm)
        if source_V - current_A * ohm < floor_V:
            break
        highest_A = current_A if math.isnan(highest_A) else max(highest_A, current_A)
        light_s += step_C / current_A
        left_pct -= STEP_PCT
    return RunDown(light_s, left_pct, highest_A)
