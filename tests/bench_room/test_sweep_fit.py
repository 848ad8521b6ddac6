"""What a sweep says of the diode: the truth lies within its errors, and the entry is taken."""

import math
from pathlib import Path

import numpy as np
import pytest
from weak_diodes import Bench, Chip, Weak, swept

from diodewright.bench import BenchError
from diodewright.bench.sweep import Point, Trail, replayed
from diodewright.bench.sweep_fit import Figure, fitted, measured_parameters, recommended
from diodewright.bench.sweep_part import part_text
from diodewright.bench.sweep_plan import planned
from diodewright.bench.sweep_result import document, result_of
from diodewright.build import fit_forward, fit_light, load, read_parts

LAMP = load("smoke_tunnel")
LED = load("cave_lamp")
PLAN = planned(LAMP)
OWN = {"threshold_A": 1.15, "slope_W_A": 0.92, "diode_rs_ohm": 1.1, "slope_T1_K": 0.9}


def of(factors: dict[str, float], seed: int):
    bench = Bench(LAMP, Weak("own", factors, math.inf, 0.0, 9.0, math.inf), seed)
    trail, stop = swept(bench, PLAN)
    return bench, trail, stop, fitted(trail, LAMP, PLAN, 5.0)


def test_the_truth_lies_within_two_errors_nineteen_times_in_twenty() -> None:
    """Two standard deviations hold 95 % of a normal scatter; the benches' own errors are drawn."""
    p = Chip(LAMP, OWN).p
    off: dict[str, list[float]] = {"threshold": [], "slope": [], "resistance": []}
    for seed in range(40):
        _, _, _, fits = of(OWN, seed)
        threshold, slope = fits.threshold_25_A, fits.slope_25_W_A
        off["threshold"].append((threshold.value - p.threshold_A) / threshold.error)
        off["slope"].append((slope.value - p.slope_W_A) / slope.error)
        off["resistance"].append((fits.rs_ohm.value - p.diode_rs_ohm) / fits.rs_ohm.error)
    for name, values in off.items():
        within = np.mean(np.abs(values) < 2)
        assert within >= 0.9, (name, within)
        assert np.std(values) > 0.05, f"{name}: errors far too wide to mean anything"


def test_a_perfect_bench_gives_back_what_was_put_in() -> None:
    bench = Bench(LAMP, Weak("own", OWN, math.inf, 0.0, 9.0, math.inf), 1, noise=1e-6)
    bench.set_gain = bench.read_gain = bench.meter_gain = 1.0
    bench.zero_W = 0.0
    trail, _ = swept(bench, PLAN)
    fits, p = fitted(trail, LAMP, PLAN, 0.0), Chip(LAMP, OWN).p
    assert fits.threshold_25_A.value == pytest.approx(p.threshold_A, rel=0.01)
    assert fits.slope_25_W_A.value == pytest.approx(p.slope_W_A, rel=0.01)
    assert fits.slope_T1_K is not None
    assert fits.slope_T1_K.value == pytest.approx(p.slope_T1_K, rel=0.03)
    assert fits.rs_ohm.value == pytest.approx(p.diode_rs_ohm, rel=0.01)
    assert fits.threshold_A is not None and fits.bend_A is not None
    # as measured: the threshold at the junction's own temperature there, by either method
    assert fits.bend_A == pytest.approx(fits.threshold_A.value, abs=0.02)


def test_two_segments_find_the_knee_of_two_lines() -> None:
    """Against NumPy: the crossing of the lines through either side."""
    rng = np.random.default_rng(7)
    points = []
    for at_A in np.arange(0.10, 0.60, 0.005):
        light_W = 0.004 * at_A + 0.83 * max(0.0, at_A - 0.262) + rng.normal(0, 2e-4)
        points.append(Point(float(at_A), float(at_A), 3.9 + 0.5 * at_A, light_W, 2e-4))
    fits = fitted(replayed(points, PLAN)[0], LAMP, PLAN, 5.0)
    x, y = (np.array([getattr(p, name) for p in points]) for name in ("asked_A", "light_W"))
    low, high = x < 0.25, (x > 0.28) & (y < 0.4 * y.max())
    (s0, o0), (s1, o1) = np.polyfit(x[low], y[low], 1), np.polyfit(x[high], y[high], 1)
    assert fits.threshold_A is not None
    assert fits.threshold_A.value == pytest.approx((o0 - o1) / (s1 - s0), abs=1e-3)
    assert abs(fits.threshold_A.value - 0.262) < 2 * fits.threshold_A.error


def test_an_led_has_no_threshold_and_is_fitted_all_the_same() -> None:
    plan = planned(LED)
    bench = Bench(LED, Weak("own", {"slope_W_A": 0.9}, math.inf, 0.0, 9.0, math.inf), 1)
    trail, stop = swept(bench, plan)
    fits = fitted(trail, LED, plan, 5.0)
    assert fits.threshold_A is None and fits.threshold_25_A == Figure(0.0, 0.0)
    true = Chip(LED, {"slope_W_A": 0.9}).p.slope_W_A
    assert abs(fits.slope_25_W_A.value - true) < 2 * fits.slope_25_W_A.error
    found = result_of(LED, plan, trail, stop, 5.0, "own_led")
    assert found.part is not None and found.verdict == "HOLDS"


def test_the_recommended_current_is_the_least_that_a_rule_allows() -> None:
    knee = Weak("knee", {}, 0.9, 0.8, 1.2, 0.9)
    trail, stop = swept(Bench(LAMP, knee, 3), PLAN)
    fits = fitted(trail, LAMP, PLAN, 5.0)
    rules = recommended(fits, LAMP, trail, stop)
    assert stop.kind in ("kink", "roll-over") and 0.9 < stop.at_A < 0.97
    assert rules[0][0] == math.floor(80 * stop.at_A) / 100
    assert [most_A for most_A, _ in rules] == sorted(most_A for most_A, _ in rules)
    assert max(most_A for most_A, _ in rules) <= 0.8 * LAMP.diode.absolute_A


def test_the_entry_is_read_back_and_says_what_was_measured(tmp_path: Path) -> None:
    _, trail, stop, fits = of(OWN, 2)
    text = part_text("drawer_green", LAMP, measured_parameters(fits, LAMP), fits, trail, stop, 1.1)
    file = tmp_path / "mine.toml"
    file.write_text(text)
    (part,) = read_parts(str(file))

    def value(key: str):
        found = part.value(key)
        assert found is not None
        return found.value

    light = fit_light(value("light_points_A_W"))
    assert light.threshold_A == pytest.approx(fits.threshold_25_A.value, abs=2e-3)
    assert light.slope_W_A == pytest.approx(fits.slope_25_W_A.value, rel=2e-3)
    forward = fit_forward(value("forward_points_A_V"))
    assert forward.rs_ohm == pytest.approx(fits.rs_ohm.value, rel=0.03)
    assert (part.name, part.key, value("rated_A")) == ("drawer_green", "diode.part", 1.1)


def test_a_name_of_the_catalogue_is_refused() -> None:
    _, trail, stop, fits = of(OWN, 2)
    p = measured_parameters(fits, LAMP)
    with pytest.raises(BenchError, match="a shipped part has this name"):
        part_text("laser_green_520_1W0", LAMP, p, fits, trail, stop, 1.1)


def test_too_little_light_is_said_and_nothing_recommended() -> None:
    _, trail, _, _ = of(OWN, 2)
    few = Trail(trail.points[:20], trail.lit[:4], 0.0)
    found = result_of(LAMP, PLAN, few, None, 5.0, "own")
    assert (found.fits, found.recommended_A, found.verdict) == (None, None, "INCOMPLETE")
    assert "8 are needed" in found.unfitted
    assert document(found)["recommended_A"] is None


def test_a_missing_fitter_is_incomplete_with_the_way_to_it(monkeypatch) -> None:
    import sys

    from diodewright.build.extras import Missing

    _, trail, _, _ = of(OWN, 2)
    monkeypatch.setitem(sys.modules, "lmfit", None)
    with pytest.raises(Missing, match=r"diodewright\[bench\]"):
        fitted(trail, LAMP, PLAN, 5.0)
