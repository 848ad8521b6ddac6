"""Energy closes: what leaves the pack's terminals is light, heat and losses."""

from collections.abc import Callable
from typing import Any

import pytest

pytestmark = pytest.mark.xdist_group("plant_compiled")
SPENT = ("light_J", "heat_J", "stage_J", "a_J", "path_J", "wiring_J", "output_J", "controller_J")


def _gap(made: Any) -> float:
    """Return (drawn - spent - stored) / drawn."""
    x = made.x
    stored = 0.5 * made.p.output_F * x.output_V * x.output_V
    spent = sum(float(getattr(x, name)) for name in SPENT)
    return float((x.pack_J - spent - stored) / x.pack_J)


CASES: dict[str, tuple[dict[str, Any], float]] = {
    "full current, fresh pack": ({}, 1.5),
    "start level": ({}, 0.1),
    "cold pack": ({"cell_R_factor": 3}, 1.5),
    "dropout on an empty pack": ({"soc": 0.02, "cell_R_factor": 2}, 1.5),
    "dropout below a duty of 1": ({"soc": 0.02, "duty_max": 0.95, "cell_R_factor": 2}, 1.5),
    "bench supply at its limit": ({"pack_kind": 1, "bench_V": 7.4, "bench_limit_A": 0.5}, 1.5),
    "bench supply at its limit, duty below 1": (
        {"pack_kind": 1, "bench_V": 7.4, "bench_limit_A": 0.5, "duty_max": 0.9},
        1.5,
    ),
    "bench supply with headroom": ({"pack_kind": 1, "bench_V": 7.4, "bench_limit_A": 3}, 1.5),
    "stuck full on, comparators dead": (
        {"stage_stuck_full": 1, "over_current_dead": 1, "over_voltage_dead": 1},
        1.5,
    ),
    "shorted diode": ({"diode_short": 1}, 1.0),
    "open diode, comparator dead": ({"diode_open": 1, "over_voltage_dead": 1}, 1.0),
    "logarithmic diode": ({"diode_b_V": 0.1, "diode_rs_ohm": 0.4}, 1.5),
    "self-test trickle": ({"trickle": 1, "bleeder_ohm": 1e4, "enable_b": 0}, 0.0),
    "indicator lit": ({"indicator": 1}, 0.5),
}


@pytest.mark.parametrize("name", CASES)
def test_energy_closes_within_a_thousandth(
    name: str, stage_kind: int, fast_rig: Callable[..., Any]
) -> None:
    changes, set_A = CASES[name]
    made = fast_rig(**changes, stage_kind=stage_kind, module_A=set_A or 1)
    made.put(enable_b=1 if set_A else 0, duty=set_A / 1.65)
    made.ticks(20_000)
    assert made.x.pack_J > 1
    assert abs(_gap(made)) < 1e-3


def test_energy_closes_over_a_soft_start_a_derating_and_a_dark(
    stage_kind: int, fast_rig: Callable[..., Any]
) -> None:
    made = fast_rig(stage_kind=stage_kind, module_rise_s=0.5)
    made.put(enable_b=1)
    for k in range(500):
        made.put(duty=(0.1 + 1.4 * k / 500) / 1.65)
        made.ticks(1)
    made.ticks(3000)
    for k in range(5000):
        made.put(duty=(1.5 - 1.4 * k / 5000) / 1.65)
        made.ticks(1)
    made.put(enable_b=0, duty=0)
    made.ticks(500)
    assert abs(_gap(made)) < 1e-3


def test_terminal_energy_is_the_integral_of_its_own_volts_and_amperes(
    stage_kind: int, fast_rig: Callable[..., Any]
) -> None:
    made = fast_rig(stage_kind=stage_kind)
    made.put(enable_b=1, duty=1.5 / 1.65)
    joules = 0.0
    for _ in range(2000):
        made.ticks(1)
        joules += (made.x.pack_V + made.x.pack_A * made.p.wiring_ohm) * made.x.pack_A * 1e-3
    assert made.x.pack_J == pytest.approx(joules, rel=2e-3)


def test_heat_of_diode_and_pass_is_in_their_masses_or_in_the_air(
    stage_kind: int, fast_rig: Callable[..., Any]
) -> None:
    made = fast_rig(stage_kind=stage_kind)
    made.light(set_A=1.0)
    made.ticks(60_000)
    x, p = made.x, made.p
    kept = p.mount_J_K * (x.mount_degC - 30) + p.sink_J_K * (x.sink_degC - 30)
    kept += p.junction_J_K * x.junction_rise_K + p.pass_J_K * x.pass_rise_K
    assert bool(x.pass_J > 100) is (stage_kind == 1)
    assert kept + x.air_J == pytest.approx(x.heat_J + x.pass_J, rel=1e-9)


def test_charge_drawn_leaves_the_cells(stage_kind: int, fast_rig: Callable[..., Any]) -> None:
    made = fast_rig(soc=0.8, cells_parallel=2, stage_kind=stage_kind)
    made.light()
    made.ticks(60_000)
    assert (0.8 - made.x.soc) * 2.6 * 3600 * 2 == pytest.approx(made.x.pack_C, rel=1e-9)
