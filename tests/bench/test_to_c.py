"""The C that the benchmark compares with is the same law and plant: the same bits, tick by tick."""

import subprocess
from pathlib import Path

import numpy as np
import pytest

import c_engine
import to_c
from diodewright.build import load
from diodewright.derive import plant_values, settings
from diodewright.sim import Engine, Event, compiled, engine, lamp_use, new_tally, power_up

TICKS = 20_000
#: What strikes on the way, so that more than the healthy path is compared.
EVENTS = (
    Event(9_000, "plant.current_read_gain", 0.97),
    Event(11_000, "plant.cell_R_factor", 3.0),
    Event(12_000, "plant.diode_open", 1.0),
    Event(12_005, "plant.diode_open", 0.0),
)

needs_gcc = pytest.mark.skipif(c_engine.compiler() is None, reason="no gcc on this machine")


def _bits(name: str, of: Engine) -> list[bytes]:
    """Return state, words, Tally and Trace of one run, as bytes."""
    build = load(name)
    machine = power_up(of, plant_values(build), settings(build), seed=7)
    tally = new_tally(of, 0.015)
    events = (*lamp_use(1_000, TICKS - 2_000), *EVENTS)
    trace = machine.run(TICKS, tally, events, {})
    assert trace is not None
    assert trace["diode_A"].max() > 0.5, "it must have been lit"
    assert trace["faults"].max() > 0, "and a fault latched"
    flat = [np.asarray(each).tobytes() for each in (machine.x.flat, tally.flat, machine.state)]
    return [*flat, *(trace[column].tobytes() for column in trace.columns)]


@needs_gcc
@pytest.mark.parametrize("build", ["smoke_tunnel", "cave_lamp"])
def test_c_gives_the_same_bits_as_the_compiled_engine(tmp_path: Path, build: str) -> None:
    assert _bits(build, c_engine.in_c(tmp_path)) == _bits(build, compiled())


@needs_gcc
def test_quotients_and_rests_of_negative_numbers_round_down_as_pythons_do(tmp_path: Path) -> None:
    kernel = "@kernel\ndef {0}(a: int, b: int) -> int:\n    return a {1} b\n"
    text = to_c.translate(
        [kernel.format("over", "//"), kernel.format("rest", "%")], ["over", "rest"]
    )
    (tmp_path / "two.c").write_text(text)
    made = str(tmp_path / "two.so")
    subprocess.run(["gcc", *to_c.FLAGS, "-o", made, str(tmp_path / "two.c")], check=True)
    loaded = c_engine.ctypes.CDLL(made)
    over, rest = c_engine._entered(loaded.over), c_engine._entered(loaded.rest)
    pairs = [(a, b) for a in range(-7, 8) for b in (-3, -2, -1, 1, 2, 3)]
    assert [(over(*pair), rest(*pair)) for pair in pairs] == [divmod(a, b) for a, b in pairs]


def test_what_has_no_form_in_c_is_refused_with_its_line() -> None:
    with pytest.raises(to_c.NotInC, match=r"line 3: no expression of ours: \[1\]"):
        to_c.translate(["@kernel\ndef f(x) -> int:\n    return [1]\n"], ["f"])
    with pytest.raises(to_c.NotInC, match="no such name: unknown"):
        to_c.translate(["@kernel\ndef f(x) -> float:\n    return unknown\n"], ["f"])


def test_every_kernel_of_the_engine_is_in_the_c() -> None:
    sources = engine._sources(engine.law_text())
    text = to_c.translate(sources, ["run_ticks"])
    for name in ("guard", "put_out", "solve_lit", "drop_out", "tally_tick"):
        assert f" {name}(" in text
