"""Laser classes against published limits."""

import pytest

from diodewright.hazard.exposure import PUPIL_M2, exposure_limit
from diodewright.hazard.laser_class import class_limits, classify


# Source: IEC 60825-1:2014 emission limits 0.039, 0.39, 1, 5, 500 mW (second-hand: UK laser-safety
# e-book pp. 105-107, IEEE emc-pstc list).
@pytest.mark.parametrize(
    ("mW", "wavelength_nm", "laser_class"),
    [
        (0.038, 450, "1"),
        (0.040, 450, "2"),
        (0.38, 650, "1"),
        (0.40, 650, "2"),
        (0.5, 450, "2"),
        (0.9, 532, "2"),
        (1.1, 532, "3R"),
        (4.9, 635, "3R"),
        (6, 635, "3B"),
        (499, 450, "3B"),
        (499, 520, "3B"),
        (501, 520, "4"),
        (1000, 405, "4"),
    ],
)
def test_class_of_a_power(mW: float, wavelength_nm: float, laser_class: str) -> None:
    assert classify(mW * 1e-3, wavelength_nm) == laser_class


def _limit_mW(laser_class: str, wavelength_nm: float, source_mrad: float = 1.5) -> float:
    rows = {row.laser_class: row.limit_W for row in class_limits(wavelength_nm, source_mrad)}
    return 1e3 * rows[laser_class]


# Source: the same; class 1 from 450 to 500 nm is 0.039 C3 mW, at most 0.39 mW.
@pytest.mark.parametrize(
    ("wavelength_nm", "mW"),
    [(400, 0.039), (450, 0.039), (475, 0.1233), (500, 0.39), (532, 0.39), (700, 0.39)],
)
def test_class_1_over_the_visible(wavelength_nm: float, mW: float) -> None:
    assert _limit_mW("1", wavelength_nm) == pytest.approx(mW, rel=1e-3)


@pytest.mark.parametrize("wavelength_nm", range(400, 700, 5))
def test_class_limits_are_eye_limits_through_a_7_mm_pupil(wavelength_nm: int) -> None:
    # Source: IEC 60825-1 derives them so, rounded: 0.980 mW becomes 1 mW, 0.3848 mW 0.39 mW.
    for laser_class, time_s in (("1", 100.0), ("2", 0.25)):
        through_mW = 1e3 * exposure_limit(wavelength_nm, time_s).irradiance_W_m2 * PUPIL_M2
        assert _limit_mW(laser_class, wavelength_nm) == pytest.approx(through_mW, rel=0.03)


# Source: C6 examples worked out from alpha / 1.5 mrad, at most 66.7.
@pytest.mark.parametrize(("mrad", "mW"), [(1.5, 1), (3, 2), (11, 7.333), (100, 66.7), (300, 66.7)])
def test_a_measured_wide_source_is_relieved(mrad: float, mW: float) -> None:
    assert _limit_mW("2", 532, mrad) == pytest.approx(mW, rel=1e-3)
    assert _limit_mW("3R", 532, mrad) == pytest.approx(5 * mW, rel=1e-3)
    assert _limit_mW("3B", 532, mrad) == 500


def test_class_1_of_a_wide_source() -> None:
    # Source: IEC 60825-1:2014, from memory: 7e-4 C6 T2^-0.25 W; the blue limit gets no relief.
    assert _limit_mW("1", 650, 11) == pytest.approx(0.7 * 7.3333 * 12.487**-0.25, rel=1e-3)
    assert _limit_mW("1", 450, 11) == pytest.approx(0.039)


# Source: IEC 60825-1:2014, from memory: class 1 0.39 C4 C7 mW, 3R five times that, 3B 0.5 W, no
# class 2; C4 1.644 at 808 nm, 5 at 1050 nm.
@pytest.mark.parametrize(
    ("wavelength_nm", "mW"), [(700, 0.39), (701, 0.3918), (808, 0.6413), (1050, 1.95)]
)
def test_unseen_light_has_no_class_2(wavelength_nm: float, mW: float) -> None:
    assert [row.laser_class for row in class_limits(wavelength_nm)] == ["1", "3R", "3B", "4"]
    assert _limit_mW("1", wavelength_nm) == pytest.approx(mW, rel=1e-3)
    assert _limit_mW("3R", wavelength_nm) == pytest.approx(5 * mW, rel=1e-3)
    assert _limit_mW("3B", wavelength_nm) == 500
    assert classify(1.001e-3 * mW, wavelength_nm) == "3R"


@pytest.mark.parametrize("wavelength_nm", range(710, 1051, 20))
def test_class_1_above_700_nm_is_the_eye_s_limit_through_a_pupil(wavelength_nm: int) -> None:
    # Source: as for visible light: 10 C4 C7 W/m2 times 38.5 mm2, rounded up by 1.3 %.
    through_mW = 1e3 * exposure_limit(wavelength_nm, 100).irradiance_W_m2 * PUPIL_M2
    assert _limit_mW("1", wavelength_nm) == pytest.approx(through_mW, rel=0.03)


def test_class_1_of_a_wide_source_above_700_nm() -> None:
    # Source: 7e-4 C4 C6 C7 T2^-0.25 W, from memory: 11 mrad at 850 nm.
    expected_mW = 0.7 * 1.9953 * 7.3333 * 12.487**-0.25
    assert _limit_mW("1", 850, 11) == pytest.approx(expected_mW, rel=1e-3)
    assert _limit_mW("3R", 850, 11) == pytest.approx(5 * expected_mW, rel=1e-3)
