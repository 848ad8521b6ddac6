"""The size summary against hand-worked figures and published cases."""

import dataclasses
import itertools
import math

import pytest

from diodewright.build import load
from diodewright.derive.electrics import charge_for_volts
from diodewright.size import size
from diodewright.size.summary import battery_minutes
from edits import edited


@pytest.fixture(scope="module")
def build():
    return load("smoke_tunnel")


@pytest.fixture(scope="module")
def figures(build):
    return {figure.id: figure for figure in size(build)}


def test_light_heat_and_junction_by_hand(figures) -> None:
    """Worked by hand with V = 3.85 + 0.55 I - 3 mV/K dT, I_th = 0.25 e^(dT/170), 0.85 e^(-dT/300).

    At 1.5 A and a junction of 71.6 degC (dT 46.6 K): V 4.535 V, 6.80 W; I_th 0.3289 A, slope
    0.7277 W/A, 0.852 W of light; 5.95 W of heat, 7 K/W above 30 degC: 71.6 degC.
    """
    assert figures["forward_V"].value == pytest.approx(4.535, abs=0.01)
    assert figures["light_W"].value == pytest.approx(0.852, abs=0.003)
    assert figures["heat_W"].value == pytest.approx(5.95, abs=0.02)
    assert figures["junction_degC"].value == pytest.approx(71.6, abs=0.2)


def test_lumens_are_the_lines_efficacy_times_the_light(figures) -> None:
    """CIE 1924 V(520 nm) = 0.7100: 484.93 lm/W."""
    assert figures["light_lm"].value == pytest.approx(484.93 * figures["light_W"].value, rel=1e-4)


def test_peak_current_is_level_trim_and_half_the_ripple(figures) -> None:
    """Ripple (8.4 - 4.69) 0.558 / (47 uH 400 kHz) = 0.110 A (Hart, example 6-1's equation)."""
    assert figures["peak_current_A"].value == pytest.approx(1.575 + 0.110 / 2, abs=0.003)


def test_time_to_cutback_agrees_with_the_simulated_use(build, figures) -> None:
    from diodewright.rehearse import run_use
    from diodewright.sim import compiled

    full = dataclasses.replace(build, pack=dataclasses.replace(build.pack, capacity_Ah=50.0))
    use = run_use(full, compiled(), 1)
    assert figures["before_cutback_s"].value == pytest.approx(
        use.values["before_cutback_s"], rel=0.12
    )


def test_cold_air_means_no_cutback_and_no_such_figure(build) -> None:
    cold = dataclasses.replace(build, heat=dataclasses.replace(build.heat, ambient_degC=5.0))
    assert "before_cutback_s" not in {figure.id for figure in size(cold)}


def test_minutes_of_light_agree_with_an_energy_sum(build) -> None:
    """Independent sum: charge between full and cutback times mean voltage over the power.

    Mean of the open-circuit curve from 100 % to about 22 % is 3.86 V a cell (Chen2020 points).
    """
    load_W = 7.4
    charge = 1.0 - charge_for_volts(build, 6.9 + 1.05 * 0.236)
    energy_J = charge * 2.6 * 3600 * 2 * 3.86
    lost_J = (load_W / 7.6) ** 2 * 0.236 * energy_J / load_W
    minutes = (energy_J - lost_J) / load_W / 60
    output_W = 0.93 * load_W  # the stage's efficiency
    assert battery_minutes(build, output_W) == pytest.approx(minutes, rel=0.03)


def test_charge_for_a_voltage_is_the_curves_own_point(build) -> None:
    """Chen2020: 3.751 V a cell at half charge."""
    assert charge_for_volts(build, 2 * 3.751) == pytest.approx(0.5, abs=1e-6)


def test_every_figure_has_a_unit_in_its_name_and_a_meaning(figures) -> None:
    for figure in figures.values():
        assert figure.id.endswith(("_A", "_V", "_W", "_lm", "_pct", "_degC", "_s", "_min")), figure
        assert figure.meaning
        assert math.isfinite(figure.value)


def test_minutes_of_a_nimh_pack_are_its_energy_over_the_load() -> None:
    """By hand: volts of the curve's steps times charge, down to a cutback at 7.2 V of six cells.

    1.9 Ah at 1 W, resistances of 1 mOhm: 6 x (0.1 Ah x mean volts) of each tenth of charge above
    1.2 V a cell, which the curve reaches at 11.6 % (between 1.194 and 1.231 V).
    """
    build = load("smoke_tunnel")
    pack = dataclasses.replace(
        build.pack,
        chemistry="nimh",
        series=6,
        capacity_Ah=1.9,
        cell_resistance_mohm=1.0,
        polarisation_mohm=0.0,
        wiring_mohm=0.0,
    )
    limits = dataclasses.replace(build.limits, pack_cutback_V=7.2)
    nimh = dataclasses.replace(build, pack=pack, limits=limits)
    tenths_V = (1.231, 1.244, 1.254, 1.257, 1.263, 1.266, 1.274, 1.315, 1.42)
    whole_Vh = sum(0.19 * (a + b) / 2 for a, b in itertools.pairwise(tenths_V))
    rest_Vh = 1.9 * (0.2 - 0.1162) * (1.2 + 1.231) / 2
    minutes = 60 * 6 * (whole_Vh + rest_Vh) / 1.0
    assert battery_minutes(nimh, 0.93) == pytest.approx(minutes, rel=0.02)


def test_lumens_of_an_led_are_those_of_its_spectrum_and_say_the_line_s_error() -> None:
    """CIE 1924 over a Gaussian of 525 nm, 35 nm: 507.5 lm/W; the line 541.76 lm/W is 7 % above."""
    build = edited(
        "smoke_tunnel",
        {
            "diode.kind": '"led"',
            "diode.wavelength_nm": "525",
            "diode.spectrum": '"narrow"',
            "diode.fwhm_nm": "35",
            "diode.emitter_mm2": "4.0",
            "diode.light_points_A_W": "[[0.5, 0.5], [1.0, 1.0], [1.6, 1.6]]",
            "diode.threshold_T0_K": None,
            "enclosure.beam_mm": None,
            "enclosure.divergence_mrad": None,
        },
    )
    rows = {figure.id: figure for figure in size(build)}
    assert rows["light_lm"].value == pytest.approx(507.5 * rows["light_W"].value, rel=3e-3)
    assert "a single line would be +7 %" in rows["light_lm"].leaves_out
