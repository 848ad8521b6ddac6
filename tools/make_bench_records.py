"""Write the recordings that are shipped as examples: `python tools/make_bench_records.py`.

Simulated, and each says so, with its seed. Two are of a `smoke_tunnel` with parts that its build
file does not know of; the burst is of the real firmware on the simulated board of that file.
"""

import sys
from pathlib import Path

from bench_records import EXAMPLES, PULSE, burst, recorded

from diodewright.build import load
from diodewright.sim import Trace

#: What the lamp has that its build file does not say: a smaller sink, a poorer contact, old cells.
HIDDEN = {
    "sink_air_K_W": 5.8,
    "mount_sink_K_W": 1.5,
    "cell_R0_ohm": 0.085,
    "cell_R1_ohm": 0.030,
    "ambient_degC": 22.0,
}
SEED = 2026


def heat() -> Trace:
    """Return a rest, a heat-up and a cool-down, two readings a second."""
    use = ((40, "trigger", 1), (430, "trigger", 0))
    return recorded(load("smoke_tunnel"), HIDDEN, SEED, use, 800, 2)


def pulse() -> Trace:
    """Return the reserve level, then the highest, then a rest, twenty readings a second."""
    return recorded(load("smoke_tunnel"), HIDDEN, SEED, PULSE, 120, 20)


def rise() -> Trace:
    """Return every tick from the emission delay through the rise to steady light."""
    return burst(load("smoke_tunnel"), SEED, 0.5, 11.0, "delay", 4.5)


#: Name -> what makes it.
MADE = {
    "smoke_tunnel_fit_heat": heat,
    "smoke_tunnel_fit_pulse": pulse,
    "smoke_tunnel_burst": rise,
}


def main(folder: Path) -> None:
    """Write all of them."""
    for name, make in MADE.items():
        make().save_npz(folder / f"{name}.npz")
        print(folder / f"{name}.npz")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else EXAMPLES)
