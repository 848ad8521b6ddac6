"""The netlists of `hardware_notes`, run by ngspice with values of their own; skipped without it."""

import re
import shutil
import subprocess
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from diodewright.build import Build
from diodewright.derive.edges import lowest_tangent
from diodewright.derive.electrics import parameters

NETLISTS = Path(__file__).parents[1] / "hardware_notes" / "netlists"


def simulate(netlist: str, folder: Path, values: Mapping[str, float]) -> list[Any]:
    """Return time and every column that the netlist writes, its parameters set to `values`."""
    program = shutil.which("ngspice")
    if program is None:
        pytest.skip("ngspice is not installed: this edge is judged by closed forms only")
    text = (NETLISTS / f"{netlist}.cir").read_text(encoding="utf-8")
    for name, value in values.items():
        line = rf"^\.param {name}=.*$"
        assert re.search(line, text, re.M), f"{netlist} has no parameter {name}"
        text = re.sub(line, f".param {name}={value!r}", text, flags=re.M)
    (folder / "edge.cir").write_text(text, encoding="utf-8")
    data = folder / f"{netlist}.data"
    data.unlink(missing_ok=True)
    subprocess.run([program, "-b", "edge.cir"], cwd=folder, capture_output=True, check=True)
    rows = np.loadtxt(data)
    assert rows[-1, 0] >= 0.999 * _end_s(text), "the simulation stopped early"
    return [rows[:, 0], *(rows[:, column] for column in range(1, rows.shape[1], 2))]


def _end_s(text: str) -> float:
    found = re.search(r"^\.param stop_s=(\S+)$", text, re.M)
    assert found
    return float(found[1])


def diode(build: Build) -> dict[str, float]:
    """Return the whole curve of the diode of lowest voltage, with all in series with it.

    The edges know only its tangent at the highest trip: what the curve does elsewhere is part of
    what these checks judge.
    """
    p = parameters(build)
    tangent, at_A = lowest_tangent(build, p), build.comparator.trip_max_A
    path_ohm = p.series_ohm + p.a_ohm
    curve = {
        "log_V": float(p.diode_b_V),
        "floor_A": float(p.diode_floor_A),
        "series_ohm": float(p.diode_rs_ohm + path_ohm),
    }
    log_V = curve["log_V"] * float(np.log(1 + at_A / curve["floor_A"]))
    at_V = tangent.knee_V + tangent.total_ohm * at_A
    return {**curve, "knee0_V": float(at_V - log_V - curve["series_ohm"] * at_A)}


def given(of: object, *names: str) -> dict[str, float]:
    """Return the named fields of a dataclass as a netlist's parameters."""
    return {name: float(getattr(of, name)) for name in names}
