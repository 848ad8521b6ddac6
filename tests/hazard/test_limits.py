"""Limits and classes behave as they must between the published points."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diodewright.hazard.exposure import exposure_limit
from diodewright.hazard.factors import c3, c4, t1_s
from diodewright.hazard.laser_class import CLASSES, class_limits, classify

WAVELENGTHS = st.floats(400, 1050)
ANGLES = st.floats(0, 3000)
TIMES = st.floats(18e-6, 30_000)


@given(WAVELENGTHS, TIMES, TIMES)
def test_longer_look_at_a_point_is_never_allowed_more_irradiance(
    wavelength_nm: float, one_s: float, other_s: float
) -> None:
    short, long = (exposure_limit(wavelength_nm, t) for t in sorted((one_s, other_s)))
    assert long.irradiance_W_m2 <= short.irradiance_W_m2


@given(WAVELENGTHS, st.floats(0.25, 30_000), st.floats(0.25, 30_000), ANGLES)
def test_longer_look_at_a_wide_source_is_never_allowed_more_irradiance(
    wavelength_nm: float, one_s: float, other_s: float, mrad: float
) -> None:
    short, long = (exposure_limit(wavelength_nm, t, mrad) for t in sorted((one_s, other_s)))
    assert long.irradiance_W_m2 <= short.irradiance_W_m2 * (1 + 1e-12)


@given(TIMES, TIMES, st.floats(0, 5))
def test_nor_of_a_source_of_at_most_5_mrad_at_any_time(
    one_s: float, other_s: float, mrad: float
) -> None:
    short, long = (exposure_limit(532, t, mrad) for t in sorted((one_s, other_s)))
    assert long.irradiance_W_m2 <= short.irradiance_W_m2 * (1 + 1e-12)


def test_the_widest_angle_grows_faster_than_the_limit_falls_below_a_quarter_second() -> None:
    # Source: 18 (200 t^0.5 / 1.5) t^-0.25 W/m2 rises as t^0.25 (IEC 60825-1:2014, from memory).
    short, long = (exposure_limit(532, t, 100).irradiance_W_m2 for t in (1e-3, 16e-3))
    assert long == pytest.approx(2 * short)


@given(WAVELENGTHS, TIMES, ANGLES, ANGLES)
def test_a_wider_source_is_never_allowed_less(
    wavelength_nm: float, time_s: float, one_mrad: float, other_mrad: float
) -> None:
    narrow, wide = (
        exposure_limit(wavelength_nm, time_s, a) for a in sorted((one_mrad, other_mrad))
    )
    assert narrow.irradiance_W_m2 <= wide.irradiance_W_m2 * (1 + 1e-12)


@given(WAVELENGTHS, ANGLES, ANGLES, st.floats(0, 1))
def test_a_wider_source_is_never_a_higher_class(
    wavelength_nm: float, one_mrad: float, other_mrad: float, power_W: float
) -> None:
    narrow, wide = sorted((one_mrad, other_mrad))
    limits = zip(
        class_limits(wavelength_nm, narrow), class_limits(wavelength_nm, wide), strict=True
    )
    assert all(at.limit_W <= beside.limit_W * (1 + 1e-12) for at, beside in limits)
    classes = [CLASSES.index(classify(power_W, wavelength_nm, a)) for a in (narrow, wide)]
    assert classes[1] <= classes[0]


@given(TIMES, ANGLES, st.floats(700, 1050), st.floats(700, 1050))
def test_unseen_light_is_allowed_more_the_longer_its_wave(
    time_s: float, mrad: float, one_nm: float, other_nm: float
) -> None:
    short, long = (exposure_limit(nm, time_s, mrad) for nm in sorted((one_nm, other_nm)))
    assert short.irradiance_W_m2 <= long.irradiance_W_m2


@given(st.floats(400, 700), TIMES)
def test_no_colour_is_allowed_more_than_green(wavelength_nm: float, time_s: float) -> None:
    green = exposure_limit(532, time_s)
    assert exposure_limit(wavelength_nm, time_s).irradiance_W_m2 <= green.irradiance_W_m2


@given(WAVELENGTHS, st.floats(10, 30_000), st.floats(0, 3000))
def test_both_limits_hold_at_once(wavelength_nm: float, time_s: float, mrad: float) -> None:
    found = exposure_limit(wavelength_nm, time_s, mrad)
    if wavelength_nm <= 600:
        photochemical_W_m2 = 100 * c3(wavelength_nm) / min(time_s, 100)
        assert found.irradiance_W_m2 <= photochemical_W_m2 * (1 + 1e-12)
    most_W_m2 = 18 * c4(wavelength_nm) * 100 / 1.5 * 10**-0.25
    assert found.irradiance_W_m2 <= most_W_m2 * (1 + 1e-12)
    assert (found.cone_mrad is None) == (found.governed_by == "thermal")


def test_photochemical_limit_ends_at_600_nm_where_it_no_longer_matters() -> None:
    wide = [exposure_limit(nm, 100, source_mrad=100).irradiance_W_m2 for nm in (599, 600, 601)]
    assert wide[0] == pytest.approx(wide[2])
    assert wide[1] == pytest.approx(wide[2])


@given(st.floats(450, 500))
def test_t1_is_where_the_two_limits_of_a_point_meet(wavelength_nm: float) -> None:
    assert 100 * c3(wavelength_nm) / t1_s(wavelength_nm) == pytest.approx(10)


@given(WAVELENGTHS, st.floats(0, 10), st.floats(0, 10), st.floats(0, 3000))
def test_more_light_is_never_a_lower_class(
    wavelength_nm: float, one_W: float, other_W: float, mrad: float
) -> None:
    low, high = (CLASSES.index(classify(w, wavelength_nm, mrad)) for w in sorted((one_W, other_W)))
    assert low <= high


@given(WAVELENGTHS, st.floats(0, 3000))
def test_limits_of_the_classes_rise(wavelength_nm: float, mrad: float) -> None:
    rows = class_limits(wavelength_nm, mrad)
    unseen = wavelength_nm >= 700
    assert [row.laser_class for row in rows] == [c for c in CLASSES if c != "2" or not unseen]
    limits_W = [row.limit_W for row in rows]
    assert limits_W == sorted(limits_W)
    for row in rows[:-1]:
        assert classify(row.limit_W, wavelength_nm, mrad) == row.laser_class
        assert classify(row.limit_W * 1.0001, wavelength_nm, mrad) != row.laser_class


def test_no_light_is_class_1_and_lumens_do_not_decide() -> None:
    assert classify(0.0, 520) == "1"
    # 0.44 lm of violet: dim, and class 4.
    assert classify(1.0, 405) == "4"
