"""Every function of the room refuses impossible numbers, by name."""

import dataclasses
import math
from collections.abc import Callable
from functools import partial
from typing import Any

import pytest

from diodewright.hazard.beam import (
    Beam,
    Emitter,
    bare_beam,
    collimated_beam,
    focused_beam,
    stated_beam,
    widths_mm,
)
from diodewright.hazard.controls import emission_delay_min_s, required_controls
from diodewright.hazard.distance import (
    diffuse_distance_m,
    nohd_m,
    width_from_1_e2,
    width_from_half_maximum,
)
from diodewright.hazard.exposure import exposure_limit, skin_limit_W_m2
from diodewright.hazard.eyewear import choose_eyewear, optical_density, scale_number
from diodewright.hazard.factors import (
    c3,
    c4,
    c6,
    c7,
    cone_mrad,
    t1_s,
    t2_s,
    widest_mrad,
)
from diodewright.hazard.irradiance import irradiance_W_m2, pupil_irradiance_W_m2, share_through
from diodewright.hazard.laser_class import class_limits, classify
from diodewright.hazard.led_distance import falls_to_m, on_axis_W_sr
from diodewright.hazard.led_risk import assess_led, blue_weighting, lambert_radiance_W_m2_sr
from diodewright.hazard.photometry import lumens, lumens_spectrum, luminous_efficacy_lm_W
from diodewright.hazard.reach import beam_distance_m, reflected_distance_m

EMITTER = Emitter(15, 1, 7, 23)
BEAM = Beam(1.0, 2.0, 3.0, 4.0)

GOOD: dict[Callable[..., Any], dict[str, float]] = {
    stated_beam: {"beam_mm": 2, "divergence_mrad": 10},
    partial(collimated_beam, EMITTER): {"lens_focal_mm": 4},
    partial(focused_beam, EMITTER): {"lens_focal_mm": 4, "focus_mm": 100},
    partial(widths_mm, BEAM): {"distance_m": 1},
    partial(irradiance_W_m2, beam=BEAM): {"power_W": 1, "distance_m": 1},
    partial(share_through, BEAM): {"distance_m": 1, "aperture_mm": 7},
    partial(pupil_irradiance_W_m2, beam=BEAM): {"power_W": 1, "distance_m": 1},
    partial(beam_distance_m, beam=BEAM): {"power_W": 1, "limit_W_m2": 10, "gain": 7},
    partial(reflected_distance_m, beam=BEAM): {
        "power_W": 1,
        "limit_W_m2": 10,
        "mirrored": 0.1,
        "diffuse": 0.5,
    },
    on_axis_W_sr: {"power_W": 1, "beam_deg": 60},
    partial(falls_to_m, "RG1"): {
        "power_W": 1,
        "emitter_mm2": 1,
        "weighting": 0.9,
        "beam_deg": 120,
    },
    luminous_efficacy_lm_W: {"wavelength_nm": 520},
    lumens: {"power_W": 1, "wavelength_nm": 520},
    lumens_spectrum: {"power_W": 1, "peak_nm": 520, "fwhm_nm": 30},
    c3: {"wavelength_nm": 520},
    c4: {"wavelength_nm": 808},
    c7: {"wavelength_nm": 808},
    widest_mrad: {"time_s": 10},
    c6: {"source_mrad": 3, "time_s": 10},
    t1_s: {"wavelength_nm": 520},
    t2_s: {"source_mrad": 3},
    cone_mrad: {"time_s": 10},
    exposure_limit: {"wavelength_nm": 520, "time_s": 10, "source_mrad": 3},
    skin_limit_W_m2: {"wavelength_nm": 520, "time_s": 10},
    class_limits: {"wavelength_nm": 520, "source_mrad": 3},
    classify: {"worst_fault_W": 1, "wavelength_nm": 520, "source_mrad": 3},
    width_from_1_e2: {"width": 2},
    width_from_half_maximum: {"width": 2},
    nohd_m: {
        "power_W": 1,
        "limit_W_m2": 10,
        "divergence_mrad": 1,
        "beam_mm": 2,
        "gain": 7,
    },
    diffuse_distance_m: {"power_W": 1, "limit_W_m2": 10, "reflectance": 0.5, "angle_deg": 30},
    optical_density: {"power_W": 1, "limit_W_m2": 10, "beam_mm": 2},
    scale_number: {"power_W": 1, "beam_mm": 2},
    choose_eyewear: {"power_W": 1, "wavelength_nm": 520, "beam_mm": 2, "time_s": 10},
    blue_weighting: {"peak_nm": 450, "fwhm_nm": 20},
    lambert_radiance_W_m2_sr: {"power_W": 1, "chip_mm2": 1},
    assess_led: {"power_W": 1, "chip_mm2": 1, "peak_nm": 450, "fwhm_nm": 20},
}
EACH = [(function, name) for function, good in GOOD.items() for name in good]


BOUNDED = {"wavelength_nm", "peak_nm", "fwhm_nm", "time_s", "source_mrad"}
BOUNDED |= {"gain", "reflectance", "angle_deg", "mirrored", "diffuse", "weighting", "beam_deg"}
IMPOSSIBLE = [
    (function, name, value)
    for function, name in EACH
    for value in (
        math.nan,
        math.inf,
        -math.inf,
        -1.0,
        *([1e9] if name in BOUNDED or (function, name) == (nohd_m, "divergence_mrad") else []),
    )
]


@pytest.mark.parametrize(("function", "name", "value"), IMPOSSIBLE)
def test_impossible_number_is_refused_by_name(
    function: Callable[..., Any], name: str, value: float
) -> None:
    good = GOOD[function]
    function(**good)
    with pytest.raises(ValueError, match=f"^{name} = "):
        function(**good | {name: value})


#: What knows light that the eye does not see.
TO_1050 = {c4, c7, exposure_limit, skin_limit_W_m2, class_limits, classify, choose_eyewear}


@pytest.mark.parametrize(
    ("function", "name"), [(f, n) for f, n in EACH if n in ("wavelength_nm", "peak_nm")]
)
def test_no_wavelength_beyond_what_its_limits_are_known_for(
    function: Callable[..., Any], name: str
) -> None:
    high_nm, beyond_nm = (1050, 1050.01) if function in TO_1050 else (700, 700.0001)
    for edge in (400, high_nm):
        function(**GOOD[function] | {name: edge})
    for nm in (399.9, beyond_nm):
        with pytest.raises(ValueError, match=f"^{name} = {nm} nm: outside 400 to {high_nm} nm$"):
            function(**GOOD[function] | {name: nm})


@pytest.mark.parametrize(
    ("function", "name"),
    [
        (nohd_m, "limit_W_m2"),
        (nohd_m, "divergence_mrad"),
        (diffuse_distance_m, "limit_W_m2"),
        (optical_density, "limit_W_m2"),
        (optical_density, "power_W"),
        (optical_density, "beam_mm"),
        (scale_number, "power_W"),
        (choose_eyewear, "power_W"),
        (lambert_radiance_W_m2_sr, "chip_mm2"),
        (lumens_spectrum, "fwhm_nm"),
        (exposure_limit, "time_s"),
    ],
)
def test_nothing_is_divided_by_zero(function: Callable[..., Any], name: str) -> None:
    with pytest.raises(ValueError, match=f"^{name} = 0 "):
        function(**GOOD[function] | {name: 0})


@pytest.mark.parametrize("time_s", [17.9e-6, 30_000.1])
def test_only_18_us_to_a_working_day(time_s: float) -> None:
    for function in (exposure_limit, c6, cone_mrad, skin_limit_W_m2, choose_eyewear):
        good = GOOD[function]
        for edge in (18e-6, 30_000):
            function(**good | {"time_s": edge})
        with pytest.raises(ValueError, match=r"outside 1\.8e-05 to 30000 s"):
            function(**good | {"time_s": time_s})


@pytest.mark.parametrize("name", ["", "3", "3b", "IIIb", "1M", "5"])
def test_unknown_class_is_refused(name: str) -> None:
    for function in (required_controls, emission_delay_min_s):
        with pytest.raises(ValueError, match=f'"{name}": not one of 1, 2, 3R, 3B, 4'):
            function(name)


def test_beam_that_no_eyewear_stands_is_refused() -> None:
    with pytest.raises(ValueError, match="the most that LB10 stands"):
        scale_number(1e6, 1.0)


@pytest.mark.parametrize("name", ["wide_um", "high_um", "wide_deg", "high_deg"])
@pytest.mark.parametrize("value", [math.nan, math.inf, -1.0, 0.0])
def test_impossible_emitter_is_refused_by_name(name: str, value: float) -> None:
    wrong = dataclasses.replace(EMITTER, **{name: value})
    for made in (bare_beam, partial(collimated_beam, lens_focal_mm=4)):
        with pytest.raises(ValueError, match=f"^{name} = "):
            made(wrong)


def test_no_image_within_the_focal_length() -> None:
    with pytest.raises(ValueError, match=r"^focus_mm = 4 mm: must be beyond the focal length"):
        focused_beam(EMITTER, 4.0, 4.0)


def test_a_group_of_no_limit_is_refused() -> None:
    for group in ("RG3", "rg1", ""):
        with pytest.raises(ValueError, match=f'group = "{group}": not one of exempt, RG1, RG2'):
            falls_to_m(group, 1, 1, 0.9, 120)
