"""Settings, marker and journal on the board's own file system: power cuts, wear, heap."""

import json
import os
import subprocess
from pathlib import Path

import pytest

from diodedriver import law
from engines import Absent, micropython

HERE = Path(__file__).parent
FIRMWARE = Path(law.__file__).parents[1]
SEED = 20260727
#: scenario -> (every which byte is a cut in a bare run, fewest cuts there, fewest at every byte).
#: Bytes that stay erased are passed over, and some bytes are cut twice: whole, and in part.
SCENARIOS = {
    "store": (1, 7000, 7000),
    "store_odd": (3, 5500, 17000),
    "mend": (1, 4500, 4500),
    "marker": (1, 800, 800),
    "latch": (3, 2000, 6000),
    "entry": (4, 2500, 10000),
    "torn": (8, 3500, 26000),
}
#: what a block of the board's flash stands [erases], from its maker's data sheet
CYCLES = 100_000


def run(*arguments: object, heap: str = "2M") -> str:
    """Run one of the scripts here in MicroPython and return what it printed."""
    try:
        program = micropython()
    except Absent as absent:
        pytest.skip(str(absent))
    done = subprocess.run(
        [program, "-X", f"heapsize={heap}", *map(str, arguments)],
        env={**os.environ, "MICROPYPATH": f"{HERE}:{FIRMWARE}:.frozen"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert not done.stderr, done.stderr
    return done.stdout


def cut(scenario: str, seed: int, stride: int, least: int) -> None:
    made = int(run(HERE / "flash_cut.py", scenario, seed, stride))
    print(f"{scenario}: {made} cuts, seed {seed}")
    assert made >= least


def test_every_claim_holds_in_micropython_too() -> None:
    from test_store import CLAIMS

    assert int(run(HERE / "flash_cut.py", "claims", SEED, 1)) == len(CLAIMS)


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_power_cut_anywhere_leaves_the_old_or_the_new(scenario: str) -> None:
    stride, least, _ = SCENARIOS[scenario]
    cut(scenario, SEED, stride, least)


@pytest.mark.long
@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize("scenario", SCENARIOS)
def test_power_cut_at_every_byte_leaves_the_old_or_the_new(scenario: str, seed: int) -> None:
    cut(scenario, seed, 1, SCENARIOS[scenario][2])


def test_ten_thousand_entries_and_armings_wear_no_block_by_one_percent_of_its_life() -> None:
    found = json.loads(run(HERE / "flash_wear.py", "wear", 10_000, heap="8M"))
    print(found)
    assert found["entries"] == 10_000 and found["stores"] == 200
    assert found["all"] > 10_000, "fewer erases than entries: not counted"
    assert found["most"] < CYCLES // 100


def test_entries_loads_and_stores_leave_the_heap_as_it_was() -> None:
    used = json.loads(run(HERE / "flash_wear.py", "heap"))
    for name, after in used.items():
        assert len(after) == 48 and min(after) > 0
        assert max(after[2:]) == after[2], (name, after)
