"""Exposure limits against published tables and worked examples."""

import pytest

from diodewright.hazard.exposure import PUPIL_M2, exposure_limit, skin_limit_W_m2
from diodewright.hazard.factors import c3, c4, c6, c7, cone_mrad, t1_s, t2_s

TIMES_S = (0.25, 10, 30, 100, 30_000)

# Source: worked out by hand from IEC 60825-1:2014 annex A / ICNIRP 2013 rows (second-hand):
# 18 t^-0.25, 10 W/m2; 100 C3 / t and 1 C3 W/m2. W/m2 at TIMES_S, point source.
POINT = {
    405: (25.46, 10, 3.333, 1.0, 1.0),
    450: (25.46, 10, 3.333, 1.0, 1.0),
    465: (25.46, 10, 6.65, 1.995, 1.995),
    488: (25.46, 10, 10, 5.754, 5.754),
    500: (25.46, 10, 10, 10, 10),
    520: (25.46, 10, 10, 10, 10),
    532: (25.46, 10, 10, 10, 10),
    635: (25.46, 10, 10, 10, 10),
    660: (25.46, 10, 10, 10, 10),
}


@pytest.mark.parametrize("wavelength_nm", POINT)
def test_point_source_over_the_visible(wavelength_nm: int) -> None:
    for time_s, W_m2 in zip(TIMES_S, POINT[wavelength_nm], strict=True):
        found = exposure_limit(wavelength_nm, time_s)
        assert found.irradiance_W_m2 == pytest.approx(W_m2, rel=2e-3), time_s
        assert found.dose_J_m2 == pytest.approx(W_m2 * time_s, rel=2e-3)


# Source: the same rows. Which limit is lower; 500 nm is a tie from 100 s on.
@pytest.mark.parametrize(
    ("wavelength_nm", "time_s", "governed_by", "cone"),
    [
        (450, 0.25, "thermal", None),
        (450, 30, "photochemical", 11),
        (450, 30_000, "photochemical", 110),
        (488, 30, "thermal", None),
        (488, 100, "photochemical", 11),
        (500, 30_000, "thermal", None),
        (532, 30_000, "thermal", None),
    ],
)
def test_which_of_the_two_limits_governs(
    wavelength_nm: float, time_s: float, governed_by: str, cone: float | None
) -> None:
    found = exposure_limit(wavelength_nm, time_s)
    assert found.governed_by == governed_by
    assert found.cone_mrad == (None if cone is None else pytest.approx(cone))


def test_a_chance_look_at_green() -> None:
    # Source: ICNIRP 2013 / IEC 60825-1 table A.1: 18 t^0.75 J/m2; 7 mm pupil.
    found = exposure_limit(532, 0.25)
    assert found.dose_J_m2 == pytest.approx(6.364, rel=2e-3)
    assert found.irradiance_W_m2 == pytest.approx(25.46, rel=2e-3)
    assert 1e3 * found.irradiance_W_m2 * PUPIL_M2 == pytest.approx(0.980, rel=2e-3)


def test_a_health_physicist_s_pointer() -> None:
    # Source: a health physicists' mailing list, 23 June 2000 ("Laser calculations"), after ANSI
    # Z136.1 table 5, answered "appear correct": 2 mW at 651 nm is 5.19e-3 W/cm2 over a 7 mm pupil;
    # MPE 6.36e-4 J/cm2 in 0.25 s, 2.5e-3 W/cm2.
    assert pytest.approx(5.19e-3, rel=2e-3) == 0.002 / (PUPIL_M2 * 1e4)
    found = exposure_limit(651, 0.25)
    assert found.dose_J_m2 * 1e-4 == pytest.approx(6.36e-4, rel=2e-3)
    assert found.irradiance_W_m2 * 1e-4 == pytest.approx(2.5e-3, rel=0.02)


@pytest.mark.parametrize(
    ("time_s", "W_m2"), [(18e-6, 276.3), (1e-3, 101.2), (1, 18.0), (2, 15.14), (9.99, 10.125)]
)
def test_thermal_row_to_ten_seconds(time_s: float, W_m2: float) -> None:
    # Source: BGI 832, table 6a, 400 to 700 nm, 18 us to 10 s: 18 t^0.75 C6 J/m2.
    assert exposure_limit(532, time_s).irradiance_W_m2 == pytest.approx(W_m2, rel=1e-3)


def test_correction_factors_as_a_regulation_prints_them() -> None:
    # Source: Norwegian regulations on action and limit values, section 11-5 (C_B, T1, C_E, T2).
    assert [c3(nm) for nm in (400, 450)] == [1, 1]
    assert c3(550) == pytest.approx(100)
    assert [t1_s(nm) for nm in (400, 449, 501, 700)] == [10, 10, 100, 100]
    assert t1_s(475) == pytest.approx(10 * 10**0.5)
    assert [c6(mrad, 10) for mrad in (0, 1.5, 3, 15)] == [1, 1, 2, 10]
    assert [t2_s(mrad) for mrad in (0, 1.5, 100, 500)] == pytest.approx([10, 10, 100, 100])
    assert t2_s(50.75) == pytest.approx(10 * 10**0.5)
    assert t2_s(11) == pytest.approx(12.49, abs=0.005)


def test_widest_angle_and_its_relief() -> None:
    # Source: IEC 60825-1:2014, from memory: 5 mrad, 200 t^0.5 mrad, 100 mrad; C6 at most 66.7.
    assert c6(500, 0.25) == pytest.approx(66.7, abs=0.05)
    assert c6(100, 10) == pytest.approx(66.7, abs=0.05)
    assert c6(100, 0.01) == pytest.approx(20 / 1.5)
    assert c6(100, 100e-6) == pytest.approx(5 / 1.5)
    assert c6(5, 100e-6) == c6(5, 10)


def test_measuring_cone() -> None:
    # Source: BGI 832, A2.5.2: 11 mrad to 100 s, 1.1 t^0.5 to 10 000 s, 110 mrad to 30 000 s.
    assert [cone_mrad(t) for t in (10, 100, 2500, 1e4, 3e4)] == pytest.approx(
        [11, 11, 55, 110, 110]
    )


def test_extended_source_stands_more_heat_but_not_more_blue() -> None:
    # Source: IEC 60825-1:2014 annex A rows, from memory: 18 C6 T2^-0.25 W/m2 after T2.
    red = exposure_limit(650, 1000, source_mrad=11)
    assert red.irradiance_W_m2 == pytest.approx(18 * 7.3333 * 12.487**-0.25, rel=1e-3)
    assert exposure_limit(650, 5, 11).irradiance_W_m2 == pytest.approx(18 * 7.3333 * 5**-0.25, 1e-3)
    assert exposure_limit(450, 1000, 11).irradiance_W_m2 == pytest.approx(1.0)
    # From memory: for wide blue sources the photochemical limit begins at 1 s, not at 10 s.
    assert exposure_limit(450, 1.0, 11).irradiance_W_m2 == pytest.approx(100.0)
    assert exposure_limit(450, 5, 11).irradiance_W_m2 == pytest.approx(20.0)
    assert exposure_limit(450, 0.99, 11).governed_by == "thermal"


def test_skin() -> None:
    # Source: UK laser-safety e-book, p. 104: skin 200 mW/cm2 at 633 nm; 1.1e4 t^0.25 from memory.
    assert skin_limit_W_m2(633, 10) == 2000
    assert skin_limit_W_m2(633, 30_000) == 2000
    assert skin_limit_W_m2(633, 1) == pytest.approx(1.1e4)
    assert skin_limit_W_m2(633, 0.0625) == pytest.approx(1.1e4 * 0.5 / 0.0625)


def test_relief_above_700_nm_as_a_regulation_prints_it() -> None:
    # Source: Norwegian regulations, section 11-5: C_A = 1, then 10^(0.002 (nm - 700)), 5 at 1050.
    assert [c4(nm) for nm in (400, 532, 700)] == [1, 1, 1]
    assert c4(850) == pytest.approx(1.995, abs=5e-4)
    assert c4(1049) == pytest.approx(4.989, abs=5e-4)
    assert c4(1050) == 5
    # Source: C7 (C_C) is 1 up to 1150 nm (IEC 60825-1:2014, from memory).
    assert {c7(nm) for nm in (400, 808, 1050)} == {1.0}


# Source: IEC 60825-1:2014 annex A rows, from memory, worked by hand: 18 C4 t^0.75 J/m2 to 10 s,
# then 10 C4 C7 W/m2; C4 1.644 at 808 nm, 2.570 at 905 nm.
@pytest.mark.parametrize(
    ("wavelength_nm", "time_s", "W_m2"),
    [
        (808, 0.25, 41.85),
        (808, 1.0, 29.59),
        (808, 10, 16.44),
        (808, 30_000, 16.44),
        (905, 100, 25.70),
        (1050, 10, 50.0),
    ],
)
def test_point_source_above_700_nm(wavelength_nm: float, time_s: float, W_m2: float) -> None:
    found = exposure_limit(wavelength_nm, time_s)
    assert found.irradiance_W_m2 == pytest.approx(W_m2, rel=1e-3)
    assert found.governed_by == "thermal"


def test_extended_source_above_700_nm() -> None:
    # Source: 18 C4 C6 C7 T2^-0.25 W/m2 (from memory): 11 mrad, C6 7.333, T2 12.49 s, 850 nm.
    found = exposure_limit(850, 1000, source_mrad=11)
    assert found.irradiance_W_m2 == pytest.approx(18 * 1.9953 * 7.3333 * 12.487**-0.25, rel=1e-3)


def test_skin_stands_more_above_700_nm() -> None:
    # Source: 2000 C4 W/m2 (IEC 60825-1:2014 annex A, from memory).
    assert skin_limit_W_m2(808, 60) == pytest.approx(3288, rel=1e-3)
