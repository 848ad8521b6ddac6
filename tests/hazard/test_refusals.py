"""Every function of the room refuses impossible numbers, by name."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from diodewright.hazard.controls import emission_delay_min_s, required_controls
from diodewright.hazard.distance import (
    diffuse_distance_m,
    nohd_m,
    width_from_1_e2,
    width_from_half_maximum,
)
from diodewright.hazard.exposure import (
    c3,
    c6,
    cone_mrad,
    exposure_limit,
    skin_limit_W_m2,
    t1_s,
    t2_s,
)
from diodewright.hazard.eyewear import choose_eyewear, optical_density, scale_number
from diodewright.hazard.laser_class import class_limits, classify
from diodewright.hazard.led_risk import assess_led, blue_weighting, lambert_radiance_W_m2_sr
from diodewright.hazard.photometry import lumens, lumens_spectrum, luminous_efficacy_lm_W

GOOD: dict[Callable[..., Any], dict[str, float]] = {
    luminous_efficacy_lm_W: {"wavelength_nm": 520},
    lumens: {"power_W": 1, "wavelength_nm": 520},
    lumens_spectrum: {"power_W": 1, "peak_nm": 520, "fwhm_nm": 30},
    c3: {"wavelength_nm": 520},
    c6: {"source_mrad": 3, "time_s": 10},
    t1_s: {"wavelength_nm": 520},
    t2_s: {"source_mrad": 3},
    cone_mrad: {"time_s": 10},
    exposure_limit: {"wavelength_nm": 520, "time_s": 10, "source_mrad": 3},
    skin_limit_W_m2: {"time_s": 10},
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
BOUNDED |= {"divergence_mrad", "gain", "reflectance", "angle_deg"}
IMPOSSIBLE = [
    (function, name, value)
    for function, name in EACH
    for value in (math.nan, math.inf, -math.inf, -1.0, *([1e9] if name in BOUNDED else []))
]


@pytest.mark.parametrize(("function", "name", "value"), IMPOSSIBLE)
def test_impossible_number_is_refused_by_name(
    function: Callable[..., Any], name: str, value: float
) -> None:
    good = GOOD[function]
    function(**good)
    with pytest.raises(ValueError, match=f"^{name} = "):
        function(**good | {name: value})


@pytest.mark.parametrize(
    ("function", "name"), [(f, n) for f, n in EACH if n in ("wavelength_nm", "peak_nm")]
)
@pytest.mark.parametrize("nm", [399.9, 700.0001])
def test_only_400_to_700_nm(function: Callable[..., Any], name: str, nm: float) -> None:
    for edge in (400, 700):
        function(**GOOD[function] | {name: edge})
    with pytest.raises(ValueError, match=f"^{name} = {nm} nm: outside 400 to 700 nm$"):
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
