"""The reference circuit's values against the sums that they claim to be, and against the build."""

import math

import numpy as np
import pytest

from diodewright.build import examples, load
from diodewright.derive import board, parts
from diodewright.derive.edges import threshold_V
from diodewright.derive.enables import bleed_ohm
from diodewright.derive.reference import REFERENCE, preferred, preferred_below
from edits import edited


@pytest.mark.parametrize("name", examples())
def test_each_shipped_build_keeps_the_values_that_it_needs(name: str) -> None:
    build = load(name)
    assert build.comparator.delay_us * 1e-6 <= parts.allowed_trip_s(build)
    assert build.stage.output_cap_uF < parts.output_limit_uF(build)
    assert 1000 * build.cutoffs.a_pulldown_kohm <= parts.pull_down_limit_ohm(build)
    assert build.cutoffs.a_vgs_guaranteed_V <= 2.5
    assert parts.clamp_rating_V(build) < parts.clamp_most_V(build)
    assert REFERENCE.bleeder_ohm < parts.bleeder_limit_ohm(build)
    # the trickle can lift the output to its clamp against the bleeder
    assert 0.002 * REFERENCE.bleeder_ohm > board.TRICKLE_SHARE * build.comparator.over_voltage_V
    assert parts.comparator_offset_mV(build) > 1.0


@pytest.mark.parametrize("name", examples())
def test_the_over_current_path_spends_less_than_the_build_allows(name: str) -> None:
    build = load(name)
    spent_s = REFERENCE.amplifier_s + REFERENCE.comparator_s + REFERENCE.logic_s
    spent_s += parts.gate_off_s(build)
    assert spent_s <= build.comparator.delay_us * 1e-6


def test_the_time_allowed_is_the_notes_formula_by_hand() -> None:
    # (2.0 - 1.82 - 0.055) A * 47 uH / (8.4 - 4.35) V = 1.45 us; half the ripple is 0.055 A there.
    allowed_s = parts.allowed_trip_s(load("smoke_tunnel"))
    assert allowed_s == pytest.approx(1.45e-6, rel=0.03)
    slower = edited("smoke_tunnel", {"stage.inductor_uH": "22"})
    assert parts.allowed_trip_s(slower) < 1e-6


def test_preferred_values_are_those_of_iec_60063() -> None:
    # IEC 60063: E96 runs 100, 102, 105 ... 976; E24 has 4.7 and 5.1, nothing between.
    assert preferred(7000) == 6980
    assert preferred(0.0301) == pytest.approx(0.0301)
    assert preferred_below(5203.0) == 5100
    assert preferred_below(9.99) == pytest.approx(9.1)
    assert preferred_below(10.0) == pytest.approx(10.0)


@pytest.mark.parametrize(("ratio", "total_ohm"), [(0.3, 10e3), (0.6, 10e3), (0.3, 100e3)])
def test_a_divider_divides_within_one_per_cent(ratio: float, total_ohm: float) -> None:
    top_ohm, bottom_ohm = parts.divider_ohm(ratio, total_ohm)
    assert bottom_ohm / (top_ohm + bottom_ohm) == pytest.approx(ratio, rel=0.01)
    assert top_ohm + bottom_ohm == pytest.approx(total_ohm, rel=0.01)


@pytest.mark.parametrize("name", examples())
def test_a_fuse_carries_the_use_and_opens_below_what_the_cells_give(name: str) -> None:
    build = load(name)
    assert parts.fuse_A(build) >= 1.5 * parts.pack_peak_A(build)
    if build.pack.kind == "cells":
        assert parts.fuse_A(build) < build.pack.discharge_continuous_A * build.pack.parallel


def test_the_inrush_integral_is_half_of_c_v_squared_over_r() -> None:
    # 10 uF at 8.4 V behind 0.19 ohm: 353 uJ / 0.19 ohm = 1.86 mA2 s.
    assert parts.fuse_pulse_A2s(load("smoke_tunnel")) == pytest.approx(1.86e-3, rel=0.01)


def test_the_set_path_asks_for_its_full_scale_and_no_more() -> None:
    # A divider at its worst ends: less than full scale, more than a twentieth below it.
    for name in ("smoke_tunnel", "cave_lamp"):
        build = load(name)
        of = parts.set_path(build)
        most_A = 0.0
        for off in np.linspace(-0.01, 0.01, 5):
            series_ohm = (of.first_ohm + of.second_ohm) * (1 - off)
            ground_ohm = of.ground_ohm * (1 + off)
            at_V = REFERENCE.rail_high_V * ground_ohm / (ground_ohm + series_ohm)
            shunt_ohm = build.stage.own_shunt_mohm / 1000
            most_A = max(most_A, at_V / REFERENCE.set_gain / shunt_ohm)
        assert 0.95 * build.stage.full_scale_A < most_A <= build.stage.full_scale_A
        assert most_A < build.diode.absolute_A
        pole_s = of.first_ohm * of.first_F
        assert pole_s == pytest.approx(build.stage.set_filter_ms / 1000, rel=0.12)
    assert math.isnan(parts.set_path(load("gel_viewer")).ground_ohm)


def test_the_pull_down_limit_is_ohms_law_on_the_warm_threshold() -> None:
    # 120 uA may make 0.62 V: 5.2 kohm, next below 5.1; the erratum's 8.2 kohm is too much.
    build = load("smoke_tunnel")
    limit_ohm = parts.pull_down_limit_ohm(build)
    assert limit_ohm * board.PIN_LEAK_A < threshold_V(build) < 1.1 * limit_ohm * board.PIN_LEAK_A
    assert limit_ohm < 8200


def test_input_ripple_is_the_books() -> None:
    # I sqrt(D (1 - D)) where ripple is small: half the current at a duty of one half.
    build = load("smoke_tunnel")
    found_A = parts.input_ripple_A(build)
    assert 0.49 * 1.5 < found_A < 0.51 * 1.5
    assert parts.input_ripple_A(load("cave_lamp")) == 0.0


def test_the_enable_holds_no_longer_than_the_build_says() -> None:
    short = edited("smoke_tunnel", {"cutoffs.pulse_hold_ms": "5"})
    assert bleed_ohm(short) < bleed_ohm(load("smoke_tunnel")) == 220e3
