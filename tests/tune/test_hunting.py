"""A swing is what goes to and fro: a sine counts whole, a trend counts nothing."""

import numpy as np
import pytest

from diodewright.tune.hunting import evened, swing_of

AT_S = np.arange(0.0, 60.0, 0.1)


def test_a_sine_is_told_from_trough_to_peak_with_its_period() -> None:
    swing = swing_of(AT_S, 2.0 + 0.05 * np.sin(2 * np.pi * AT_S / 6.0))
    assert swing.share == pytest.approx(2 * 0.05 / 2.0, rel=0.01)
    assert swing.period_s == pytest.approx(6.0, rel=0.01)


@pytest.mark.parametrize("slope", [-0.01, 0.01])
def test_a_steady_fall_or_rise_is_no_swing(slope: float) -> None:
    assert swing_of(AT_S, 2.0 + slope * AT_S).share == pytest.approx(0.0, abs=1e-9)


def test_a_swing_that_rides_on_a_trend_is_found() -> None:
    wave = 2.0 - 0.002 * AT_S + 0.05 * np.sin(2 * np.pi * AT_S / 6.0)
    swing = swing_of(AT_S, wave)
    assert 0.04 < swing.share < 0.055
    assert swing.period_s == pytest.approx(6.0, rel=0.02)


def test_one_step_down_is_no_swing_and_darkness_has_none() -> None:
    assert swing_of(AT_S, np.where(AT_S < 30, 2.0, 1.0)).share == 0.0
    assert swing_of(AT_S, np.zeros_like(AT_S)).share == 0.0


def test_rows_of_uneven_spacing_count_by_their_time() -> None:
    time_s = np.concatenate([np.arange(0, 0.1, 0.001), np.arange(0.1, 0.2, 0.02)])
    at_s, level = evened(time_s, np.where(time_s < 0.1, 1.0, 3.0), 0.1)
    assert at_s == pytest.approx([0.05, 0.15])
    assert level == pytest.approx([1.0, 3.0])
