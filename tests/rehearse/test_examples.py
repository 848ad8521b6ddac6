"""Every shipped example holds, and they differ truly: stage, diode, pack and hazard."""

import pytest

from diodewright.build import examples, load
from diodewright.rehearse import rehearse


def test_the_shipped_examples_are_those_of_the_readme() -> None:
    assert set(examples()) >= {"smoke_tunnel", "cave_lamp", "gel_viewer"}


@pytest.mark.long
@pytest.mark.parametrize("name", examples())
def test_every_example_holds(name: str) -> None:
    done = rehearse(load(name))
    assert (done.verdict, done.reasons) == ("HOLDS", [])


def test_the_examples_use_all_three_stages_and_two_kinds_of_light() -> None:
    builds = [load(name) for name in examples()]
    assert {build.stage.kind for build in builds} == {"buck", "linear", "gated"}
    assert {build.diode.kind for build in builds} >= {"laser_diode", "led"}
    assert {build.pack.series for build in builds} == {1, 2}
