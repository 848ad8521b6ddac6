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
