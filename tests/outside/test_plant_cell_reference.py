"""A cell's sag and recovery against an electrochemical model, and the standard's DC resistance.

Judge: data/cell_pulses.csv, the Doyle-Fuller-Newman model of PyBaMM with the parameter set
Chen2020 (its head says which version and how it was made). The plant's cell is what a builder
writes who knows no more than its capacity and its direct-current resistance: curve and
polarisation are the chemistry's.
"""

import csv
from pathlib import Path
from typing import Any

import pytest

from diodewright.build import CHEMISTRIES
from diodewright.plant import factors, pack
from diodewright.plant.params import PARAM_RECORD, STATE
from diodewright.plant.record import make

REFERENCE = Path(__file__).parent / "data" / "cell_pulses.csv"
CAPACITY_Ah = 5.0
DT_s = 0.1
#: Current [A] and length [s] of the phases of the fixture, in their order.
PHASES = {
    "rested": (0.0, 1.0),
    "first pulse": (1.0, 10.0),
    "second pulse": (5.0, 1.0),
    "rest": (0.0, 1800.0),
    "load": (2.5, 300.0),
    "recovery": (0.0, 600.0),
}
Volts = dict[tuple[str, float], float]


def _reference(charge: str) -> Volts:
    """Return (phase, time since its start [s]) -> terminal voltage [V]."""
    with REFERENCE.open(encoding="utf-8") as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        return {
            (row["phase"], float(row["since_s"])): float(row["voltage_V"])
            for row in rows
            if row["start_charge"] == charge
        }


def _dc_ohm(volts: Volts) -> float:
    # IEC 61960-3 (second-hand): 0.2 It for 10 s, then 1 It for 1 s; R = (U1 - U2)/(I2 - I1).
    return (volts["first pulse", 10.0] - volts["second pulse", 1.0]) / (5.0 - 1.0)


def _plant(charge: float, cell_ohm: float, moments: Volts, **changes: Any) -> Volts:
    """Return the plant's terminal voltage at each of the reference's moments."""
    chemistry = CHEMISTRIES["lithium_ion"]
    polarisation, _ = chemistry.defaults["polarisation_mohm"]
    assert not isinstance(polarisation, float)
    values: dict[str, Any] = {
        row.name: min(max(row.low, 0.1), row.high) for row in PARAM_RECORD if row.start is None
    }
    values |= {
        "ocv_soc": [share for share, _ in chemistry.curve_V],
        "ocv_V": [volts for _, volts in chemistry.curve_V],
        "wiring_ohm": 0.0,
        "cell_capacity_Ah": CAPACITY_Ah,
        "cell_R0_ohm": cell_ohm,
        "cell_R1_ohm": polarisation.rule(CAPACITY_Ah) / 1000,
        "cell_tau_s": chemistry.defaults["polarisation_s"][0],
    }
    p = make(PARAM_RECORD, values | changes, compiled=False).record
    x = make(STATE, {"soc": charge}, compiled=False).record
    factors.prepare_supply(p, DT_s)
    found: Volts = {}
    for phase, (current_A, length_s) in PHASES.items():
        x.pack_A = current_A
        for k in range(1, round(length_s / DT_s) + 1):
            pack.discharge(p, x, DT_s)
            at = (phase, round(k * DT_s, 3))
            if at in moments:
                found[at] = pack.pack_source_V(p, x) - current_A * p.pack_fast_ohm
    return found


def _errors_V(charge: str, **changes: Any) -> Volts:
    reference = _reference(charge)
    found = _plant(float(charge), _dc_ohm(reference), reference, **changes)
    assert found.keys() == reference.keys()
    return {at: found[at] - volts for at, volts in reference.items()}


def test_the_reference_has_the_resistance_that_the_two_pulses_give() -> None:
    # 22.85 mohm at half charge: another model of PyBaMM (single particle with electrolyte), same
    # set, read. It keeps the fixture from being another cell's.
    assert 1000 * _dc_ohm(_reference("0.5")) == pytest.approx(22.85, rel=0.02)


@pytest.mark.parametrize("charge", ["0.2", "0.5", "0.8"])
def test_a_cell_given_by_its_dc_resistance_measures_it_by_the_same_two_pulses(charge: str) -> None:
    # What is left over is the slow part's rise within the eleven seconds.
    given_ohm = _dc_ohm(_reference(charge))
    measured_ohm = _dc_ohm(_plant(float(charge), given_ohm, _reference(charge)))
    assert given_ohm < measured_ohm < 1.03 * given_ohm


@pytest.mark.parametrize("charge", ["0.5", "0.8"])
def test_sag_and_recovery_stay_within_1_per_cent_of_the_terminal_voltage(charge: str) -> None:
    reference = _reference(charge)
    for at, error_V in _errors_V(charge).items():
        assert abs(error_V) < 0.01 * reference[at], (at, error_V)


def test_between_a_tenth_and_a_fifth_of_charge_the_straight_line_rests_up_to_45_mV_low() -> None:
    # The curve has no point between 0.1 and 0.2, where the reference bends; low is the safe side
    # for a cut-off. After 1800 s at 0.1992 the same curve is right.
    errors_V = _errors_V("0.2")
    assert abs(errors_V["rest", 1800.0]) < 0.002
    assert -0.045 < min(errors_V.values()) < -0.030
    assert max(errors_V.values()) < 0.01 * 3.4


@pytest.mark.parametrize("charge", ["0.5", "0.8"])
def test_five_minutes_of_load_sag_a_fifth_less_than_the_reference(charge: str) -> None:
    # The default polarisation is another published cell's, scaled: its slow part is too small for
    # this one. The docstring of the pack says so; this is where the figure is from.
    reference, errors_V = _reference(charge), _errors_V(charge)
    sag_V = reference["rest", 1800.0] - reference["load", 300.0]
    short_V = errors_V["load", 300.0] - errors_V["rest", 1800.0]
    assert 0.18 < short_V / sag_V < 0.25


@pytest.mark.parametrize("charge", ["0.5", "0.8"])
def test_with_a_polarisation_of_its_own_the_one_lag_follows_within_half_a_per_cent(
    charge: str,
) -> None:
    # 24 mohm and 60 s, chosen by hand on half charge: the form of the model is not what is short.
    reference = _reference(charge)
    errors_V = _errors_V(charge, cell_R1_ohm=0.024, cell_tau_s=60.0)
    for at, error_V in errors_V.items():
        assert abs(error_V) < 0.005 * reference[at], (at, error_V)
    sag_V = reference["rest", 1800.0] - reference["load", 300.0]
    assert abs(errors_V["load", 300.0]) < 0.05 * sag_V
