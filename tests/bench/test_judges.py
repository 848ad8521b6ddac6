"""What the benchmark compares with models the same thing: peaks agree within half a per cent.

Judges: SciPy's LSODA on the equations in continuous time, and ngspice on the averaged circuit.
"""

from pathlib import Path

import pytest

import averaged
import lsoda
import story
from diodewright.sim import compiled

LIT_TICKS = 1_200


def _ours(ticks: int) -> story.Ran:
    return story.run(story.awake(compiled()), ticks)


def _agree(found: story.Ran, ours: story.Ran) -> None:
    assert found.peak_A == pytest.approx(ours.peak_A, rel=5e-3)
    assert found.junction_degC == pytest.approx(ours.junction_degC, rel=5e-3)
    assert ours.peak_A > 1.5
    assert ours.junction_degC > 65


def test_lsoda_under_the_same_law_finds_the_same_peaks() -> None:
    ticks = story.lit_from_tick() - story.PRESS_TICK + LIT_TICKS
    _agree(lsoda.run(ticks), _ours(ticks))


@pytest.mark.skipif(averaged.program() is None, reason="no ngspice on this machine")
def test_ngspice_under_a_behavioural_controller_finds_the_same_peaks(tmp_path: Path) -> None:
    lit_s = 10.0
    ticks = story.lit_from_tick() - story.PRESS_TICK + round(1000 * lit_s)
    _agree(averaged.run(tmp_path, lit_s, lit_s), _ours(ticks))
