"""The hazard of a build: on simulated faults, in both axes, and what it asks for."""

import dataclasses
import math
from typing import Any

import pytest

from diodewright.build import Build, load
from diodewright.derive import worst_light
from diodewright.faults import CORE, ENGINE, by_id
from diodewright.hazard.beam import Emitter, collimated_beam
from diodewright.hazard.reach import beam_distance_m
from diodewright.rehearse import run_case, snapshots, state_hazard
from diodewright.rehearse.cases import lacks, run_cases
from diodewright.rehearse.demands import breaches, laser_demands, led_demands
from diodewright.rehearse.emission import RAISING, Emission, brightest, emission
from diodewright.rehearse.hazard_laser import LaserHazard, laser_hazard
from diodewright.rehearse.hazards import hazard_of, judged_hazard
from diodewright.sim import Event, compiled, new_tally
from diodewright.size import size
from edits import Edits, edited
from lamps import held, powered

LIT = ("smoke_tunnel", "cave_lamp", "gel_viewer")


@pytest.fixture(scope="module")
def build() -> Build:
    return load("smoke_tunnel")


@pytest.fixture(scope="module")
def lit(build: Build) -> Emission:
    return emission(build, compiled())


def _laser(edits: Edits, watts: float = 1.5) -> LaserHazard:
    return laser_hazard(edited("smoke_tunnel", edits), watts)


def test_the_brightest_fault_is_a_case_that_ran_and_lies_between_normal_and_bound(
    build: Build, lit: Emission
) -> None:
    assert lit.brightest is not None and lit.normal_W is not None
    assert 0.8 < lit.normal_W < lit.normal_most_W < lit.brightest.light_W <= lit.worst.light_W
    name, _, at = lit.brightest.case.partition("@")
    (case,) = run_cases(build, compiled(), 1, faults=[by_id(name)], moments=[at])
    assert case.peak_current_A == lit.brightest.current_A


def test_light_of_a_transient_that_a_tick_hides_counts_by_its_current(
    build: Build, lit: Emission
) -> None:
    # a stage stuck full on is dark within the tick, and gave 1.9 A before: 0.25 A and 0.85 W/A
    # at 25 degC (the build's own points), and a little more in the cold
    assert lit.brightest is not None
    (case,) = run_cases(build, compiled(), 1, faults=[by_id("stage-full-on")], moments=["steady"])
    assert case.peak_light_W < 0.1
    found = brightest(build, [case])
    assert found is not None
    by_hand_W = 0.85 * (case.peak_current_A - 0.25)
    assert by_hand_W < found.light_W < 1.1 * by_hand_W


@pytest.mark.parametrize("name", LIT)
def test_the_hazard_is_no_less_than_the_light_in_any_trace_of_a_raising_fault(name: str) -> None:
    _no_trace_is_brighter(name, RAISING)


@pytest.mark.long
@pytest.mark.parametrize("name", LIT)
def test_nor_in_any_trace_of_any_single_fault_and_no_other_fault_is_brighter(name: str) -> None:
    _no_trace_is_brighter(name, [fault.id for fault in ENGINE])


def _no_trace_is_brighter(name: str, faults: Any) -> None:
    own = load(name)
    stated = state_hazard(own, compiled())
    seen = stated.emission.brightest
    assert seen is not None and stated.emission.normal_W is not None
    most_W = max(seen.light_W, stated.emission.normal_W)
    stands = snapshots(own, compiled(), 1, CORE)
    ran = 0
    for fault in map(by_id, faults):
        if lacks(own, fault):
            continue
        for at, stand in stands.items():
            run = run_case(own, stand, fault, at, 1, traced=True)
            assert run.trace is not None
            true_W = max(float(run.trace["light_W"].max()), run.finding.peak_light_W)
            assert true_W <= most_W <= stated.hazard.watts_W, f"{fault.id}@{at}"
            ran += 1
    assert ran > 20


def test_rehearse_and_hazard_say_the_same(build: Build) -> None:
    cases = list(run_cases(build, compiled(), 1, faults=[by_id("set-full")]))
    said = hazard_of(build, worst_light(build), cases)
    found = judged_hazard(build, worst_light(build), brightest(build, cases))
    assert isinstance(found.of, LaserHazard)
    assert said["classified_W"] == found.watts_W
    assert said["hazard_distance_m"] == found.of.reach("direct").distance_m
    assert said["controls"] == [demand.id for demand in found.of.demands]
    assert said["breaches"] == found.breaches == []


@pytest.mark.parametrize(
    ("controls", "delay_s", "lacking", "mend"),
    [
        ({"key": False}, 5.0, {"key"}, "controls.key = true"),
        (
            {"interlock": False},
            5.0,
            {"housing_interlock", "remote_interlock"},
            "controls.interlock = true",
        ),
        (
            {"indicator": False},
            5.0,
            {"emission_indicator", "indicator_first", "indicator_fail_safe"},
            "controls.indicator = true",
        ),
        ({}, 4.9, {"emission_delay"}, "limits.delay_s"),
        ({}, 0.0, {"emission_delay", "indicator_first"}, "limits.delay_s"),
    ],
)
def test_what_a_class_4_build_lacks_is_no_with_one_mend(
    build: Build, controls: dict[str, bool], delay_s: float, lacking: set[str], mend: str
) -> None:
    bare = dataclasses.replace(
        build,
        controls=dataclasses.replace(build.controls, **controls),
        limits=dataclasses.replace(build.limits, delay_s=delay_s),
    )
    rows = laser_demands(bare, "4")
    assert {row.id for row in rows if row.status == "no"} == lacking
    (breach,) = breaches(rows)
    assert breach.startswith("class 4") and breach.endswith(f"mend: {mend}")
    assert all(bool(row.breach) == (row.status == "no") for row in rows)


def test_what_no_build_file_can_say_is_left_to_a_person(build: Build) -> None:
    rows = {row.id: row.status for row in laser_demands(build, "4")}
    by_hand = {name for name, status in rows.items() if status == "by hand"}
    labels = {"class_label", "aperture_label", "housing_label"}
    assert by_hand == labels | {"protective_housing", "beam_stop", "eyewear"}
    assert "no" not in rows.values()


def test_a_weak_laser_is_asked_for_little(build: Build) -> None:
    bare = dataclasses.replace(
        build, controls=dataclasses.replace(build.controls, key=False, interlock=False)
    )
    assert breaches(laser_demands(bare, "1")) == breaches(laser_demands(bare, "2")) == []
    assert len(breaches(laser_demands(bare, "3B"))) == 2


def test_the_law_keeps_the_manual_reset_that_class_4_asks_for(build: Build) -> None:
    # Source of the demand: 21 CFR 1040.10(f)(10); IEC 60825-1:2014 cl. 6.5, from memory.
    machine = powered(build)
    tally = new_tally(machine.engine, 0.015)
    press, _ = held(machine, build, 600.0)
    machine.run(press.tick + 8000, tally, (press,))
    assert machine.true("light_W") > 0.5
    at = machine.now
    shut = (Event(at, "plant.interlock", 0.0), Event(at + 100, "plant.interlock", 1.0))
    machine.run(at + 20_000, tally, shut)
    assert machine.true("light_W") == 0, "it lights again with the trigger still held"
    at = machine.now
    again = (Event(at, "plant.trigger", 0.0), Event(at + 1000, "plant.trigger", 1.0))
    machine.run(at + 9000, tally, again)
    assert machine.true("light_W") > 0.5, "a release and a fresh press light it"


def test_a_trigger_held_before_the_key_is_turned_lights_nothing(build: Build) -> None:
    machine = powered(build)
    tally = new_tally(machine.engine, 0.015)
    at = machine.now
    events = (
        Event(at, "plant.key", 0.0),
        Event(at + 100, "plant.trigger", 1.0),
        Event(at + 1000, "plant.key", 1.0),
    )
    machine.run(at + 20_000, tally, events)
    assert machine.true("light_W") == 0


LENS: Edits = {"enclosure.lens_focal_mm": "4"}


def test_a_stated_lens_adds_its_beam_and_the_worst_beam_counts() -> None:
    plain, lens = _laser({}), _laser(LENS)
    assert [each.name for each in plain.beams] == ["stated", "bare"]
    assert [each.name for each in lens.beams] == ["stated", "collimated", "bare"]
    # Source: thin lens on the assumed emitter, tests/outside/test_hazard_beam.py
    own = collimated_beam(Emitter(15, 1, 7, 23), 4.0)
    metres = beam_distance_m(1.5, lens.exposures[0].eye.irradiance_W_m2, own)
    assert lens.worst_beam.name == "collimated"
    assert lens.reach("direct").distance_m == metres > plain.reach("direct").distance_m


def test_a_focus_that_no_eyewear_stands_is_said_so() -> None:
    focus = _laser(LENS | {"enclosure.focus_mm": "8"})
    assert focus.beams[1].name == "focused"
    assert focus.eyewear is None
    assert focus.eyewear_mm == pytest.approx(math.sqrt(15 * 1) / 1000)
    tunnel = edited("smoke_tunnel", LENS | {"enclosure.focus_mm": "8"})
    said = hazard_of(tunnel, worst_light(tunnel), [])
    assert any("keep it enclosed" in line for line in said["lines"])


def test_light_that_is_not_seen_has_no_chance_look_no_class_2_and_no_lumens() -> None:
    # Source: IEC 60825-1:2014 (from memory): aversion only from 400 to 700 nm; 10 C4 W/m2.
    unseen: Edits = {"diode.wavelength_nm": "808"}
    found = _laser(unseen)
    assert found.chance_s == 10
    assert "2" not in {row.laser_class for row in found.limits}
    assert found.reach("direct").limit_W_m2 == pytest.approx(16.44, rel=1e-3)
    assert "light_lm" not in {figure.id for figure in size(edited("smoke_tunnel", unseen))}


def test_a_measured_wide_source_raises_limits_and_may_lower_the_class() -> None:
    # Source: C6 = 11 / 1.5: class 3R ends at 36.7 mW (tests/outside/test_hazard_class.py).
    assert _laser({}, 0.03).laser_class == "3B"
    wide = _laser({"enclosure.source_mrad": "11"}, 0.03)
    assert wide.laser_class == "3R"
    assert wide.exposures[0].eye.irradiance_W_m2 == pytest.approx(7.333 * 25.456, rel=1e-3)


def test_from_afar_a_wide_source_is_a_point() -> None:
    # The angle is that at 100 mm: at 10 m it is a hundredth of it, so no distance may shrink.
    point, wide = _laser({}), _laser({"enclosure.source_mrad": "100"})
    assert [each.distance_m for each in wide.reaches] == [each.distance_m for each in point.reaches]
    assert wide.eyewear == point.eyewear
    assert wide.skin_distance_m == point.skin_distance_m


def test_binoculars_reach_seven_times_as_far_and_every_row_names_its_rule() -> None:
    found = _laser({})
    far, near = (found.reach(name).distance_m for name in ("binoculars", "direct"))
    assert far / near == pytest.approx(math.sqrt(50), rel=0.01)
    rows = [*found.reaches, *found.exposures, *found.conditions]
    assert all(row.source.rule and row.source.marker for row in rows)
    assert all(demand.rule and demand.marker for demand in found.demands)


def test_an_led_of_rg3_is_asked_for_a_box_and_an_interlock() -> None:
    # Source: common practice, no source.
    lamp = edited("gel_viewer", {"enclosure.access": '"open"', "controls.interlock": "false"})
    assert [row.status for row in led_demands(lamp, "RG3")] == ["no", "no", "by hand"]
    assert [row.status for row in led_demands(load("gel_viewer"), "RG3")][:2] == ["yes", "yes"]
    assert [row.id for row in led_demands(lamp, "RG2")] == ["caution_label"]
    assert led_demands(lamp, "RG1") == ()


def test_a_build_that_never_lights_is_not_judged_on_faults() -> None:
    # a pack below re-arm never lights
    empty = edited("smoke_tunnel", {"pack.start_charge_pct": "5"})
    stated = state_hazard(empty, compiled())
    assert stated.verdict == "INCOMPLETE"
    assert stated.emission.brightest is None
    (reason,) = stated.reasons
    assert reason.startswith("worst fault not simulated: no light to inject faults into")


def test_a_bound_that_a_simulated_fault_passes_fails_the_hazard(build: Build) -> None:
    low = dataclasses.replace(worst_light(build), light_W=0.1)
    case = next(run_cases(build, compiled(), 1, faults=[by_id("set-full")]))
    found = judged_hazard(build, low, brightest(build, [case]))
    assert found.watts_W > 0.8
    assert [line for line in found.breaches if "the bound is wrong" in line]
