"""The heat path within the loop."""

import math
from collections.abc import Callable
from typing import Any

import pytest

Maker = Callable[..., Any]


def test_the_junction_follows_within_its_time_constant(rig: Maker) -> None:
    made = rig(mount_J_K=1e5)
    made.light(ticks=4)
    made.ticks(1)
    start_K = made.x.junction_rise_K
    made.ticks(20)
    end_K = 7 * made.x.heat_W
    assert made.x.junction_rise_K == pytest.approx(
        end_K + (start_K - end_K) * math.exp(-1), rel=2e-2
    )


def test_the_channel_of_a_follows_within_its_time_constant(rig: Maker) -> None:
    made = rig(a_tau_s=0.05, a_tempco_1_K=0, a_ohm=0.1)
    made.light(ticks=6)
    start_degC = made.x.a_degC
    made.ticks(50)
    made.step()
    end_degC = 30 + 62 * made.x.a_loss_W
    left_K = (start_degC - end_degC) * math.exp(-50.25 / 50)
    assert made.x.a_degC == pytest.approx(end_degC + left_K, rel=1e-3)


def test_settling_puts_a_lit_plant_at_rest(rig: Maker) -> None:
    made = rig()
    made.light(ticks=200)
    made.engine.settle(made.p, made.x)
    x = made.x
    still = ("pack_A", "pack_slow_V", "stage_A", "diode_A", "set_A", "set_pole_A", "monitor_A")
    assert {name: getattr(x, name) for name in still} == dict.fromkeys(still, 0)
    assert x.output_V == 0 and x.junction_rise_K == 0
    warm = ("junction_degC", "mount_degC", "sink_degC", "a_degC", "mount_ntc_degC", "sink_ntc_degC")
    assert {name: getattr(x, name) for name in warm} == dict.fromkeys(warm, 30)
    assert x.pack_V == x.pack_ocv_V and x.rail_V == 3.3


def test_the_junctions_own_lump_is_its_time_constant_over_its_resistance(rig: Maker) -> None:
    # 20 ms over 7 K/W
    assert rig().p.junction_J_K == pytest.approx(0.02 / 7, rel=1e-12)


def test_a_detached_sink_lets_the_mount_run_away_at_its_own_capacity(fast_rig: Maker) -> None:
    made = fast_rig(mount_sink_K_W=1e6)
    made.light()
    made.ticks(1000)
    before_degC, before_J = made.x.mount_degC, made.x.heat_J
    made.ticks(10_000)
    risen_K = made.x.mount_degC - before_degC
    assert risen_K == pytest.approx((made.x.heat_J - before_J) / 12, rel=1e-3)
    assert risen_K > 4
    assert made.x.sink_degC == pytest.approx(30, abs=0.01)


def test_a_steady_state_is_the_sum_of_resistances(fast_rig: Maker) -> None:
    made = fast_rig(mount_J_K=0.5, sink_J_K=1, junction_tau_s=0.005)
    made.light()
    made.ticks(100_000)
    x = made.x
    assert x.junction_degC - x.mount_degC == pytest.approx(7 * x.heat_W, rel=1e-3)
    assert x.mount_degC - x.sink_degC == pytest.approx(1.2 * x.heat_W, rel=1e-3)
    assert x.sink_degC - 30 == pytest.approx(5 * x.heat_W, rel=1e-3)


def test_the_examples_sink_reaches_46_degC_after_about_290_s_and_its_mount_long_before(
    fast_rig: Maker,
) -> None:
    # Worked by hand for the example at full current in 30 degC: 72 J/K over 5 K/W and 5.95 W
    # give 277 s for one lump. The mount is 1.2 K/W times 5.95 W = 7 K warmer, and the 84 J for
    # that delay the sink by another 17 s or so.
    made = fast_rig()
    made.light()
    reached_s: dict[str, int] = {}
    for second in range(1, 400):
        made.ticks(1000)
        for part in ("sink_degC", "mount_degC"):
            if getattr(made.x, part) >= 46:
                reached_s.setdefault(part, second)
    assert reached_s["sink_degC"] == pytest.approx(277 + 17, rel=0.02)
    assert reached_s["mount_degC"] < 170
