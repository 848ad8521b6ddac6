"""A stage that takes constant power can collapse its pack; a cutback in coarse steps hunts.

The law is not asked here: where these come from is the physics alone.
"""

import itertools
from collections.abc import Callable
from typing import Any

import pytest

Maker = Callable[..., Any]
#: A red diode of 2 V on two cells: its stage can take the pack below half of its voltage.
RED = {
    "diode_a_V": 1.9,
    "diode_rs_ohm": 0.1,
    "wiring_ohm": 0.001,
    "soc": 0.5,
    "cell_R1_ohm": 0.0,
    # the controller is fed from elsewhere: its rail is not what is asked about
    "usb": 1,
}


def _pulled(rig: Maker, factor: float, kind: int = 0) -> Any:
    made = rig(**RED, cell_R0_ohm=1.0, cell_R_factor=factor, stage_kind=kind)
    made.light(set_A=1.5, ticks=30)
    return made


def test_a_constant_power_collapses_the_pack_at_a_quarter_of_V_squared_over_P(rig: Maker) -> None:
    # P_max = OCV^2/4R (maximum power transfer); half of OCV is what is left there.
    near = _pulled(rig, 1.0).x
    power_W = float(near.pack_V * near.pack_A)
    edge_ohm = near.pack_ocv_V**2 / (4 * power_W)
    for share, collapsed in ((0.98, False), (1.02, True)):
        x = _pulled(rig, share * edge_ohm / 2).x
        assert bool(x.dropout) is collapsed
        if not collapsed:
            assert x.diode_A == pytest.approx(1.5, rel=1e-3)
            assert 0.5 * x.pack_ocv_V < x.pack_V < 0.6 * x.pack_ocv_V


def test_a_collapsed_stage_gives_what_its_divider_leaves_and_no_more(rig: Maker) -> None:
    # Fully on, I = (OCV - V_knee) / (all resistances): less than asked, at a stroke. A real loop
    # may stay there even where a smaller duty would do; the model then takes that one.
    made = _pulled(rig, 3.0)
    x, p = made.x, made.p
    ohm = p.pack_fast_ohm + p.high_side_ohm + p.inductor_ohm + p.own_shunt_ohm
    ohm += p.series_ohm + made.engine.a_now_ohm(p, x) + p.diode_rs_ohm
    left_V = x.pack_ocv_V - made.engine.knee_V(p, x)
    assert x.dropout == 1
    assert x.diode_A == pytest.approx(left_V / ohm, rel=2e-2)
    assert x.diode_A < 1.0


def test_a_linear_stage_on_the_same_pack_only_sags(rig: Maker) -> None:
    # It takes a constant current: the pack falls by I R, far from half, and nothing runs away.
    for factor in (1.0, 1.5):
        x = _pulled(rig, factor, kind=1).x
        assert x.dropout == 0 and x.diode_A == pytest.approx(1.5, rel=1e-3)
        assert x.pack_V == pytest.approx(x.pack_ocv_V - x.pack_A * (2 * factor + 0.001), rel=1e-3)


def _turns(rig: Maker, soc: float, allowed_A: Callable[[float], float]) -> tuple[int, float]:
    """Dim by terminal volts alone, each tick, for 300 ms; return how often and how far it turns."""
    made = rig(soc=soc, cell_R_factor=8)
    asked_A = 0.9
    asked: list[float] = []
    for _ in range(300):
        made.put(enable_b=1, duty=asked_A / 1.65)
        made.ticks(1)
        asked_A = allowed_A(made.x.pack_V)
        asked.append(asked_A)
    late = asked[150:]
    steps = [b - a for a, b in itertools.pairwise(late) if b != a]
    turns = sum(a * b < 0 and abs(b) > 0.01 for a, b in itertools.pairwise(steps))
    return turns, max(late) - min(late)


def _straight_A(pack_V: float) -> float:
    """Return a cutback over 0.8 V: 0.3 A at 6.2 V, 1.5 A at 7.0 V."""
    return min(1.5, max(0.3, 0.3 + 1.2 * (pack_V - 6.2) / 0.8))


def _coarse_A(pack_V: float) -> float:
    """Return the same in four steps of 0.3 A."""
    return 0.3 + 0.3 * int((_straight_A(pack_V) - 0.3) / 0.3)


#: From the cutback's end to its begin, for this pack.
CHARGES = [0.10, 0.12, 0.14, 0.16, 0.18, 0.20, 0.24, 0.28]


def test_a_straight_cutback_of_enough_width_settles_at_every_charge(rig: Maker) -> None:
    for soc in CHARGES:
        turns, swing_A = _turns(rig, soc, _straight_A)
        assert turns == 0 and swing_A < 0.02, soc


def test_the_same_cutback_in_four_coarse_steps_hunts_where_a_steps_sag_spans_an_edge(
    rig: Maker,
) -> None:
    # Each step down lifts the terminals by its own sag, back over the edge that it fell below.
    found = [_turns(rig, soc, _coarse_A) for soc in CHARGES]
    hunting = [swing_A for turns, swing_A in found if turns > 20]
    assert len(hunting) >= 3
    assert hunting == pytest.approx([0.3] * len(hunting))


def test_a_bang_bang_cutback_hunts_over_its_whole_range(rig: Maker) -> None:
    turns, swing_A = _turns(rig, 0.2, lambda volts: 1.5 if volts > 6.7 else 0.3)
    assert turns > 20
    assert swing_A == pytest.approx(1.2)
