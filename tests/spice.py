"""ngspice as a judge: one netlist in, its columns out."""

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

HEAD = "a case of the tests\n"
#: What `simulate` appends: run, write what is asked for, leave.
CONTROL = """
.control
{run}
wrdata {data} {columns}
quit 0
.endc
.end
"""


def simulate(
    folder: Path, netlist: str, columns: str, run: str = "run"
) -> tuple[NDArray[np.float64], ...]:
    """Return the scale and each of `columns` (blank between them), as ngspice finds them.

    A test that needs it is skipped, with the reason, where ngspice is not installed.
    """
    program = shutil.which("ngspice")
    if program is None:
        pytest.skip("ngspice is not installed: this case has no judge here")
    data, source = folder / "columns.data", folder / "case.cir"
    data.unlink(missing_ok=True)
    source.write_text(HEAD + netlist + CONTROL.format(run=run, data=data, columns=columns))
    subprocess.run([program, "-b", str(source)], cwd=folder, capture_output=True, check=True)
    table = np.loadtxt(data, ndmin=2)
    return (table[:, 0], *(table[:, 1 + 2 * k] for k in range(len(columns.split()))))
