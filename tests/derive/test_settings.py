"""Build to settings: the safe side of every rounding, and the table's word for each."""

import dataclasses
import math

import pytest

from diodedriver import words
from diodewright.build import load, load_text
from diodewright.build.source import fetch
from diodewright.derive import DerivedError, criteria, plant_values, settings, worst_light
from diodewright.derive.electrics import operate, parameters, settle_on_mount


@pytest.fixture(scope="module")
def build():
    return load("smoke_tunnel")


@pytest.fixture(scope="module")
def values(build):
    return settings(build)


def _with(**changes: str):
    """Return smoke_tunnel with lines of its file replaced: key -> new text of the value."""
    text, _ = fetch("smoke_tunnel")
    for key, value in changes.items():
        lines = [line for line in text.splitlines() if line.startswith(f"{key} = ")]
        assert len(lines) == 1, key
        text = text.replace(lines[0], f"{key} = {value}")
    return load_text(text, "changed")


def test_every_word_of_the_table_is_derived_and_accepted_by_the_board(values) -> None:
    assert set(values) == {row[0] for row in words.SETTINGS}
    assert len(words.assemble(values)) == 2 * len(words.LIMITS)


@pytest.mark.parametrize(
    ("word", "expected"),
    [
        ("level_0_mA", 1500),
        ("top_mA", 1575),  # 5 % authority
        ("start_mA", 100),
        ("ramp_ticks", 500),
        ("delay_ticks", 5000),
        ("warm_cK", 31915),  # 46 degC
        ("hot_cK", 32915),  # 56 degC
        ("trip_cK", 33315),  # 60 degC
        ("cutback_mV", 6900),
        ("cutback_end_mV", 6500),
        ("lockout_mV", 6500),
        ("loaded_min_mV", 6000),
        ("rearm_mV", 7300),
        ("duty_full_mA", 1650),
    ],
)
def test_stated_limits_reach_the_board_as_stated(values, word: str, expected: int) -> None:
    assert values[word] == expected


def test_odd_decimals_round_to_the_dark_cool_and_early_side() -> None:
    values = settings(
        _with(
            full_A="1.4999",
            full_scale_A="1.64",
            mount_trip_degC="59.999",
            pack_lockout_V="6.4991",
            start_level_A="0.1009",
            delay_s="5.0004",
        )
    )
    assert values["level_0_mA"] == 1499
    assert values["trip_cK"] == math.floor((59.999 + 273.15) * 100)
    assert values["lockout_mV"] == 6500
    assert values["start_mA"] == 100
    assert values["delay_ticks"] == 5001


def test_overcurrent_lies_between_full_trim_and_the_comparators_lowest_trip(values, build) -> None:
    assert values["top_mA"] < values["overcurrent_mA"] < 1000 * build.comparator.trip_min_A


def test_ntc_table_agrees_with_the_published_10k_curve(values) -> None:
    """Points of the 10K3MCD1 curve: Campbell 109SS manual table C-1 and Fronius manual table.

    Code at the pin of a 10 k divider from 3.3 V, read with a 3.0 V reference, 100 k ADC input.
    """
    for ohm, celsius in ((32650.9, 0.0), (12490, 20.0), (10000, 25.0), (2986, 55.0), (2488, 60.0)):
        both = 1 / (1 / ohm + 1 / 100e3)
        code = 3.3 * both / (10e3 + both) / 3.0 * 4096
        place = int(code // 128)
        low, high = values[f"ntc_{place}_cK"], values[f"ntc_{place + 1}_cK"]
        kelvin = (low + (high - low) * (code - 128 * place) / 128) / 100
        # straight lines between points 128 codes apart read up to 0.15 K hot, never cold
        assert -0.02 < kelvin - 273.15 - celsius < 0.2


def test_budget_settles_full_at_what_it_calls_sustainable(values, build) -> None:
    """A full bucket leaks what the sustainable current puts in at the highest forward voltage."""
    leak_W = values["budget_cap"] / values["budget_leak_s"] / 1000
    p = parameters(build)
    point = operate(p, values["sustain_mA"] / 1000, 25.0, build.diode.forward_spread_V)
    assert point.electrical_W <= leak_W
    assert point.electrical_W == pytest.approx(leak_W, rel=0.01)


def test_a_limit_that_the_board_would_refuse_is_refused_with_word_and_range() -> None:
    build = load("smoke_tunnel")
    endless = dataclasses.replace(build.controls, auto_off_s=1e6)
    with pytest.raises(DerivedError, match=r"auto_off_ticks = .*allowed 1000\.\.86400000 tick"):
        settings(dataclasses.replace(build, controls=endless))


def test_settled_diode_is_a_fixed_point_of_heat_and_junction(build) -> None:
    p = parameters(build)
    point = settle_on_mount(p, 1.5, 30.0)
    assert point.junction_degC == pytest.approx(
        30.0 + build.heat.junction_mount_K_W * point.heat_W, abs=1e-6
    )
    assert point.electrical_W == pytest.approx(point.current_A * point.volts_V, rel=1e-12)


def test_worst_light_bounds_the_comparators_highest_trip_at_the_coldest_junction(build) -> None:
    """Hand calculation: (8.4 - 4.4) V / 47 uH * 1 us on 1.82 A is 1.91 A; cold slope 0.85 W/A.

    Half the ripple on top: (8.4 - 4.5) V * 0.53 / (47 uH * 400 kHz) is 0.11 A.
    """
    worst = worst_light(build)
    assert 1.94 < worst.current_A < 1.98
    threshold_A = 0.25 * math.exp((10 - 25) / 170)
    expected_W = 0.85 * math.exp(-(10 - 25) / 300) * (worst.current_A - threshold_A)
    assert worst.light_W == pytest.approx(expected_W, rel=1e-3)


def test_criteria_carry_the_builds_own_limits(build) -> None:
    by_id = {row.id: row for row in criteria(build)}
    assert by_id["diode-current"].limit == build.diode.absolute_A
    assert by_id["junction"].limit == build.diode.junction_max_degC
    assert by_id["pack-voltage"].limit == pytest.approx(2 * build.pack.cell_min_V)
    assert by_id["emission-against-controls"].limit == pytest.approx(0.05)


def test_criteria_that_the_builder_did_not_ask_for_are_absent() -> None:
    text, _ = fetch("smoke_tunnel")
    text = "\n".join(
        line
        for line in text.splitlines()
        if not line.startswith(("light_min_W", "before_cutback_min_s"))
    )
    assert {"light", "before-cutback"}.isdisjoint(
        row.id for row in criteria(load_text(text, "plain"))
    )


def test_warning_comes_ten_minutes_of_full_light_before_cutback(values) -> None:
    """By hand: cutback 3.450 V a cell is 18.15 % of the curve (Chen2020: 3.296 V at 10 %, 3.485 V
    at 20 %); 6.80 W / 0.93 / 6.9 V = 1.06 A for 600 s of 2.6 Ah is 6.8 %; the curve at 24.9 %
    (3.485 V at 20 %, 3.581 V at 30 %) is 3.532 V.
    """
    assert values["warn_mV"] == pytest.approx(2 * 3532, abs=5)


def test_plant_keeps_the_builds_figures(build) -> None:
    values = plant_values(build)
    for current_A, volts_V in build.diode.forward_points_A_V:
        assert operate(parameters(build), current_A, 25.0).volts_V == pytest.approx(
            volts_V, abs=0.01
        )
    assert values["threshold_A"] == pytest.approx(0.25, abs=1e-6)
    assert values["slope_W_A"] == pytest.approx(0.85, abs=1e-6)
    assert values["trip_A"] == pytest.approx(1.75)


def _unguarded(build, **changes: float | bool):
    """Return `build` as no build file may say it: without delay, or without interlock and key."""
    limits = {name: value for name, value in changes.items() if name == "delay_s"}
    controls = {name: value for name, value in changes.items() if name != "delay_s"}
    return dataclasses.replace(
        build,
        limits=dataclasses.replace(build.limits, **limits),
        controls=dataclasses.replace(build.controls, **controls),
    )


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"delay_s": 0.0}, "delay_ticks"),
        ({"interlock": False, "key": False}, "interlock_fitted"),
    ],
)
@pytest.mark.parametrize(("share", "laser_class"), [(1.0, "4"), (0.2, "3B")])
def test_no_laser_of_class_3b_or_4_gets_words_without_delay_or_interlock(
    build, changes, word: str, share: float, laser_class: str
) -> None:
    # Source: 21 CFR 1040.10(f)(3); IEC 60825-1:2014 cl. 6.4 (second-hand); the delay is practice.
    points = tuple((at_A, share * light_W) for at_A, light_W in build.diode.light_points_A_W)
    weaker = dataclasses.replace(
        build, diode=dataclasses.replace(build.diode, light_points_A_W=points)
    )
    settings(weaker)
    with pytest.raises(DerivedError, match=f"{word} = 0: laser class {laser_class} "):
        settings(_unguarded(weaker, **changes))


def test_a_laser_that_no_fault_makes_dangerous_needs_neither(build) -> None:
    points = tuple((at_A, 2e-4 * light_W) for at_A, light_W in build.diode.light_points_A_W)
    faint = dataclasses.replace(
        build, diode=dataclasses.replace(build.diode, light_points_A_W=points)
    )
    values = settings(_unguarded(faint, delay_s=0.0, interlock=False, key=False))
    assert values["delay_ticks"] == values["interlock_fitted"] == 0
