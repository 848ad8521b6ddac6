"""The engine's text: records as memory, one entry a kernel, nothing compiled that nobody calls."""

import ast
import io
import os
import subprocess
import sys

import numpy as np
import pytest

from diodewright.build import load
from diodewright.derive import plant_values, settings
from diodewright.sim import compiled, engine, generated, new_tally, power_up, telling

PROBE = """
from diodewright.sim import compiled
tick = compiled().tick
"""


def _text(kernel: str) -> str:
    return generated.engine_text([f"@kernel\n{kernel}"])


def test_a_row_is_written_as_its_place_and_a_curve_from_its_first_point() -> None:
    params, state = (generated.index_of(generated.RECORDS[name]) for name in "px")
    text = _text("def lit(p, x, k):\n    x.light_W = p.ocv_V[k - 1] * p.trip_A\n    return 0\n")
    said = f"x[{state['light_W']}] = p[{params['ocv_V']} + (k - 1)] * p[{params['trip_A']}]"
    assert said in text
    assert "return lit(memory(p), memory(x), memory(k))" in text


def test_a_record_of_another_name_or_an_unknown_row_is_refused_by_name() -> None:
    with pytest.raises(generated.Unwritable, match=r"plant\.trip_A: no such row"):
        _text("def trip(plant):\n    return plant.trip_A\n")
    with pytest.raises(generated.Unwritable, match=r"p\.trip_mA: no such row"):
        _text("def trip(p):\n    return p.trip_mA\n")


def test_every_kernel_of_the_engine_can_be_entered_and_keeps_its_body() -> None:
    sources = engine._sources(engine.law_text())
    tree = ast.parse(generated.engine_text(sources))
    made = {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}
    given = {
        node.name
        for text in sources
        for node in ast.parse(text).body
        if isinstance(node, ast.FunctionDef)
    }
    assert given | {generated.ENTER + name for name in given} <= made
    assert not [node for node in ast.walk(tree) if ast.unparse(node).startswith("x.")]


def test_words_that_do_not_lie_one_behind_the_other_are_refused() -> None:
    build = load("smoke_tunnel")
    machine = power_up(compiled(), plant_values(build), settings(build))
    machine.state = np.zeros(2 * len(machine.state), dtype=np.int32)[::2]
    with pytest.raises(Exception, match="one behind the other"):
        machine.run(1, new_tally(compiled(), 0.01))


def test_only_what_is_called_is_compiled(tmp_path) -> None:
    again = subprocess.run(
        [sys.executable, "-c", PROBE],
        env={**os.environ, "DIODEWRIGHT_CACHE": str(tmp_path)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert again.stderr == "", "not a terminal: nothing is said"
    (folder,) = tmp_path.glob("engine_*")
    assert list(folder.glob("*.py"))
    assert not list(folder.rglob("*.nbi")), "nothing was called"


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_terminal_is_told_once_that_something_compiles(monkeypatch) -> None:
    import numba

    said = _Terminal()
    monkeypatch.setattr(sys, "stderr", said)
    telling.tell_of_compiling(__name__)

    @numba.njit
    def one(a):
        return a + 1

    @numba.njit
    def two(a):
        return a + 2

    assert (one(1), two(1)) == (2, 3)
    assert said.getvalue() == f"{telling.LINE}\n"
