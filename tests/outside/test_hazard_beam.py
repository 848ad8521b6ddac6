"""Beams of two axes against optics' textbook laws, numerical integration and published cases."""

import math

import pytest
from scipy.integrate import dblquad
from scipy.special import erf

from diodewright.hazard.beam import (
    Beam,
    Emitter,
    bare_beam,
    collimated_beam,
    focused_beam,
    stated_beam,
    widths_mm,
)
from diodewright.hazard.distance import nohd_m
from diodewright.hazard.exposure import PUPIL_M2
from diodewright.hazard.irradiance import irradiance_W_m2, pupil_irradiance_W_m2, share_through
from diodewright.hazard.reach import beam_distance_m, reflected_distance_m

# Source: a maker's data sheet of a blue 450 nm laser diode (2019): FWHM 7 and 23 degrees. The
# emitter's size is invented.
BLUE = Emitter(15.0, 1.0, 7.0, 23.0)


def test_bare_divergence_at_1_e_of_a_maker_s_half_maximum() -> None:
    # Source: the Gaussian: 1/e width = half-maximum width / sqrt(ln 2); 7 deg is 8.41 deg.
    beam = bare_beam(BLUE)
    assert math.degrees(beam.wide_mrad / 1000) == pytest.approx(8.41, abs=0.005)
    assert math.degrees(beam.high_mrad / 1000) == pytest.approx(27.63, abs=0.005)


def test_collimator_turns_angle_into_width_and_width_into_angle() -> None:
    # Source: thin lens: 4 mm x 0.1467 rad = 0.587 mm; 15 um / 4 mm = 3.75 mrad; 1 um: 0.25 mrad.
    beam = collimated_beam(BLUE, 4.0)
    assert (beam.wide_mm, beam.high_mm) == pytest.approx((0.587, 1.929), rel=1e-3)
    assert (beam.wide_mrad, beam.high_mrad) == pytest.approx((3.75, 0.25))


@pytest.mark.parametrize("focus_mm", [8.0, 100.0, 1e4])
def test_image_obeys_the_lens_equation_and_keeps_width_times_divergence(focus_mm: float) -> None:
    # Source: 1/s + 1/L = 1/f, magnification L/s; the product is kept (Lagrange's invariant).
    beam, bare = focused_beam(BLUE, 4.0, focus_mm), bare_beam(BLUE)
    before_mm = 1 / (1 / 4.0 - 1 / focus_mm)
    assert beam.wide_mm == pytest.approx(0.015 * focus_mm / before_mm)
    assert beam.wide_mm * beam.wide_mrad == pytest.approx(0.015 * bare.wide_mrad)
    assert beam.high_mm * beam.high_mrad == pytest.approx(0.001 * bare.high_mrad)
    at_lens_mm, _ = widths_mm(beam, 0.0)
    assert at_lens_mm == pytest.approx(before_mm * bare.wide_mrad / 1000 + beam.wide_mm)


def test_image_at_twice_the_focal_length_is_as_large_as_the_emitter() -> None:
    # Source: textbook, s = L = 2 f.
    beam = focused_beam(BLUE, 4.0, 8.0)
    assert (beam.wide_mm, beam.high_mm) == pytest.approx((0.015, 0.001))


@pytest.mark.parametrize(("wide_mm", "high_mm"), [(2, 2), (1, 6), (0.5, 30), (20, 9)])
def test_share_through_a_pupil_agrees_with_numerical_integration(
    wide_mm: float, high_mm: float
) -> None:
    # Source: scipy.integrate.dblquad of the Gaussian over the circle of 7 mm.
    def level(y: float, x: float) -> float:
        return math.exp(-4 * (x / wide_mm) ** 2 - 4 * (y / high_mm) ** 2)

    half = min(3.5, 4 * wide_mm)
    inside, _ = dblquad(
        level,
        -half,
        half,
        lambda x: -min(math.sqrt(3.5**2 - x * x), 4 * high_mm),
        lambda x: min(math.sqrt(3.5**2 - x * x), 4 * high_mm),
        epsabs=1e-8,
    )
    share = inside / (math.pi / 4 * wide_mm * high_mm)
    assert share_through(Beam(wide_mm, high_mm, 1, 1), 0.0, 7.0) == pytest.approx(share, rel=1e-5)


def test_share_through_a_pupil_of_a_thin_line_is_that_of_a_slit() -> None:
    # Source: error function: a line of width w at 1/e, share erf(2 R / w).
    share = share_through(Beam(1e-3, 10.0, 1, 1), 0.0, 7.0)
    assert share == pytest.approx(float(erf(7 / 10)), rel=1e-3)


def test_round_beam_through_a_pupil_as_published() -> None:
    # Source: 1 - exp(-(d / w)^2) (ANSI Z136.1 appendix B, from memory): 63 % where both are alike.
    for wide_mm in (2.0, 7.0, 30.0):
        share = share_through(Beam(wide_mm, wide_mm, 1, 1), 0.0, 7.0)
        assert share == pytest.approx(1 - math.exp(-((7 / wide_mm) ** 2)), rel=1e-9)


def test_two_milliwatts_in_a_pupil_as_published() -> None:
    # Source: a health physicists' mailing list, 23 June 2000: 2 mW is 5.19e-3 W/cm2 over 7 mm.
    found = pupil_irradiance_W_m2(2e-3, Beam(0.5, 0.5, 0.1, 0.1), 0.0)
    assert found * 1e-4 == pytest.approx(5.19e-3, rel=2e-3)
    assert found == pytest.approx(2e-3 / PUPIL_M2, rel=1e-9)


def test_irradiance_in_the_middle_is_the_gaussian_s_peak() -> None:
    # Source: peak of a Gaussian: 2 P / (pi w^2), w the 1/e2 radius; 2 mm at 1/e2, 1 W: 6.366e5.
    assert irradiance_W_m2(1.0, stated_beam(2.0, 1.0), 0.0) == pytest.approx(6.366e5, rel=1e-3)


@pytest.mark.parametrize("gain", [1.0, 49.0])
@pytest.mark.parametrize(("mm", "mrad"), [(1.0, 1.0), (2.0, 0.5), (0.01, 400.0)])
def test_round_beam_has_the_published_form_s_distance(mm: float, mrad: float, gain: float) -> None:
    # Source: r = (sqrt(4 G P / (pi E)) - a) / phi (IEC TR 60825-14, second-hand).
    found = beam_distance_m(1.0, 25.456, Beam(mm, mm, mrad, mrad), gain)
    assert found == pytest.approx(nohd_m(1.0, 25.456, mrad, mm, gain), rel=1e-9)


def test_flat_beam_solves_the_published_ellipse() -> None:
    # Source: P = E (pi/4)(ax + r phix)(ay + r phiy), second-hand; by hand: 1.6 W bare, 0.1467 and
    # 0.4822 rad, 25.456 W/m2: sqrt(4 P / (pi E phix phiy)) = 1.0636 m, less 2 mm for the emitter.
    found = beam_distance_m(1.6, 25.456, bare_beam(BLUE))
    assert found == pytest.approx(1.0636, rel=1e-3)
    # ten times the divergence in one axis: the distance falls by sqrt(10), not by 10
    narrow, flat = Beam(0, 0, 1, 1), Beam(0, 0, 1, 10)
    assert beam_distance_m(1, 25.456, narrow) / beam_distance_m(1, 25.456, flat) == pytest.approx(
        math.sqrt(10)
    )


def test_distance_behind_a_focus_counts_from_the_exit() -> None:
    # Source: by hand: beyond the focus it is a beam of its own divergence.
    beam = focused_beam(BLUE, 4.0, 100.0)
    own = Beam(beam.wide_mm, beam.high_mm, beam.wide_mrad, beam.high_mrad)
    assert beam_distance_m(1.6, 25.456, beam) == pytest.approx(
        0.1 + beam_distance_m(1.6, 25.456, own)
    )


def test_mirror_and_matt_white_are_the_ends_of_a_glossy_target() -> None:
    # Source: the direct form, and Lambert's law r = sqrt(P / (pi E)) (worked by hand: 0.112 m).
    beam = Beam(1.414, 1.414, 7.07, 7.07)
    mirror = reflected_distance_m(1.0, 25.456, beam, 1.0, 0.0)
    assert mirror == pytest.approx(beam_distance_m(1.0, 25.456, beam))
    assert reflected_distance_m(1.0, 25.456, beam, 0.0, 1.0) == pytest.approx(0.1118, rel=1e-3)


def test_pane_of_glass_throws_back_four_per_cent_a_face() -> None:
    # Source: Fresnel, index 1.5, head on: ((n - 1) / (n + 1))^2 = 0.04; a beam of a twelfth of
    # the power reaches sqrt(0.08) as far, but for its width.
    beam = Beam(0.0, 0.0, 1.0, 1.0)
    whole, glass = (reflected_distance_m(1.0, 25.456, beam, s, 0.0) for s in (1.0, 0.08))
    assert glass / whole == pytest.approx(math.sqrt(0.08))
