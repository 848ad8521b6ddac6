"""Compile once, before anything is timed or split over workers."""

from diodewright.build import load
from diodewright.derive import plant_values, settings
from diodewright.sim.engine import compiled
from diodewright.sim.machine import new_tally, power_up

__all__ = ["warm"]


def warm() -> None:
    """Compile the engine of the law on disk, or find it compiled, by running it for two ticks.

    Raises
    ------
    EngineError
        The compiled engine can't be made here.
    """
    build = load("smoke_tunnel")
    engine = compiled()
    power_up(engine, plant_values(build), settings(build)).run(2, new_tally(engine, 0.01))
