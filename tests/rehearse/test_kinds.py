"""Builds for bring-up and other light sources: what the build file accepts is rehearsed."""

import json

import pytest

from diodewright.build import Build, load_text
from diodewright.build.source import fetch
from diodewright.faults import by_id
from diodewright.rehearse import Rehearsal, UnknownCase, rehearse, run_case, snapshots
from diodewright.sim import compiled

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
    machine = snapshots(build, compiled(), 1)["steady"]
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


def test_led_has_light_from_the_first_current_and_says_what_is_not_judged() -> None:
    points = "light_points_A_W = [[0.5, 0.2125], [1.0, 0.6375], [1.5, 1.0625], [1.6, 1.1475]]"
    led = _build(
        LASER,
        ('kind = "laser_diode"', 'kind = "led"'),
        (points, "light_points_A_W = [[0.5, 0.5], [1.0, 1.0], [1.6, 1.6]]"),
    )
    done = rehearse(led, only="use")
    size = {row["id"]: row["value"] for row in done.size}
    assert size["light_W"] > 1.0
    assert "not judged" in done.hazard["title"]
    assert any(reason.startswith("hazard: the risk group") for reason in done.reasons)
    assert done.verdict == "INCOMPLETE"
