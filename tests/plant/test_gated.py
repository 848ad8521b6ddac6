"""The gated stage: a fixed-current module, on or off, a buck inside."""

from collections.abc import Callable
from typing import Any

import pytest

Maker = Callable[..., Any]


@pytest.fixture
def gated(rig: Maker) -> Maker:
    """Return a maker of rigs with a gated module."""
    return lambda **changes: rig(stage_kind=2, **changes)


@pytest.mark.parametrize("duty", [0.0, 0.3, 1.0])
@pytest.mark.parametrize("fault", ["set_open", "set_stuck_full", "set_offset_A"])
def test_neither_duty_nor_a_fault_of_the_set_path_moves_the_current(
    gated: Maker, duty: float, fault: str
) -> None:
    made = gated(module_A=0.7, **{fault: 1})
    made.put(enable_b=1, duty=duty)
    made.ticks(20)
    assert made.x.stage_A == pytest.approx(0.7, rel=1e-6)


@pytest.mark.parametrize(
    ("changes", "expected_A"),
    [
        ({"set_gain": 1.1}, 0.77),
        ({"set_gain": 0.9}, 0.63),
        ({"own_shunt_gain": 0.5}, 1.4),
        ({"set_gain": 1.1, "own_shunt_gain": 1.1}, 0.7),
        ({"stage_stuck_off": 1}, 0.0),
    ],
)
def test_its_tolerance_and_its_own_shunt_reach_the_current(
    gated: Maker, changes: dict[str, float], expected_A: float
) -> None:
    made = gated(module_A=0.7, **changes)
    made.light()
    assert made.x.stage_A == pytest.approx(expected_A, rel=1e-6)


def test_it_rises_in_a_straight_line_after_its_start_up(gated: Maker) -> None:
    made = gated(module_A=0.8, module_rise_s=0.01, stage_startup_s=0.0042, stage_loop_s=1e-6)
    made.put(enable_b=1)
    passed_s = 0.0
    steps = 0
    while passed_s < 0.016:
        made.put(pulse_edge=1)
        made.step()
        passed_s += made.dt_s
        share = min(1.0, (passed_s - 0.0042) / 0.01)
        if passed_s - made.dt_s < 0.0042:
            assert made.x.stage_A == 0 and made.x.diode_A == 0
        else:
            assert made.x.stage_A == pytest.approx(0.8 * share, rel=1e-9)
            steps += 0 < share < 1
    assert steps == 39


def test_its_own_loop_follows_the_rise(gated: Maker) -> None:
    made = gated(module_A=0.8, module_rise_s=0.0, stage_loop_s=0.01)
    made.put(enable_b=1)
    made.ticks(14)
    assert made.x.stage_A == pytest.approx(0.8 * (1 - 2.718281828**-1.0), rel=1e-6)


def test_off_and_on_again_it_starts_and_rises_anew(gated: Maker) -> None:
    made = gated(module_rise_s=0.02)
    made.put(enable_b=1)
    made.ticks(30)
    assert made.x.stage_A == pytest.approx(1, rel=1e-6)
    made.put(enable_b=0)
    made.ticks(1)
    assert made.x.diode_A == 0
    made.put(enable_b=1)
    made.ticks(4)
    assert made.x.diode_A == 0
    made.ticks(10)
    assert made.x.stage_A == pytest.approx(0.5, rel=1e-2)


@pytest.mark.parametrize("rise_s", [0.0, 0.002, 0.0123])
def test_its_overshoot_is_one_peak_where_the_rise_ends(gated: Maker, rise_s: float) -> None:
    made = gated(overshoot=0.3, module_rise_s=rise_s, trip_A=5, ripple_share=0)
    made.put(enable_b=1)
    peaks_A = []
    for _ in range(100):
        made.put(pulse_edge=1)
        made.step()
        peaks_A.append(made.x.diode_peak_A)
    over = [k for k, peak_A in enumerate(peaks_A) if peak_A > 1.01]
    assert len(over) == 1
    assert peaks_A[over[0]] == pytest.approx(1.3, rel=1e-3)
    first = next(k for k, peak_A in enumerate(peaks_A) if peak_A > 0)
    assert (over[0] + 1) * made.dt_s == pytest.approx(0.004 + rise_s, abs=1.01 * made.dt_s)
    assert over[0] >= first
    made.change(diode_open=1, over_voltage_dead=1)
    made.ticks(1)
    made.put(output_V=3)
    made.change(diode_open=0)
    made.step()
    assert made.x.diode_peak_A == pytest.approx(1.3, rel=1e-3)


def test_an_overshoot_of_30_per_cent_trips_a_comparator_at_1_25_times(gated: Maker) -> None:
    for overshoot, latch in ((0.3, 1), (0.1, 0)):
        made = gated(module_A=0.7, overshoot=overshoot, trip_A=0.875, ripple_share=0)
        made.light()
        assert made.x.latch == latch


def test_inside_it_is_the_buck(rig: Maker, gated: Maker) -> None:
    module, buck = gated(module_A=1.2), rig()
    module.light()
    buck.light(set_A=1.2)
    names = ("diode_A", "ripple_A", "stage_loss_W", "stage_duty", "pack_A", "diode_peak_A")
    for name in names:
        assert getattr(module.x, name) == pytest.approx(getattr(buck.x, name), rel=1e-3), name
    assert module.x.ripple_A > 0.05


def test_it_drops_out_like_the_buck(rig: Maker, gated: Maker) -> None:
    module, buck = gated(module_A=1.5, soc=0, duty_max=0.95), rig(soc=0, duty_max=0.95)
    module.light(ticks=40)
    buck.light(ticks=40)
    assert module.x.dropout == buck.x.dropout == 1
    assert module.x.diode_A == pytest.approx(buck.x.diode_A, rel=1e-3)
    assert 0 < module.x.diode_A < 1.4


def test_stuck_full_on_it_is_the_inductors_slope_that_decides(gated: Maker) -> None:
    made = gated()
    made.light()
    pack_V = made.x.pack_V
    made.change(stage_stuck_full=1)
    made.step()
    diode_V = 3.85 + 0.55 * 1.75 - 0.003 * (made.x.junction_degC - 25)
    assert made.x.diode_peak_A == pytest.approx(1.75 + (pack_V - diode_V) / 47, rel=1e-3)
    assert (made.x.latch, made.x.latch_cause) == (1, 1)


def test_an_open_load_trips_on_over_voltage_during_the_rise_too(gated: Maker) -> None:
    made = gated(diode_open=1, module_rise_s=0.5)
    made.put(enable_b=1)
    made.ticks(20)
    assert (made.x.latch, made.x.latch_cause) == (1, 2)
    assert made.x.b_on == 0
