"""Limits and classes behave as they must between the published points."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diodewright.hazard.exposure import c3, exposure_limit, t1_s
from diodewright.hazard.laser_class import CLASSES, class_limits, classify

WAVELENGTHS = st.floats(400, 700)
TIMES = st.floats(18e-6, 30_000)


@given(WAVELENGTHS, TIMES, TIMES)
def test_longer_look_at_a_point_is_never_allowed_more_irradiance(
    wavelength_nm: float, one_s: float, other_s: float
) -> None:
    short, long = (exposure_limit(wavelength_nm, t) for t in sorted((one_s, other_s)))
    assert long.irradiance_W_m2 <= short.irradiance_W_m2


@given(WAVELENGTHS, TIMES)
def test_no_colour_is_allowed_more_than_green(wavelength_nm: float, time_s: float) -> None:
    green = exposure_limit(532, time_s)
    assert exposure_limit(wavelength_nm, time_s).irradiance_W_m2 <= green.irradiance_W_m2


@given(WAVELENGTHS, st.floats(10, 30_000), st.floats(0, 3000))
def test_both_limits_hold_at_once(wavelength_nm: float, time_s: float, mrad: float) -> None:
    found = exposure_limit(wavelength_nm, time_s, mrad)
    if wavelength_nm <= 600:
        photochemical_W_m2 = 100 * c3(wavelength_nm) / min(time_s, 100)
        assert found.irradiance_W_m2 <= photochemical_W_m2 * (1 + 1e-12)
    assert found.irradiance_W_m2 <= 18 * 100 / 1.5 * 10**-0.25 * (1 + 1e-12)
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
    assert [row.laser_class for row in rows] == list(CLASSES)
    limits_W = [row.limit_W for row in rows]
    assert limits_W == sorted(limits_W)
    for row in rows[:-1]:
        assert classify(row.limit_W, wavelength_nm, mrad) == row.laser_class
        assert classify(row.limit_W * 1.0001, wavelength_nm, mrad) != row.laser_class


def test_no_light_is_class_1_and_lumens_do_not_decide() -> None:
    assert classify(0.0, 520) == "1"
    # 0.44 lm of violet: dim, and class 4.
    assert classify(1.0, 405) == "4"
