"""The undriven gate: published sums and a circuit simulation."""

from dataclasses import replace
from pathlib import Path

import pytest

from diodewright.edges.gate import Gate, coupled_V, gate_V
from netlists import given, simulate

PIN = Gate(pulldown_ohm=4700, leak_A=120e-6, rail_V=3.3, input_F=600e-12, feedback_F=30e-12)
FIELDS = ("pulldown_ohm", "leak_A", "rail_V", "input_F", "feedback_F")
#: Lowest threshold of a 20 mohm logic MOSFET, a maker's data sheet.
THRESHOLD_V = 0.65


@pytest.mark.parametrize(
    ("pulldown_ohm", "leak_A", "held_V"),
    [(4700, 120e-6, 0.56), (8200, 120e-6, 0.98), (100_000, 1e-6, 0.10)],
)
def test_a_leaking_pin_stands_at_the_published_voltage(
    pulldown_ohm: float, leak_A: float, held_V: float
) -> None:
    # RP2350 data sheet, erratum E9: about 120 uA; RP2040: 1 uA at most. I R.
    found_V = gate_V(replace(PIN, pulldown_ohm=pulldown_ohm, leak_A=leak_A))
    assert found_V == pytest.approx(held_V, abs=0.006)
    assert (found_V < THRESHOLD_V) == (pulldown_ohm != 8200)


@pytest.mark.parametrize("pulldown_ohm", [2200.0, 4700.0, 8200.0, 50_000.0])
def test_a_floating_pin_falls_and_stays_as_simulated(pulldown_ohm: float, tmp_path: Path) -> None:
    # Judge: ngspice on gate_hold.cir, from 3.3 V; 50 kohm is a controller's own pull, and leaves
    # the gate at the rail. Within 1 %.
    of = replace(PIN, pulldown_ohm=pulldown_ohm)
    quiet = {"rise_V": 0.0, "start_V": 3.3, "stop_s": 400e-6, "kick_s": 350e-6}
    time_s, found_V = simulate("gate_hold", tmp_path, {**given(of, *FIELDS), **quiet})
    assert gate_V(of) == pytest.approx(found_V[-1], rel=0.01)
    for after_s in (1e-6, 5e-6, 20e-6):
        at = int(abs(time_s - after_s).argmin())
        assert gate_V(of, 3.3, float(time_s[at])) == pytest.approx(found_V[at], rel=0.01)


def test_a_step_at_the_drain_divides_over_the_capacitances() -> None:
    # 8.4 V through 30 pF into 600 pF: 0.40 V.
    assert coupled_V(PIN, 8.4, 0.0) == pytest.approx(0.40, abs=0.001)
    assert coupled_V(PIN, 8.4, 1e-12) == pytest.approx(coupled_V(PIN, 8.4, 0.0), rel=1e-3)
    # far slower than R C it is R C_f dV/dt
    assert coupled_V(PIN, 8.4, 1e-3) == pytest.approx(4700 * 30e-12 * 8.4e3, rel=1e-6)


@pytest.mark.parametrize("rise_us", [0.5, 3.0, 20.0])
def test_a_rising_drain_kicks_the_gate_as_simulated(rise_us: float, tmp_path: Path) -> None:
    # Judge: ngspice on gate_hold.cir without leakage, within 1 %.
    of = replace(PIN, leak_A=0.0)
    kick = {"rise_s": rise_us * 1e-6, "rise_V": 12.6, "start_V": 0.0, "kick_s": 1e-6}
    span = {"stop_s": 1e-6 + 3 * rise_us * 1e-6, "step_s": 5e-9}
    _, found_V = simulate("gate_hold", tmp_path, {**given(of, *FIELDS), **kick, **span})
    assert coupled_V(of, 12.6, rise_us * 1e-6) == pytest.approx(found_V.max(), rel=0.01)
