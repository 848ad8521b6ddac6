"""Time to cutback and to lockout: straight lines by hand, and the shipped journey of a light."""

import numpy as np
import pytest

from diodedriver import words
from diodewright.bench.outlook import Outlook, Prospect, slope_of
from diodewright.bench.record import Heard
from diodewright.build import load
from diodewright.derive import settings

LIMITS = settings(load("smoke_tunnel"))


def heard(at_s: float, mode: str = "run", **changed: float) -> Heard:
    values = {
        "mount_cK": 30_315,
        "junction_cK": 35_315,
        "rest_mV": 8000,
        "pack_mV": 7900,
        "drive": 96_000,
        "level": 0,
        "bound": 0,
    }
    said = {name: round(value) for name, value in {**values, **changed}.items()}
    return Heard(mode, said, at_s)


def ahead(seconds: int, mode: str = "run", **slopes: float) -> Outlook:
    """Return the outlook behind so many seconds in which words move by so much a second."""
    outlook = Outlook(LIMITS)
    for at in range(10 * seconds):
        base = heard(0.0).words
        moved = {name: base[name] + slope * at / 10 for name, slope in slopes.items()}
        outlook.add(heard(at / 10, mode, **moved))
    return outlook


def test_the_slope_is_that_of_the_line_and_odd_points_do_not_move_it() -> None:
    at_s = np.arange(30.0)
    values = 2.0 + 0.25 * at_s
    value, (lower, middle, upper) = slope_of(at_s, values)
    assert (value, lower, middle, upper) == pytest.approx((9.25, 0.25, 0.25, 0.25))
    values[[3, 11, 27]] += 40.0
    assert slope_of(at_s, values)[1][1] == pytest.approx(0.25, abs=0.02)


def test_the_range_holds_the_true_slope_of_noisy_points() -> None:
    """Sen (1968): the bounds at 95 % miss the true slope about once in twenty."""
    draw = np.random.default_rng(3)
    at_s = np.arange(30.0)
    inside = 0
    for _ in range(400):
        _, (lower, _, upper) = slope_of(at_s, 0.1 * at_s + draw.normal(size=30))
        inside += lower <= 0.1 <= upper
    assert 0.92 < inside / 400 < 0.98


def test_the_slope_agrees_with_an_independent_implementation() -> None:
    stats = pytest.importorskip("scipy.stats")
    draw = np.random.default_rng(5)
    at_s = np.sort(draw.uniform(0, 60, 25))
    values = 0.3 * at_s + draw.normal(size=25)
    _, (lower, middle, upper) = slope_of(at_s, values)
    theirs = stats.theilslopes(values, at_s, alpha=0.95)
    assert middle == theirs.slope
    pairs = np.sort([(values[j] - values[i]) / (at_s[j] - at_s[i])
                     for i in range(25) for j in range(i + 1, 25)])  # fmt: skip
    # rank bounds are rounded outwards here: a rank or two wider, never narrower
    assert lower <= theirs.low_slope and upper >= theirs.high_slope
    assert np.searchsorted(pairs, theirs.low_slope) - np.searchsorted(pairs, lower) <= 2
    assert np.searchsorted(pairs, upper) - np.searchsorted(pairs, theirs.high_slope) <= 2


def test_a_mount_that_warms_evenly_reaches_the_cap_at_the_level_asked_for() -> None:
    """By hand: 1.5 A is allowed up to 46 degC + 10 K * 0.075 A / (top - dim), led by the lag."""
    outlook = ahead(40, mount_cK=10)
    share = (LIMITS["top_mA"] - 1500) / (LIMITS["top_mA"] - LIMITS["dim_mA"])
    limit_degC = 46 + 10 * share
    now_degC = 30 + 0.1 * 39.45  # the mean of the last whole second but one
    lag_s = LIMITS["lead_x16"] / 16 * 2 ** LIMITS["lead_shift"] / 1000
    found = outlook.cutback()
    assert (found.kind, found.by) == ("about", "mount")
    assert found.about_s == pytest.approx((limit_degC - now_degC) / 0.1 - lag_s, abs=1.5)


def test_a_pack_that_falls_evenly_reaches_lockout() -> None:
    found = ahead(70, rest_mV=-2, pack_mV=-2).lockout()
    # 8.00 V - 2 mV/s * 69 s down to 6.50 V; loaded 7.90 V to 6.00 V comes later
    assert (found.kind, found.by) == ("about", "pack")
    assert found.about_s == pytest.approx((8000 - 2 * 69 - 6500) / 2, abs=3)


def test_a_warming_that_slows_is_said_as_not_before() -> None:
    outlook = Outlook(LIMITS)
    for at in range(300):
        mount_degC = 30 + 14 * (1 - np.exp(-at / 10 / 20))  # ends at 44: never cut back
        outlook.add(heard(at / 10, mount_cK=100 * mount_degC + 27_315))
    found = outlook.cutback()
    assert found.kind == "not before" and found.by == "mount" and found.about_s is None


def test_what_is_steady_does_not_come_soon() -> None:
    outlook = ahead(70)
    assert outlook.cutback() == Prospect("not soon")
    assert outlook.lockout() == Prospect("not soon")


def test_nothing_is_said_without_enough_steady_light() -> None:
    assert ahead(10, mount_cK=10).cutback().kind == "unknown"
    assert ahead(40, "dark", mount_cK=10).cutback().kind == "unknown"
    assert Outlook(LIMITS).cutback().kind == "unknown"
    outlook = ahead(40, mount_cK=10)
    outlook.add(heard(40.0, drive=48_000))  # half the drive: heat now follows another line
    assert outlook.cutback().kind == "unknown"
    outlook = ahead(40, mount_cK=10)
    outlook.add(heard(60.0, mount_cK=31_000))  # behind a gap
    assert outlook.cutback().kind == "unknown"
    outlook = ahead(40, mount_cK=10)
    outlook.forget()
    assert outlook.cutback().kind == "unknown"


def test_what_binds_already_is_now() -> None:
    outlook = ahead(40, mount_cK=10)
    outlook.add(heard(40.0, "limited", bound=words.BOUNDS.index("budget")))
    assert outlook.cutback() == Prospect("now", "budget", 0.0, 0.0, 0.0)
    outlook.add(heard(40.1, "pack_low"))
    assert outlook.lockout().kind == "now"


def test_a_cap_that_leaves_the_level_asked_for_never_cuts_it_back() -> None:
    """The third level, 0.3 A, is below what thermal cutback leaves at its end."""
    outlook = Outlook(LIMITS)
    assert LIMITS["level_2_mA"] <= LIMITS["dim_mA"]
    for at in range(700):
        outlook.add(heard(at / 10, mount_cK=30_315 + at, level=2, drive=64 * 300))
    assert outlook.cutback() == Prospect("not soon")
