"""The stage: set path, start-up, limits of the pack, faults."""

import math
from collections.abc import Callable
from typing import Any

import pytest
from scipy.optimize import brentq

from diodewright.plant import buck, dropout

Maker = Callable[..., Any]


def test_current_comes_only_after_the_start_up_time(stage_kind: int, rig: Maker) -> None:
    made = rig(stage_startup_s=0.0045, stage_kind=stage_kind, module_rise_s=0, module_A=1.2)
    made.put(enable_b=1, duty=0.9)
    made.ticks(4)
    assert made.x.diode_A == 0
    made.ticks(2)
    assert made.x.diode_A > 1
    made.put(enable_b=0)
    made.ticks(1)
    made.put(enable_b=1)
    made.ticks(4)
    assert made.x.diode_A == 0


def test_it_settles_on_its_set_current_less_the_bleeders(stage_kind: int, rig: Maker) -> None:
    made = rig(stage_kind=stage_kind, module_A=1.5)
    made.light(set_A=1.5)
    assert made.x.stage_A == pytest.approx(1.5, rel=1e-6)
    assert made.x.diode_A == pytest.approx(1.5 - made.x.output_V / 1e4, rel=1e-6)


def test_the_set_current_follows_the_rail(rig: Maker) -> None:
    made = rig(rail_nominal_V=3.0, supervisor_V=2.5)
    made.light(set_A=1.5)
    assert made.x.stage_A == pytest.approx(1.5 * 3.0 / 3.3, rel=1e-6)


@pytest.mark.parametrize("kind", [0, 1])
def test_errors_of_the_set_path_and_the_own_shunt_reach_the_current(rig: Maker, kind: int) -> None:
    for changes, expected_A in (
        ({"set_gain": 1.01}, 1.515),
        ({"set_offset_A": 0.02}, 1.52),
        ({"own_shunt_gain": 0.9}, 1.5 / 0.9),
        ({"set_open": 1}, 0.0),
        ({"set_stuck_full": 1}, 1.65),
        ({"stage_stuck_off": 1}, 0.0),
    ):
        made = rig(**changes, stage_kind=kind)
        made.light(set_A=1.5)
        assert made.x.stage_A == pytest.approx(expected_A, rel=1e-4, abs=1e-9), changes


def test_a_stage_blind_to_its_shunt_drives_full_on(stage_kind: int, rig: Maker) -> None:
    made = rig(own_shunt_gain=0, over_current_dead=1, over_voltage_dead=1, stage_kind=stage_kind)
    made.light(set_A=0.2)
    assert made.x.dropout == 1 and made.x.diode_A > 3


def test_overshoot_is_one_peak_where_the_current_starts(rig: Maker) -> None:
    made = rig(overshoot=0.3, trip_A=5, ripple_share=0)
    made.put(enable_b=1, duty=1.0 / 1.65)
    assert made.ticks(20) == pytest.approx(1.3, rel=1e-3)
    assert made.ticks(20) == pytest.approx(1.0, rel=1e-3)


def test_the_true_peak_is_the_mean_and_half_the_ripple(rig: Maker) -> None:
    made = rig()
    made.light()
    assert made.x.diode_peak_A == pytest.approx(made.x.diode_A + made.x.ripple_A / 2, rel=1e-6)
    shared = rig(ripple_share=0.25)
    shared.light()
    assert shared.x.diode_peak_A == pytest.approx(shared.x.diode_A + made.x.ripple_A / 8, rel=1e-6)


def test_the_ripple_forms_meet_at_the_boundary() -> None:
    mean_A = 0.2
    for form in (buck.buck_peak_A, buck.buck_square_A2):
        assert form(mean_A, 0.4) == pytest.approx(form(mean_A, 0.4 + 1e-9), rel=1e-6)


def test_the_duty_balances_the_power(rig: Maker) -> None:
    p = rig().p
    duty = buck.buck_duty(p, 7.4, 4.6, 1.5)
    spent_W = 4.6 * 1.5 + 1.5**2 * buck.buck_ohm(p, duty)
    assert 7.4 * duty * 1.5 == pytest.approx(spent_W, rel=1e-12)
    assert buck.buck_duty(p, 0.0, 4.6, 1.5) > 1


@pytest.mark.parametrize("b_V", [0.0, 0.1])
@pytest.mark.parametrize("duty", [1.0, 0.9])
@pytest.mark.parametrize("source_V", [3.0, 4.2, 5.0, 6.5, 8.4])
def test_dropout_is_the_root_that_an_independent_solver_finds(
    rig: Maker, source_V: float, duty: float, b_V: float
) -> None:
    p = rig(diode_b_V=b_V).p
    knee, path_ohm, fixed_A, leak_A = p.diode_knee_V, 0.09, 0.02, 0.0004

    def balance_V(current_A: float) -> float:
        stage_A = current_A + leak_A
        in_V = source_V - p.pack_fast_ohm * (duty * stage_A + fixed_A)
        switches_ohm = duty * p.high_side_ohm + (1 - duty) * p.low_side_ohm
        out_V = duty * in_V - stage_A * (switches_ohm + p.inductor_ohm + p.own_shunt_ohm)
        diode_V = knee + 0.55 * current_A + b_V * math.log1p(current_A / 1e-4)
        return float(out_V - diode_V - path_ohm * current_A)

    found_A = dropout.dropout_A(
        p, source_V, duty, buck.buck_ohm(p, duty), fixed_A, leak_A, path_ohm, knee
    )
    if balance_V(0.0) <= 0:
        assert found_A == 0
    else:
        assert found_A == pytest.approx(brentq(balance_V, 0, 50, xtol=1e-14), rel=1e-9)


def test_an_emptying_pack_drops_out_gently_and_comes_back(stage_kind: int, rig: Maker) -> None:
    made = rig(soc=0.0, stage_kind=stage_kind, module_A=1.5)
    made.light(ticks=30)
    assert made.x.dropout == 1
    assert 0 < made.x.diode_A < 1.5
    made.put(soc=1)
    made.ticks(5)
    assert made.x.dropout == 0
    assert made.x.diode_A == pytest.approx(1.5, rel=1e-3)


def test_a_bench_supply_at_its_limit_folds_down(stage_kind: int, rig: Maker) -> None:
    made = rig(pack_kind=1, bench_V=7.4, bench_limit_A=0.5, stage_kind=stage_kind)
    made.light(ticks=30)
    assert made.x.pack_A == 0.5
    assert made.x.dropout == 1
    assert made.x.diode_A < 0.5
    assert made.x.pack_V < 5


def test_half_an_ohm_in_the_lead_does_not_change_the_current(stage_kind: int, rig: Maker) -> None:
    made = rig(stage_kind=stage_kind, module_A=1.5)
    made.light()
    before_A = made.x.diode_A
    made.change(lead_ohm=0.5, trip_V=6.5)
    made.ticks(5)
    assert made.x.diode_A == pytest.approx(before_A, rel=1e-3)
