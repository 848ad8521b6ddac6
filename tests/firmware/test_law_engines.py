"""One source, several engines, one answer: a hash over every state word at every tick."""

import ast
import os
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import episodes
from diodedriver import law, words
from diodewright.sim import compiled

HERE = Path(__file__).parent
FIRMWARE = Path(law.__file__).parents[1]
TICKS = 60_000
SEEDS = (2, 8)
Runs = dict[int, tuple[list[int], dict[str, int], dict[str, int]]]


@pytest.fixture(scope="module")
def in_cpython() -> Runs:
    return {seed: episodes.run(seed, TICKS) for seed in SEEDS}


def test_episodes_reach_every_mode_and_almost_every_cause(
    in_cpython: Runs,
) -> None:
    modes: set[str] = set()
    causes: set[str] = set()
    for seed, (_, in_modes, with_causes) in in_cpython.items():
        print(f"seed {seed}, {TICKS} ticks, modes {in_modes}, first causes {with_causes}")
        modes |= set(in_modes)
        causes |= set(with_causes)
    assert modes == {name for name, _ in words.MODES}
    # not reached by hand-made raw codes: a flipped limit, a flipped state word, a charged output
    # (the desk's output is empty while dark), and the junction, which the caps hold
    assert {row[0] for row in words.FAULTS} - causes <= {
        "settings",
        "state",
        "charged",
        "junction",
    }


@pytest.mark.parametrize("seed", SEEDS)
def test_compiled_law_agrees_with_cpython_at_every_tick(in_cpython: Runs, seed: int) -> None:
    found, _, _ = episodes.run(
        seed, TICKS, compiled().tick, lambda values: np.array(values, dtype=np.int32)
    )
    assert found == in_cpython[seed][0]


def _micropython() -> str:
    beside = Path(sys.executable).parent / "micropython"
    found = os.environ.get("DIODEWRIGHT_MICROPYTHON") or (
        str(beside) if beside.exists() else shutil.which("micropython")
    )
    if not found:
        pytest.skip("no MicroPython here: install one or name it in DIODEWRIGHT_MICROPYTHON")
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_viper_machine_code_in_micropython_agrees_with_cpython_at_every_tick(
    in_cpython: Runs, seed: int
) -> None:
    done = subprocess.run(
        [_micropython(), str(HERE / "episodes.py"), str(seed), str(TICKS)],
        env={"MICROPYPATH": os.pathsep.join([str(FIRMWARE), str(HERE)])},
        capture_output=True,
        text=True,
        timeout=300,
        check=True,
    )
    *found, reached = done.stdout.splitlines()
    pairs = zip(map(int, found), in_cpython[seed][0], strict=True)
    wrong = [i for i, (theirs, ours) in enumerate(pairs) if theirs != ours]
    assert not wrong, f"differs first within ticks {wrong[0]}000 to {wrong[0]}999"
    assert "limited" in reached


def test_tick_runs_under_a_locked_heap_in_micropython() -> None:
    program = (
        "import micropython\n"
        "from desk import Desk, law\n"
        "desk = Desk()\n"
        "desk.lit()\n"
        "arrays = (desk.state, desk.limits, desk.readings, desk.raw)\n"
        "state, limits, readings, raw = arrays\n"
        "micropython.heap_lock()\n"
        "for _ in range(2000):\n"
        "    law.tick(state, limits, readings, raw)\n"
        "print(micropython.heap_unlock(), desk.mode)\n"
    )
    done = subprocess.run(
        [_micropython(), "-c", program],
        env={"MICROPYPATH": os.pathsep.join([str(FIRMWARE), str(HERE)])},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("0 ")


def test_constants_are_compiled_in_not_looked_up() -> None:
    done = subprocess.run(
        [_micropython(), "-c", "from diodedriver import law\nprint(hasattr(law, '_S_MODE'))"],
        env={"MICROPYPATH": str(FIRMWARE)},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert hasattr(law, "_S_MODE")
    assert done.stdout.strip() == "False"


def test_every_function_of_the_law_is_viper_and_returns_int() -> None:
    tree = ast.parse(Path(law.__file__).read_text(encoding="utf-8"))
    functions = [node for node in tree.body if isinstance(node, ast.FunctionDef)]
    assert functions
    for node in functions:
        assert [ast.unparse(d) for d in node.decorator_list] == ["micropython.viper"], node.name
        assert ast.unparse(node.returns) == "int", node.name
        assert not any(isinstance(n, ast.Raise | ast.Try | ast.Assert) for n in ast.walk(node))
        assert not any(
            isinstance(n, ast.Constant) and isinstance(n.value, float) for n in ast.walk(node)
        )
