"""Compiled and uncompiled, the plant gives the same bits: state, readings, noise."""

import random
import struct
from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest

EPISODES = 48
MOVES = 12
MOVE_TICKS = 15

#: What an episode may change at a tick, and among which values.
EVENTS: dict[str, list[float]] = {
    "pack_connected": [0, 1, 1, 1],
    "cell_R_factor": [1, 3, 12],
    "key": [0, 1, 1, 1],
    "interlock": [0, 1, 1, 1],
    "set_open": [0, 0, 1],
    "set_stuck_full": [0, 0, 1],
    "own_shunt_gain": [1, 1, 0.5, 0],
    "stage_stuck_full": [0, 0, 0, 1],
    "stage_stuck_off": [0, 0, 0, 1],
    "b_stuck_on": [0, 0, 1],
    "a_open": [0, 0, 0, 1],
    "a_short": [0, 0, 1],
    "over_current_dead": [0, 1],
    "over_voltage_dead": [0, 1],
    "diode_open": [0, 0, 0, 1],
    "diode_short": [0, 0, 0, 1],
    "light_factor": [1, 0.5],
    "sink_air_K_W": [5, 1e6],
    "current_read_fault": [0, 1, 2, 3],
    "mount_read_fault": [0, 1, 2, 3, 4],
    "sink_read_fault": [0, 1, 2, 3, 4],
    "pack_read_fault": [0, 1, 2, 3],
    "usb": [0, 0, 1],
}


def _build(pick: random.Random) -> dict[str, Any]:
    """Return a random build around the example."""
    return {
        "stage_kind": pick.choice([0, 1, 2]),
        "module_A": pick.uniform(0.2, 2),
        "module_rise_s": pick.choice([0, 0.002, 0.03]),
        "pass_ohm": pick.choice([0.02, 0.5]),
        "pass_tau_s": pick.choice([0.01, 1]),
        "pack_kind": pick.choice([0, 0, 1]),
        "bench_V": pick.uniform(5, 9),
        "bench_limit_A": pick.uniform(0.3, 3),
        "soc": pick.uniform(0, 1),
        "mount_sink_K_W": pick.uniform(0.5, 20),
        "diode_b_V": pick.choice([0, pick.uniform(0.02, 0.2)]),
        "diode_spread_V": pick.uniform(-0.35, 0.35),
        "threshold_T0_K": pick.choice([170, 60, -200]),
        "ripple_share": pick.random(),
        "overshoot": pick.choice([0, 0.3]),
        "duty_max": pick.choice([1, 0.95]),
        "output_F": pick.choice([1e-7, 1e-6]),
        "ntc_kind": pick.choice([0, 1]),
        "adc_ohm": pick.choice([1e5, 1e12]),
        "adc_noise_lsb": pick.uniform(0, 3),
        "ambient_degC": pick.uniform(-10, 40),
        "noise_state": pick.randrange(2**32),
        "latch": pick.choice([0, 1]),
    }


def _bits(rig: Any) -> bytes:
    """Return the exact bytes of the whole state."""
    return b"".join(struct.pack("<d", rig.state.flat[k]) for k in range(len(rig.state.flat)))


def _move(pick: random.Random, rigs: tuple[Any, Any]) -> None:
    """Apply one random move to both."""
    events = {name: pick.choice(EVENTS[name]) for name in pick.sample(sorted(EVENTS), 2)}
    outputs = {
        "duty": pick.choice([0.0, pick.random(), pick.random()]),
        "enable_b": pick.choice([0, 1, 1]),
        "indicator": pick.choice([0, 1]),
        "trickle": pick.choice([0, 0, 1]),
        "latch_reset": pick.choice([0, 1, 1]),
        "trip_inject": pick.choice([0, 0, 0, 0, 1]),
    }
    for each in rigs:
        each.change(**events)
        each.put(**outputs)


#: What the episodes must reach, so that idle ones fail.
MARKS: dict[str, Callable[[Any, Any], bool]] = {
    "lit": lambda p, x: x.diode_A > 0.05,
    "light": lambda p, x: x.light_W > 0,
    "dropout": lambda p, x: x.dropout > 0 and x.diode_A > 0.05,
    "open": lambda p, x: x.b_on > 0 and x.path_closed < 1 and x.output_V > 5,
    "dark": lambda p, x: x.diode_A == 0,
    "discontinuous": lambda p, x: x.ripple_A > 2 * x.stage_A > 0,
    "over-current": lambda p, x: x.latch > 0 and x.latch_cause == 1,
    "over-voltage": lambda p, x: x.latch > 0 and x.latch_cause == 2,
    "injected": lambda p, x: x.latch > 0 and x.latch_cause == 3,
    "rail sags": lambda p, x: 0 < x.rail_V < 3,
    "trickle": lambda p, x: 0 < x.diode_A < 0.003,
    "linear": lambda p, x: x.pass_loss_W > 0.5 and x.dropout == 0,
    "linear, fully on": lambda p, x: x.pass_loss_W > 0.05 and x.dropout > 0,
    "linear, open": lambda p, x: p.stage_kind == 1 and x.b_on > 0 and x.path_closed < 1,
    "gated": lambda p, x: p.stage_kind == 2 and x.stage_A > 0.1 and x.dropout == 0,
    "gated, rising": lambda p, x: (
        p.stage_kind == 2 and 0 < x.stage_A < 0.5 * p.module_A and x.b_on_s < 0.02
    ),
}


@pytest.mark.xdist_group("plant_compiled")
def test_both_engines_give_the_same_bits_through_random_faults(
    rig: Callable[..., Any], fast_rig: Callable[..., Any]
) -> None:
    pick = random.Random(20)
    seen: Counter[str] = Counter()
    for episode in range(EPISODES):
        build = _build(pick)
        rigs = rig(**build), fast_rig(**build)
        for move in range(MOVES):
            _move(pick, rigs)
            for _ in range(MOVE_TICKS):
                peaks = [each.ticks(1) for each in rigs]
                codes = [tuple(each.engine.read_codes(each.p, each.x)) for each in rigs]
                assert struct.pack("<d", peaks[0]) == struct.pack("<d", peaks[1])
                assert codes[0] == codes[1]
                seen.update(name for name, mark in MARKS.items() if mark(rigs[0].p, rigs[0].x))
            assert _bits(rigs[0]) == _bits(rigs[1]), f"episode {episode}, move {move}"
    assert {name: seen[name] for name in MARKS if seen[name] < 5} == {}


@pytest.mark.xdist_group("plant_compiled")
def test_both_engines_prepare_the_same_factors(
    rig: Callable[..., Any], fast_rig: Callable[..., Any]
) -> None:
    pick = random.Random(7)
    for _ in range(50):
        build = _build(pick)
        sides = [each.params.flat for each in (rig(**build), fast_rig(**build))]
        assert [struct.pack("<d", v) for v in sides[0]] == [struct.pack("<d", v) for v in sides[1]]
