"""Sim: the closed loop of law and plant, compiled or not, its Tally and its Trace."""

from diodewright.sim.engine import Engine, EngineError, compiled, law_hash, plain
from diodewright.sim.machine import Machine, new_tally, power_up
from diodewright.sim.scenario import Event, lamp_use
from diodewright.sim.trace import Trace
from diodewright.sim.warming import warm

__all__ = [
    "Engine",
    "EngineError",
    "Event",
    "Machine",
    "Trace",
    "compiled",
    "lamp_use",
    "law_hash",
    "new_tally",
    "plain",
    "power_up",
    "warm",
]
