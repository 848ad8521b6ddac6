"""Halving the sub-step moves no peak by more than half a per cent."""

from collections.abc import Callable
from typing import Any

import pytest

Story = Callable[[Any], dict[str, float]]


def _worst(*parts: dict[str, float]) -> dict[str, float]:
    """Return the highest of each value over the parts, the lowest for the pack."""
    return {
        name: (min if name == "pack_V" else max)(part[name] for part in parts) for name in parts[0]
    }


def _soft_start(made: Any) -> dict[str, float]:
    made.put(enable_b=1, duty=0.1 / 1.65)
    parts = [made.peaks(20)]
    for k in range(100):
        made.put(duty=(0.1 + 1.4 * k / 100) / 1.65)
        parts.append(made.peaks(1))
    return _worst(*parts, made.peaks(50))


def _step_to_full(made: Any) -> dict[str, float]:
    made.put(enable_b=1, duty=1.5 / 1.65)
    return dict(made.peaks(60))


def _lit_then(**fault: float) -> Story:
    def story(made: Any) -> dict[str, float]:
        made.put(enable_b=1, duty=1.2 / 1.65)
        before = made.peaks(30)
        made.change(**fault)
        return _worst(before, made.peaks(20))

    return story


def _reconnection(made: Any) -> dict[str, float]:
    made.change(over_voltage_dead=1, over_current_dead=1)
    made.put(enable_b=1, duty=1.2 / 1.65)
    made.peaks(20)
    made.change(diode_open=1)
    apart = made.peaks(10)
    made.change(diode_open=0)
    return _worst(apart, made.peaks(10))


STORIES: dict[str, tuple[dict[str, Any], Story]] = {
    "soft start": ({}, _soft_start),
    "step to full": ({}, _step_to_full),
    "step with overshoot": ({"overshoot": 0.15}, _step_to_full),
    "pass MOSFET on the smallest lump": ({"pass_tau_s": 1e-4, "sink_J_K": 0.5}, _step_to_full),
    "own shunt reads half": ({}, _lit_then(own_shunt_gain=0.5)),
    "set stuck full": ({"trip_A": 5}, _lit_then(set_stuck_full=1)),
    "stage stuck full": ({}, _lit_then(stage_stuck_full=1)),
    "stuck full, comparators dead": (
        {"over_current_dead": 1, "over_voltage_dead": 1},
        _lit_then(stage_stuck_full=1),
    ),
    "diode opens": ({"output_clamp_V": 20}, _lit_then(diode_open=1)),
    "reconnection": ({}, _reconnection),
    "cold pack": ({"soc": 0.05}, _lit_then(cell_R_factor=8)),
    "lead resistance jumps": ({}, _lit_then(lead_ohm=0.5)),
}


@pytest.mark.parametrize("name", STORIES)
def test_halving_the_sub_step_moves_no_peak_by_half_a_per_cent(
    name: str, stage_kind: int, rig: Callable[..., Any]
) -> None:
    changes, story = STORIES[name]
    changes = changes | {"stage_kind": stage_kind, "module_A": 1.2}
    coarse = story(rig(**changes))
    fine = story(rig(**changes).split(2))
    for peak in coarse:
        assert coarse[peak] == pytest.approx(fine[peak], rel=5e-3), peak
    assert coarse["diode_peak_A"] > 0.5
