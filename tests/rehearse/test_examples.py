"""Every shipped example holds, and they differ truly: stage, diode, pack and hazard."""

import pytest

from diodewright.build import examples, load
from diodewright.rehearse import Rehearsal, rehearse


@pytest.fixture(scope="module")
def rehearsed() -> dict[str, Rehearsal]:
    return {name: rehearse(load(name)) for name in examples()}


def test_the_shipped_examples_are_those_of_the_readme(rehearsed: dict[str, Rehearsal]) -> None:
    assert set(rehearsed) >= {"smoke_tunnel", "cave_lamp", "gel_viewer"}


def test_every_example_holds(rehearsed: dict[str, Rehearsal]) -> None:
    assert {name: (done.verdict, done.reasons) for name, done in rehearsed.items()} == {
        name: ("HOLDS", []) for name in rehearsed
    }


def test_the_examples_use_all_three_stages_and_two_kinds_of_light() -> None:
    builds = [load(name) for name in examples()]
    assert {build.stage.kind for build in builds} == {"buck", "linear", "gated"}
    assert {build.diode.kind for build in builds} >= {"laser_diode", "led"}
    assert {build.pack.series for build in builds} == {1, 2}
