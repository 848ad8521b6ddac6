"""What the pins show, in health and with each fault."""

import math
import statistics
from collections.abc import Callable
from typing import Any

import pytest

from diodewright.plant import sensors

Maker = Callable[..., Any]
PINS = ("current", "output", "pack", "mount", "sink", "check", "indicator")


def _pin(made: Any, channel: str) -> float:
    return float(getattr(made.engine, f"{channel}_pin_V")(made.p, made.x))


def _lit(rig: Maker, **changes: Any) -> Any:
    made = rig(indicator=1, **changes)
    made.light()
    return made


def test_healthy_pins_show_the_truth_in_volts(rig: Maker) -> None:
    made = _lit(rig)
    assert _pin(made, "current") == pytest.approx(made.x.diode_A * 0.05 * 20, rel=1e-4)
    assert _pin(made, "output") == pytest.approx(made.x.output_V * 0.3, rel=1e-9)
    assert _pin(made, "pack") == pytest.approx(made.x.pack_V * 0.3, rel=1e-9)
    assert _pin(made, "check") == 1.25
    assert _pin(made, "indicator") == pytest.approx(1.0)
    assert 0.9 < _pin(made, "mount") < 1.65


def test_the_monitors_zero_shows_at_no_current(rig: Maker) -> None:
    made = rig(monitor_zero_V=0.1)
    assert _pin(made, "current") == 0.1


def test_the_monitor_lags(rig: Maker) -> None:
    made = rig(monitor_lag_s=0.002, trip_A=5)
    made.light(set_A=1.0)
    made.put(enable_b=0)
    made.ticks(2)
    assert _pin(made, "current") == pytest.approx(math.exp(-1), rel=2e-2)


@pytest.mark.parametrize("channel", PINS)
def test_a_frozen_reading_keeps_what_it_last_showed(rig: Maker, channel: str) -> None:
    made = _lit(rig)
    before_V = _pin(made, channel)
    assert before_V > 0
    made.change(**{f"{channel}_read_fault": 3})
    made.put(enable_b=0, indicator=0, mount_ntc_degC=80, sink_ntc_degC=80)
    made.change(check_V=1.0)
    made.ticks(20)
    assert _pin(made, channel) == before_V
    made.change(**{f"{channel}_read_fault": 0})
    assert _pin(made, channel) != before_V


@pytest.mark.parametrize("channel", ["current", "output", "pack", "check", "indicator"])
def test_open_reads_nothing_and_shorted_reads_the_rail(rig: Maker, channel: str) -> None:
    made = _lit(rig)
    made.change(**{f"{channel}_read_fault": 1})
    assert _pin(made, channel) == 0
    made.change(**{f"{channel}_read_fault": 2})
    assert _pin(made, channel) == 3.3


@pytest.mark.parametrize("channel", ["mount", "sink"])
def test_an_open_ntc_reads_cold_and_a_shorted_one_hot(rig: Maker, channel: str) -> None:
    made = rig()
    made.change(**{f"{channel}_read_fault": 1})
    assert _pin(made, channel) == pytest.approx(3.3, rel=1e-6)
    made.change(**{f"{channel}_read_fault": 2})
    assert _pin(made, channel) == 0


@pytest.mark.parametrize("channel", ["current", "output", "pack", "check", "indicator"])
def test_drift_and_offset_move_a_reading(rig: Maker, channel: str) -> None:
    made = _lit(rig)
    before_V = _pin(made, channel)
    made.change(**{f"{channel}_read_gain": 0.9, f"{channel}_read_offset_V": 0.02})
    assert _pin(made, channel) == pytest.approx(0.9 * before_V + 0.02, rel=1e-9)


def test_a_pin_stays_between_ground_and_rail(rig: Maker) -> None:
    made = _lit(rig)
    made.change(output_read_gain=100, pack_read_offset_V=-5)
    assert _pin(made, "output") == 3.3
    assert _pin(made, "pack") == 0


def test_a_lying_reading_leaves_the_truth_alone(rig: Maker) -> None:
    honest, lying = _lit(rig), _lit(rig, current_read_gain=0.5)
    assert lying.x.diode_A == honest.x.diode_A


def test_an_attached_ntc_lags_and_a_detached_one_follows_the_air(fast_rig: Maker) -> None:
    made = fast_rig(ntc_lag_s=5, ntc_air_lag_s=15)
    made.put(mount_degC=60, sink_degC=60)
    made.change(mount_J_K=1e5, sink_J_K=1e6)
    made.ticks(5000)
    assert made.x.mount_ntc_degC == pytest.approx(60 - 30 * math.exp(-1), rel=1e-3)
    made.change(mount_read_fault=4)
    here_degC = made.x.mount_ntc_degC
    made.ticks(15_000)
    expected_degC = 30 + (here_degC - 30) * math.exp(-1)
    assert made.x.mount_ntc_degC == pytest.approx(expected_degC, rel=1e-3)
    assert made.x.sink_ntc_degC == pytest.approx(60 - 30 * math.exp(-4), rel=1e-2)


def test_a_sagging_reference_raises_the_code_of_the_known_voltage(rig: Maker) -> None:
    made = rig()
    healthy = sensors.adc_code(_pin(made, "check"), sensors.ref_V(made.p, made.x), 0.0)
    made.change(ref_gain=0.9)
    sagged = sensors.adc_code(_pin(made, "check"), sensors.ref_V(made.p, made.x), 0.0)
    assert healthy == round(1.25 / 3.3 * 4095)
    assert sagged == round(1.25 / 2.97 * 4095)


def test_codes_round_and_saturate() -> None:
    assert [sensors.adc_code(v, 3.3, 0.0) for v in (-1.0, 0.0, 3.3, 4.0)] == [0, 0, 4095, 4095]
    assert sensors.adc_code(1.0, 4.095, 0.4) == 1000
    assert sensors.adc_code(1.0, 4.095, 0.6) == 1001
    assert sensors.adc_code(1.0, 0.0, 0.0) == 0


def test_noise_has_its_rms_no_mean_and_repeats_from_its_state(rig: Maker) -> None:
    made = rig(adc_noise_lsb=2.84, noise_state=11)
    drawn = [sensors.noise_lsb(made.p, made.x) for _ in range(20_000)]
    assert statistics.pstdev(drawn) == pytest.approx(2.84, rel=0.02)
    assert statistics.fmean(drawn) == pytest.approx(0, abs=0.06)
    lagged = statistics.correlation(drawn[:-1], drawn[1:])
    assert abs(lagged) < 0.03
    again = rig(adc_noise_lsb=2.84, noise_state=11)
    assert [sensors.noise_lsb(again.p, again.x) for _ in range(5)] == drawn[:5]
    silent = rig(noise_state=11)
    assert sensors.noise_lsb(silent.p, silent.x) == 0 and silent.x.noise_state == 11


def test_an_indicator_that_is_open_shines_not_and_shows_no_current(rig: Maker) -> None:
    made = _lit(rig, indicator_open=1)
    assert made.x.indicator_lit == 0 and _pin(made, "indicator") == 0
