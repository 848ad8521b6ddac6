"""What no part of the reference circuit saves the diode from, or shows, said with its figures."""

from dataclasses import replace

import pytest

from diodewright.build import examples, load
from diodewright.derive.edges import LEADS_H, stuck
from diodewright.derive.electrics import parameters
from diodewright.edges.trip import trip
from diodewright.faults import by_id
from diodewright.rehearse import run_case, snapshots
from diodewright.sim import compiled
from edits import edited

SWITCHING = [name for name in examples() if load(name).stage.kind != "linear"]


@pytest.mark.parametrize("name", SWITCHING)
def test_a_shorted_inductor_costs_the_diode_and_ends_dark(name: str) -> None:
    """Half a microhenry of wiring (typical, no source) is left: a microsecond is too long for it.

    The comparator trips within 0.1 us, its path takes 1 us; by then the pack's voltage stands
    across the resistances alone. Two inductors in series would leave one.
    """
    build = load(name)
    p = parameters(build)
    bare = replace(stuck(build, p), inductor_H=LEADS_H, ripple_A=0.0)
    tripped = trip(bare)
    assert tripped.latched
    assert tripped.trip_s < 0.1e-6
    assert tripped.peak_A > 1.05 * build.diode.absolute_A
    halved = trip(replace(bare, inductor_H=p.inductor_H))
    assert halved.peak_A < build.diode.absolute_A, "with one of two inductors left it survives"


def test_a_shorted_inductor_ends_dark_by_the_comparator_alone() -> None:
    build = load("smoke_tunnel")
    machine = snapshots(build, compiled(), 1)["steady"]
    row = by_id("inductor-short")
    struck = replace(row, changes=(("plant.inductor_factor", 0.5 / 47),), expect="dark")
    case = run_case(build, machine, struck, "steady", 1).finding
    assert case.reaction == "hardware: comparator latch"
    assert case.time_to_dark_ms is not None
    assert case.time_to_dark_ms <= row.allowed_ms
    assert not case.survives, "the diode is lost: no rehearsal may pass over this row"


@pytest.mark.parametrize(
    ("stuck", "demand"), [("interlock-bridged", "interlock-open"), ("key-stuck", "key-off")]
)
def test_a_control_that_cannot_open_leaves_the_light_on_when_it_is_asked_to(
    stuck: str, demand: str
) -> None:
    """A latent fault and then no second one, but what the control is there for."""
    build = load("smoke_tunnel")
    machine = snapshots(build, compiled(), 1)["steady"]
    both = replace(by_id(demand), changes=by_id(stuck).changes + by_id(demand).changes)
    case = run_case(build, machine, both, "steady", 1).finding
    assert case.reaction == "none needed"
    assert not case.survives
    assert "key, interlock or trigger" in case.why


def test_a_welded_trigger_goes_on_until_auto_off_against_the_release() -> None:
    """A single fault that nobody reads within `dark_within_ms`: `auto_off_s` is what bounds it."""
    build = load("smoke_tunnel")
    machine = snapshots(build, compiled(), 1)["steady"]
    welded = replace(
        by_id("trigger-open"),
        changes=(("plant.trigger_stuck", 1), ("plant.trigger", 0)),
        watch_s=build.controls.auto_off_s,
        expect="holds",
    )
    case = run_case(build, machine, welded, "steady", 1)
    (against,) = (row for row in case.findings if row.id == "emission-against-controls")
    assert against.status == "fails"
    assert build.controls.auto_off_s - 70 < against.value < build.controls.auto_off_s


def test_a_shared_shunt_that_drifts_gives_a_ninth_more_and_nothing_shows_it() -> None:
    """1 / 0.9: the stage is told a tenth less than it gives, and so is the law."""
    build = edited("smoke_tunnel", {"sensors.shunt": '"shared"'})
    machine = snapshots(build, compiled(), 1)["steady"]
    case = run_case(build, machine, by_id("shared-shunt-drift"), "steady", 1).finding
    assert case.survives
    assert case.reaction == "none needed"
    assert case.cause is None
    own = run_case(build, machine, by_id("overcurrent-dead"), "steady", 1).finding
    assert case.peak_current_A / own.peak_current_A == pytest.approx(1 / 0.9, rel=0.01)
