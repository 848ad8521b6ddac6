"""The pack within the loop: sag, contact, rail, charge."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from diodewright.plant import pack

Maker = Callable[..., Any]


def test_the_loaded_pack_sags_by_its_resistances(rig: Maker) -> None:
    made = rig()
    made.light()
    fast_ohm = 2 * 0.026 + 0.06
    expected_V = made.x.pack_ocv_V - made.x.pack_A * fast_ohm
    assert made.x.pack_V == pytest.approx(expected_V, rel=1e-3)
    assert made.x.pack_V * made.x.pack_A == pytest.approx(
        made.x.output_V * made.x.stage_A + made.x.stage_loss_W + made.x.standing_W, rel=1e-9
    )


def test_a_cold_pack_sags_more_and_draws_more_for_the_same_light(rig: Maker) -> None:
    warm, cold = rig(soc=0.5), rig(soc=0.5, cell_R_factor=3)
    for made in (warm, cold):
        made.light()
    assert cold.x.pack_V < warm.x.pack_V
    assert cold.x.pack_A > warm.x.pack_A
    assert cold.x.diode_A == pytest.approx(warm.x.diode_A, rel=1e-3)


def test_strings_in_parallel_share_current_resistance_and_charge(rig: Maker) -> None:
    one, two = rig().p, rig(cells_parallel=2).p
    assert two.pack_fast_ohm - 0.06 == pytest.approx((one.pack_fast_ohm - 0.06) / 2)
    assert two.soc_per_C == pytest.approx(one.soc_per_C / 2)


def test_a_broken_contact_is_dark_at_once_and_the_rail_holds_up_a_while(rig: Maker) -> None:
    made = rig(rail_hold_s=0.01)
    made.light()
    made.change(pack_connected=0)
    made.step()
    assert (made.x.diode_A, made.x.pack_A, made.x.pack_V) == (0, 0, 0)
    assert made.x.rail_V == 3.3
    made.ticks(4)
    assert made.x.rail_V == pytest.approx(3.3 * math.exp(-0.004 / 0.01), rel=1e-6)
    assert made.x.b_on == 0
    powered = rig(rail_hold_s=0.01, usb=1)
    powered.change(pack_connected=0)
    powered.ticks(20)
    assert powered.x.rail_V == 3.3


def test_a_flickering_contact_comes_back_with_the_light(rig: Maker) -> None:
    made = rig(rail_hold_s=0.1)
    made.light()
    made.change(pack_connected=0)
    made.ticks(1)
    made.change(pack_connected=1)
    made.ticks(2)
    assert made.x.diode_A > 1.4


def test_charge_never_goes_below_empty(rig: Maker) -> None:
    made = rig(soc=1e-7)
    made.light()
    assert made.x.soc == 0 and made.x.pack_C > 0


def test_the_curve_is_held_at_its_points_and_straight_between(rig: Maker) -> None:
    p = rig().p
    for soc, volts in zip(p.ocv_soc, p.ocv_V, strict=True):
        assert pack.cell_ocv_V(p, soc) == pytest.approx(volts, abs=1e-12)
    assert pack.cell_ocv_V(p, 0.55) == pytest.approx((3.751 + 3.841) / 2, abs=1e-12)


def test_in_collapse_the_current_is_that_of_the_largest_power() -> None:
    assert not pack.collapses(4.0, 0.5, 8.0)
    assert pack.collapses(4.0, 0.5, 8.01)
    assert pack.constant_power_A(4.0, 0.5, 20.0) == 4.0
    assert pack.constant_power_A(4.0, 0.0, 8.0) == 2.0
    assert pack.constant_power_A(0.0, 0.5, 8.0) == 0.0


def test_an_idle_bench_supply_stays_at_its_voltage(rig: Maker) -> None:
    made = rig(pack_kind=1, bench_V=7.4, bench_limit_A=2, controller_W=0)
    made.ticks(5)
    assert made.x.pack_V == 7.4 and made.x.soc == 1
