"""Distances, eyewear and LED groups: what holds for every case."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diodewright.hazard.beam import Beam, Emitter, bare_beam, collimated_beam, focused_beam
from diodewright.hazard.distance import diffuse_distance_m, nohd_m
from diodewright.hazard.exposure import exposure_limit
from diodewright.hazard.eyewear import choose_eyewear, optical_density
from diodewright.hazard.irradiance import (
    BINOCULARS,
    EYE,
    irradiance_W_m2,
    pupil_irradiance_W_m2,
    share_through,
)
from diodewright.hazard.led_distance import falls_to_m
from diodewright.hazard.led_risk import GROUPS, assess_led, blue_weighting
from diodewright.hazard.reach import beam_distance_m, reflected_distance_m

POWERS = st.floats(1e-4, 20)
WIDTHS = st.floats(1e-3, 50)
SPREADS = st.floats(0.01, 1000)
BEAMS = st.builds(Beam, WIDTHS, WIDTHS, SPREADS, SPREADS)
EMITTERS = st.builds(
    Emitter, st.floats(0.5, 400), st.floats(0.5, 400), st.floats(1, 60), st.floats(1, 60)
)
METRES = st.floats(0, 1e4)
LIMITS = st.floats(1, 100)


@given(POWERS, LIMITS, st.floats(0.1, 100), st.floats(0, 10))
def test_irradiance_at_the_hazard_distance_is_the_limit(
    power_W: float, limit_W_m2: float, mrad: float, beam_mm: float
) -> None:
    metres = nohd_m(power_W, limit_W_m2, mrad, beam_mm)
    wide_m = beam_mm * 1e-3 + metres * mrad * 1e-3
    if wide_m == 0:
        return
    irradiance_W_m2 = power_W / (math.pi / 4 * wide_m**2)
    if metres > 0:
        assert irradiance_W_m2 == pytest.approx(limit_W_m2, rel=1e-6)
    else:
        assert irradiance_W_m2 <= limit_W_m2 * (1 + 1e-9)


def test_beam_below_the_limit_at_its_exit_has_no_hazard_distance() -> None:
    assert nohd_m(1e-3, 25.46, 1.0, beam_mm=10) == 0.0
    assert nohd_m(0.0, 25.46, 1.0) == 0.0


def test_binoculars_lengthen_the_hazard_distance() -> None:
    assert nohd_m(1.0, 10, 1.0, gain=49) == pytest.approx(7 * nohd_m(1.0, 10, 1.0))


@given(POWERS, LIMITS, st.floats(0.05, 1), st.floats(0, 89))
def test_irradiance_of_the_spot_at_its_distance_is_the_limit(
    power_W: float, limit_W_m2: float, reflectance: float, deg: float
) -> None:
    metres = diffuse_distance_m(power_W, limit_W_m2, reflectance, deg)
    towards_W = reflectance * power_W * math.cos(math.radians(deg))
    assert towards_W / (math.pi * metres**2) == pytest.approx(limit_W_m2, rel=1e-6)


def test_spot_seen_along_the_wall_or_on_black_is_no_hazard() -> None:
    assert diffuse_distance_m(1.0, 10, angle_deg=90) == pytest.approx(0, abs=1e-8)
    assert diffuse_distance_m(1.0, 10, reflectance=0) == 0


@given(POWERS, st.floats(400, 700), st.floats(0.5, 100), st.sampled_from([0.25, 10.0, 30_000.0]))
def test_eyewear_brings_the_beam_below_the_limit(
    power_W: float, wavelength_nm: float, beam_mm: float, time_s: float
) -> None:
    need = choose_eyewear(power_W, wavelength_nm, beam_mm, time_s)
    limit_W_m2 = exposure_limit(wavelength_nm, time_s).irradiance_W_m2
    at_eye_W_m2 = power_W / (math.pi / 4 * (max(beam_mm, 7) * 1e-3) ** 2)
    assert at_eye_W_m2 * 10**-need.optical_density_at_least <= limit_W_m2
    assert need.optical_density <= need.optical_density_at_least < need.optical_density + 1
    at_filter_W_m2 = power_W / (math.pi / 4 * (beam_mm * 1e-3) ** 2)
    assert at_filter_W_m2 <= 10 ** (need.scale_number + 1) * (1 + 1e-9)
    assert need.scale_number >= need.optical_density_at_least


def test_beam_narrower_than_the_pupil_counts_over_the_pupil() -> None:
    assert optical_density(1, 10, 0.5) == optical_density(1, 10, 7.0)
    assert optical_density(1, 10, 14.0) == pytest.approx(optical_density(1, 10, 7) - math.log10(4))


def test_where_the_eye_asks_for_more_than_the_beam_the_eye_rules() -> None:
    # 1.6 W over 10 mm: 2.04e4 W/m2, which LB4 stands; the eye needs OD 4.3 for a day of 450 nm.
    need = choose_eyewear(1.6, 450, 10.0, 30_000)
    assert need.optical_density > 4
    assert need.marking == "D 450 LB5"


def test_supplier_must_always_confirm() -> None:
    for beam_mm in (0.5, 1.0, 5.0):
        need = choose_eyewear(1.0, 520, beam_mm, 10)
        assert need.supplier_must_confirm is True
        assert any("factor for a beam" in each for each in need.confirm)
        assert f"1 W in {beam_mm:g} mm at 520 nm" in need.confirm[0]


def test_harmless_beam_needs_no_density() -> None:
    assert optical_density(1e-5, 25.46, 2.0) == 0.0


@given(st.floats(0, 20), st.floats(0, 20), st.floats(400, 700), st.floats(0.1, 10))
def test_brighter_chip_is_never_a_lower_group(
    one_W: float, other_W: float, peak_nm: float, chip_mm2: float
) -> None:
    low, high = (assess_led(w, chip_mm2, peak_nm) for w in sorted((one_W, other_W)))
    assert GROUPS.index(low.group) <= GROUPS.index(high.group)
    assert low.longest_look_s >= high.longest_look_s


def test_dark_or_dim_chip_may_be_looked_at_for_ever() -> None:
    assert assess_led(0.0, 1.0, 450).longest_look_s == math.inf
    assert assess_led(0.0, 1.0, 450).group == "exempt"


def test_led_says_what_it_does_not_judge() -> None:
    assert assess_led(1.0, 1.0, 450).not_judged == ("ultraviolet", "infrared")


@given(st.floats(430, 699))
def test_a_very_narrow_led_is_a_line(peak_nm: float) -> None:
    assert blue_weighting(peak_nm, 0.1) == pytest.approx(blue_weighting(peak_nm), rel=6e-3)


@given(POWERS, BEAMS, METRES, METRES)
def test_distance_never_raises_the_irradiance(
    power_W: float, beam: Beam, one_m: float, other_m: float
) -> None:
    near, far = sorted((one_m, other_m))
    for found in (irradiance_W_m2, pupil_irradiance_W_m2):
        assert found(power_W, beam, far) <= found(power_W, beam, near) * (1 + 1e-9)


@given(POWERS, EMITTERS, st.floats(2, 100), st.floats(1.1, 50), METRES, METRES)
def test_nor_does_it_behind_a_focus(
    power_W: float, emitter: Emitter, focal_mm: float, times: float, one_m: float, other_m: float
) -> None:
    beam = focused_beam(emitter, focal_mm, times * focal_mm)
    near, far = (beam.waist_m + more for more in sorted((one_m, other_m)))
    assert irradiance_W_m2(power_W, beam, far) <= irradiance_W_m2(power_W, beam, near) * (1 + 1e-9)
    at_lens = irradiance_W_m2(power_W, beam, 0.0)
    assert at_lens <= irradiance_W_m2(power_W, beam, beam.waist_m)


@given(POWERS, BEAMS, METRES)
def test_a_pupil_never_sees_more_than_the_middle_nor_than_all_of_it(
    power_W: float, beam: Beam, at_m: float
) -> None:
    seen_W_m2 = pupil_irradiance_W_m2(power_W, beam, at_m)
    assert seen_W_m2 <= irradiance_W_m2(power_W, beam, at_m) * (1 + 1e-6)
    assert seen_W_m2 <= power_W / (math.pi / 4 * 7e-3**2) * (1 + 1e-9)


@given(BEAMS)
def test_a_share_is_a_share_and_binoculars_catch_no_less_than_their_own_glass(beam: Beam) -> None:
    for aperture_mm, at_m in (EYE, BINOCULARS):
        assert 0 <= share_through(beam, at_m, aperture_mm) <= 1 + 1e-12
    assert share_through(beam, 2.0, 7.0) <= share_through(beam, 2.0, 50.0)


@given(POWERS, LIMITS, BEAMS)
def test_irradiance_at_the_hazard_distance_of_a_flat_beam_is_the_limit(
    power_W: float, limit_W_m2: float, beam: Beam
) -> None:
    metres = beam_distance_m(power_W, limit_W_m2, beam)
    there_W_m2 = irradiance_W_m2(power_W, beam, metres)
    if metres > 0:
        assert there_W_m2 == pytest.approx(limit_W_m2, rel=1e-6)
    else:
        assert there_W_m2 <= limit_W_m2 * (1 + 1e-9)


@given(POWERS, LIMITS, BEAMS, st.floats(0, 1), st.floats(0, 1))
def test_irradiance_at_a_glossy_target_s_distance_is_the_limit(
    power_W: float, limit_W_m2: float, beam: Beam, share: float, of_it: float
) -> None:
    mirrored, diffuse = share * of_it, share * (1 - of_it)
    metres = reflected_distance_m(power_W, limit_W_m2, beam, mirrored, diffuse)
    assert metres >= beam_distance_m(mirrored * power_W, limit_W_m2, beam) * (1 - 1e-9)
    if metres > 0:
        there_W_m2 = irradiance_W_m2(mirrored * power_W, beam, metres)
        there_W_m2 += diffuse * power_W / (math.pi * metres**2)
        assert there_W_m2 == pytest.approx(limit_W_m2, rel=1e-6)


@given(EMITTERS, st.floats(2, 100))
def test_no_lens_changes_width_times_divergence(emitter: Emitter, focal_mm: float) -> None:
    bare = bare_beam(emitter)
    for beam in (collimated_beam(emitter, focal_mm), focused_beam(emitter, focal_mm, 3 * focal_mm)):
        assert beam.wide_mm * beam.wide_mrad == pytest.approx(bare.wide_mm * bare.wide_mrad)
        assert beam.high_mm * beam.high_mrad == pytest.approx(bare.high_mm * bare.high_mrad)


@given(POWERS, st.floats(0.1, 100), st.floats(0.001, 1), st.floats(5, 140), st.floats(5, 140))
def test_a_narrower_led_beam_is_never_harmless_from_nearer(
    power_W: float, mm2: float, weighting: float, one_deg: float, other_deg: float
) -> None:
    narrow, wide = sorted((one_deg, other_deg))
    for group in ("exempt", "RG1", "RG2"):
        near_m = falls_to_m(group, power_W, mm2, weighting, wide)
        assert near_m <= falls_to_m(group, power_W, mm2, weighting, narrow) * (1 + 1e-12)
