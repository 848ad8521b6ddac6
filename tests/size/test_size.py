"""The size summary against hand-worked figures and published cases."""

import dataclasses
import itertools
import math

import pytest

from diodewright.build import examples, load
from diodewright.derive.electrics import charge_for_volts, parameters
from diodewright.plant.pack import constant_power_A
from diodewright.size import size, topics
from diodewright.size.discharge import run_down
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


def test_volts_and_watts_on_the_way_by_hand(figures) -> None:
    """Ohm's law and Erickson's averaged buck, on the example's own values and assumed resistances.

    Output: 4.532 V + 1.5 A (50 + 20 mohm and 20.8 mohm of a warm cut-off A) = 4.668 V; fully on
    another 1.5 A x 150 mohm: 4.893 V. Duty (4.668 + 0.225) / 8.18 = 0.598; 1.5^2 x 150 mohm, 0.1 W
    of switching by (8.18 / 8.4)(1.5 / 1.65), 2 mA x 8.4 V: 0.443 W. Pack 0.9245 A through
    2 (65 + 60.38 / 2.6) + 60 mohm.
    """
    by_hand = {
        "dropout_V": 4.893,
        "headroom_V": 8.18 - 4.893,
        "stage_W": 0.3375 + 0.0885 + 0.0168,
        "cutoff_a_W": 1.5**2 * 0.0208,
        "path_W": 1.5**2 * 0.07,
        "sag_V": 0.9245 * 0.2364,
        "wiring_drop_V": 0.9245 * 0.06,
        "lead_drop_V": 1.5 * 0.02,
        "cells_W": 0.9245**2 * 0.1764,
        "short_A": 8.4 / 0.19,
        "contact_mA": 3300 / 50e3,
        "contact_bare_A": 1.5,
        "gate_spare_V": 2.62 - 2.5,
        "controller_W": 0.1 + 3.3 * 0.005,
    }
    for name, value in by_hand.items():
        assert figures[name].value == pytest.approx(value, rel=3e-3), name
    assert figures["pack_rate_C"].value == pytest.approx(figures["pack_highest_A"].value / 2.6)
    drawn_W = 0.9245 * (8.4 - 0.9245 * 0.1764)
    assert figures["drawn_W"].value == pytest.approx(drawn_W, rel=2e-3)
    assert figures["wall_plug_pct"].value == pytest.approx(100 * 0.852 / drawn_W, rel=3e-3)


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
    # the plant's own path, without the law's filters and the sensor's lag, comes nearer
    assert figures["full_light_s"].value == pytest.approx(use.values["before_cutback_s"], rel=0.05)


def test_cold_air_means_no_cutback_and_no_such_figure(build) -> None:
    cold = dataclasses.replace(build, heat=dataclasses.replace(build.heat, ambient_degC=5.0))
    assert "before_cutback_s" not in {figure.id for figure in size(cold)}


def _minutes(build, load_W: float, floor_V: float) -> float:
    """Return minutes of a constant power [W] from full down to `floor_V` [V]."""
    found = run_down(
        parameters(build),
        lambda source_V, ohm: constant_power_A(source_V, ohm, load_W),
        floor_V,
        100.0,
    )
    return found.light_s / 60


def test_minutes_of_a_constant_power_agree_with_an_energy_sum(build) -> None:
    """Independent sum: charge between full and cutback times mean voltage over the power.

    Mean of the open-circuit curve from 100 % to about 22 % is 3.86 V a cell (Chen2020 points).
    """
    load_W = 7.4
    charge = 1.0 - charge_for_volts(build, 6.9 + 1.05 * 0.236)
    energy_J = charge * 2.6 * 3600 * 2 * 3.86
    lost_J = (load_W / 7.6) ** 2 * 0.236 * energy_J / load_W
    minutes = (energy_J - lost_J) / load_W / 60
    assert _minutes(build, load_W, build.limits.pack_cutback_V) == pytest.approx(minutes, rel=0.03)


def test_charge_for_a_voltage_is_the_curves_own_point(build) -> None:
    """Chen2020: 3.751 V a cell at half charge."""
    assert charge_for_volts(build, 2 * 3.751) == pytest.approx(0.5, abs=1e-6)


#: What may end a figure's name, and how the unit beside it is written.
UNITS = {"pct": "%", "min": "min", "days": "d"} | {
    unit: unit for unit in ("A", "mA", "V", "W", "lm", "degC", "s", "C", "mm2", "A2s")
}


@pytest.mark.parametrize("name", examples())
def test_every_figure_has_its_unit_in_its_name_a_meaning_and_a_finite_value(name) -> None:
    rows = size(load(name))
    assert len({row.id for row in rows}) == len(rows)
    for row in rows:
        assert UNITS[row.id.rpartition("_")[2]] == row.unit
        assert row.meaning
        assert math.isfinite(row.value), row


def test_figures_that_others_read_keep_their_names() -> None:
    """Those that the first version of the summary had, and that documents and screens go by."""
    once = """set_current_A peak_current_A forward_V electrical_W pack_current_A cold_hold_A
    battery_min light_W light_lm light_share_pct heat_W junction_degC junction_steady_degC
    before_cutback_s"""
    tunnel, cave = ({row.id for row in size(load(name))} for name in ("smoke_tunnel", "cave_lamp"))
    assert set(once.split()) <= tunnel
    assert {"pass_W", *once.split()} <= cave


def test_what_a_build_has_not_has_no_row() -> None:
    """A bench supply has no cells, a dummy no light and no life, a gated stage no lesser level."""
    bench = topics(load("smoke_tunnel_bench"))
    assert [row.id for row in bench["pack"]] == ["pack_current_A"]
    assert "cells_W" not in {row.id for row in bench["electrical"]}
    dummy = topics(load("smoke_tunnel_dummy"))
    assert dummy["life"] == []
    assert {row.id: row.value for row in dummy["light"]} == {"light_W": 0.0, "light_share_pct": 0.0}
    gated = {row.id for row in size(load("gel_viewer"))}
    assert not {"kept_A", "pass_W", "pass_degC"} & gated


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
    nimh = dataclasses.replace(build, pack=pack)
    tenths_V = (1.231, 1.244, 1.254, 1.257, 1.263, 1.266, 1.274, 1.315, 1.42)
    whole_Vh = sum(0.19 * (a + b) / 2 for a, b in itertools.pairwise(tenths_V))
    rest_Vh = 1.9 * (0.2 - 0.1162) * (1.2 + 1.231) / 2
    minutes = 60 * 6 * (whole_Vh + rest_Vh) / 1.0
    assert _minutes(nimh, 1.0, 7.2) == pytest.approx(minutes, rel=0.02)


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
