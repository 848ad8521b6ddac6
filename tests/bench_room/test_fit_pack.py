"""The pack found in a pulse, and its DC resistance by the two-current method."""

import csv
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from made import CELLS, SMOKE, pulse

from diodewright.bench import BenchError
from diodewright.bench.fit_pack import dc_resistance, fit_pack
from diodewright.bench.span import Record
from diodewright.build import load
from diodewright.sim import Trace

FIXTURE = Path(__file__).parents[1] / "outside" / "data" / "cell_pulses.csv"


def _covered(seeds: range) -> None:
    scores = []
    for seed in seeds:
        fit = fit_pack(pulse(SMOKE, CELLS, 7919 * seed))
        found = {each.knob.name: each for each in fit.solution.every}
        assert not any(each.kept for each in found.values())
        scores.append(
            [(found[name].value - true) / (found[name].spread / 2) for name, true in CELLS.items()]
        )
        assert found["cell_R0_ohm"].spread < 0.02 * CELLS["cell_R0_ohm"]
        assert found["cell_R1_ohm"].spread < 0.05 * CELLS["cell_R1_ohm"]
    z = np.array(scores)
    assert np.abs(z).max() < 4.5, z
    assert np.sqrt(np.mean(z**2)) < 1.6, z


def test_hidden_cells_are_found_within_their_own_uncertainty() -> None:
    _covered(range(1, 7))


@pytest.mark.long
def test_hidden_cells_are_found_within_their_own_uncertainty_over_sixty_seeds() -> None:
    _covered(range(101, 161))


def test_a_linear_stages_pack_is_found_as_well() -> None:
    build = load("cave_lamp")
    hidden = {"cell_R0_ohm": 0.11}
    use = ((2, "level", 2), (3, "trigger", 1), (30, "level", 0), (60, "trigger", 0))
    fit = fit_pack(pulse(build, hidden, use=use, charge=0.8))
    row = next(row for row in fit.suggested if row.key == "pack.cell_resistance_mohm")
    assert abs(row.value - 110) < 3 * row.spread + 0.5
    assert "stage losses 0.0 %" in fit.scale[1]  # its current is the pack's


def test_a_pulse_too_short_for_the_slow_part_keeps_it() -> None:
    use = ((1, "trigger", 1), (8.5, "trigger", 0))
    fit = fit_pack(pulse(SMOKE, CELLS, use=use, until_s=9))
    kept = {each.knob.name for each in fit.solution.every if each.kept}
    assert "cell_tau_s" in kept
    assert "pack.polarisation_s" not in {row.key for row in fit.suggested}


# the two-current method


def _two_currents(low_V: float, high_V: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    time_s = np.arange(0.0, 12.0, 0.1)
    second = time_s > 10.0
    return time_s, np.where(second, 5.0, 1.0), np.where(second, high_V, low_V)


def test_dc_resistance_is_the_standards_worked_figure() -> None:
    """A published model's cell at half charge: 3.7154 V at 1 A, 3.6240 V at 5 A: 22.85 mohm.

    SPMe with Chen2020 (PyBaMM); IEC 61960-3's method second-hand, as a maker of testers tells it.
    """
    found = dc_resistance(*_two_currents(3.7154, 3.6240))
    assert found is not None
    assert found.pack_ohm == pytest.approx(22.85e-3, rel=1e-4)
    assert (found.first_A, found.second_A) == (1.0, 5.0)
    assert found.first_s == pytest.approx(10.0, abs=0.11) and found.second_s == 1.0


def test_dc_resistance_of_an_electrochemical_cell_is_that_of_its_readings() -> None:
    """Judge: the fixture of a Doyle-Fuller-Newman model; ends of its two pulses."""
    with FIXTURE.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    charge = rows[0]["start_charge"]
    volts = {
        (row["phase"], float(row["since_s"])): float(row["voltage_V"])
        for row in rows
        if row["start_charge"] == charge
    }
    by_hand = (volts["first pulse", 10.0] - volts["second pulse", 1.0]) / 4.0
    found = dc_resistance(*_two_currents(volts["first pulse", 10.0], volts["second pulse", 1.0]))
    assert found is not None and found.pack_ohm == pytest.approx(by_hand, rel=1e-9)


def test_dc_resistance_of_a_lamps_own_levels_is_the_circuits_closed_form() -> None:
    """One RC, I1 for t1 and then I2 for 1 s: R0 + R1 (1 - e^-1/tau), and what I1 still moves."""
    fit = fit_pack(pulse(SMOKE, CELLS))
    found = {name: (value, off) for name, value, off, _, _ in fit.numbers}
    first_A, second_A, t1_s = 0.157, 0.79, 20.0
    r0, r1, tau_s = CELLS["cell_R0_ohm"], CELLS["cell_R1_ohm"], CELLS["cell_tau_s"]
    still = math.exp(-t1_s / tau_s) - math.exp(-(t1_s + 1) / tau_s)
    cell_ohm = r0 + r1 * (1 - math.exp(-1 / tau_s) + first_A / (second_A - first_A) * still)
    value, off = found["cell_dc_mohm"]
    assert off < 10 and abs(value - 1000 * cell_ohm) < off
    value, off = found["pack_dc_mohm"]  # two cells and their wiring
    assert abs(value - 1000 * 2 * cell_ohm - SMOKE.pack.wiring_mohm) < off
    assert "It for 19.5 s, then" in fit.numbers[1][4]


def test_no_step_up_gives_no_dc_resistance() -> None:
    time_s = np.arange(0.0, 12.0, 0.1)
    assert dc_resistance(time_s, np.full_like(time_s, 2.0), np.full_like(time_s, 3.7)) is None
    late = time_s > 11.5  # the second current does not last
    assert dc_resistance(time_s, np.where(late, 5.0, 1.0), np.full_like(time_s, 3.7)) is None


def _metered(r0: float, r1: float, farads: float) -> Record:
    """Return a recording with a meter in the pack's lead, of one RC's closed form.

    ``V = OCV - I R0 - I R1 (1 - exp(-t / R1 C1))``: 2 A through 25 mohm, 15 mohm and 1000 F sag by
    64.6 mV after 10 s (Thevenin's circuit, any text on cells).
    """
    tau_s = r1 * farads
    time_s = np.arange(0.0, 200.0, 0.1)
    amperes = np.where((time_s >= 10) & (time_s < 100), 2.0, 0.0)
    up = np.where(time_s >= 10, 1 - np.exp(-(time_s - 10) / tau_s), 0)
    down = np.where(time_s >= 100, 1 - np.exp(-(time_s - 100) / tau_s), 0)
    slow_V = 2.0 * r1 * (up - down)
    # one cell of 2600 Ah: its charge, hence its open voltage, does not move
    rest_V = 3.751
    noise = np.random.default_rng(5).normal(0, 2e-4, len(time_s))
    columns = {"time_s": time_s, "pack_A": amperes, "pack_read_V": rest_V + noise}
    columns["pack_read_V"] = columns["pack_read_V"] - amperes * r0 - slow_V
    build = load("cave_lamp")
    trace = Trace(columns, (), {"fingerprint": build.fingerprint})
    return Record("meter.csv", trace, build, build)


def test_a_metered_pulse_of_the_closed_form_is_fitted_back(monkeypatch: pytest.MonkeyPatch) -> None:
    from diodewright.bench import driven

    own = driven.plant_values
    big = {"cell_capacity_Ah": 99.0, "cells_parallel": 1, "cells_series": 1, "wiring_ohm": 0.0}
    monkeypatch.setattr(driven, "plant_values", lambda build: own(build) | big)
    record = _metered(0.025, 0.015, 1000.0)
    sag_V = float(
        record.trace["pack_read_V"][95:100].mean() - record.trace["pack_read_V"][199:201].mean()
    )
    assert sag_V == pytest.approx(0.0646, abs=4e-4)
    fit = fit_pack(record)
    found = {each.knob.name: each for each in fit.solution.every}
    # what 0.5 mAh of 99 Ah do to the open voltage is left in: some 0.5 mV of 65
    assert found["cell_R0_ohm"].value == pytest.approx(0.025, rel=0.02)
    assert found["cell_R1_ohm"].value == pytest.approx(0.015, rel=0.04)
    assert found["cell_tau_s"].value == pytest.approx(15.0, rel=0.06)
    assert fit.scale == (0.0, "a meter in the pack's lead")


def test_what_is_no_pulse_is_refused_in_one_line() -> None:
    bench = load("smoke_tunnel_bench")
    record = pulse(SMOKE, {})
    columns = {name: v for name, v in record.trace.columns.items() if name != "enable"}
    for wrong, said in (
        (replace(record, build=bench, then=bench), "a bench supply: there are no cells to fit"),
        (replace(record, trace=replace(record.trace, columns=columns)), "has no enable"),
        (pulse(SMOKE, {}, use=(), until_s=5), "no pulse in it: it is dark throughout"),
        (
            pulse(SMOKE, {}, use=((1, "trigger", 1), (6.9, "trigger", 0)), until_s=9),
            r"too short: a pulse of 0\.\d+ s, at least 1 s",
        ),
    ):
        with pytest.raises(BenchError, match=said) as refused:
            fit_pack(wrong)
        assert "\n" not in str(refused.value)
