"""The dynamic enable's pump: closed form against a circuit simulation."""

from pathlib import Path

import pytest

from diodewright.derive.enables import pump
from diodewright.derive.reference import REFERENCE, TICK_S
from diodewright.edges.pump import Pump, crest_V, hold_s, pulses_to_on, trough_V
from netlists import simulate

BLEED_ohm = 220e3


def _pump(rail_V: float) -> Pump:
    return pump(rail_V, BLEED_ohm)


def _values(of: Pump) -> dict[str, float]:
    return {
        "rail_V": of.rail_V,
        "couple_F": of.couple_F,
        "store_F": of.store_F,
        "bleed_ohm": of.bleed_ohm,
        "rise_share": of.rise_V / of.rail_V,
        "fall_share": of.fall_V / of.rail_V,
    }


@pytest.mark.parametrize("rail_V", [2.9, 3.4])
def test_the_pump_settles_holds_and_turns_on_as_simulated(rail_V: float, tmp_path: Path) -> None:
    # Judge: ngspice on dynamic_enable.cir, its diodes' whole curve; the edge's fixed drop: 2 %.
    of = _pump(rail_V)
    for high, dies_s, edge_s in ((True, 41.2e-3, 41e-3), (False, 40.2e-3, 40e-3)):
        end = {"stays": float(high), "dies_s": dies_s}
        time_s, _, pump_V, gate_V = simulate("dynamic_enable", tmp_path, {**_values(of), **end})
        lit = gate_V > 0.5 * rail_V
        settled = pump_V[(time_s > 30e-3) & (time_s < 40e-3)]
        assert crest_V(of, TICK_S) == pytest.approx(settled.max(), rel=0.02)
        assert trough_V(of, TICK_S) == pytest.approx(settled.min(), rel=0.02)
        assert hold_s(of, TICK_S, high=high) == pytest.approx(time_s[lit][-1] - edge_s, rel=0.04)
        # rising edges at 1, 3, 5... ms
        assert time_s[lit][0] == pytest.approx((2 * pulses_to_on(of, TICK_S) - 1) * 1e-3, abs=1e-4)


def test_charge_sharing_by_hand() -> None:
    # No bleeder: crests V_f (1 - (1 - k)^n); k = 1 / 5 and V_f = 3 V: 0.6, 1.08, 1.464 V.
    of = Pump(3.2, 0.1, 10e-9, 40e-9, 1e15, rise_V=1.4, fall_V=1.0)
    assert crest_V(of, TICK_S) == pytest.approx(3.0, rel=1e-6)
    assert pulses_to_on(of, TICK_S) == 3


def test_half_the_rate_stays_below_the_lower_threshold_now_and_then() -> None:
    for rail_V in (REFERENCE.rail_low_V, REFERENCE.rail_high_V):
        of = _pump(rail_V)
        assert trough_V(of, TICK_S) > of.fall_V > trough_V(of, 2 * TICK_S)
        assert crest_V(of, TICK_S) > of.rise_V > crest_V(of, 2 * TICK_S)
        assert pulses_to_on(of, 2 * TICK_S) == 0


def test_the_pump_closes_cut_off_a_six_to_ten_milliseconds_behind_the_first_edge() -> None:
    # What README.md of the notes says of the order of start: rising edges are two ticks apart.
    found = {
        2 * (pulses_to_on(pump(rail_V, BLEED_ohm, couple, store), TICK_S) - 1)
        for rail_V in (REFERENCE.rail_low_V, REFERENCE.rail_high_V)
        for couple in (0.95, 1.05)
        for store in (0.95, 1.05)
    }
    assert found == {6, 8, 10}
