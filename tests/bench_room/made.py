"""Recordings of simulated lamps with hidden parts, made by the tool that makes the shipped ones."""

from typing import Any

from diodewright.bench.span import Record
from diodewright.build import Build, load
from diodewright.sim import Trace
from tooling import tool

BENCH = tool("bench_records")
HEAT_UP, PULSE = BENCH.HEAT_UP, BENCH.PULSE
SMOKE = load("smoke_tunnel")
#: Parts that the build file does not know of.
LADDER = {
    "sink_air_K_W": 5.6,
    "sink_J_K": 52.0,
    "mount_sink_K_W": 1.5,
    "mount_J_K": 13.5,
    "ntc_lag_s": 6.0,
    "ambient_degC": 24.0,
}
CELLS = {"cell_R0_ohm": 0.082, "cell_R1_ohm": 0.035, "cell_tau_s": 22.0}


def made(build: Build, hidden: dict[str, float], seed: int = 1, **how: Any) -> Record:
    """Return a recording of `build` with `hidden` parts: by default a heat-up and cool-down."""
    how = {"use": HEAT_UP, "until_s": 800, "rate_Hz": 5, **how}
    trace: Trace = BENCH.recorded(build, hidden, seed, **how)
    return Record("made.npz", trace, build, build)


def pulse(build: Build, hidden: dict[str, float], seed: int = 1, **how: Any) -> Record:
    """Return a recording of the two-level pulse."""
    return made(build, hidden, seed, **{"use": PULSE, "until_s": 150, "rate_Hz": 20, **how})
