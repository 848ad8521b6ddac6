"""The second opinion itself, against worked figures: before it may judge, it is judged."""

import math
from itertools import pairwise

import pytest

from hazard import second_opinion as second
from hazard.second_opinion import ael_W, class_of, led_risk_group, mpe_eye_W_m2, nohd_m

#: Half a unit of the last place that a worked figure is printed with, as a share, at the most.
PRINTED = 2e-3

# ICNIRP 2013 table 5, IEC 60825-1:2014 table A.1, point source: W/m2 worked by hand.
TIMES_s = (0.25, 10, 30, 100, 30_000)
POINT_W_m2 = {
    405: (25.46, 10, 3.333, 1.0, 1.0),
    450: (25.46, 10, 3.333, 1.0, 1.0),
    465: (25.46, 10, 6.65, 1.995, 1.995),
    488: (25.46, 10, 10, 5.754, 5.754),
    500: (25.46, 10, 10, 10, 10),
    **dict.fromkeys((520, 525, 532, 635, 650, 660), (25.46, 10, 10, 10, 10)),
}


@pytest.mark.parametrize("wavelength_nm", POINT_W_m2)
def test_eye_limit_of_a_point_source_is_the_published_one(wavelength_nm: int) -> None:
    limits = [mpe_eye_W_m2(wavelength_nm, time_s) for time_s in TIMES_s]
    assert limits == pytest.approx(POINT_W_m2[wavelength_nm], rel=PRINTED)


def test_eye_limit_follows_the_dose_law_below_10_s() -> None:
    # H = 18 t^0.75 J/m2, ICNIRP 2013 table 5.
    worked_W_m2 = {1e-3: 101.2, 1: 18.0, 2: 15.14, 9.999_999: 10.12}
    for time_s, limit_W_m2 in worked_W_m2.items():
        for wavelength_nm in (450, 532):
            found_W_m2 = mpe_eye_W_m2(wavelength_nm, time_s)
            assert found_W_m2 == pytest.approx(limit_W_m2, rel=PRINTED)
    # A3: 6.364 J/m2, and through a 7 mm pupil (2006/25/EC) 0.980 mW.
    assert mpe_eye_W_m2(532, 0.25) * 0.25 == pytest.approx(6.364, rel=PRINTED)
    assert mpe_eye_W_m2(532, 0.25) * second.PUPIL_m2 == pytest.approx(0.980e-3, rel=PRINTED)


def test_infrared_eye_limit_is_the_visible_one_times_c4() -> None:
    # C_A, 2006/25/EC annex II: 10^0.3 at 850 nm, and 5 from 1050 nm on (the 5 from memory).
    assert second.c4(850) == pytest.approx(1.9953, rel=1e-4)
    assert second.c4(1050) == 5
    assert second.c7(1050) == 1
    assert mpe_eye_W_m2(850, 100) == pytest.approx(19.953, rel=1e-4)
    assert mpe_eye_W_m2(850, 0.25) == pytest.approx(1.9953 * 25.456, rel=1e-4)


def test_extended_source_raises_the_limit_by_c6_and_then_t2() -> None:
    # C_E and T2, 2006/25/EC annex II as the Norwegian regulation 11-5 prints them.
    assert [second.c6(alpha) for alpha in (0, 1.5, 3, 11, 100, 200)] == pytest.approx(
        [1, 1, 2, 7.333, 66.67, 66.67], rel=1e-4
    )
    assert second.c6(200, field_limited=False) == pytest.approx(266.7, rel=PRINTED)
    assert [second.t2_s(alpha) for alpha in (0, 1.5, 11, 100, 200)] == pytest.approx(
        [10, 10, 12.49, 100, 100], rel=PRINTED
    )
    # IEC 60825-1:2014, from memory: 5 mrad below 625 us, 200 t^0.5, 100 mrad from 0.25 s.
    assert [second.alpha_max_mrad(t) for t in (1e-5, 625e-6, 0.01, 0.25, 10)] == pytest.approx(
        [5, 5, 20, 100, 100]
    )
    # By hand: 18 x 7.333 x 0.25^-0.25; 18 x 66.67 x 100^-0.25; at 10 ms 18 x 20/1.5 x 0.01^-0.25.
    assert mpe_eye_W_m2(635, 0.25, 11) == pytest.approx(186.68, rel=1e-4)
    assert mpe_eye_W_m2(635, 3e4, 100) == pytest.approx(379.47, rel=1e-4)
    assert mpe_eye_W_m2(635, 0.01, 50) == pytest.approx(758.95, rel=1e-4)


def test_photochemical_limit_begins_at_t1() -> None:
    # T1, 2006/25/EC annex II: a point source's two limits, 100 C3/t and 10 W/m2, meet there.
    assert [second.t1_s(nm) for nm in (405, 450, 465, 500, 550)] == pytest.approx(
        [10, 10, 19.95, 100, 100], rel=PRINTED
    )
    for wavelength_nm in (455, 465, 480, 499):
        meets_s = second.t1_s(wavelength_nm)
        assert mpe_eye_W_m2(wavelength_nm, 0.999 * meets_s) == 10
        assert mpe_eye_W_m2(wavelength_nm, 1.001 * meets_s) < 10
    # 100 J/m2 in 10.2 s.
    assert mpe_eye_W_m2(450, 10.2) == pytest.approx(9.804, rel=1e-4)


def test_photochemical_limit_counts_within_its_cone() -> None:
    # Cone as the Norwegian regulation 11-5 prints it.
    assert [second.cone_mrad(t) for t in (10, 100, 2500, 1e4, 3e4)] == pytest.approx(
        [11, 11, 55, 110, 110]
    )
    assert mpe_eye_W_m2(450, 100, 55) == 1
    assert mpe_eye_W_m2(450, 100, 55, field_limited=False) == pytest.approx(25)
    assert mpe_eye_W_m2(450, 100, 10, field_limited=False) == 1


def test_early_photochemical_limit_ends_where_the_thermal_one_takes_over() -> None:
    # The footnote's 82 mrad is from memory. That the limits of the whole source meet there at 10 s
    # bears it out: 10 (82/11)^2 = 555.7 and 18 x 82/1.5 x 10^-0.25 = 553.3 W/m2.
    below, above = (
        mpe_eye_W_m2(450, 9.999_999, alpha, field_limited=False) for alpha in (82, 82.001)
    )
    assert below == pytest.approx(above, rel=0.005)
    assert mpe_eye_W_m2(450, 5, 82) == pytest.approx(20)
    assert mpe_eye_W_m2(450, 5, 82.1) == pytest.approx(658.8, rel=1e-3)
    assert mpe_eye_W_m2(450, 1, 50) == pytest.approx(100)
    assert mpe_eye_W_m2(450, 0.999, 50) == pytest.approx(600, rel=1e-3)
    assert mpe_eye_W_m2(484, 1, 50) == pytest.approx(600, rel=1e-3)


def test_skin_limit_is_the_published_one() -> None:
    # 633 nm, 200 mW/cm2: a UK laser-safety e-book, p. 104. The rest by hand from 1.1e4 C4 t^0.25.
    assert second.mpe_skin_W_m2(633, 10) == 2000
    assert second.mpe_skin_W_m2(633, 3e4) == 2000
    assert second.mpe_skin_W_m2(450, 0.25) == pytest.approx(31_113, rel=1e-4)
    assert second.mpe_skin_W_m2(850, 100) == pytest.approx(3990.5, rel=1e-4)
    assert second.mpe_skin_W_m2(633, 1e-7) * 1e-7 == pytest.approx(195.6, rel=1e-3)


# IEC 60825-1:2014 tables 3 to 8; class 1 of 0.039 mW also in a UK laser-safety e-book, p. 105.
EMISSION_mW = [
    (450, "1", 100, 1.5, 0.039),
    (450, "1", 3e4, 1.5, 0.039),
    (465, "1", 100, 1.5, 0.0778),
    (488, "1", 100, 1.5, 0.2244),
    (500, "1", 100, 1.5, 0.39),
    (650, "1", 100, 1.5, 0.39),
    (650, "1", 0.25, 1.5, 0.98995),
    (450, "1", 20, 1.5, 0.195),
    (635, "1", 100, 3, 0.7804),
    (635, "2", 0.25, 0, 1.0),
    (635, "2", 100, 1.5, 1.0),
    (635, "2", 0.25, 3, 2.0),
    (635, "2", 0.25, 11, 7.333),
    (635, "2", 0.25, 100, 66.67),
    (635, "3R", 0.25, 1.5, 5.0),
    (635, "3R", 0.25, 3, 10.0),
    (635, "3B", 0.25, 1.5, 500.0),
    # 0.03 J below 60 ms, C4 longer in infrared: from memory.
    (635, "3B", 0.01, 1.5, 3000.0),
    (850, "3B", 0.1, 1.5, 598.6),
    # 0.78 mW at 850 nm, as optical-fibre papers quote it (from memory); 3R is five times that.
    (850, "1", 100, 1.5, 0.778),
    (850, "3R", 100, 1.5, 3.891),
    (905, "3B", 100, 1.5, 500.0),
]


@pytest.mark.parametrize(
    ("wavelength_nm", "laser_class", "time_s", "alpha_mrad", "limit_mW"), EMISSION_mW
)
def test_emission_limit_is_the_published_one(
    wavelength_nm: float, laser_class: str, time_s: float, alpha_mrad: float, limit_mW: float
) -> None:
    found_mW = 1000 * ael_W(wavelength_nm, laser_class, time_s, alpha_mrad)
    assert found_mW == pytest.approx(limit_mW, rel=1e-3)


@pytest.mark.parametrize("time_s", [0.25, 2, 9, 10, 30, 100, 3e4])
@pytest.mark.parametrize("wavelength_nm", [405, 465, 532, 650, 850])
def test_class_1_is_the_eye_limit_through_a_pupil(wavelength_nm: float, time_s: float) -> None:
    # IEC's 7e-4, 3.9e-4 and 3.9e-5 are the limits times 3.848e-5 m2, rounded up by 1.4 % at most.
    for alpha_mrad in (1.5, 10):
        pupil_W = second.PUPIL_m2 * mpe_eye_W_m2(wavelength_nm, time_s, alpha_mrad)
        class_1_W = ael_W(wavelength_nm, "1", time_s, alpha_mrad)
        assert 1 < class_1_W / pupil_W < 1.014


# A6 (AEL 0.039, 0.39, 1, 5 and 500 mW of IEC 60825-1:2014), and the ends of visible light.
CLASSED = [
    (0.038, 450, 1.5, "1"),
    (0.38, 650, 1.5, "1"),
    (0.5, 450, 1.5, "2"),
    (0.9, 532, 1.5, "2"),
    (4.9, 635, 1.5, "3R"),
    (6, 635, 1.5, "3B"),
    (499, 520, 1.5, "3B"),
    (501, 520, 1.5, "4"),
    (0.0389, 400, 1.5, "1"),
    (0.0391, 400, 1.5, "2"),
    (0.9, 699.9, 1.5, "2"),
    (0.9, 700, 1.5, "3R"),
    (0.9, 850, 1.5, "3R"),
    (4.0, 850, 1.5, "3B"),
    (1000, 850, 1.5, "4"),
    (7.3, 635, 11, "2"),
    (7.4, 635, 11, "3R"),
    (0, 635, 1.5, "1"),
    (1, 635, 1.5, "2"),
]


@pytest.mark.parametrize(("power_mW", "wavelength_nm", "alpha_mrad", "laser_class"), CLASSED)
def test_class_is_the_lowest_whose_limit_allows_the_power(
    power_mW: float, wavelength_nm: float, alpha_mrad: float, laser_class: str
) -> None:
    assert class_of(power_mW / 1000, wavelength_nm, alpha_mrad) == laser_class


def test_source_is_a_point_where_nothing_is_said() -> None:
    assert ael_W(635, "2", 0.25) == 1e-3
    assert class_of(1.001e-3, 635) == "3R"


# IEC TR 60825-14's formula worked by hand; W, mrad, mm, W/m2, m.
DISTANCES = [
    (1.0, 1, 0, 25.456, 223.6),  # A5
    (1e-3, 1, 1, 25.456, 6.07),
    (5e-3, 1, 2, 25.456, 13.81),
    (0.1, 1, 1, 25.4, 69.8),
    (1.6, 2, 3, 25.456, 139.9),
    (1.6, 1, 4, 1.0, 1423),
    (1.6, 400, 0, 25.456, 0.707),
]


@pytest.mark.parametrize(("power_W", "spread_mrad", "hole_mm", "limit_W_m2", "far_m"), DISTANCES)
def test_hazard_distance_of_a_round_beam_is_the_worked_one(
    power_W: float, spread_mrad: float, hole_mm: float, limit_W_m2: float, far_m: float
) -> None:
    found_m = nohd_m(power_W, limit_W_m2, spread_mrad, spread_mrad, hole_mm, hole_mm)
    assert found_m == pytest.approx(far_m, rel=PRINTED)


def test_published_distance_of_1_W_in_1_mrad() -> None:
    # "1000 mW, 1 mrad: 225 m", a UK laser-safety e-book, p. 110.
    assert nohd_m(1, mpe_eye_W_m2(532, 0.25), 1, 1, 0, 0) == pytest.approx(225, rel=0.01)


def test_elliptical_beam_has_the_limit_at_its_distance() -> None:
    # The definition put in: P = MPE pi/4 (a_x + r phi_x)(a_y + r phi_y), IEC TR 60825-14.
    for power_W, x_mrad, y_mrad, x_mm, y_mm in (
        (1.6, 122, 401, 0.03, 0.001),
        (0.8, 0.5, 2, 5, 1),
        (0.01, 1, 300, 0, 2),
    ):
        far_m = nohd_m(power_W, 10, x_mrad, y_mrad, x_mm, y_mm)
        width_m, height_m = x_mm / 1e3 + far_m * x_mrad / 1e3, y_mm / 1e3 + far_m * y_mrad / 1e3
        assert power_W / (math.pi / 4 * width_m * height_m) == pytest.approx(10, rel=1e-9)
    # A round beam's hole and spread may be shared out between the axes: sqrt(x y) counts.
    assert nohd_m(1, 10, 0.5, 2, 0, 0) == pytest.approx(nohd_m(1, 10, 1, 1, 0, 0))


def test_beam_below_the_limit_at_its_aperture_has_no_hazard_distance() -> None:
    # By hand: 1 mW in 10 mm x 13 mm is 9.79 W/m2.
    assert nohd_m(1e-3, 10, 1, 1, 10, 13) == 0
    assert nohd_m(0, 10, 1, 1, 0, 0) == 0
    assert nohd_m(1e-3, 9.7, 1, 1, 10, 13) > 0


def test_gaussian_widths_are_brought_to_1_e() -> None:
    # exp(-(x/w)^2): half at 0.8326 w (ANSI Z136.1 app. B from memory: 1/e2 width / sqrt 2).
    assert second.full_width_1e(1) == pytest.approx(0.70711, rel=1e-5)
    assert second.full_width_1e_of_half_maximum(1) == pytest.approx(1.20112, rel=1e-5)
    assert second.full_width_1e(1.69864) == pytest.approx(
        second.full_width_1e_of_half_maximum(1), rel=1e-5
    )


def test_matt_target_is_safe_beyond_lamberts_distance() -> None:
    # By hand from sqrt(rho P cos/(pi MPE)), Lambert's law.
    assert second.diffuse_distance_m(1, 25.456, 1, 0) == pytest.approx(0.1118, rel=PRINTED)
    assert second.diffuse_distance_m(1, 10, 0.9, 0) == pytest.approx(0.1693, rel=PRINTED)
    assert second.diffuse_distance_m(4, 10, 0.9, 0) == pytest.approx(0.3385, rel=PRINTED)
    assert second.diffuse_distance_m(1, 10, 0.9, 60) == pytest.approx(0.1197, rel=PRINTED)
    assert second.diffuse_distance_m(1, 10, 0.9, 90) == pytest.approx(0, abs=1e-8)


# OD = log10(H0/MPE) over a 7 mm pupil, by hand; W, nm, s.
DENSITIES = [
    (1.0, 532, 0.25, 3.01),
    (1.0, 532, 10, 3.41),
    (1.6, 450, 0.25, 3.213),  # A7
    (1.6, 450, 10, 3.62),
    (1.6, 450, 3e4, 4.62),
    (0.5, 532, 0.25, 2.71),
    (5e-3, 532, 0.25, 0.71),
    (0.5e-3, 532, 0.25, 0),
]


@pytest.mark.parametrize(("power_W", "wavelength_nm", "time_s", "density"), DENSITIES)
def test_eyewear_density_is_the_worked_one(
    power_W: float, wavelength_nm: float, time_s: float, density: float
) -> None:
    limit_W_m2 = mpe_eye_W_m2(wavelength_nm, time_s)
    for beam_mm in (1, 7):
        found = second.optical_density(power_W, beam_mm, limit_W_m2)
        assert found == pytest.approx(density, abs=0.01)


def test_beam_wider_than_the_pupil_needs_less_density() -> None:
    # 70 mm is a hundred times the pupil's area.
    assert second.optical_density(1.6, 70, 25.456) == pytest.approx(1.213, abs=0.01)


# EN 207:2017 mode D: 10^(n+1) W/m2 by hand; W, mm.
MARKS = [
    (1.6, 1, 6),  # A7
    (0.5, 1, 5),
    (0.1, 1, 5),
    (5e-3, 1, 3),
    (1.6, 3, 5),
    (0, 1, 1),
    (1e-6, 1, 1),
    (7.8e4, 1, 10),
]


@pytest.mark.parametrize(("power_W", "beam_mm", "number"), MARKS)
def test_eyewear_mark_is_the_least_that_stands_the_beam(
    power_W: float, beam_mm: float, number: int
) -> None:
    assert second.scale_number(power_W, beam_mm) == number


def test_lumens_are_the_worked_ones() -> None:
    pytest.importorskip("colour", reason="the table of V(lambda) is colour-science's")
    lumens = second.luminous_efficacy_lm_W
    # A1, A2: CIE 1924 V(lambda) x 683 lm/W.
    assert 5e-3 * lumens(532) == pytest.approx(3.022, rel=1e-3)
    assert 2e-3 * lumens(650) == pytest.approx(0.1462, rel=1e-3)
    assert lumens(525) == pytest.approx(541.8, rel=1e-3)
    assert lumens(450) == pytest.approx(25.95, rel=1e-3)
    assert lumens(555) == 683
    assert lumens(532.5) == pytest.approx((lumens(532) + lumens(533)) / 2)
    # Sum of the CIE's table, 360 to 830 nm.
    assert sum(map(lumens, range(360, 831))) / 683 == pytest.approx(106.8569, abs=1e-4)


def test_blue_weight_is_the_published_one() -> None:
    # IEC 62471 B(lambda) as luxpy 1.12.5 carries it.
    read = {400: 0.1, 405: 0.2, 410: 0.4, 415: 0.8, 420: 0.9, 425: 0.95, 430: 0.98, 435: 1, 440: 1}
    read |= {445: 0.97, 450: 0.94, 455: 0.9, 460: 0.8, 465: 0.7, 470: 0.62, 475: 0.55, 480: 0.45}
    read |= {485: 0.4, 490: 0.22, 495: 0.16, 500: 0.1, 525: 0.0316, 550: 0.01, 650: 0.001}
    for wavelength_nm, weight in read.items():
        assert second.blue_weight(wavelength_nm) == pytest.approx(weight, rel=PRINTED)
    assert second.blue_weight(402.5) == pytest.approx(0.15)


def test_one_watt_chips_have_the_worked_groups() -> None:
    # IEC 62471:2006: L = P/(pi A); 3.183e5 W/m2/sr for 1 W from 1 mm2; t = 1e6/L_B.
    blue, green, red = (led_risk_group(1, 1, nm) for nm in (450, 525, 660))
    assert blue.blue_radiance_W_m2_sr == pytest.approx(2.99e5, rel=PRINTED)
    assert (blue.group, round(blue.longest_s, 2)) == ("RG2", 3.34)
    assert green.blue_radiance_W_m2_sr == pytest.approx(1.007e4, rel=PRINTED)
    assert (green.group, round(green.longest_s)) == ("RG2", 99)
    assert red.group == "RG1"
    assert led_risk_group(1, 4, 660).group == "exempt"
    assert led_risk_group(1, 4, 660).longest_s == math.inf


@pytest.mark.parametrize(
    ("limit", "below", "above"), [(100, "exempt", "RG1"), (1e4, "RG1", "RG2"), (4e6, "RG2", "RG3")]
)
def test_group_ends_at_its_blue_radiance(limit: float, below: str, above: str) -> None:
    # IEC 62471:2006, limits from memory. By hand: 440 nm has B = 1, and 1 mm2 pi 1e-6 W to 1.
    assert led_risk_group(0.99 * limit * math.pi * 1e-6, 1, 440).group == below
    assert led_risk_group(1.01 * limit * math.pi * 1e-6, 1, 440).group == above


@pytest.mark.parametrize(("limit", "below", "above"), [(1, "exempt", "RG2"), (400, "RG2", "RG3")])
def test_group_of_a_small_chip_ends_at_its_irradiance(limit: float, below: str, above: str) -> None:
    # IEC 62471:2006, limits from memory. By hand: pi 0.2^2 W to 1 W/m2.
    assert led_risk_group(0.99 * limit * math.pi * 0.04, 1, 440).small_source_group == below
    assert led_risk_group(1.01 * limit * math.pi * 0.04, 1, 440).small_source_group == above


def test_small_chips_may_also_be_judged_by_irradiance() -> None:
    # By hand: E = 1/(pi 0.2^2) = 7.958 W/m2, B 0.94 and 0.0316; limits 1 and 400 W/m2, 100/E_B s.
    blue, green = led_risk_group(1, 1, 450), led_risk_group(1, 1, 525)
    assert blue.blue_irradiance_W_m2 == pytest.approx(7.480, rel=1e-3)
    assert (blue.small_source_group, blue.small_source_longest_s) == (
        "RG2",
        pytest.approx(13.37, rel=1e-3),
    )
    assert (green.small_source_group, green.small_source_longest_s) == ("exempt", math.inf)
    # 11 mrad at 200 mm is 2.2 mm.
    assert led_risk_group(1, 4.83, 450).small_source_group is not None
    assert led_risk_group(1, 4.85, 450).small_source_group is None
    assert led_risk_group(1, 4.85, 450).small_source_longest_s is None


def test_no_eye_limit_of_steady_light_rises_with_time() -> None:
    # From 0.25 s; before, a source wider than 5 mrad gains by alpha_max faster than it loses.
    times_s = sorted([0.25 * 1.07**n for n in range(172)] + [1, 10, 100, 1e4, 3e4])
    for wavelength_nm in (400, 449, 465, 483, 499, 532, 599, 601, 850, 1050):
        for alpha_mrad in (0, 1.5, 2, 11, 50, 100):
            limits = [mpe_eye_W_m2(wavelength_nm, time_s, alpha_mrad) for time_s in times_s]
            assert all(late <= early * (1 + 1e-12) for early, late in pairwise(limits))
    assert mpe_eye_W_m2(532, 0.2, 50) > mpe_eye_W_m2(532, 0.002, 50)
