"""MicroPython's own package tool installs the same files; light waits for settings."""

import subprocess
import sys
from pathlib import Path

from flash_board import board, cargo, flashed, serve

from diodewright.bench import Line
from diodewright.twin import Event

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "firmware" / "package.json"


def test_the_manifest_is_up_to_date() -> None:
    tool = ROOT / "tools" / "write_package.py"
    done = subprocess.run(
        [sys.executable, str(tool), "--check"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_what_the_package_tool_installs_can_t_light_until_it_is_flashed() -> None:
    def install(port: str) -> str:
        # on a board "--target=/": here its root is mounted one folder deeper
        words = ["connect", port, "mip", "install", "--no-mpy", "--target=/flash", str(PACKAGE)]
        line = [sys.executable, "-m", "mpremote", *words]
        done = subprocess.run(line, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def why(port: str) -> str:
        with Line(port) as line:
            return line.ask("STAT:BARR?")

    with board() as session:
        assert "main.py" in serve(session, install)
        session.twin.reset()
        for tick in range(9000):
            session.step(events=[Event(0, "plant.trigger", 1.0)] if tick == 2000 else ())
        assert session.twin.look.mode == "" and session.twin.peak_A() < 1e-3
        assert "no whole settings here" in serve(session, why)
        session.step(events=[Event(0, "plant.trigger", 0.0)])
        # sources would be loaded before the compiled files: none may stay
        done = flashed(session, cargo())
        assert done.self_test == 0 and session.twin.look.mode == "dark"
