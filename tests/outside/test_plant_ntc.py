"""NTC, divider and ADC against published tables."""

from types import SimpleNamespace
from typing import Any

import pytest

from diodewright.plant import sensors

SH_A, SH_B, SH_C = 1.129241e-3, 2.341077e-4, 8.775468e-8


def _part(**values: float) -> Any:
    usual = {
        "ntc_kind": 1.0,
        "ntc_25_ohm": 1e4,
        "ntc_beta_K": 3950.0,
        "ntc_sh_A": SH_A,
        "ntc_sh_B": SH_B,
        "ntc_sh_C": SH_C,
        "ntc_pull_ohm": 1e4,
        "adc_ohm": 1e12,
    }
    return SimpleNamespace(**(usual | values))


def _temperature_degC(p: Any, ohm: float) -> float:
    """Return the temperature at which the plant's NTC has `ohm`, by bisection."""
    low, high = -80.0, 200.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if sensors.ntc_ohm(p, middle) > ohm else (low, middle)
    return low


@pytest.mark.parametrize(
    ("degC", "ohm"),
    [
        # Campbell Scientific 109SS manual, table C-1 (10 kOhm thermistor)
        (-40, 336103.2),
        (-30, 176804.8),
        (-20, 97006.9),
        (-10, 55303.9),
        (0, 32650.9),
        # Fronius manual, table of the same material
        (20, 12490.0),
        (25, 10000.0),
        (30, 8057.0),
        (55, 2986.0),
        (60, 2488.0),
        (65, 2083.0),
        (90, 917.7),
        (95, 788.5),
        (100, 680.0),
    ],
)
def test_steinhart_hart_meets_the_published_table_within_a_tenth(degC: float, ohm: float) -> None:
    assert _temperature_degC(_part(), ohm) == pytest.approx(degC, abs=0.1)


@pytest.mark.parametrize(
    ("ohm", "degC"), [(97006.9, -18.65), (32650.9, 0.55), (2488.0, 59.98), (917.7, 90.57)]
)
def test_beta_3950_errs_on_the_same_table_as_computed(ohm: float, degC: float) -> None:
    # 1/T = 1/T0 + ln(R/R0)/B on the published resistances.
    assert _temperature_degC(_part(ntc_kind=0.0), ohm) == pytest.approx(degC, abs=0.05)


@pytest.mark.parametrize(
    ("beta_K", "degC", "ohm"),
    [
        (3950, 0, 33620.6),
        (3950, 50, 3588.2),
        (3950, 60, 2486.2),
        (3950, 85, 1086.7),
        (3950, 100, 697.5),
        (3435, 0, 28704.3),
        (3435, 85, 1451.3),
    ],
)
def test_ideal_beta_parts(beta_K: float, degC: float, ohm: float) -> None:
    p = _part(ntc_kind=0.0, ntc_beta_K=beta_K)
    assert sensors.ntc_ohm(p, degC) == pytest.approx(ohm, rel=1e-4)


def _level(p: Any, degC: float) -> float:
    """Return the divider's level on the 12-bit scale, unrounded."""
    x = SimpleNamespace(rail_V=3.3)
    return sensors.ntc_pin_V(p, x, degC, 1.0, 0.0, 0.0, 0.0) / 3.3 * 4095


@pytest.mark.parametrize(
    ("degC", "level"),
    [(0, 3134.9), (25, 2047.5), (50, 1084.2), (60, 815.6), (85, 396.0), (100, 260.2)],
)
def test_the_divider_gives_the_computed_codes(degC: float, level: float) -> None:
    # 10 kOhm from the rail, NTC to ground, 12 bits: computed from the published curve.
    # The table's resistances at 0 and 100 degC differ from the curve by up to 0.1 K (7 to 37 codes
    # a kelvin).
    assert _level(_part(), degC) == pytest.approx(level, abs=1.0)


@pytest.mark.parametrize(("degC", "error_K"), [(25, 2.19), (50, 0.93), (85, 0.34)])
def test_an_adc_of_100_kohm_reads_hot(degC: float, error_K: float) -> None:
    # Input resistance 100 kOhm, the least of the RP2040 data sheet, across the NTC.
    loaded = _part(adc_ohm=1e5)
    seen_ohm = sensors.ntc_ohm(loaded, degC) * 1e5 / (sensors.ntc_ohm(loaded, degC) + 1e5)
    assert _level(loaded, degC) == pytest.approx(seen_ohm / (seen_ohm + 1e4) * 4095, rel=1e-9)
    assert _temperature_degC(loaded, seen_ohm) - degC == pytest.approx(error_K, abs=0.02)


def test_codes_of_a_12_bit_converter() -> None:
    # Half of the reference is code 2048 (rounded from 2047.5); full scale is 4095.
    assert sensors.adc_code(1.65, 3.3, 0.0) == 2048
    assert sensors.adc_code(3.3, 3.3, 0.0) == 4095
