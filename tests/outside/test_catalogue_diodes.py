"""Diode classes of the catalogue against a data sheet, physics and published ranges."""

from itertools import pairwise

import pytest
from scipy import constants

from diodewright.build import Part, fit_forward, fit_light, parts

DIODES = parts("diode.part")
LASERS = [part for part in DIODES if part.name.startswith("laser_")]


def _values(name: str) -> dict[str, object]:
    (part,) = [each for each in DIODES if each.name == name]
    return {value.key: value.value for value in part.values}


def _number(part: Part, key: str) -> float:
    value = part.value(key)
    assert value
    assert isinstance(value.value, float | int)
    return value.value


def _points(part: Part, key: str) -> tuple[tuple[float, float], ...]:
    value = part.value(key)
    assert value
    assert isinstance(value.value, tuple)
    return value.value


def _efficiency(part: Part, current_A: float) -> float:
    volts = fit_forward(_points(part, "forward_points_A_V")).voltage_V(current_A)
    laser = part in LASERS
    light_W = fit_light(_points(part, "light_points_A_W"), laser=laser).light_W(current_A)
    return light_W / (volts * current_A)


def test_the_blue_laser_is_that_of_its_data_sheet() -> None:
    # maker's data sheet "PL TB450B" V1.1 (2019): 1.6 W at 1.2 A, 4.8 V (6.0 V at most), threshold
    # 0.2 A, at most 1.5 A, 1.8 W of light, 2 V in reverse, 150 degC at the junction
    row = _values("laser_blue_450_1W6")
    light = fit_light(row["light_points_A_W"])  # type: ignore[arg-type]
    forward = fit_forward(row["forward_points_A_V"])  # type: ignore[arg-type]
    assert light.threshold_A == pytest.approx(0.2, abs=1e-6)
    assert light.light_W(1.2) == pytest.approx(1.6, abs=1e-6)
    assert forward.voltage_V(1.2) == pytest.approx(4.8, abs=0.02)
    assert row["forward_spread_V"] == pytest.approx(6.0 - 4.8)
    assert row["rated_A"] == 1.2
    assert row["reverse_max_V"] == 2
    assert row["junction_max_degC"] == 150
    # both of its limits hold: current and light, whichever comes first
    assert isinstance(row["absolute_A"], float)
    assert row["absolute_A"] <= 1.5
    assert light.light_W(row["absolute_A"]) <= 1.8
    assert light.light_W(row["absolute_A"] + 0.01) > 1.8


def test_the_blue_laser_gives_the_worked_heat() -> None:
    # 1.2 A x 4.8 V = 5.76 W, less 1.6 W of light: 4.16 W, 27.8 %; slope 1.6 W/A
    (blue,) = [part for part in LASERS if part.name == "laser_blue_450_1W6"]
    assert _efficiency(blue, 1.2) == pytest.approx(0.278, rel=0.01)
    light = fit_light(_points(blue, "light_points_A_W"))
    assert light.slope_W_A == pytest.approx(1.6, rel=1e-6)
    photon_eV = constants.h * constants.c / (constants.e * 450e-9)
    assert light.slope_W_A / photon_eV == pytest.approx(0.581, abs=0.001)


@pytest.mark.parametrize("part", DIODES, ids=lambda part: part.name)
def test_no_diode_gives_more_than_one_photon_an_electron(part: Part) -> None:
    # CODATA constants: h c / (q wavelength) watts an ampere at most
    most_W_A = constants.h * constants.c / (constants.e * _number(part, "wavelength_nm") * 1e-9)
    points = _points(part, "light_points_A_W")
    for current_A, light_W in points:
        assert light_W < most_W_A * current_A
    for (a_A, a_W), (b_A, b_W) in pairwise(points):
        assert b_W - a_W < most_W_A * (b_A - a_A)


@pytest.mark.parametrize("part", DIODES, ids=lambda part: part.name)
def test_forward_voltage_is_near_the_photon_energy(part: Part) -> None:
    # a junction that emits at hc/wavelength needs about that many volts, and resistance above it;
    # a laser of gallium nitride up to twice (4.8 V at 2.76 eV in the blue data sheet)
    photon_V = constants.h * constants.c / (constants.e * _number(part, "wavelength_nm") * 1e-9)
    forward = fit_forward(_points(part, "forward_points_A_V"))
    assert 1.0 < forward.voltage_V(_number(part, "rated_A")) / photon_V < 2.0


# share of the electrical power at the rated current. Blue gallium nitride lasers stay below 40 %
# (Piprek 2016, abstract); the other ranges are from memory
@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("laser_blue_450_1W6", 0.20, 0.40),
        ("laser_green_520_1W0", 0.12, 0.15),
        ("laser_red_638_0W7", 0.25, 0.40),
        ("led_blue_470", 0.40, 0.70),
        ("led_green_525", 0.15, 0.35),
    ],
)
def test_efficiency_lies_in_the_published_range(name: str, low: float, high: float) -> None:
    (part,) = [each for each in DIODES if each.name == name]
    assert low < _efficiency(part, _number(part, "rated_A")) < high


def test_laser_classes_lie_in_the_ranges_of_their_colours() -> None:
    # 416 nm InGaN: T0 170 K (Nakamura 1997, abstract). From memory: red T0 60 to 100 K, T1 150 to
    # 300 K, 2.2 to 2.6 V, 0.9 to 1.1 W/A; green 1 W: threshold 0.25 to 0.35 A, 1.6 to 1.9 A, 4.3
    # to 4.8 V, 0.6 to 0.75 W/A
    assert _values("laser_blue_450_1W6")["threshold_T0_K"] == 170
    red, green = _values("laser_red_638_0W7"), _values("laser_green_520_1W0")
    assert 60 <= red["threshold_T0_K"] <= 100  # type: ignore[operator]
    assert 150 <= red["slope_T1_K"] <= 300  # type: ignore[operator]
    assert 2.2 <= fit_forward(red["forward_points_A_V"]).voltage_V(0.95) <= 2.6  # type: ignore[arg-type]
    assert 0.9 <= fit_light(red["light_points_A_W"]).slope_W_A <= 1.1  # type: ignore[arg-type]
    light = fit_light(green["light_points_A_W"])  # type: ignore[arg-type]
    assert 0.25 <= light.threshold_A <= 0.35
    assert 0.6 <= light.slope_W_A <= 0.75
    assert 1.6 <= green["rated_A"] <= 1.9  # type: ignore[operator]
    assert 4.3 <= fit_forward(green["forward_points_A_V"]).voltage_V(1.7) <= 4.8  # type: ignore[arg-type]


@pytest.mark.parametrize("part", LASERS, ids=lambda part: part.name)
def test_a_laser_class_asks_for_an_insulated_mount_and_little_reverse_voltage(part: Part) -> None:
    # reverse at most 2 V: data sheet of the 450 nm diode, others much the same (common practice,
    # no source); a case of unknown polarity is taken as the one that bypasses cut-off A
    case = part.value("case")
    assert case
    assert case.value == "cathode"
    assert _number(part, "reverse_max_V") <= 2


@pytest.mark.parametrize("part", DIODES, ids=lambda part: part.name)
def test_points_reach_the_absolute_maximum_and_it_lies_above_the_rating(part: Part) -> None:
    absolute_A = _number(part, "absolute_A")
    assert _number(part, "rated_A") < absolute_A
    for key in ("forward_points_A_V", "light_points_A_W"):
        assert _points(part, key)[-1][0] >= absolute_A
