"""Each page that a tool makes says what its tables, and what it runs, say today."""

import subprocess
import sys
from pathlib import Path

import pytest

TOOLS = Path(__file__).parents[1] / "tools"


@pytest.mark.parametrize(
    "tool",
    [
        "draw_circuit.py",
        "write_bring_up_doc.py",
        "write_cells_doc.py",
        "write_failure_doc.py",
        "write_faults_doc.py",
        "write_law_doc.py",
        "write_pins_doc.py",
        "write_serial_doc.py",
        "write_values_doc.py",
    ],
)
def test_a_page_is_what_its_tool_writes_today(tool: str) -> None:
    done = subprocess.run(
        [sys.executable, str(TOOLS / tool), "--check"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(
    "build",
    [
        "smoke_tunnel",
        *(
            pytest.param(name, marks=pytest.mark.long)
            for name in ("cave_lamp", "gel_viewer", "smoke_tunnel_bench", "smoke_tunnel_dummy")
        ),
    ],
)
def test_no_verdict_of_a_shipped_build_moved_unseen(build: str) -> None:
    done = subprocess.run(
        [sys.executable, str(TOOLS / "write_verdicts.py"), "--check", build],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
