"""Limit rows: what each compares, that each can be passed, and that the best change is the best."""

import dataclasses
import math
from typing import Any

import pytest

from diodewright.build import Build, examples, load, with_values
from diodewright.derive.criteria import criteria
from diodewright.size import Limit, descend, marked, size
from diodewright.size.knobs import _turned, knobs
from diodewright.size.limits import limits
from edits import edited

LAMP = load("smoke_tunnel")


@pytest.fixture(scope="module")
def rows() -> dict[str, Limit]:
    return dict(limits(LAMP))


def test_values_of_the_shipped_build_by_hand(rows: dict[str, Limit]) -> None:
    """See test_size for 1.5 A; 1.575 A and half of 0.104 A of ripple; 56 V and volts by hand.

    Junction on a mount of 60 degC: 60 + 7 K/W x 5.93 W. Channel of A: 35 + 62 x 1.5^2 x 21.3 mohm.
    Full, cold, junction at 53 degC: 1.5 A x (4.94 + 0.136) V, 0.44 and 0.117 W more are 8.17 W,
    1.05 A over 7.78 V: 8.4 V less 1.05 A through 3 x 176.4 + 60 mohm.
    Short, cold: 8.4 V / (3 x 130 + 60 mohm) against four times 2 A. Contact: 3.3 V / 50 kohm.
    """
    assert rows["peak_current_A"].value == pytest.approx(1.627, abs=0.003)
    assert rows["level_A"].value == 1.5
    assert rows["junction_degC"].value == pytest.approx(60 + 7 * 5.93, abs=0.2)
    assert rows["cutoff_a_degC"].value == pytest.approx(35 + 62 * 1.5**2 * 0.0213, abs=0.1)
    assert (rows["fuse_A"].value, rows["fuse_A"].limit) == (pytest.approx(8.4 / 0.45), 8.0)
    assert rows["headroom_V"].value == pytest.approx(8.4 - 1.05 * 0.589, abs=0.01)
    assert rows["contact_mA"].value == pytest.approx(0.066)
    assert rows["end_pack_V"].value == pytest.approx(6.5 - 0.3 * 4.6 / 6.5 * 0.114, abs=0.01)


@pytest.mark.parametrize("name", ["smoke_tunnel", "cave_lamp", "gel_viewer"])
def test_the_last_loaded_volts_are_those_of_the_discharge(name: str) -> None:
    """Half a per cent of charge is what the discharge's last row may stop short by."""
    build = load(name)
    down = descend(build)
    assert down is not None
    assert limits(build)["end_pack_V"].value <= down.rows[-1].pack_V
    steep_V = down.rows[-2].pack_V - down.rows[-1].pack_V
    assert limits(build)["end_pack_V"].value > down.rows[-1].pack_V - 1.2 * steep_V


def test_a_limit_that_a_rehearsal_judges_as_well_is_the_same_limit(rows: dict[str, Limit]) -> None:
    judged = {row.id: row for row in criteria(LAMP)}
    pairs = {
        "peak_current_A": "diode-current",
        "junction_degC": "junction",
        "cutoff_a_degC": "cutoff-a-channel",
        "touch_degC": "touch",
        "pack_current_A": "pack-current",
        "cold_hold_A": "cold-hold",
        "end_pack_V": "pack-voltage",
        "light_W": "light",
        "before_cutback_s": "before-cutback",
    }
    for mine, its in pairs.items():
        assert (rows[mine].limit, rows[mine].sense) == (judged[its].limit, judged[its].sense)


#: Limit -> a change of the shipped build that passes it, and nothing else need hold.
PASSED: dict[str, tuple[str, dict[str, Any]]] = {
    "peak_current_A": ("diode", {"absolute_A": 1.6}),
    "level_A": ("diode", {"rated_A": 1.4}),
    "junction_degC": ("diode", {"junction_max_degC": 100.0}),
    "touch_degC": ("heat", {"sink_touch_max_degC": 45.0}),
    "cutoff_a_degC": ("cutoffs", {"a_theta_K_W": 500.0, "a_rds_mohm": 90.0}),
    "light_W": ("criteria", {"light_min_W": 0.82}),
    "before_cutback_s": ("heat", {"sink_J_K": 40.0}),
    "headroom_V": ("pack", {"wiring_mohm": 2500.0}),
    "pack_current_A": ("pack", {"discharge_continuous_A": 1.1}),
    "cold_hold_A": ("diode", {"forward_spread_V": 2.6}),
    "end_pack_V": ("pack", {"cell_min_V": 3.3}),
    "fuse_A": ("pack", {"cold_factor": 12.0}),
    "contact_mA": ("switch", {"rated_A": 0.00005}),
    "gate_V": ("cutoffs", {"a_vgs_guaranteed_V": 2.7}),
}


def _changed(section: str, values: dict[str, Any]) -> Build:
    return dataclasses.replace(
        LAMP, **{section: dataclasses.replace(getattr(LAMP, section), **values)}
    )


def test_every_row_of_the_shipped_build_holds_and_has_a_change_that_passes_it(
    rows: dict[str, Limit],
) -> None:
    assert all(row.margin > 0 for row in rows.values())
    assert set(rows) == set(PASSED)


@pytest.mark.parametrize("name", PASSED)
def test_a_passed_limit_has_a_margin_below_zero(name: str) -> None:
    assert limits(_changed(*PASSED[name]))[name].margin < 0


def test_a_linear_stage_that_cooks_its_pass_mosfet_passes_its_limit() -> None:
    cave = load("cave_lamp")
    assert limits(cave)["pass_degC"].margin > 0.5
    # 2.5 A x (8.4 - 3.5) V into 15 K/W over a sink of 60 degC: beyond 150 degC by far
    two = edited(
        "cave_lamp",
        {
            "pack.series": "2",
            "stage.pass_sink_K_W": "15.0",
            "sensors.pack_divider": "0.3",
            "limits.pack_cutback_V": "7.0",
            "limits.pack_cutback_end_V": "6.4",
            "limits.pack_loaded_min_V": "5.8",
            "limits.pack_lockout_V": "6.2",
            "limits.pack_rearm_V": "7.2",
        },
    )
    assert limits(two)["pass_degC"].margin < 0


@pytest.mark.parametrize("name", ["smoke_tunnel", "gel_viewer", "smoke_tunnel_bench"])
def test_the_tightest_row_comes_first_and_no_knob_beats_the_one_told(name: str) -> None:
    build = load(name)
    found = marked(build)
    margins = [each.row.margin for each in found]
    assert margins == sorted(margins)
    turned = {knob.step: limits(with_values(build, knob.values)) for knob in knobs(build)}
    for each in found:
        by_hand = {step: rows[each.row.id].margin for step, rows in turned.items()}
        best = max(by_hand, key=lambda step: by_hand[step])
        if by_hand[best] > each.row.margin + 0.001:
            assert each.buys[0].margin == pytest.approx(by_hand[best])
            assert by_hand[each.buys[0].step] == pytest.approx(by_hand[best])
        else:
            assert each.buys == ()
        bought = [buys.margin for buys in each.buys]
        assert bought == sorted(bought, reverse=True)


def test_a_tenth_less_current_buys_what_a_file_that_says_so_has() -> None:
    """1.35 A of 1.6 A leave 15.6 %; edited as a builder would, the rows are the same."""
    (level,) = [each for each in marked(LAMP) if each.row.id == "level_A"]
    assert level.buys[0].step == "level 10 % lower"
    assert level.buys[0].margin == pytest.approx(1 - 1.35 / 1.6)
    lower = edited("smoke_tunnel", {"levels.full_A": "1.35", "stage.full_scale_A": "1.485"})
    (turned,) = [found for knob, found in _turned(LAMP) if knob.step == "level 10 % lower"]
    for name, row in limits(lower).items():
        assert turned[name].value == pytest.approx(row.value)


def test_a_knob_that_the_build_file_would_refuse_is_not_tried() -> None:
    """Twelve strings are the most that a build may have."""
    full = edited("smoke_tunnel", {"pack.parallel": "12"})
    refused = {knob.step for knob in knobs(full)} - {knob.step for knob, _ in _turned(full)}
    assert refused == {"one string more"}


@pytest.mark.parametrize("supply_V", ["4.4", "3.6"])
def test_a_pack_too_low_for_the_diode_is_told_first_and_every_figure_still_stands(
    supply_V: str,
) -> None:
    """4.4 V hold no 1.5 A of a 4.5 V diode; at 3.6 V, below its knee, nothing flows at all."""
    volts = ("cutback_V", "cutback_end_V", "loaded_min_V", "lockout_V", "rearm_V")
    low = dict(zip(volts, ("3.5", "3.2", "2.9", "3.1", "3.55"), strict=True))
    edits = {f"limits.pack_{key}": value for key, value in low.items()}
    build = edited("smoke_tunnel_bench", {**edits, "pack.supply_V": supply_V})
    figures = {row.id: row for row in size(build)}
    assert "DROPS OUT" in figures["set_current_A"].meaning
    assert figures["light_W"].value < 0.5
    assert limits(build)["headroom_V"].margin < 0
    assert all(math.isfinite(row.value) for row in figures.values())
    assert "DROPS OUT" not in {row.id: row for row in size(LAMP)}["set_current_A"].meaning


@pytest.mark.parametrize("name", examples())
def test_every_shipped_build_keeps_every_limit(name: str) -> None:
    assert {row.id: row.margin for row in limits(load(name)).values() if row.margin < 0} == {}


def test_a_mosfet_that_a_pin_can_not_drive_is_never_the_answer() -> None:
    steps = {knob.step for knob in knobs(load("gel_viewer"))}
    assert "mosfet_n_logic_20mohm" in steps
    assert not any("4V5" in step for step in steps)
    assert not any("mosfet" in knob.step for knob in knobs(LAMP))
