"""Each contradiction is found alone, at its very edge, and told with a way to mend it."""

from collections.abc import Callable, Mapping

import pytest

from diodewright.build import RULES, Problem, load
from diodewright.build.rule import QUANTITIES

Edits = Mapping[str, str | None]
Problems = Callable[..., tuple[Problem, ...]]

# rule -> edits of the example that break this rule and no other
BREAKS: dict[str, Edits] = {
    "cell_empty": {"pack.cell_min_V": "2.49"},
    "cell_full": {"pack.cell_full_V": "3.85"},
    "pack_high": {
        "pack.series": "5",
        "sensors.pack_divider": "0.14",
        "limits.pack_cutback_V": "17.0",
        "limits.pack_cutback_end_V": "16.0",
        "limits.pack_loaded_min_V": "15.0",
        "limits.pack_lockout_V": "16.0",
        "limits.pack_rearm_V": "18.0",
    },
    "resistance_min": {"pack.resistance_min_mohm": "65.1"},
    "cutback_band": {"limits.pack_cutback_V": "6.5"},
    "lockout_end": {"limits.pack_cutback_end_V": "6.49"},
    "loaded_min": {"limits.pack_loaded_min_V": "6.5"},
    "rearm_recovery": {"limits.pack_rearm_V": "7.29"},
    "rearm_full": {"limits.pack_rearm_V": "8.4"},
    "cutback_full": {"limits.pack_cutback_V": "8.4"},
    "rearm_supply": {"pack.supply_V": "7.3"},
    "cutback_supply": {"limits.pack_cutback_V": "8.4"},
    "cells_empty": {"limits.pack_loaded_min_V": "5.49"},
    "warn_early": {"limits.pack_warn_V": "6.5"},
    "start_level": {"limits.start_level_A": "0.3"},
    "reserve": {"levels.reserve_A": "0.76"},
    "rating": {"diode.rated_A": "1.49"},
    "absolute": {
        "diode.absolute_A": "1.5",
        "diode.rated_A": "1.5",
        "stage.full_scale_A": "1.499",
        "comparator.trip_max_A": "1.499",
        "comparator.trip_min_A": "1.49",
    },
    "rated_absolute": {"diode.rated_A": "2.01"},
    "full_scale_low": {"stage.full_scale_A": "1.49"},
    "full_scale_high": {"stage.full_scale_A": "1.66"},
    "full_scale_absolute": {
        "diode.absolute_A": "1.65",
        "comparator.trip_max_A": "1.64",
        "comparator.trip_min_A": "1.6",
    },
    "soft_start_follow": {"limits.soft_start_ms": "76"},
    "dim": {"limits.dim_A": "1.5"},
    "overcurrent_low": {"limits.overcurrent_A": "1.575"},
    "overcurrent_high": {"limits.overcurrent_A": "2"},
    "trip_window": {"comparator.trip_max_A": "1.68"},
    "trip_absolute": {"comparator.trip_max_A": "2.0"},
    "trip_clear": {"comparator.trip_min_A": "1.575"},
    "module_clear": {"comparator.trip_min_A": "1.575"},
    "clamp_trip": {"comparator.over_voltage_V": "8.6", "stage.output_clamp_V": "8.6"},
    "clamp_pack": {"stage.output_clamp_V": "8.4"},
    "clamp_supply": {"stage.output_clamp_V": "8.4"},
    "module_absolute": {
        "stage.module_tolerance_pct": "10",
        "diode.absolute_A": "1.65",
        "diode.rated_A": "1.5",
        "comparator.trip_min_A": "1.63",
        "comparator.trip_max_A": "1.64",
    },
    "over_voltage": {"comparator.over_voltage_V": "5.06"},
    "cathode_case": {"diode.case": '"cathode"', "heat.mount_insulated": "false"},
    "live_case": {"diode.case": '"anode"', "heat.mount_insulated": "false"},
    "gate_drive": {"cutoffs.a_vgs_guaranteed_V": "2.7"},
    "laser_cap": {"stage.output_cap_uF": "1.01"},
    "shared_shunt": {"sensors.shunt": '"shared"', "sensors.monitor_shunt_mohm": "49"},
    "monitor_range": {"sensors.monitor_gain_V_A": "1.65"},
    "output_range": {"sensors.output_divider": "0.546"},
    "pack_range": {"sensors.pack_divider": "0.358"},
    "supply_range": {"sensors.pack_divider": "0.358"},
    "ambient_low": {"heat.ambient_min_degC": "31"},
    "ambient_high": {"heat.ambient_degC": "36"},
    "ambient_cool": {"heat.ambient_max_degC": "46"},
    "touch": {"heat.sink_touch_max_degC": "35"},
    "warm_hot": {"limits.mount_warm_degC": "56"},
    "hot_trip": {"limits.mount_trip_degC": "56"},
    "junction_trip": {"diode.junction_max_degC": "113"},
    "laser_key": {"controls.key": "false"},
    "laser_interlock": {"controls.interlock": "false"},
    "laser_indicator": {"controls.indicator": "false"},
    "laser_trigger": {"controls.trigger": '"latching"'},
    "laser_delay": {"limits.delay_s": "0"},
    "focus_beyond": {"enclosure.lens_focal_mm": "4", "enclosure.focus_mm": "4"},
    "led_seen": {"diode.wavelength_nm": "701"},
    "white_pump": {"diode.wavelength_nm": "439"},
    "forward_fit": {"diode.forward_points_A_V": "[[0.1, 2.0], [0.5, 2.01], [1.5, 4.0]]"},
    "light_fit": {"diode.light_points_A_W": "[[0.1, 0.3], [0.5, 0.5], [1.5, 1.0]]"},
    "forward_reach": {"diode.forward_points_A_V": "[[0.5, 4.125], [1.49, 4.67]]"},
    "light_reach": {"diode.light_points_A_W": "[[0.5, 0.2125], [1.49, 1.054]]"},
    "light_power": {
        "diode.forward_points_A_V": "[[0.5, 1.0], [1.5, 1.1]]",
        "diode.light_points_A_W": "[[0.5, 0.8], [1.5, 2.8]]",
    },
    "slope_quantum": {"diode.light_points_A_W": "[[0.5, 0.6], [1.5, 3.0]]"},
    "T0_zero": {"diode.threshold_T0_K": "-9.9"},
    "T1_zero": {"diode.slope_T1_K": "0"},
}
# what can't be broken without these, whatever else the build says
TOGETHER = {
    "absolute": {"full_scale_low", "trip_clear"},
    "module_absolute": {"module_clear"},
}
KIND = {
    "rearm_supply": "bench_supply",
    "cutback_supply": "bench_supply",
    "supply_range": "bench_supply",
    "clamp_supply": "bench_supply",
    "led_seen": "led",
    "white_pump": "white",
    "module_clear": "gated",
    "module_absolute": "gated",
}


def test_every_rule_has_its_own_break() -> None:
    assert [rule.rule for rule in RULES] == sorted(BREAKS, key=[rule.rule for rule in RULES].index)
    assert len({rule.rule for rule in RULES}) == len(RULES)


@pytest.mark.parametrize("rule", list(BREAKS))
def test_a_contradiction_breaks_its_rule_and_no_other(problems: Problems, rule: str) -> None:
    found = problems(BREAKS[rule], KIND.get(rule, "cells"))
    assert {problem.rule for problem in found} == {rule} | TOGETHER.get(rule, set())
    for problem in found:
        assert problem.line
        assert problem.wrong
        assert problem.mend
        assert "{" not in problem.wrong + problem.mend


# one step back from the edge, the rule holds again
EDGES: tuple[Edits, ...] = (
    {"pack.cell_min_V": "2.5"},
    {"pack.cell_full_V": "4.4"},
    {"pack.resistance_min_mohm": "65"},
    {"limits.pack_rearm_V": "7.3"},
    {"limits.pack_rearm_V": "8.39"},
    {"limits.pack_loaded_min_V": "5.5"},
    {"limits.start_level_A": "0.299"},
    {"levels.reserve_A": "0.75"},
    {"diode.rated_A": "1.5"},
    {"diode.rated_A": "2.0"},
    {"stage.full_scale_A": "1.5"},
    {"stage.full_scale_A": "1.65"},
    {"comparator.trip_min_A": "1.576"},
    {"comparator.over_voltage_V": "5.08"},
    {"diode.case": '"cathode"'},
    {"diode.case": '"anode"'},
    {"limits.soft_start_ms": "77"},
    {"diode.junction_max_degC": "114"},
    {"sensors.shunt": '"shared"'},
    {"sensors.monitor_gain_V_A": "1.648"},
    {"heat.ambient_min_degC": "30", "heat.ambient_max_degC": "30"},
    {"diode.threshold_T0_K": "-170"},
    {"diode.rated_A": "1.4", "diode.exceed_rating": "true"},
    {"limits.overcurrent_A": "1.576"},
    {"enclosure.lens_focal_mm": "4", "enclosure.focus_mm": "4.1"},
    {"diode.wavelength_nm": "905"},
)


def test_a_focus_needs_its_lens(problems: Problems) -> None:
    (problem,) = problems({"enclosure.focus_mm": "100"})
    assert problem.rule == "focus_beyond"
    assert "give lens_focal_mm" in problem.mend


@pytest.mark.parametrize("edits", EDGES, ids=str)
def test_at_the_edge_a_build_is_accepted(problems: Problems, edits: Edits) -> None:
    assert problems(edits) == ()


def test_exceed_rating_never_excuses_the_absolute_maximum(problems: Problems) -> None:
    edits: Edits = {
        "diode.exceed_rating": "true",
        "levels.full_A": "2.0",
        "diode.forward_points_A_V": "[[0.5, 4.125], [2.0, 4.95]]",
        "diode.light_points_A_W": "[[0.5, 0.2125], [2.0, 1.4875]]",
        "stage.full_scale_A": "2.0",
    }
    assert "absolute" in {problem.rule for problem in problems(edits)}


def test_overdrive_is_told_in_percent_of_the_rating(problems: Problems) -> None:
    (problem,) = problems({"diode.rated_A": "1.2"})
    assert "1.5 A is 25 % over diode.rated_A = 1.2" in str(problem)


def test_a_gated_stage_names_its_one_level_itself(problems: Problems) -> None:
    found = problems({"levels.full_A": "1.5", "levels.reserve_A": "0.3"}, "gated")
    assert {problem.key for problem in found} == {"levels.full_A", "levels.reserve_A"}
    assert "stage.module_A is the level" in str(found[0]) + str(found[1])


def test_highest_forward_voltage_counts_spread_and_cold() -> None:
    # V = 3.85 + 0.55 I at 1.5 A is 4.675 V; + 0.35 V spread; + 3 mV/K over 15 K = 5.07 V
    build = load("smoke_tunnel")
    quantity = QUANTITIES["diode.forward_highest_V"]
    values = {
        "diode.forward_points_A_V": build.diode.forward_points_A_V,
        "diode.forward_spread_V": build.diode.forward_spread_V,
        "diode.forward_tempco_mV_K": build.diode.forward_tempco_mV_K,
        "heat.ambient_min_degC": build.heat.ambient_min_degC,
        "levels.highest_A": 1.5,
    }
    assert quantity.follows(values) == pytest.approx(5.07, abs=0.01)


@pytest.mark.parametrize("kind", ["led", "dummy_string"])
def test_only_a_laser_must_have_key_interlock_indicator_delay_and_a_small_capacitor(
    problems: Problems, kind: str
) -> None:
    edits: Edits = {
        "controls.key": "false",
        "controls.interlock": "false",
        "controls.indicator": "false",
        "limits.delay_s": "0",
        "stage.output_cap_uF": "10",
    }
    assert problems(edits, kind) == ()


def test_one_wrong_key_hides_no_other_contradiction(problems: Problems) -> None:
    found = problems({"limits.mount_hot_degC": '"hot"', "limits.pack_rearm_V": "7.0"})
    assert {problem.rule for problem in found} == {"", "rearm_recovery"}


def test_levels_are_judged_all_together_or_not_at_all(problems: Problems) -> None:
    # with the highest level unreadable, the next one must not be taken for the highest
    found = problems({"levels.full_A": '"much"'})
    assert [problem.key for problem in found] == ["levels.full_A"]
    found = problems({"levels.full_A": None, "levels.full_mA": "1500"})
    assert [problem.key for problem in found] == ["levels.full_mA"]
    found = problems({"levels.reserve_A": '"little"', "limits.start_level_A": "0.5"})
    assert [problem.key for problem in found] == ["levels.reserve_A"]


def test_a_rule_broken_by_an_assumed_value_says_so(problems: Problems) -> None:
    (problem,) = problems({"sensors.reference_V": "2.6"})
    assert "sensors.monitor_gain_V_A = 1.5: (assumed) " in str(problem)
