"""Unsafe builds: each is refused or fails, with its cause in a builder's words and the mend."""

import pytest

from diodewright.build import BuildErrors
from diodewright.rehearse import rehearse
from edits import Edits, edited

# what is unsafe -> (example, edits, key that is named, cause, mend)
REFUSED: dict[str, tuple[str, Edits, str, str, str]] = {
    "a level above the diode's absolute maximum": (
        "gel_viewer",
        {"stage.module_A": "1.05"},
        "stage.module_tolerance_pct",
        "reaches the diode's absolute maximum",
        "write less than diode.absolute_A (1 A)",
    ),
    "an overdrive that nobody declared": (
        "smoke_tunnel",
        {"diode.rated_A": "1.2"},
        "[levels]",
        "1.5 A is 25 % over diode.rated_A = 1.2",
        "diode.exceed_rating = true takes the shorter life on purpose",
    ),
    "a soft-start too short for the stage": (
        "smoke_tunnel",
        {"limits.soft_start_ms": "20"},
        "limits.soft_start_ms",
        "too short for the stage: its current would lag by 0.15 A",
        "lengthen it",
    ),
    "a trip above what the junction allows": (
        "smoke_tunnel",
        {"limits.mount_trip_degC": "80"},
        "limits.mount_trip_degC",
        "at this trip the junction may reach 133 degC",
        "write less than diode.junction_max_degC (125 degC)",
    ),
    "a re-arm voltage that a resting cell reaches by itself": (
        "cave_lamp",
        {"limits.pack_rearm_V": "3.3"},
        "limits.pack_rearm_V",
        "resting cells recover, and the light would come and go",
        "at least limits.pack_lockout_V + the volts by which each of 1 in series recovers",
    ),
    "an over-compensated sag": (
        "smoke_tunnel",
        {"pack.resistance_min_mohm": "100"},
        "pack.resistance_min_mohm",
        "the smallest plausible resistance is above the given one",
        "write at most pack.cell_resistance_mohm",
    ),
    "a bonded live case on a laser": (
        "smoke_tunnel",
        {"diode.case": '"anode"', "heat.mount_insulated": "false"},
        "diode.case",
        "makes sink and enclosure live",
        "insulate the mount",
    ),
    "a cathode case that bypasses cut-off A": (
        "smoke_tunnel",
        {"diode.case": '"cathode"', "heat.mount_insulated": "false"},
        "diode.case",
        "bypasses cut-off A",
        "insulate the mount",
    ),
    "a MOSFET that the pin can't turn on": (
        "cave_lamp",
        {"cutoffs.a_vgs_guaranteed_V": "4.5"},
        "cutoffs.a_vgs_guaranteed_V",
        "a controller's pin is sure of 2.62 V only",
        "guaranteed at 2.5 V or less",
    ),
    "a set path that reaches above the absolute maximum": (
        "smoke_tunnel",
        {"stage.full_scale_A": "2.0"},
        "stage.full_scale_A",
        "full duty by mistake would reach the diode's absolute maximum",
        "write less than diode.absolute_A (2 A)",
    ),
}


@pytest.mark.parametrize("unsafe", REFUSED)
def test_unsafe_build_is_refused_with_cause_and_mend(unsafe: str) -> None:
    example, edits, key, cause, mend = REFUSED[unsafe]
    with pytest.raises(BuildErrors) as refused:
        edited(example, edits)
    found = [problem for problem in refused.value.problems if problem.key == key]
    assert any(cause in problem.wrong and mend in problem.mend for problem in found), [
        str(problem) for problem in refused.value.problems
    ]


# what is unsafe -> (example, part that shows it, edits, cause and mend as the verdict says them)
FAILING: dict[str, tuple[str, str, Edits, tuple[str, ...]]] = {
    "a sink that can't carry the heat": (
        "smoke_tunnel",
        "use",
        {"heat.sink_J_K": "10", "heat.sink_air_K_W": "12"},
        ("full level before heat cuts back", "mend: a larger sink, a better pad, a lower level"),
    ),
    "a cell asked for three times its rating": (
        "smoke_tunnel",
        "use",
        {"pack.discharge_continuous_A": "0.4"},
        ("pack current stays within the cell's continuous rating", "mend: a cell of higher rating"),
    ),
    "a shared shunt on a laser": (
        "smoke_tunnel",
        "use",
        {"sensors.shunt": '"shared"'},
        ("the law watches another shunt", "mend: give the monitor a shunt of its own"),
    ),
    "a diode that the pack can't hold up when cold": (
        "smoke_tunnel",
        "use",
        {
            "diode.forward_points_A_V": "[[0.25, 4.95], [0.5, 5.05], [1.0, 5.25], [1.5, 5.4]]",
            "comparator.over_voltage_V": "6.3",
            "sensors.output_divider": "0.3",
            "limits.pack_cutback_V": "6.2",
            "limits.pack_cutback_end_V": "5.7",
            "limits.pack_lockout_V": "5.6",
            "limits.pack_loaded_min_V": "5.5",
            "limits.pack_rearm_V": "6.6",
            "limits.mount_trip_degC": "58",
        },
        ("a cold, low pack still holds up the lowest level", "mend: more cells in series"),
    ),
    "a module whose current overshoots at its start": (
        "gel_viewer",
        "use",
        {"stage.overshoot_pct": "30"},
        ("the comparator latch is set", "mend:", "less overshoot at the start"),
    ),
    "a comparator that takes five microseconds": (
        "smoke_tunnel",
        "faults",
        {"comparator.delay_us": "5"},
        ("true peak diode current stays below the absolute maximum", "a faster comparator"),
    ),
    "an inductor whose ripple passes a comparator that sees the mean": (
        "smoke_tunnel",
        "faults",
        {"stage.inductor_uH": "22"},
        ("edge: stage stuck full on: trip, delay and ripple", "mend: a faster comparator"),
    ),
    "a microfarad that a loose contact empties into a laser": (
        "smoke_tunnel",
        "faults",
        {"stage.output_cap_uF": "1.0"},
        ("edge: a loose contact closed again", "mend: a smaller output capacitor"),
    ),
    "a linear stage without a choke": (
        "cave_lamp",
        "faults",
        {"stage.inductor_uH": "0.5"},
        ("true peak diode current stays below the absolute maximum", "a larger inductor"),
    ),
}


@pytest.mark.parametrize("unsafe", FAILING)
def test_unsafe_build_fails_with_cause_and_mend(unsafe: str) -> None:
    example, only, edits, said = FAILING[unsafe]
    done = rehearse(edited(example, edits), only=only)
    assert done.verdict == "FAILS"
    assert any(all(words in reason for words in said) for reason in done.reasons), done.reasons


def test_declared_overdrive_is_the_first_caution_and_can_hold_its_current() -> None:
    edits: Edits = {
        "diode.rated_A": "1.2",
        "diode.exceed_rating": "true",
    }
    done = rehearse(edited("smoke_tunnel", edits), only="use")
    assert done.cautions[0].startswith("Overdrive, declared on purpose: 1.5 A is 25 % over")
