"""Builds for bring-up and other light sources: what the build file accepts is rehearsed."""

import json
from types import SimpleNamespace
from typing import Any

import pytest

from diodewright.build import Build, load_text
from diodewright.build.source import fetch
from diodewright.derive import worst_light
from diodewright.faults import by_id
from diodewright.rehearse import Rehearsal, UnknownCase, rehearse, run_case, snapshots
from diodewright.rehearse.hazards import hazard_of
from diodewright.sim import compiled
from edits import Edits, edited

CELLS = ("part", "series", "parallel", "capacity_Ah", "cell_resistance_mohm")
LASER = ("threshold_T0_K", "beam_mm", "divergence_mrad")
LIGHT = ("slope_T1_K", "wavelength_nm", "light_points_A_W", "light_min_W")


def _build(without: tuple[str, ...], *changes: tuple[str, str]) -> Build:
    """Return smoke_tunnel without some keys and with some texts replaced."""
    text, _ = fetch("smoke_tunnel")
    starts = tuple(f"{key} = " for key in without)
    text = "\n".join(line for line in text.splitlines() if not line.startswith(starts))
    for old, new in changes:
        assert text.count(old) == 1
        text = text.replace(old, new)
    return load_text(text, "changed")


@pytest.fixture(scope="module")
def bench() -> Rehearsal:
    supply = 'kind = "bench_supply"\nsupply_V = 8.4\nsupply_limit_A = 3.0'
    return rehearse(_build(CELLS, ('kind = "cells"', supply)))


def test_bench_supply_holds_and_has_no_faults_of_cells(bench: Rehearsal) -> None:
    assert bench.reasons == []
    assert bench.verdict == "HOLDS"
    assert {row["id"] for row in bench.faults}.isdisjoint({"pack-cold", "pack-empty"})
    assert "battery_min" not in {row["id"] for row in bench.size}


def test_a_case_that_a_bench_supply_cannot_have_is_refused() -> None:
    supply = 'kind = "bench_supply"\nsupply_V = 8.4\nsupply_limit_A = 3.0'
    build = _build(CELLS, ('kind = "cells"', supply))
    machine = snapshots(build, compiled(), 1, ("steady",))["steady"]
    with pytest.raises(UnknownCase, match="has no cells to fail in this way"):
        run_case(build, machine, by_id("pack-empty"), "steady", 1)


def test_dummy_string_gives_no_light_and_is_all_heat() -> None:
    dummy = _build(LASER + LIGHT, ('kind = "laser_diode"', 'kind = "dummy_string"'))
    done = rehearse(dummy)
    size = {row["id"]: row["value"] for row in done.size}
    assert size["light_W"] == 0
    assert size["heat_W"] == pytest.approx(size["electrical_W"], rel=1e-12)
    assert done.hazard["kind"] == "none"
    # hotter than the laser by the light it does not give: it cuts back sooner, nothing breaks
    assert all(row["survives"] for row in done.faults)
    json.loads(done.as_json())


LED = {
    "diode.kind": '"led"',
    "diode.spectrum": '"narrow"',
    "diode.fwhm_nm": "35",
    "diode.emitter_mm2": "4.0",
    "diode.threshold_T0_K": None,
    "diode.light_points_A_W": "[[0.5, 0.5], [1.0, 1.0], [1.6, 1.6]]",
    "enclosure.beam_mm": None,
    "enclosure.divergence_mrad": None,
}


def _hazard(edits: Edits, case_light_W: float = 0.0) -> dict[str, Any]:
    build = edited("smoke_tunnel", LED | edits)
    cases = [
        SimpleNamespace(id="a-short", at="steady", peak_light_W=case_light_W, peak_current_A=1.0)
    ]
    return hazard_of(build, worst_light(build), cases)  # type: ignore[arg-type]


def test_an_led_build_with_its_area_is_judged_and_can_hold() -> None:
    done = rehearse(edited("smoke_tunnel", LED))
    size = {row["id"]: row for row in done.size}
    assert size["light_W"]["value"] > 1.0
    assert done.hazard["risk_group"] == "RG1"
    assert done.hazard["not_judged"] == []
    assert max(row["peak_light_W"] for row in done.faults) <= done.hazard["classified_W"]
    assert done.verdict == "HOLDS", done.reasons


def test_the_risk_group_is_that_of_the_worst_fault_not_of_the_set_point() -> None:
    """1 W from 1 mm2 at 450 nm: 2.99e5 W/(m2 sr), 3.34 s (Lambert's law, B 0.94); a line."""
    edits: Edits = {"diode.wavelength_nm": "450", "diode.fwhm_nm": "1", "diode.emitter_mm2": "1.0"}
    found = _hazard(edits)
    assert found["classified_W"] > 1.6
    assert found["blue_radiance_W_m2_sr"] == pytest.approx(2.99e5 * found["classified_W"], rel=5e-3)
    assert found["longest_look_s"] == pytest.approx(3.34 / found["classified_W"], rel=5e-3)
    assert found["risk_group"] == "RG2"
    assert any("do not stare" in line and "dark by itself" in line for line in found["lines"])


RG3: Edits = {"diode.wavelength_nm": "440", "diode.fwhm_nm": "5", "diode.emitter_mm2": "0.1"}


@pytest.mark.parametrize(
    ("access", "interlock", "breaches"),
    [("interlocked_box", "true", 0), ("interlocked_box", "false", 1), ("open", "false", 2)],
)
def test_rg3_is_a_breach_unless_boxed_and_interlocked(
    access: str, interlock: str, breaches: int
) -> None:
    found = _hazard(RG3 | {"enclosure.access": f'"{access}"', "controls.interlock": interlock})
    assert found["risk_group"] == "RG3"
    assert len([line for line in found["breaches"] if "RG3" in line]) == breaches


def test_an_led_brighter_in_a_fault_than_the_bound_is_a_breach() -> None:
    assert _hazard({}, 1.0)["breaches"] == []
    (breach,) = _hazard({}, 50.0)["breaches"]
    assert "the bound is wrong" in breach


def test_an_led_whose_heat_may_hurt_first_is_not_judged() -> None:
    """Red light has no blue-light hazard to speak of: retinal thermal might raise its group."""
    red: Edits = {"diode.wavelength_nm": "660", "diode.emitter_mm2": "1.0"}
    assert _hazard(red)["not_judged"] == []
    bright = "[[0.5, 0.9], [1.0, 1.8], [1.6, 2.88]]"
    found = _hazard(red | {"diode.light_points_A_W": bright, "diode.emitter_mm2": "0.2"})
    assert found["risk_group"] in ("exempt", "RG1")
    assert "retinal thermal may raise" in found["not_judged"][0]
