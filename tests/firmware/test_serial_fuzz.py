"""Noise in real MicroPython: no crash, no half line, no command or error unseen, a flat heap."""

import os
import subprocess
from pathlib import Path

import pytest

from diodedriver import scpi
from engines import Absent, micropython

HERE = Path(__file__).parent
FIRMWARE = Path(scpi.__file__).parents[1]


def fuzz(seed: int, lines: int, folder: Path) -> str:
    """Return what a run of `serial_fuzz.py` printed; fail where it found or missed something."""
    try:
        program = micropython()
    except Absent as error:
        pytest.skip(str(error))
    done = subprocess.run(
        [program, "-X", "heapsize=1M", str(HERE / "serial_fuzz.py"), str(seed), str(lines)],
        env={**os.environ, "MICROPYPATH": f"{FIRMWARE}:{HERE}:.frozen"},
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )
    print(done.stdout)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_100_000_lines_reach_every_command_and_error_on_a_flat_heap(tmp_path: Path) -> None:
    said = fuzz(1, 100_000, tmp_path)
    assert "missed: nothing" in said


@pytest.mark.long
def test_a_million_lines_reach_every_command_and_error_on_a_flat_heap(tmp_path: Path) -> None:
    said = fuzz(2, 1_000_000, tmp_path)
    assert "missed: nothing" in said
