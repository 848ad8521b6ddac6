"""The transients in the verdict: every shipped build holds, and each can be made to fail."""

import pytest

from diodewright.build import examples, load
from diodewright.derive import criteria, plant_values, worst_light
from diodewright.derive.edges import edge_values, lowest_tangent, starting, stuck
from diodewright.derive.electrics import parameters
from diodewright.rehearse import rehearse
from diodewright.rehearse.edges import edge_findings
from edits import Edits, edited

IDS = {row.id for row in criteria(load("smoke_tunnel")) if row.scopes == ("edge",)}

# criterion -> example and edits that break it
BREAKS: dict[str, tuple[str, Edits]] = {
    "edge-turn-on": ("gel_viewer", {"stage.overshoot_pct": "30"}),
    "edge-trip": ("smoke_tunnel", {"comparator.delay_us": "5"}),
    "edge-open-output": ("smoke_tunnel", {"cutoffs.a_vds_max_V": "12"}),
    "edge-reconnect": ("gel_viewer", {"stage.output_cap_uF": "1.0"}),
    "edge-avalanche": (
        "smoke_tunnel_dummy",
        {
            "cutoffs.loop_uH": "100",
            "comparator.trip_max_A": "5.5",
            "sensors.monitor_gain_V_A": "0.5",
        },
    ),
    "edge-reverse": ("smoke_tunnel", {"diode.reverse_clamp_V": "100"}),
    "edge-gate-leak": ("smoke_tunnel", {"cutoffs.a_pulldown_kohm": "8.2"}),
    "edge-gate-kick": (
        "smoke_tunnel",
        {"cutoffs.a_pulldown_kohm": "47", "cutoffs.a_threshold_min_V": "0.5"},
    ),
    "edge-insertion": ("smoke_tunnel_bench", {"stage.input_max_V": "12"}),
    "edge-supply-dip": ("cave_lamp", {"pack.cold_factor": "6"}),
    "edge-hold-up": ("cave_lamp", {"stage.hold_up_uF": "220"}),
}


@pytest.mark.parametrize("name", examples())
def test_every_transient_of_a_shipped_build_holds(name: str) -> None:
    found = edge_findings(load(name))
    assert {row.id for row in found} == IDS
    assert {row.id: row.value for row in found if row.status != "holds"} == {}


def test_every_transient_has_its_own_break() -> None:
    assert set(BREAKS) == IDS


@pytest.mark.parametrize("broken", BREAKS)
def test_a_transient_that_its_build_does_not_survive_fails_with_its_mend(broken: str) -> None:
    example, edits = BREAKS[broken]
    before = {row.id: row for row in edge_findings(load(example))}
    after = {row.id: row for row in edge_findings(edited(example, edits))}
    assert before[broken].status == "holds"
    assert after[broken].status == "fails"
    assert after[broken].margin is not None
    assert after[broken].margin < 0
    assert after[broken].mend


def test_the_averaged_peaks_pass_an_inductor_that_the_transient_refuses() -> None:
    """22 uH: the engine's trip ends below 2 A; half of its 0.23 A of ripple takes it beyond."""
    done = rehearse(edited("smoke_tunnel", {"stage.inductor_uH": "22"}), only="faults")
    assert all(case["survives"] for case in done.faults)
    assert [row["id"] for row in done.edges if row["status"] == "fails"] == ["edge-trip"]
    assert done.verdict == "FAILS"
    assert "edge: stage stuck full on" in done.reasons[0]
    assert done.tightest["what"].startswith("edge: stage stuck full on")


def test_only_the_use_tells_nothing_of_transients() -> None:
    assert rehearse(load("smoke_tunnel"), only="use").edges == []


def test_the_hazard_is_stated_on_no_less_than_the_transients_peak() -> None:
    for name in examples():
        build = load(name)
        assert worst_light(build).current_A >= edge_values(build)["trip_peak_A"]


def test_transients_are_asked_at_the_worse_end_of_what_the_build_says() -> None:
    """V = 3.85 + 0.55 I less 0.35 V of spread and 3 mV/K over 100 K, at the trip's 1.82 A."""
    build = load("smoke_tunnel")
    p = parameters(build)
    tangent = lowest_tangent(build, p)
    path_ohm = p.series_ohm + p.a_ohm
    at_V = tangent.knee_V + (tangent.total_ohm - path_ohm) * 1.82
    assert at_V == pytest.approx(3.85 + 0.55 * 1.82 - 0.35 - 0.3, abs=0.01)
    assert starting(build, p).set_A == build.stage.full_scale_A
    assert stuck(build, p).trip_A == build.comparator.trip_max_A
    assert stuck(build, p).source_V == pytest.approx(8.4)
    # ripple in regulation: (8.4 - 4.2) V at a duty of a half in 47 uH at 400 kHz
    assert stuck(build, p).ripple_A == pytest.approx(4.2 * 0.5 / (47e-6 * 400e3), rel=0.08)


def test_a_clamp_that_the_build_states_is_the_plants_and_the_transients() -> None:
    build = edited("smoke_tunnel", {"stage.output_clamp_V": "9.5"})
    assert plant_values(build)["output_clamp_V"] == 9.5
    assert edge_values(build)["open_output_V"] == pytest.approx(9.5)
    assert plant_values(load("smoke_tunnel"))["output_clamp_V"] == pytest.approx(1.5 * 8.4)


def test_an_avalanche_without_an_end_is_not_judged_and_the_voltage_fails() -> None:
    """A diode of 2.8 ohm at 2 A drives its wiring with 6 V: more than a MOSFET of 5 V blocks."""
    steep = edited(
        "smoke_tunnel",
        {
            "diode.forward_points_A_V": "[[0.25, 3.0], [1.5, 6.5]]",
            "comparator.over_voltage_V": "7.5",
            "cutoffs.a_vds_max_V": "5",
            "diode.junction_max_degC": "150",
        },
    )
    found = {row.id: row.status for row in edge_findings(steep)}
    assert found["edge-avalanche"] == found["edge-reverse"] == "not judged"
    assert found["edge-open-output"] == "fails"
