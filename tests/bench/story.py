"""What every engine of the benchmark runs: one use of the shipped build, from a rested lamp."""

from dataclasses import dataclass
from typing import Any

from diodewright.build import load
from diodewright.derive import plant_values, settings
from diodewright.sim import Engine, Event, Machine, lamp_use, new_tally, power_up
from diodewright.sim.machine import peek

__all__ = ["BUILD", "DARK_A", "PRESS_TICK", "Ran", "awake", "lit_from_tick", "run"]

BUILD = load("smoke_tunnel")
DARK_A = 0.015
#: The controller has been up for a second, and its heat budget is empty as after a long rest.
PRESS_TICK = 1_000


@dataclass(frozen=True)
class Ran:
    """Peaks of a run: the diode's current with its ripple, its junction."""

    peak_A: float
    junction_degC: float


def awake(engine: Engine) -> Machine:
    """Return the machine at `PRESS_TICK`, dark."""
    values = {**plant_values(BUILD), "trip_A": BUILD.comparator.trip_min_A}
    machine = power_up(engine, values, settings(BUILD), seed=1)
    empty = Event(PRESS_TICK - 1, "law.budget", 0)
    machine.run(PRESS_TICK, new_tally(engine, DARK_A), (empty,))
    return machine


def lit_from_tick() -> int:
    """Return the tick at which the emission delay has passed."""
    return PRESS_TICK + round(1000 * BUILD.limits.delay_s)


def run(machine: Machine, ticks: int) -> Ran:
    """Press the trigger of `machine` and run it for so many ticks; it moves."""
    tally: Any = new_tally(machine.engine, DARK_A)
    machine.run(machine.now + ticks, tally, lamp_use(machine.now, 10**9))
    return Ran(peek(tally, "peak_current_A"), peek(tally, "peak_junction_degC"))
