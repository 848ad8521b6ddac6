"""The law on an emulated RP2040: values only, never timing.

Name a MicroPython image for the RP2040 in DIODEWRIGHT_UF2 and install ``rp2040py``; without
either the test is skipped. The same script is run by MicroPython for this machine always.
"""

import hashlib
import importlib.util
import os
import subprocess
import sys
from pathlib import Path

import pytest

import engines
import tour
from recording import Recording, Words

TICKS = 1000
STEP = 100  # ticks in one hash
SCRIPT = """
import hashlib, os, sys
files = {files!r}
for name in ("diodedriver",):
    try:
        os.mkdir(name)
    except OSError:
        pass
for name, text in files.items():
    with open(name, "wb") as file:
        file.write(text)
del files
sys.path.insert(0, "")
import micropython
import replay
from diodedriver import law

held = []
def put(state):
    if len(held) == 0:
        held.append(hashlib.sha256())
        held.append(0)
    held[0].update(state)
    held[1] += 1
    if held[1] == {step}:
        print("states", "".join("%02x" % byte for byte in held[0].digest()))
        held.clear()

with open("recording", "rb") as file:
    replay.replay(law.tick, file, put, micropython.heap_lock, micropython.heap_unlock)
print("states end")
"""


def _first(recording: Recording, ticks: int) -> Recording:
    pokes = recording.pokes[recording.pokes[:, 0] < ticks]
    start = (recording.limits, recording.state, recording.readings)
    return Recording(*start, pokes, recording.raws[:ticks])


def _hashes(states: Words) -> list[str]:
    parts = [states[i : i + STEP].tobytes() for i in range(0, len(states), STEP)]
    return [hashlib.sha256(part).hexdigest() for part in parts]


@pytest.fixture
def asked(tmp_path: Path) -> tuple[Path, list[str]]:
    """Return the script for the chip and the hashes that it must print."""
    recording = _first(tour.tour(), TICKS)
    flash = tmp_path / "flash"
    flash.mkdir()
    engines.lay_out(flash, engines.DECORATORS["viper"])
    (flash / "recording").write_bytes(recording.as_bytes())
    files = {
        path.relative_to(flash).as_posix(): path.read_bytes()
        for path in sorted(flash.rglob("*"))
        if path.is_file()
    }
    script = tmp_path / "on_the_chip.py"
    script.write_text(SCRIPT.format(files=files, step=STEP), encoding="utf-8")
    return script, [*_hashes(engines.in_numba(recording)), "end"]


def _printed(command: list[str], folder: Path, timeout_s: float) -> list[str]:
    done = subprocess.run(
        command, cwd=folder, capture_output=True, text=True, timeout=timeout_s, check=False
    )
    lines = done.stdout.splitlines()
    found = [line.partition("states ")[2] for line in lines if "states " in line]
    assert found, done.stdout[-2000:] + done.stderr[-2000:]
    return found


def test_the_script_for_the_chip_gives_the_hashes_of_the_law_here(
    asked: tuple[Path, list[str]],
) -> None:
    script, expected = asked
    try:
        micropython = engines.micropython()
    except engines.Absent as absent:
        pytest.skip(str(absent))
    assert _printed([micropython, str(script)], script.parent, timeout_s=60) == expected


def test_the_law_on_an_emulated_rp2040_gives_the_hashes_of_the_law_here(
    asked: tuple[Path, list[str]],
) -> None:
    image = os.environ.get("DIODEWRIGHT_UF2")
    if not image:
        pytest.skip("name a MicroPython image for the RP2040 in DIODEWRIGHT_UF2")
    if importlib.util.find_spec("rp2040py") is None:
        pytest.skip("install rp2040py, the emulator")
    script, expected = asked
    command = [sys.executable, "-m", "rp2040py", "micropython", "--image", image, str(script)]
    assert _printed(command, script.parent, timeout_s=1800) == expected
