"""Hazard distance over divergence, as the page draws it."""

import dataclasses

import msgspec
import numpy as np
import pytest

from diodewright.build import load
from diodewright.derive import worst_light
from diodewright.rehearse.hazards import hazard_of
from diodewright.report import shape

BUILD = load("smoke_tunnel")


@pytest.fixture(scope="module")
def reach() -> dict:
    return hazard_of(BUILD, worst_light(BUILD), [])["reach"]


def test_twice_the_divergence_halves_the_distance(reach: dict) -> None:
    """Source: r = (sqrt(4 P / (pi MPE)) - a) / phi, IEC TR 60825-14, as quoted by others."""
    spread = np.array(reach["spread_mrad"])
    for name in ("glance_m", "hit_m", "binoculars_m"):
        product = spread * np.array(reach[name])
        assert product == pytest.approx(product[0], rel=1e-3), name


def test_the_build_stands_on_its_line_and_a_longer_look_reaches_further(reach: dict) -> None:
    there_m = np.interp(np.log(reach["here_mrad"]), np.log(reach["spread_mrad"]), reach["glance_m"])
    assert there_m == pytest.approx(reach["here_m"], rel=1e-3)
    assert np.all(np.array(reach["hit_m"]) > reach["glance_m"])
    assert np.all(np.array(reach["binoculars_m"]) > reach["hit_m"])


def test_a_light_of_less_watts_reaches_less_far(reach: dict) -> None:
    worst = worst_light(BUILD)
    weak = dataclasses.replace(worst, light_W=0.5 * worst.light_W)
    weaker = hazard_of(BUILD, weak, [])["reach"]
    assert np.all(np.array(weaker["glance_m"]) < reach["glance_m"])


def test_an_led_has_none() -> None:
    led = load("gel_viewer")
    assert "reach" not in hazard_of(led, worst_light(led), [])


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        ({"hit_m": [1.0]}, "columns of"),
        ({"here_mrad": 0.0}, "above 0 mrad"),
    ],
)
def test_a_document_with_a_crooked_reach_is_refused(reach: dict, edit: dict, said: str) -> None:
    row = msgspec.convert({**reach, **edit}, shape.Reach)
    with pytest.raises(ValueError, match=said):
        shape.refuse_crooked_reach(row)
    shape.refuse_crooked_reach(msgspec.convert(reach, shape.Reach))
