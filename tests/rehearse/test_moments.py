"""Where the healthy light stands at each moment: the mode it is said to be in, and what follows."""

import pytest

from diodewright.build import load
from diodewright.faults import MOMENTS
from diodewright.rehearse import Stand, snapshots
from diodewright.rehearse.moments import LEAD_IN_MS
from diodewright.rehearse.use import dark_A
from diodewright.sim import compiled, new_tally

#: Moment -> mode of the law in which the fault strikes.
MODES = {
    "dark": "dark",
    "delay": "delay",
    "start": "start",
    "run-1": "run",
    "run-10": "run",
    "warming": "run",
    "steady": "run",
    "cutback": "limited",
    "level-step": "run",
    "release": "run",
    "released": "dark",
    "latched": "fault",
    "pack-cutback": "limited",
    "locked-out": "pack_low",
} | {at: "soft_start" for at in MOMENTS if at.startswith("soft-start")}


@pytest.fixture(scope="module")
def taken() -> dict[str, Stand]:
    return snapshots(load("smoke_tunnel"), compiled(), 1)


def _at_strike(stand: Stand):
    machine = stand.machine.copy()
    machine.run(stand.strike, new_tally(machine.engine, 0.0), stand.events)
    return machine


def test_the_laser_reaches_every_moment_in_the_mode_that_is_said(
    taken: dict[str, Stand],
) -> None:
    assert list(taken) == list(MOMENTS)
    assert {at: _at_strike(stand).mode() for at, stand in taken.items()} == MODES


def test_the_rise_s_moments_are_those_that_a_look_at_each_tick_finds(
    taken: dict[str, Stand],
) -> None:
    stand = taken["start"]
    machine, begun = stand.machine.copy(), {}
    tally = new_tally(machine.engine, 0.0)
    while machine.mode() != "run":
        machine.run(machine.now + 1, tally, stand.events)
        begun.setdefault(machine.mode(), machine.now)
    assert stand.strike == begun["start"]
    assert taken["soft-start-0"].strike == begun["soft_start"]
    assert taken["run-1"].strike == begun["run"]


def test_the_tenths_of_the_soft_start_climb(taken: dict[str, Stand]) -> None:
    tenths = [at for at in MOMENTS if at.startswith("soft-start")]
    asked = [_at_strike(taken[at]).word("drive") for at in tenths]
    print("drive [1/64 mA] at each tenth:", asked)
    assert asked == sorted(set(asked))


def test_healthy_light_comes_again_where_it_is_asked_for(taken: dict[str, Stand]) -> None:
    unlit = {at for at, stand in taken.items() if not stand.lit}
    assert unlit == {"release", "locked-out"}
    waits = {at for at, stand in taken.items() if stand.again_ms > 1000}
    assert waits == {"dark", "delay", "released", "latched", "level-step"}
    # the delay of 5 s, the rise of 0.5 s, and a press one second behind the strike
    assert 6500 <= taken["dark"].again_ms <= 7000


def test_a_stand_is_never_moved_by_a_run_from_it(taken: dict[str, Stand]) -> None:
    stand = taken["steady"]
    before = stand.machine.now
    _at_strike(stand)
    assert stand.machine.now == before
    assert stand.strike == before + LEAD_IN_MS


def test_what_a_build_never_reaches_is_absent() -> None:
    """A module has no rise of the law's; 120 s of auto-off end before heat cuts back."""
    taken = snapshots(load("gel_viewer"), compiled(), 1)
    absent = set(MOMENTS) - set(taken)
    tenths = {f"soft-start-{i}" for i in range(10)} & set(MOMENTS)
    assert absent == tenths | {"cutback", "level-step"}


def test_only_what_is_wanted_is_taken_and_it_is_the_same(taken: dict[str, Stand]) -> None:
    build = load("smoke_tunnel")
    (only,) = snapshots(build, compiled(), 1, ("released",)).items()
    assert only[0] == "released"
    assert only[1].machine.now == taken["released"].machine.now
    assert only[1].machine.true("mount_degC") == taken["released"].machine.true("mount_degC")
    assert only[1].machine.true("diode_A") < dark_A(build)
