"""Cut-offs: the hardware's gates, the dynamic enable, the channel's heat."""

from collections.abc import Callable
from typing import Any

import pytest

Maker = Callable[..., Any]


def test_the_dynamic_enable_drops_a_hold_time_after_its_last_edge(rig: Maker) -> None:
    made = rig(pulse_hold_s=0.0081)
    made.light()
    held = 0
    while made.x.diode_A > 0 and held < 100:
        made.step()
        held += 1
    # the last edge came four sub-steps before the loop above began
    assert (held + 4 - 1) * made.dt_s == pytest.approx(0.0081, abs=made.dt_s)


def test_an_edge_is_consumed_and_closes_a(rig: Maker) -> None:
    made = rig()
    made.step()
    assert made.x.a_closed == 0
    made.put(pulse_edge=1)
    made.step()
    assert made.x.a_closed == 1 and made.x.pulse_edge == 0


@pytest.mark.parametrize("gate", ["key", "interlock"])
def test_key_and_interlock_open_a_and_b_within_a_sub_step(rig: Maker, gate: str) -> None:
    made = rig()
    made.light()
    made.change(**{gate: 0})
    made.put(pulse_edge=1)
    made.step()
    assert (made.x.a_closed, made.x.b_on, made.x.diode_A) == (0, 0, 0)


def test_a_sagging_rail_opens_both_unless_the_supervisor_is_dead(rig: Maker) -> None:
    for dead, lit in ((0, False), (1, True)):
        made = rig(rail_pack_min_V=9.5, rail_hold_s=1e-5, supervisor_dead=dead)
        made.light()
        assert made.x.rail_V == pytest.approx(3.3 * made.x.pack_V / 9.5, rel=1e-2)
        assert (made.x.diode_A > 0) is lit


def test_an_open_a_never_conducts_and_a_shorted_one_always(rig: Maker) -> None:
    opened = rig(a_open=1)
    opened.light()
    assert opened.x.diode_A == 0
    shorted = rig(a_short=1)
    shorted.put(enable_b=1, duty=0.9)
    for _ in range(100):
        shorted.step()
    assert shorted.x.diode_A > 1


def test_b_stuck_on_leaves_only_a(rig: Maker) -> None:
    made = rig(b_stuck_on=1)
    made.put(duty=0.9)
    made.ticks(20)
    assert made.x.diode_A > 1
    made.change(interlock=0)
    made.ticks(1)
    assert made.x.diode_A == 0 and made.x.b_on == 1


def test_the_channel_warms_and_its_resistance_rises(rig: Maker) -> None:
    made = rig(a_tau_s=0.01, ambient_degC=25)
    made.light(ticks=200)
    expected_W = made.x.diode_A**2 * 0.02 * (1 + 0.005 * (made.x.a_degC - 25))
    assert made.x.a_loss_W == pytest.approx(expected_W, rel=1e-6)
    assert made.x.a_degC == pytest.approx(25 + 62 * made.x.a_loss_W, rel=1e-3)
