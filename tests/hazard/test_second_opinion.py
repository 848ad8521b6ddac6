"""The room against a second opinion, written by another author from the published formulas alone.

Both are asked on a dense grid; where the two read a standard differently, the reading and what
became of it stand beside the comparison:

- 700 nm itself counts as unseen: IEC's "400 to 700 nm" leaves the upper end out (from memory). The
  room took it for visible until this comparison.
- C4 is 5 at most, the next range's value at 1050 nm (from memory). The room had 5.012 there.
- The photochemical limit of the eye begins at 10 s, for 400 to 484 nm and 1.5 to 82 mrad at 1 s
  (from memory). The room begins at 1 s for every source: never above the second opinion.
- Class 3B ends at 0.5 W for unseen light too: its time base is 100 s (IEC 60825-1:2014 cl. 4.3 e),
  second-hand), from which 0.03 C4 J is less. The second opinion takes 0.25 s, and from 1010 nm on
  allows up to 0.6 W.
- Between whole nanometres from 500 nm on the room's blue-light weighting is a straight line, up to
  0.03 % above the formula.
- Shorter exposures than 18 us, and a wide source whose whole light is counted, only the second
  opinion knows.
"""

import itertools
import math

import numpy as np
import pytest

from diodewright.hazard.beam import Beam
from diodewright.hazard.distance import (
    diffuse_distance_m,
    nohd_m,
    width_from_1_e2,
    width_from_half_maximum,
)
from diodewright.hazard.exposure import exposure_limit, skin_limit_W_m2
from diodewright.hazard.eyewear import optical_density, scale_number
from diodewright.hazard.factors import c3, c4, c6, c7, cone_mrad, t1_s, t2_s, widest_mrad
from diodewright.hazard.laser_class import class_limits, classify
from diodewright.hazard.led_risk import assess_led, blue_weighting
from diodewright.hazard.photometry import luminous_efficacy_lm_W
from diodewright.hazard.reach import beam_distance_m
from hazard import second_opinion as second

SAME = 1e-12
VISIBLE_NM = [*np.arange(400.0, 700.0, 2.5).tolist(), 449.999, 450.001, 484.0, 599.999, 699.999]
UNSEEN_NM = [*np.arange(700.0, 1050.0, 7.0).tolist(), 700.001, 1049.5, 1049.999, 1050.0]
ANY_NM = VISIBLE_NM + UNSEEN_NM
TIMES_S = [
    *np.logspace(math.log10(18e-6), math.log10(3e4), 37)[1:-1].tolist(),
    *(18e-6, 624.9e-6, 625e-6, 0.2499, 0.25, 0.999, 1.0, 9.999, 10.0, 99.99, 100.0, 1e4, 3e4),
]
ANGLES_MRAD = [0.0, 1.0, 1.5, 1.5001, 2.0, 4.99, 5.0, 5.01, 11.0, 30.0, 82.0, 82.1, 99.9]
ANGLES_MRAD += [100.0, 110.0, 1000.0, 3000.0]


def test_factors_agree() -> None:
    for nm in ANY_NM:
        assert c4(nm) == pytest.approx(second.c4(nm), rel=SAME)
        assert c7(nm) == second.c7(nm)
        if nm <= 600:
            assert c3(nm) == pytest.approx(second.c3(nm), rel=SAME)
            assert t1_s(nm) == pytest.approx(second.t1_s(nm), rel=SAME)
    for mrad, time_s in itertools.product(ANGLES_MRAD, TIMES_S):
        assert c6(mrad, time_s) == pytest.approx(second.c6(mrad, time_s), rel=SAME)
        assert t2_s(mrad) == pytest.approx(second.t2_s(mrad), rel=SAME)
        assert cone_mrad(time_s) == pytest.approx(second.cone_mrad(time_s), rel=SAME)
        assert widest_mrad(time_s) == pytest.approx(second.alpha_max_mrad(time_s), rel=SAME)


def test_limits_of_the_eye_agree_but_for_early_blue() -> None:
    early = 0
    for nm, time_s, mrad in itertools.product(ANY_NM, TIMES_S, ANGLES_MRAD):
        own = exposure_limit(nm, time_s, mrad).irradiance_W_m2
        other = second.mpe_eye_W_m2(nm, time_s, mrad)
        if 1 <= time_s < 10 and nm <= 600 and own < other * (1 - SAME):
            early += 1
            assert not (nm < 484 and 1.5 < mrad <= 82), "there both begin at 1 s"
            assert own == pytest.approx(100 * c3(nm) / time_s, rel=SAME)
            continue
        assert own == pytest.approx(other, rel=SAME), (nm, time_s, mrad)
    assert early > 100


def test_early_blue_costs_a_point_source_little() -> None:
    times_s = np.linspace(1.0, 10.0, 200)[:-1].tolist()
    shares = [
        exposure_limit(nm, t).irradiance_W_m2 / second.mpe_eye_W_m2(nm, t)
        for nm, t in itertools.product((400, 450, 500, 550), times_s)
    ]
    assert 0.98 < min(shares) < max(shares) <= 1 + SAME


def test_limits_of_the_skin_agree() -> None:
    for nm, time_s in itertools.product(ANY_NM, TIMES_S):
        other = second.mpe_skin_W_m2(nm, time_s)
        assert skin_limit_W_m2(nm, time_s) == pytest.approx(other, rel=SAME)


def test_limits_of_the_classes_agree() -> None:
    for nm, mrad in itertools.product(ANY_NM, ANGLES_MRAD):
        rows = class_limits(nm, mrad)
        assert {row.laser_class for row in rows} >= {"1", "3R", "3B", "4"}
        assert ("2" in {row.laser_class for row in rows}) is (nm < 700)
        for row in rows[:-1]:
            base_s = row.time_base_s or (0.25 if nm < 700 else 100.0)
            other = second.ael_W(nm, row.laser_class, base_s, mrad)
            assert row.limit_W == pytest.approx(other, rel=SAME), (nm, mrad, row.laser_class)


def test_classes_agree_but_for_the_end_of_3b_beyond_1010_nm() -> None:
    powers_W = [0.0, 0.55, *np.logspace(-5.5, 0.5, 61).tolist()]
    seen, higher = set(), 0
    for nm, mrad, power_W in itertools.product(ANY_NM[::3], ANGLES_MRAD[::2], powers_W):
        seen.add(own := classify(power_W, nm, mrad))
        if nm > 1009 and 0.5 < power_W <= 0.03 * c4(nm) / 0.25:
            higher += 1
            assert (own, second.class_of(power_W, nm, mrad)) == ("4", "3B")
            continue
        assert own == second.class_of(power_W, nm, mrad), (nm, mrad, power_W)
    assert higher > 10
    assert seen == {"1", "2", "3R", "3B", "4"}


def test_hazard_distances_agree() -> None:
    mrads, widths_mm = (0.1, 1.0, 7.3, 400.0), (0.0, 0.5, 4.0, 50.0)
    for power_W, limit, mrad, mm in itertools.product((1e-4, 1.6), (1, 25.46), mrads, widths_mm):
        other = second.nohd_m(power_W, limit, mrad, mrad, mm, mm)
        assert nohd_m(power_W, limit, mrad, mm) == pytest.approx(other, rel=1e-9, abs=1e-12)
        for flat in (3.0, 40.0):
            beam = Beam(mm, flat * mm, mrad, mrad / flat)
            other = second.nohd_m(power_W, limit, mrad, mrad / flat, mm, flat * mm)
            own = beam_distance_m(power_W, limit, beam)
            assert own == pytest.approx(other, rel=1e-9, abs=1e-12)
    for power_W, share, deg in itertools.product((0.0, 1e-3, 5.0), (0, 0.3, 1), (0, 45, 89, 90)):
        other = second.diffuse_distance_m(power_W, 10.0, share, deg)
        assert diffuse_distance_m(power_W, 10.0, share, deg) == pytest.approx(other, abs=1e-7)


def test_widths_agree() -> None:
    for width in (0.0, 0.3, 7.0, 120.0):
        assert width_from_1_e2(width) == pytest.approx(second.full_width_1e(width))
        other = second.full_width_1e_of_half_maximum(width)
        assert width_from_half_maximum(width) == pytest.approx(other)


def test_eyewear_agrees() -> None:
    for power_W, mm in itertools.product(np.logspace(-4, 1.3, 60).tolist(), (0.1, 1, 3, 7, 20)):
        assert scale_number(power_W, mm) == second.scale_number(power_W, mm)
        for limit in (1.0, 10.0, 25.4558):
            other = second.optical_density(power_W, mm, limit)
            assert optical_density(power_W, limit, mm) == pytest.approx(other, abs=1e-12)


def test_photometry_and_led_groups_agree() -> None:
    for nm in np.arange(400.0, 700.01, 0.5).tolist():
        weight = second.blue_weight(nm)
        whole = nm == int(nm) or nm < 500 or nm > 600
        assert weight * (1 - SAME) <= blue_weighting(nm) <= weight * (1 + (SAME if whole else 3e-4))
        other = second.luminous_efficacy_lm_W(nm)
        assert luminous_efficacy_lm_W(nm) == pytest.approx(other, rel=1e-9), nm
    groups = set()
    for nm, power_W, mm2 in itertools.product(
        (400, 437, 462, 491, 520, 600, 650), np.logspace(-4, 2, 40).tolist(), (0.3, 1, 40)
    ):
        own, other = assess_led(power_W, mm2, nm), second.led_risk_group(power_W, mm2, nm)
        groups.add(own.group)
        assert own.group == other.group
        assert own.blue_radiance_W_m2_sr == pytest.approx(other.blue_radiance_W_m2_sr, rel=1e-9)
        assert own.longest_look_s == pytest.approx(other.longest_s, rel=1e-9)
    assert groups == {"exempt", "RG1", "RG2", "RG3"}
