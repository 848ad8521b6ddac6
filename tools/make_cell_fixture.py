"""Write tests/outside/data/cell_pulses.csv: a cell under load and at rest, from electrochemistry.

Run by hand, never by a test: it needs PyBaMM in an environment of its own (`pip install pybamm`,
some 600 MB). The head of the file says version, model, parameter set and command.
"""

import csv
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pybamm

TARGET = Path(__file__).parents[1] / "tests" / "outside" / "data" / "cell_pulses.csv"
SET = "Chen2020"
CHARGES = (0.8, 0.5, 0.2)
COLUMNS = ("start_charge", "phase", "since_s", "current_A", "voltage_V")
#: phase: current [A], duration [s], step of the solution [s], moments kept [s]; 1 A is 0.2 It.
PHASES = {
    "rested": (0.0, 1.0, 0.5, (1.0,)),
    "first pulse": (1.0, 10.0, 0.1, (10.0,)),
    "second pulse": (5.0, 1.0, 0.02, (1.0,)),
    "rest": (0.0, 1800.0, 10.0, (1800.0,)),
    "load": (2.5, 300.0, 0.5, (0.5, 1, 2, 5, 10, 20, 30, 60, 90, 120, 180, 240, 300)),
    "recovery": (0.0, 600.0, 0.5, (0.5, 1, 2, 5, 10, 20, 30, 60, 90, 120, 180, 240, 300, 450, 600)),
}


def rows(charge: float) -> Iterator[tuple[str, ...]]:
    """Yield the kept rows of a cell that begins at rest at `charge` [0 to 1], held at 25 degC."""
    steps = tuple(
        pybamm.step.current(amperes, duration=seconds, period=step_s)
        for amperes, seconds, step_s, _ in PHASES.values()
    )
    simulation = pybamm.Simulation(
        pybamm.lithium_ion.DFN(),
        parameter_values=pybamm.ParameterValues(SET),
        experiment=pybamm.Experiment([steps]),
    )
    solved = simulation.solve(initial_soc=charge).cycles[0].steps
    for (phase, (amperes, _, _, kept)), step in zip(PHASES.items(), solved, strict=True):
        since_s = step["Time [s]"].entries - step["Time [s]"].entries[0]
        for at_s in kept:
            volts = np.interp(at_s, since_s, step["Voltage [V]"].entries)
            yield f"{charge:g}", phase, f"{at_s:g}", f"{amperes:g}", f"{volts:.5f}"


def main() -> int:
    """Write the file."""
    head = (
        "# Terminal voltage of a lithium-ion cell, simulated, never measured.",
        f"# PyBaMM {pybamm.__version__}, Doyle-Fuller-Newman model, parameter set {SET}"
        " (LG M50, 5 Ah; J. Electrochem. Soc. 167 (2020) 080534), isothermal, 25 degC.",
        "# Each start charge begins at rest and takes the phases one behind the other.",
        "# Made by: python tools/make_cell_fixture.py",
    )
    TARGET.parent.mkdir(exist_ok=True)
    with TARGET.open("w", encoding="utf-8", newline="") as file:
        file.write("\n".join(head) + "\n")
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        for charge in CHARGES:
            writer.writerows(rows(charge))
    return 0


if __name__ == "__main__":
    sys.exit(main())
