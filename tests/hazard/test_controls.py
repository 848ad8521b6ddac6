"""The table of demands: which class must have what, and how well that is known."""

import itertools

import pytest

from diodewright.hazard.controls import (
    CONTROLS,
    KEPT_BY,
    MARKERS,
    emission_delay_min_s,
    required_controls,
)
from diodewright.hazard.laser_class import CLASSES


def _ids(laser_class: str) -> set[str]:
    return {control.id for control in required_controls(laser_class)}


# Source: 21 CFR 1040.10(f)(3) to (5), IEC 60825-1:2014 cl. 6.4 to 6.7, second-hand.
@pytest.mark.parametrize(
    "id", ["key", "remote_interlock", "indicator_first", "emission_delay", "deliberate_start"]
)
def test_class_3b_and_4_need_it_and_lower_ones_do_not(id: str) -> None:
    assert [name for name in CLASSES if id in _ids(name)] == ["3B", "4"]


def test_only_class_4_needs_a_manual_reset() -> None:
    # Source: 21 CFR 1040.10(f)(10); IEC 60825-1:2014 cl. 6.5, from memory.
    assert [name for name in CLASSES if "manual_reset" in _ids(name)] == ["4"]


def test_every_class_needs_housing_and_label() -> None:
    # Source: 21 CFR 1040.10(f)(1) and (g), second-hand.
    assert all({"protective_housing", "class_label"} <= _ids(name) for name in CLASSES)


def test_higher_class_never_needs_less() -> None:
    for lower, higher in itertools.pairwise(CLASSES):
        assert _ids(lower) <= _ids(higher)


def test_emission_delay_is_three_to_five_seconds_where_a_rule_asks() -> None:
    # Common practice, no source: 3 to 5 s.
    assert {name: emission_delay_min_s(name) for name in CLASSES} == {
        "1": 0,
        "2": 0,
        "3R": 0,
        "3B": 3,
        "4": 5,
    }
    for name in CLASSES:
        assert (emission_delay_min_s(name) > 0) == ("emission_delay" in _ids(name))


def test_every_row_says_who_keeps_it_and_how_well_it_is_known() -> None:
    assert len({control.id for control in CONTROLS}) == len(CONTROLS)
    for control in CONTROLS:
        assert control.source, control.id
        assert control.marker in MARKERS, control.id
        assert control.kept_by, control.id
        assert set(control.kept_by) <= set(KEPT_BY), control.id
        assert control.classes == tuple(name for name in CLASSES if name in control.classes)


@pytest.mark.parametrize("id", ["remote_interlock", "key", "housing_interlock"])
def test_interlock_and_key_are_not_left_to_firmware(id: str) -> None:
    row = next(control for control in CONTROLS if control.id == id)
    assert row.kept_by[0] == "circuit"
    assert "firmware" not in row.kept_by
