"""The pack is plugged in: series RLC in closed form against a circuit simulation."""

import math
from pathlib import Path

import pytest

from diodewright.build import examples, load
from diodewright.derive.edges import INPUT_F, LEADS_H
from diodewright.derive.electrics import parameters
from diodewright.derive.plant import pack_full_V
from diodewright.edges.insertion import insert
from netlists import simulate


def _simulated(
    source_V: float, source_ohm: float, leads_H: float, input_F: float, folder: Path
) -> tuple[float, float]:
    stop_s = 8 * math.sqrt(leads_H * input_F) + 8 * source_ohm * input_F
    values = {
        "source_V": source_V,
        "source_ohm": source_ohm,
        "leads_H": leads_H,
        "input_F": input_F,
        "stop_s": stop_s,
        "step_s": stop_s / 8000,
    }
    _, pack_A, input_V = simulate("pack_insertion", folder, values)
    return float(pack_A.max()), float(input_V.max())


@pytest.mark.parametrize("name", examples())
def test_a_shipped_pack_rings_as_simulated(name: str, tmp_path: Path) -> None:
    # Judge: ngspice on pack_insertion.cir, within 1 %.
    build = load(name)
    source_V, source_ohm = pack_full_V(build), float(parameters(build).pack_fast_ohm)
    found = insert(source_V, source_ohm, LEADS_H, INPUT_F)
    peak_A, peak_V = _simulated(source_V, source_ohm, LEADS_H, INPUT_F, tmp_path)
    assert found.peak_A == pytest.approx(peak_A, rel=0.01)
    assert found.peak_V == pytest.approx(peak_V, rel=0.01)
    assert source_V < found.peak_V < 2 * source_V


@pytest.mark.parametrize("source_ohm", [0.01, 0.447, 0.4472135955, 2.0])
def test_weak_critical_and_strong_damping_are_as_simulated(
    source_ohm: float, tmp_path: Path
) -> None:
    # Judge: ngspice, both sides of R = 2 sqrt(L / C) = 0.447 ohm, within 1 %.
    found = insert(8.4, source_ohm, LEADS_H, INPUT_F)
    peak_A, peak_V = _simulated(8.4, source_ohm, LEADS_H, INPUT_F, tmp_path)
    assert found.peak_A == pytest.approx(peak_A, rel=0.01)
    assert found.peak_V == pytest.approx(peak_V, rel=0.01)


def test_no_damping_doubles_the_voltage_and_the_contact_burns_half_of_c_v_squared() -> None:
    # Series LC, any text: v = V (1 - cos wt), i = V / Z sin wt. Critically damped: V / (Z e).
    free = insert(8.4, 1e-9, LEADS_H, INPUT_F)
    assert free.peak_V == pytest.approx(16.8, rel=1e-6)
    assert free.peak_A == pytest.approx(8.4 * math.sqrt(INPUT_F / LEADS_H), rel=1e-6)
    critical = insert(8.4, 2.0, 1.0, 1.0)
    assert critical.peak_A == pytest.approx(8.4 / math.e)
    assert critical.peak_V == 8.4
    assert free.contact_J == pytest.approx(352.8e-6)
